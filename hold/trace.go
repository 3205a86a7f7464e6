package hold

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// TraceOptions say how a trace was taken.
type TraceOptions struct {
	Kind   string   // "force-held" or "locked"
	Stroke pump.Dir // on which stroke it begins; 0 when not known
	Vented bool
	Line   int // of the sheet
	Gauge  Gauge
	Ruler  float64
}

// Trace is a logged hold: times [s], pressures [Pa] and, when logged, rod positions [m].
type Trace struct {
	T, P, X []float64
}

const (
	maxTraceBytes = 64 << 20
	maxTraceRows  = 2_000_000
)

// ReadTrace reads a CSV log with a header that gives names and units, e.g. `time (s);pressure (bar);position (mm)`, and
// turns it into readings: a locked hold into its pressures, a stall into one creep reading a stroke (with positions) or the
// times between changeovers (without). The first seconds after each changeover are left out: the hose still stretches.
func ReadTrace(name string, data []byte, opt TraceOptions) ([]Reading, error) {
	t, err := ParseTrace(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var rs []Reading
	switch {
	case opt.Kind == "locked":
		rs, err = t.locked(opt)
	case t.X != nil:
		rs, err = t.creeps(opt)
	default:
		rs, err = t.changeovers(opt)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for i := range rs {
		rs[i].Line, rs[i].Derived = opt.Line, name
	}
	return rs, nil
}

var header = regexp.MustCompile(`^\s*([^()\[\]]+?)\s*[\(\[]\s*([^\)\]]+?)\s*[\)\]]\s*$`)

type column struct {
	name  string
	scale float64
}

// ParseTrace reads the table: separators comma, semicolon or tab; decimal comma when the separator is not a comma.
func ParseTrace(data []byte) (*Trace, error) {
	if len(data) > maxTraceBytes {
		return nil, fmt.Errorf("found %d bytes; expected at most %d: cut the log to the hold", len(data), maxTraceBytes)
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	first, _, _ := strings.Cut(text, "\n")
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.ReuseRecord, r.TrimLeadingSpace = ',', -1, true, true
	for _, sep := range []rune{';', '\t'} {
		if strings.ContainsRune(first, sep) {
			r.Comma = sep
		}
	}
	head, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("line 1: no header: %w", err)
	}
	cols, err := columns(head)
	if err != nil {
		return nil, err
	}
	return readRows(r, cols)
}

func columns(head []string) (map[int]column, error) {
	dims := map[string]unit.Dim{"time": unit.Time, "pressure": unit.Pressure, "position": unit.Length}
	cols, seen := map[int]column{}, map[string]bool{}
	for i, h := range head {
		m := header.FindStringSubmatch(h)
		if m == nil {
			return nil, fmt.Errorf("line 1: found the heading %q; expected a name with its unit, e.g. pressure (bar)", clip(h))
		}
		name := strings.ToLower(m[1])
		d, ok := dims[name]
		if !ok {
			continue
		}
		one, err := unit.Parse("1 "+m[2], d)
		if err != nil {
			return nil, fmt.Errorf("line 1: %s: %w", name, err)
		}
		if seen[name] {
			return nil, fmt.Errorf("line 1: found %s twice; expected it once", name)
		}
		seen[name], cols[i] = true, column{name, one.SI}
	}
	if !seen["time"] || !seen["pressure"] {
		return nil, errors.New("line 1: expected the columns time and pressure with units, e.g. time (s), pressure (bar), position (mm)")
	}
	return cols, nil
}

func readRows(r *csv.Reader, cols map[int]column) (*Trace, error) {
	t := &Trace{}
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		for i, c := range cols {
			if i >= len(rec) {
				return nil, fmt.Errorf("line %d: found %d columns; expected a value for %s: is the file cut off?", line, len(rec), c.name)
			}
			cell := rec[i]
			if r.Comma != ',' {
				cell = strings.Replace(cell, ",", ".", 1)
			}
			x, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, fmt.Errorf("line %d: %s: found %q; expected a number", line, c.name, clip(rec[i]))
			}
			t.put(c.name, x*c.scale)
		}
		if n := len(t.T); n > 1 && !(t.T[n-1] > t.T[n-2]) {
			return nil, fmt.Errorf("line %d: the time goes from %g s to %g s; expected times that grow", line, t.T[n-2], t.T[n-1])
		}
		if len(t.T) > maxTraceRows {
			return nil, fmt.Errorf("more than %d rows: cut the log to the hold", maxTraceRows)
		}
	}
	if len(t.T) < 5 {
		return nil, fmt.Errorf("found %d rows; expected at least 5", len(t.T))
	}
	return t, nil
}

func (t *Trace) put(name string, x float64) {
	switch name {
	case "time":
		t.T = append(t.T, x)
	case "pressure":
		t.P = append(t.P, x)
	case "position":
		t.X = append(t.X, x)
	}
}

func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:37]) + "…"
	}
	return s
}

