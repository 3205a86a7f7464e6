package text_test

import (
	"regexp"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

var lower = regexp.MustCompile(`[a-z]{2}`)

// drawings walks what the pictures say: every kind of picture of every demo pump, with every verdict.
func (h heard) drawings(t *testing.T) {
	t.Helper()
	sys := unit.Metric()
	in := draw.In(func(s string) string {
		if lower.MatchString(s) { // no figure and no name of a plastic
			h.add(s)
		}
		return s
	})
	must := func(_ string, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range pump.Demo() {
		p := demoPump(t, name)
		draw.LeakMap(p, nil, sys, in)
		for _, word := range []string{hold.Holds, hold.DoesNotHold, hold.NotProven} {
			r := pictured(p, word)
			draw.LeakMap(p, r, sys, in)
			draw.LeakMapBareNarrow(p, r, sys, in)
		}
		for _, st := range p.Stacks {
			must(draw.Stack(p, st.Name, nil, sys, in))
			for _, pressure := range []float64{0, p.Limits.Rated, 1e9} {
				a, err := p.StackUnder(st, pressure, pump.Conditions{})
				if err != nil {
					t.Fatal(err)
				}
				must(draw.Stack(p, st.Name, &a, sys, in))
				must(draw.StackNarrow(p, st.Name, &a, sys, in))
			}
		}
		steps, err := p.Work(p.All(pump.Replace))
		if err != nil {
			t.Fatal(err)
		}
		draw.Work(steps, sys, in)
		for _, q := range h.curves(p) {
			must(q.SVG(sys, in))
		}
	}
	draw.Lips("up", in)
	draw.Lips("down", in)
}

// pictured is a made-up result: every second pair of paths cannot be told apart.
func pictured(p *pump.Pump, word string) *hold.Result {
	r := &hold.Result{Stage: "as found", Verdict: hold.Verdict{Word: word, Meets: 0.003, Stroke: map[string]hold.Quantiles{
		"up": {Q05: 4, Q95: 5}, "down": {Q05: 55, Q95: 5e8},
	}, Need: []hold.Need{{Text: "hold the upstroke for 45 s with a mark on the rod"}}}}
	r.Runs = []hold.RunShare{{Reading: 2, Cycles: 20, ML: 1000, DisplacedML: 1410, Efficiency: 0.71, SD: 0.012, AssumedLoss: 0.098, LossSD: 0.036}}
	for i, q := range p.Map().Paths {
		r.Paths = append(r.Paths, hold.PathShare{Path: q.Name, P: float64(i) / 7, Flow: hold.Quantiles{Q05: 3, Q95: 9}})
	}
	for i := 1; i+1 < len(r.Paths); i += 4 {
		r.Groups = append(r.Groups, []string{r.Paths[i].Path, r.Paths[i+1].Path})
	}
	return r
}

// curves are plots of readings, of a log and of a run.
func (h heard) curves(p *pump.Pump) []draw.Plot {
	s := &hold.Sheet{}
	fall := []hold.Point{{Time: 0, Pressure: 2e7}, {Time: 60, Pressure: 1.9e7}}
	for _, d := range pump.Dirs {
		s.Readings = append(s.Readings, hold.Reading{Kind: hold.Creep, Stroke: d, Travel: 0.04, Time: 9}, hold.Reading{Kind: hold.Still, Stroke: d, Travel: 5e-4, Time: 30},
			hold.Reading{Kind: hold.Locked, Stroke: d, Points: fall}, hold.Reading{Kind: hold.Locked, Stroke: d, Vented: d == pump.Up, Points: fall})
	}
	bare := &hold.Sheet{Readings: []hold.Reading{{Kind: hold.Locked, Points: fall}, {Kind: hold.Locked, Vented: true, Points: fall},
		{Kind: hold.Locked, Stroke: pump.Down, Vented: true, Points: fall}}}
	out := append(draw.HoldCurves(p, s), draw.HoldCurves(p, bare)...)
	x, y := []float64{0, 1}, []float64{1e7, 2e7}
	out = append(out, draw.LogCurves(&hold.Trace{T: x, P: y, X: x})...)
	run := &stroke.Trace{T: x, X: x, P: map[string][]float64{pump.Line: y}}
	for i := range 20 {
		run.Changeovers = append(run.Changeovers, stroke.Changeover{T: float64(i) / 20, Dir: pump.Dirs[i%2]})
	}
	for _, c := range p.Chambers {
		run.P[c.Name] = y
	}
	return append(out, draw.RunCurves(run)...)
}
