package draw

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

// time is the axis of every curve here.
func timeAxis() Axis { return Axis{Label: "time", Dim: unit.Time, From0: true} }

// flat is the share of the highest pressure that a fall has to reach for its curve to be drawn from zero: a fall of 2 bar from 200 drawn from
// zero is a straight line.
const flat = 0.25

// pressureAxis begins at zero, or near the lowest pressure when little was lost; its label then says so.
func pressureAxis(series ...Series) Axis {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range series {
		for _, p := range s.Y {
			if finite(p) {
				lo, hi = math.Min(lo, p), math.Max(hi, p)
			}
		}
	}
	a := Axis{Label: "pressure", Dim: unit.Pressure, From0: true}
	if lo > 0 && hi > lo && hi-lo < flat*hi {
		a.Label, a.From0 = "pressure, not from 0", false
	}
	return a
}

// HoldCurves draws the readings of a hold sheet that have a course in time. A stall becomes the travel of the rod against time,
// a line from the start of each reading, in front of the band in which the pump holds: no stroke in less than the least time of
// its sheet at rated pressure. A locked hold becomes its pressures. Readings without a course, as drips and signs, are not drawn;
// it may return no plot.
func HoldCurves(p *pump.Pump, s *hold.Sheet) []Plot {
	var out []Plot
	if q, ok := creepCurves(p, s); ok {
		out = append(out, q)
	}
	if q, ok := lockedCurves(p, s); ok {
		out = append(out, q)
	}
	return out
}

// creepCurves joins the readings of a stall, one curve a stroke and kind: measured creep, and marks that stayed still.
func creepCurves(p *pump.Pump, s *hold.Sheet) (Plot, bool) {
	out := Plot{
		Title: "Creep of the rod at a stall", X: timeAxis(), Y: Axis{Label: "travel of the rod", Dim: unit.Length, From0: true},
		Desc: "Each line runs from the start of a reading to what was read; lines in the shaded area are slow enough",
	}
	longest := 0.0
	for _, dir := range pump.Dirs {
		moved := Series{Name: dir.String() + "stroke"}
		still := Series{Name: dir.String() + "stroke, no more than"}
		for _, r := range s.Readings {
			travel, into := r.Travel, &moved
			switch r.Kind {
			case hold.Creep:
			case hold.Changeover:
				travel = p.Stroke
			case hold.Still:
				into = &still
			default:
				continue
			}
			if r.Stroke != dir || !(r.Time > 0) || math.IsNaN(travel) {
				continue
			}
			into.X, into.Y = append(into.X, 0, r.Time, math.NaN()), append(into.Y, 0, travel, math.NaN())
			longest = math.Max(longest, r.Time)
		}
		for _, k := range []Series{moved, still} {
			if len(k.X) > 0 {
				out.Series = append(out.Series, k)
			}
		}
	}
	if len(out.Series) == 0 {
		return out, false
	}
	out.Y.Reach = math.Min(1, longest/p.Limits.StrokeTime) * p.Stroke
	out.Bands = []Band{{
		Name: "slow enough at rated pressure", X: []float64{0, 1.5 * longest}, Lo: []float64{math.Inf(-1), math.Inf(-1)},
		Hi: []float64{0, p.Stroke / p.Limits.StrokeTime * 1.5 * longest},
	}}
	return out, true
}

// lockedCurves draws the pressures of the first four holds with the rod locked.
func lockedCurves(p *pump.Pump, s *hold.Sheet) (Plot, bool) {
	out := Plot{
		Title: "Pressure with the rod locked", X: timeAxis(),
		Desc: "What leaks past the piston shows here only as far as the other side lets it out",
	}
	for i, r := range s.Readings {
		if r.Kind != hold.Locked || len(r.Points) == 0 || len(out.Series) == 4 {
			continue
		}
		k := Series{Name: "reading " + strconv.Itoa(i+1)}
		if r.Stroke != 0 {
			k.Name += ", after the " + r.Stroke.String() + "stroke"
		}
		if r.Vented {
			k.Name += ", vented"
		}
		for _, q := range r.Points {
			k.X, k.Y = append(k.X, q.Time), append(k.Y, q.Pressure)
		}
		out.Series = append(out.Series, k)
	}
	out.Y = pressureAxis(out.Series...)
	return out, len(out.Series) > 0
}

// LogCurves draws a logged hold: its pressure, and the position of the rod when it was logged.
func LogCurves(t *hold.Trace) []Plot {
	pressure := Series{X: t.T, Y: t.P}
	out := []Plot{{Title: "Logged pressure", X: timeAxis(), Y: pressureAxis(pressure), Series: []Series{pressure}}}
	if t.X != nil {
		out = append(out, Plot{
			Title: "Logged rod position", X: timeAxis(), Y: Axis{Label: "rod above the bottom", Dim: unit.Length, From0: true},
			Series: []Series{{X: t.T, Y: t.X}},
		})
	}
	return out
}

// RunCurves draws a simulated run: pressures of the line and of up to three chambers, and the position of the rod, with the
// changeovers. It returns no plot when the trace has no samples.
func RunCurves(t *stroke.Trace) []Plot {
	if len(t.T) == 0 {
		return nil
	}
	var marks []Mark
	for _, c := range t.Changeovers {
		marks = append(marks, Mark{c.T, c.Dir.String() + "stroke"})
	}
	pressure := Plot{
		Title: "Pressure", X: timeAxis(), Y: Axis{Label: "pressure", Dim: unit.Pressure}, Marks: marks,
		Desc: "Simulated; a dashed vertical line is a changeover, its word the stroke that begins",
	}
	for _, name := range chamberNames(t) {
		pressure.Series = append(pressure.Series, Series{Name: name, X: t.T, Y: t.P[name]})
	}
	position := Plot{
		Title: "Rod position", X: timeAxis(), Y: Axis{Label: "rod above the bottom", Dim: unit.Length, From0: true}, Marks: marks,
		Desc: pressure.Desc, Series: []Series{{X: t.T, Y: t.X}},
	}
	return []Plot{pressure, position}
}

// chamberNames returns the line and then the chambers, without the segments of the hose, four at most.
func chamberNames(t *stroke.Trace) []string {
	var out []string
	for name, p := range t.P {
		if len(p) == len(t.T) && name != pump.Line && !hoseSegment(name) {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	if _, ok := t.P[pump.Line]; ok {
		out = append([]string{pump.Line}, out...)
	}
	return out[:min(4, len(out))]
}

// hoseSegment says whether stroke names a node so: "hose 1", "hose 2" …
func hoseSegment(name string) bool {
	n, ok := strings.CutPrefix(name, "hose ")
	if !ok {
		return false
	}
	_, err := strconv.Atoi(n)
	return err == nil
}