// locked takes up to ten mean pressures from the highest pressure on.
func (t *Trace) locked(opt TraceOptions) ([]Reading, error) {
	top := 0
	for i, p := range t.P {
		if p > t.P[top] && t.T[i]-t.T[0] < 0.5*(t.T[len(t.T)-1]-t.T[0]) {
			top = i
		}
	}
	rest := len(t.T) - top
	if rest < 3 {
		return nil, errors.New("fewer than 3 rows after the highest pressure; log the hold longer")
	}
	n := min(10, rest)
	r := blank(Locked, opt)
	r.Vented = opt.Vented
	for k := 0; k < n; k++ {
		i := top + k*(rest-1)/(n-1)
		half := min(2, rest/(4*n))
		r.Points = append(r.Points, Point{t.T[i] - t.T[top], mean(t.P[max(top, i-half):min(len(t.P), i+half+1)])})
	}
	r.Pressure, r.UPress = r.Points[0].Pressure, opt.Gauge.repeat(r.Points[0].Pressure)
	if r.Pressure <= 0 {
		return nil, errors.New("no pressure above 0 in the trace")
	}
	return []Reading{r}, nil
}

func blank(k Kind, opt TraceOptions) Reading {
	return Reading{Kind: k, Stroke: opt.Stroke, At: math.NaN(), Warmth: math.NaN(), Volume: math.NaN(), UpTime: math.NaN(), DownTime: math.NaN()}
}

func mean(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

// creeps makes one reading of each stroke from the rod's positions.
func (t *Trace) creeps(opt TraceOptions) ([]Reading, error) {
	var out []Reading
	for k, seg := range t.strokes() {
		from, to := seg[0], seg[1]
		settle := math.Min(3, 0.25*(t.T[to]-t.T[from]))
		for from < to && t.T[from] < t.T[seg[0]]+settle {
			from++
		}
		if to-from < 4 || t.T[to]-t.T[from] < 1 {
			continue
		}
		slope, u := lineFit(t.T[from:to+1], t.X[from:to+1])
		r := blank(Creep, opt)
		r.Time = t.T[to] - t.T[from]
		r.Travel, r.UTravel = math.Abs(slope)*r.Time, math.Hypot(u*r.Time, 0.2*opt.Ruler)
		r.At, r.Reseat = math.Max(0, t.X[from]), k
		r.Pressure = mean(t.P[from : to+1])
		r.UPress = opt.Gauge.standard(r.Pressure)
		if math.Abs(slope) > 3*u || opt.Stroke == 0 {
			r.Stroke = pump.Up
			if slope < 0 {
				r.Stroke = pump.Down
			}
		}
		if r.Pressure > 0 {
			out = append(out, r)
		}
	}
	if len(out) == 0 {
		return nil, errors.New("no stroke long enough to time; log at least a few seconds of the stall")
	}
	return out, nil
}

// strokes splits the trace where the rod turns: a turn counts when the rod then moves back by more than 5 % of its range.
func (t *Trace) strokes() [][2]int {
	lo, hi := t.X[0], t.X[0]
	for _, x := range t.X {
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	step := math.Max(0.05*(hi-lo), 1e-3)
	var turns []int
	ext, dir := 0, 0.0
	for i, x := range t.X {
		switch d := x - t.X[ext]; {
		case dir == 0 && math.Abs(d) > step:
			dir, ext = math.Copysign(1, d), i
		case dir != 0 && d*dir > 0:
			ext = i
		case dir != 0 && -d*dir > step:
			turns = append(turns, ext)
			dir, ext = -dir, i
		}
	}
	var out [][2]int
	start := 0
	for _, k := range append(turns, len(t.X)-1) {
		if k > start {
			out = append(out, [2]int{start, k})
		}
		start = k + 1
	}
	return out
}

// lineFit is the slope of x against t by least squares with its standard error, allowing for correlated noise by a factor.
func lineFit(t, x []float64) (slope, u float64) {
	mt, mx := mean(t), mean(x)
	var stt, stx float64
	for i := range t {
		stt += sq(t[i] - mt)
		stx += (t[i] - mt) * (x[i] - mx)
	}
	slope = stx / stt
	var s2 float64
	for i := range t {
		s2 += sq(x[i] - mx - slope*(t[i]-mt))
	}
	return slope, 2 * math.Sqrt(s2/float64(len(t)-2)/stt)
}

// changeovers finds the short dips of pressure at which a force-held pump changes over and times the strokes between.
func (t *Trace) changeovers(opt TraceOptions) ([]Reading, error) {
	if opt.Stroke == 0 {
		return nil, errors.New("a stall without rod positions: say in the sheet on which stroke it begins (`stroke: up`)")
	}
	sorted := append([]float64(nil), t.P...)
	sort.Float64s(sorted)
	median := sorted[len(sorted)/2]
	if median <= 0 {
		return nil, errors.New("no pressure above 0 in the trace")
	}
	var dips []float64
	for i := 1; i < len(t.P); i++ {
		if t.P[i] < 0.9*median && t.P[i-1] >= 0.9*median && (len(dips) == 0 || t.T[i]-dips[len(dips)-1] > 0.3) {
			dips = append(dips, t.T[i])
		}
	}
	out, d := []Reading{}, opt.Stroke
	at := func(k Kind, time float64) Reading {
		r := blank(k, opt)
		r.Stroke, r.Time, r.UTime, r.Pressure, r.UPress = d, time, 0.1, median, opt.Gauge.standard(median)
		r.TimeIt = k == Changeover
		return r
	}
	if len(dips) == 0 {
		return append(out, at(NoChangeover, t.T[len(t.T)-1]-t.T[0])), nil
	}
	d = -d // the first stroke began before the log; count from its end
	for k := 1; k < len(dips); k++ {
		r := at(Changeover, dips[k]-dips[k-1])
		r.Reseat = k
		out, d = append(out, r), -d
	}
	return append(out, at(NoChangeover, t.T[len(t.T)-1]-dips[len(dips)-1])), nil
}
