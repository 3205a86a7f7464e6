package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// holdView is one hold in words and pictures.
type holdView struct {
	ID, Heading, Sentence string
	Wide, Narrow          template.HTML // leak map
	Paths                 []pathRow
	Groups                []string
	Doubts                []string
	Needs                 []string
	Next                  []checkView
	Readings              []string
	Curves                []pictures
	Sound                 string
}

type pathRow struct{ Name, Chance, Flow, Overall, How string }

type checkView struct {
	Do, Settles, Minutes string
	Hazards              []string
}

func newHold(doc Document, h Hold) (holdView, error) {
	r, sys := h.Result, doc.Units
	v := holdView{Heading: h.Heading, Wide: inline(draw.LeakMap(doc.Pump, r, sys)), Narrow: inline(draw.LeakMapNarrow(doc.Pump, r, sys))}
	if v.Heading == "" {
		v.Heading = strings.ToUpper(r.Stage[:min(1, len(r.Stage))]) + r.Stage[min(1, len(r.Stage)):]
	}
	if v.Heading == "" {
		v.Heading = "Hold"
	}
	v.Sentence = fmt.Sprintf("Verdict: %s. The chance that the pump meets its limit is %s.", r.Verdict.Word, draw.Chance(r.Verdict.Meets))
	v.paths(r, sys)
	for _, s := range r.Sets {
		if len(s.Paths) == 0 {
			v.Sound = draw.Chance(s.P)
		}
	}
	for _, g := range r.Groups {
		v.Groups = append(v.Groups, strings.Join(g, ", "))
	}
	for _, d := range r.Doubts {
		v.Doubts = append(v.Doubts, d.Text)
	}
	for _, n := range r.Verdict.Need {
		v.Needs = append(v.Needs, n.Text)
	}
	v.checks(r.Next)
	if h.Sheet == nil {
		return v, nil
	}
	for _, q := range h.Sheet.Readings {
		v.Readings = append(v.Readings, reading(q, doc.Pump, sys))
	}
	for _, q := range draw.HoldCurves(doc.Pump, h.Sheet) {
		p, err := plot(q, sys)
		if err != nil {
			return v, err
		}
		v.Curves = append(v.Curves, p)
	}
	return v, nil
}

// checks lists the next checks. A hazard is said in full at the first check that has it, after that by the number of that check.
func (v *holdView) checks(next []hold.Check) {
	said := map[string]int{}
	for i, c := range next {
		k := checkView{Do: c.Do, Settles: c.Settles, Minutes: unit.Format(60*c.Minutes, unit.Time, "min", 2)}
		var again []string
		for _, h := range c.Hazards {
			if n, ok := said[h]; !ok {
				said[h] = i + 1
				k.Hazards = append(k.Hazards, h)
			} else if s := strconv.Itoa(n); !slices.Contains(again, s) {
				again = append(again, s)
			}
		}
		if len(again) > 0 {
			k.Hazards = append(k.Hazards, "as in check "+strings.Join(again, ", "))
		}
		v.Next = append(v.Next, k)
	}
}

// paths fills the table, the likeliest path first.
func (v *holdView) paths(r *hold.Result, sys unit.System) {
	paths := slices.Clone(r.Paths)
	slices.SortStableFunc(paths, func(a, b hold.PathShare) int {
		switch {
		case a.P > b.P:
			return -1
		case a.P < b.P:
			return 1
		}
		return 0
	})
	for _, q := range paths {
		v.Paths = append(v.Paths, pathRow{q.Path, draw.Chance(q.P), draw.FlowRange(r, q.Flow, sys), draw.FlowRange(r, q.Overall, sys), how(q.How)})
	}
}

// how names the two likeliest ways in which a path is at fault.
func how(shares map[string]float64) string {
	names := make([]string, 0, len(shares))
	for name := range shares {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if shares[a] != shares[b] {
			if shares[a] > shares[b] {
				return -1
			}
			return 1
		}
		return strings.Compare(a, b)
	})
	var out []string
	for _, name := range names[:min(2, len(names))] {
		out = append(out, name+" "+draw.Chance(shares[name]))
	}
	return strings.Join(out, ", ")
}

// reading says in words what was read.
func reading(r hold.Reading, p *pump.Pump, sys unit.System) string {
	s := readingWords(r, p, sys)
	if r.Kind != hold.Locked && finite(r.Pressure) && r.Pressure > 0 {
		s += " at " + sys.Show(r.Pressure, unit.Pressure)
	}
	if finite(r.Warmth) && r.Warmth > 0 {
		s += ", fluid at " + sys.Show(r.Warmth, unit.Temperature)
	}
	if r.Derived != "" {
		s += " (from the log " + r.Derived + ")"
	}
	return s
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func readingWords(r hold.Reading, p *pump.Pump, sys unit.System) string {
	time := sys.ShowU(r.Time, r.UTime, unit.Time)
	on := ""
	if r.Stroke != 0 {
		on = r.Stroke.String() + "stroke: "
	}
	switch r.Kind {
	case hold.Creep:
		return on + "the rod crept " + sys.ShowU(r.Travel, r.UTravel, unit.Length) + " in " + time
	case hold.Changeover:
		return on + "the whole stroke of " + sys.Show(p.Stroke, unit.Length) + " took " + time
	case hold.Still:
		return on + "a mark on the rod did not move visibly for " + time
	case hold.NoChangeover:
		return on + "no changeover for " + time
	case hold.Restart:
		return on + "the motor stood for " + time + " before it started again"
	case hold.Locked:
		parts := make([]string, len(r.Points))
		for i, q := range r.Points {
			parts[i] = sys.Show(q.Pressure, unit.Pressure) + " at " + sys.Show(q.Time, unit.Time)
		}
		s := "rod locked: " + strings.Join(parts, ", ")
		if r.Stroke != 0 {
			s = "rod locked after the " + r.Stroke.String() + "stroke: " + strings.Join(parts, ", ")
		}
		if r.Vented {
			s += ", with the other chamber vented"
		}
		return s
	case hold.Drips:
		return on + fmt.Sprintf("%s: %d drops in ", r.Path, r.Count) + time
	case hold.Caught:
		return on + r.Path + ": " + sys.ShowU(r.Volume, r.UVolume, unit.Volume) + " caught in " + time
	case hold.Run:
		return run(r, sys)
	case hold.Sign:
		return "noticed: " + r.Sign
	}
	return string(r.Kind)
}

// run says what a run gave.
func run(r hold.Reading, sys unit.System) string {
	s := fmt.Sprintf("run of %d cycles", r.Count)
	if finite(r.Time) && r.Time > 0 {
		s += " in " + sys.ShowU(r.Time, r.UTime, unit.Time)
	}
	if finite(r.Volume) {
		s += ", " + sys.ShowU(r.Volume, r.UVolume, unit.Volume) + " caught"
	}
	if finite(r.UpTime) && finite(r.DownTime) && r.UpTime > 0 && r.DownTime > 0 {
		s += ", upstroke " + sys.Show(r.UpTime, unit.Time) + ", downstroke " + sys.Show(r.DownTime, unit.Time)
	}
	return s
}
