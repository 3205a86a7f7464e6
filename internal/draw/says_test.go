package draw

import (
	"fmt"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

// coordinates returns the numbers of the first path of a class.
func coordinates(t *testing.T, svg, class string) []float64 {
	t.Helper()
	_, rest, ok := strings.Cut(svg, `<path class="`+class+`" d="`)
	if !ok {
		t.Fatalf("no path of the class %s", class)
	}
	d, _, _ := strings.Cut(rest, `"`)
	var out []float64
	for _, f := range strings.FieldsFunc(d, func(r rune) bool { return !strings.ContainsRune("0123456789.-", r) }) {
		out = append(out, mustFloat(t, f))
	}
	return out
}

// TestLeakMapSays checks words and numbers. Flows of a result are in mL/min: in that unit they are printed as they are; one US
// fluid ounce is 29.5735 mL (NIST SP 811).
func TestLeakMapSays(t *testing.T) {
	p := demoLike()
	r := result(p, hold.NotProven)
	r.Paths[0].Flow = hold.Quantiles{Q05: 29.5735, Q50: 40, Q95: 59.147}
	for _, svg := range []string{LeakMap(p, r, unit.Metric()), LeakMapNarrow(p, r, unit.Metric())} {
		svg = strings.ReplaceAll(svg, "\u00a0", " ")
		for _, want := range []string{
			">30–59 mL/min<", ">63 %<", ">under 1 %<", ">not proven yet<", "Verdict: not proven yet; chance that the pump meets its limit: 42 %",
			"Limit: at 200 bar a stroke takes 60 s or more", "upstroke 4.1–5.2 s, downstroke 55 s or more", "To settle it: hold the upstroke for 45 s with a mark",
			"Chamber upper: under pressure on both strokes", "Chamber lower: under pressure on the downstroke", "Cannot be told apart: ",
		} {
			if !strings.Contains(svg, want) {
				t.Errorf("the map does not say %q", want)
			}
		}
	}
	if svg := strings.ReplaceAll(LeakMap(p, r, unit.Imperial()), "\u00a0", " "); !strings.Contains(svg, ">1.0–2.0 fl oz/min<") || !strings.Contains(svg, "at 2900 psi") {
		t.Error("the map in US units: want 1.0–2.0 fl oz/min and 2900 psi")
	}
	if svg := LeakMap(throughRod(), nil, unit.Metric()); !strings.Contains(svg, "Chamber rod side: under pressure on the upstroke") ||
		!strings.Contains(svg, "where this pump can leak") || strings.Contains(svg, " %") {
		t.Error("a map without a result: want the pressure of the rod side, no chances")
	}
}

// TestVerdictBand checks that each verdict has its own paint and its own symbol.
func TestVerdictBand(t *testing.T) {
	signs := map[string]bool{}
	for word, class := range map[string]string{hold.Holds: "es-holds", hold.DoesNotHold: "es-fails", hold.NotProven: "es-open"} {
		var c canvas
		p := demoLike()
		c.band(p, result(p, word), unit.Metric(), wideForm)
		if !strings.Contains(c.b.String(), `class="`+class+`"`) {
			t.Errorf("%s: not painted as %s", word, class)
		}
		signs[fmt.Sprint(coordinates(t, c.b.String(), "es-sign"))] = true
	}
	if len(signs) != 3 {
		t.Errorf("%d different symbols, want 3", len(signs))
	}
}

// TestGlyphs counts the triangles in a differential pump, each on both sides of the axis: up and down in the upper chamber, down
// in the lower one.
func TestGlyphs(t *testing.T) {
	var c canvas
	newSection(demoLike()).drawGlyphs(&c)
	up, down := 0, 0
	for _, part := range strings.Split(c.b.String(), "<path")[1:] {
		if xy := coordinates(t, "<path"+part, "es-ink"); xy[5] < xy[1] {
			up++
		} else {
			down++
		}
	}
	if up != 2 || down != 4 {
		t.Errorf("%d up and %d down, want 2 and 4", up, down)
	}
}

// stacked is a pump with a stack that is filled from one end, and an analysis whose stress falls from the nut at that end. Rings of
// the analysis are listed from the top, those of the pump from the bottom.
func stacked(filledFrom string) (*pump.Pump, *seal.Analysis) {
	p := demoLike()
	v := pump.Ring{Part: "ring", Kind: pump.KindVRing, Height: 0.004, Lips: "up"}
	p.Stacks = []pump.Stack{{Name: "piston", Seal: "piston packing", Inner: 0.02, Outer: 0.03, FilledFrom: filledFrom, Rings: []pump.Ring{v, v}}}
	p.Seals[1].Stacks = []string{"piston"}
	upper := seal.RingState{Near: 9e6, Far: 7e6, Mean: 8e6, Inner: 3e6, Outer: 5e6, Pressure: 2e7}
	lower := seal.RingState{Near: 7e6, Far: 5e6, Mean: 6e6, Inner: 2.5e7, Outer: 2.4e7, Pressure: 2e7, Seals: true, Toward: true}
	if filledFrom == pump.Bottom {
		upper.Near, upper.Far, lower.Near, lower.Far = 7e6, 5e6, 9e6, 7e6
	}
	return p, &seal.Analysis{Pressure: 2e7, Rings: []seal.RingState{upper, lower}}
}

// TestStackSays checks which numbers stand at which ring, the lesser contact stress, the side of the pressure, and that the
// axial stress falls away from the nut without a jump between two rings.
func TestStackSays(t *testing.T) {
	for _, end := range []string{pump.Top, pump.Bottom} {
		p, a := stacked(end)
		s, err := newStack(p, "piston", a, unit.Metric(), wideStack)
		if err != nil {
			t.Fatal(err)
		}
		svg := strings.ReplaceAll(s.draw(), "\u00a0", " ")
		for _, want := range []string{
			"Ring 1: ring, lips up, 4.00 mm, holds the pressure, contact stress 240 bar", "Ring 2: ring, lips up, 4.00 mm, lets it through, contact stress 30.0 bar",
			">240 bar<", ">30.0 bar<", ">pressure: upper<", ">the other side: lower<", "The pressure comes from upper",
		} {
			if !strings.Contains(svg, want) {
				t.Errorf("filled from the %s: the stack does not say %q", end, want)
			}
		}
		if arrow := coordinates(t, svg, "es-arrow"); arrow[1] >= s.y0 {
			t.Error("the arrow of the pressure does not stand above the stack")
		}
		line := coordinates(t, svg, "es-s1") // from the bottom: lower ring, upper ring
		if line[2] != line[4] || line[3] != line[5] {
			t.Errorf("filled from the %s: the axial stress jumps from %g to %g between two rings", end, line[2], line[4])
		}
		if rises := line[6] > line[0]; rises != (end == pump.Top) {
			t.Errorf("filled from the %s: the axial stress is drawn %g at the bottom, %g at the top", end, line[0], line[6])
		}
	}
	p, _ := stacked(pump.Top)
	p.Chambers[0].OpenTo = "" // no pressure in the upper chamber that the map could find from line alone
	p.Seals[1].Between = [2]string{pump.Air, pump.Suction}
	if svg, err := Stack(p, "piston", nil, unit.Metric()); err != nil || !strings.Contains(svg, "not known") {
		t.Errorf("a stack without pressure across it: %v; want it drawn and the side not known", err)
	}
}

// TestCurvesRise checks that more is drawn higher and later further to the right.
func TestCurvesRise(t *testing.T) {
	svg, err := Plot{Title: "p", X: Axis{Label: "time", Dim: unit.Time}, Y: Axis{Label: "pressure", Dim: unit.Pressure},
		Series: []Series{{Name: "line", X: []float64{0, 1}, Y: []float64{1e6, 2e6}}}}.SVG(unit.Metric())
	if err != nil {
		t.Fatal(err)
	}
	if xy := coordinates(t, svg, "es-s0"); xy[2] <= xy[0] || xy[3] >= xy[1] {
		t.Errorf("the line runs from %v; want to the right and upward", xy)
	}
	for _, want := range []string{"pressure [bar]", "time [s]", "line: from 10.0 bar to 20.0 bar over time 0 s to 1.00 s"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the plot does not say %q", want)
		}
	}
}

// TestWorkSays checks torque, wait, cautions said once and referred to after that.
func TestWorkSays(t *testing.T) {
	steps := []pump.Step{
		{Title: "First", Cautions: []string{"Mind the rod."}},
		{Title: "Second", Torque: 40, Tol: 2, Wait: 30, Cautions: []string{"Mind the rod."}},
		{Title: "Third", Lips: "down"},
	}
	svg := strings.ReplaceAll(Work(steps, unit.Metric()), "\u00a0", " ")
	for want, n := range map[string]int{">Mind the rod.<": 1, ">as in step 1<": 1, ">40.0<": 1, ">± 2.00 N·m<": 1, ">first wait 30 min<": 1, ">lips down<": 1} {
		if got := strings.Count(svg, want); got != n {
			t.Errorf("%q stands %d times, want %d", want, got, n)
		}
	}
	if empty := Work(nil, unit.Metric()); !strings.Contains(empty, "0 steps") {
		t.Error("no steps: want an empty picture")
	}
}
