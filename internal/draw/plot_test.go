package draw

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

// plots are plots of all kinds: curves with bands and marks, readings, a long noisy curve, a flat one.
func plots() []Plot {
	var t, x, y []float64
	for i := range 60001 {
		s := float64(i) / 1000
		t, x, y = append(t, s), append(x, 0.05*(1-math.Cos(s))), append(y, 2e7+1e6*math.Sin(40*s))
	}
	sheet := &hold.Sheet{Readings: []hold.Reading{
		{Kind: hold.Creep, Stroke: pump.Up, Travel: 0.04, Time: 9},
		{Kind: hold.Still, Stroke: pump.Down, Travel: 0.0005, Time: 30},
		{Kind: hold.Changeover, Stroke: pump.Down, Time: 12},
		{Kind: hold.Drips, Path: "throat packing", Count: 3, Time: 60},
		{Kind: hold.Locked, Stroke: pump.Up, Points: []hold.Point{{Time: 0, Pressure: 2e7}, {Time: 60, Pressure: 1.9e7}}},
		{Kind: hold.Locked, Vented: true, Points: []hold.Point{{Time: 0, Pressure: 2e7}, {Time: 60, Pressure: 5e6}}},
	}}
	trace := &stroke.Trace{T: t, X: x, P: map[string][]float64{pump.Line: y, "lower": x, "hose 1": y}}
	for i := range 20 {
		trace.Changeovers = append(trace.Changeovers, stroke.Changeover{T: math.Pi * float64(i), Dir: pump.Dirs[i%2]})
	}
	out := HoldCurves(demoLike(), sheet)
	out = append(out, RunCurves(trace)...)
	out = append(out, LogCurves(&hold.Trace{T: t, P: y, X: x})...)
	flat := []float64{3e7, 3e7}
	return append(out, Plot{Title: "flat", X: Axis{Label: "time", Dim: unit.Time}, Y: Axis{Label: "pressure", Dim: unit.Pressure}, Series: []Series{{"", []float64{5, 5}, flat, true}}})
}

// TestCreepCurves checks the lines and the edge of the band against the readings and the limit: a stroke of 100 mm in 60 s.
func TestCreepCurves(t *testing.T) {
	q := plots()[0]
	if len(q.Series) != 3 || q.Series[0].Y[1] != 0.04 || q.Series[0].X[1] != 9 || q.Series[1].Y[1] != 0.1 || q.Series[2].Y[1] != 0.0005 {
		t.Errorf("%+v; want creep 40 mm in 9 s, a whole stroke of 100 mm, a still mark of 0.5 mm", q.Series)
	}
	b := q.Bands[0]
	if slope := b.Hi[1] / b.X[1]; math.Abs(slope-0.1/60) > 1e-12 {
		t.Errorf("the band ends at %g m/s, want 100 mm in 60 s", slope)
	}
}

func TestRunCurves(t *testing.T) {
	qs := plots()
	if p := qs[2]; len(p.Series) != 2 || p.Series[0].Name != pump.Line || len(p.Marks) != 20 || p.Marks[0].Word != "upstroke" {
		t.Errorf("%d curves, %d marks; want line and lower, no hose segment, a mark at each changeover", len(p.Series), len(p.Marks))
	}
	if RunCurves(&stroke.Trace{}) != nil {
		t.Error("a trace without samples: want no plot")
	}
}

// TestNiceStep checks against the rule itself: the least of 1, 2, 5 times a power of ten that is not below.
func TestNiceStep(t *testing.T) {
	for x, want := range map[float64]float64{1: 1, 1.1: 2, 2: 2, 2.01: 5, 5: 5, 5.5: 10, 0.03: 0.05, 700: 1000, 0.2: 0.2} {
		if got := niceStep(x); math.Abs(got-want) > 1e-12*want {
			t.Errorf("%g: %g, want %g", x, got, want)
		}
	}
}

// TestScale checks that ticks are round in the unit shown (1 psi = 6894.757 Pa, NIST SP 811) and that the ends hold the values.
func TestScale(t *testing.T) {
	s := newScale(Axis{Label: "pressure", Dim: unit.Pressure, From0: true}, unit.Imperial(), 6, [2]float64{1e6, 2.28e7})
	if s.unit != "psi" || len(s.ticks) < 4 {
		t.Fatalf("%+v", s)
	}
	for i, k := range s.ticks {
		want := 1000 * float64(i)
		if psi := k.si / 6894.757293; math.Abs(psi-want) > 1e-3 || mustFloat(t, k.text) != want {
			t.Errorf("tick %d at %.3f psi is written %q, want %g", i, psi, k.text, want)
		}
	}
	if s.share(0) != 0 || s.share(2.28e7) > 1 || s.share(2.28e7) < 0.7 {
		t.Errorf("0 lies at %g, 3307 psi at %g", s.share(0), s.share(2.28e7))
	}
	c := newScale(Axis{Label: "temperature", Dim: unit.Temperature}, unit.Metric(), 5, [2]float64{283.15, 303.15})
	if c.ticks[0].text != "10" || math.Abs(c.ticks[0].si-283.15) > 1e-9 {
		t.Errorf("10 °C is 283.15 K: first tick %+v", c.ticks[0])
	}
}

// TestThinKeepsPeaks checks that a spike of one sample survives.
func TestThinKeepsPeaks(t *testing.T) {
	var xy []float64
	for i := range 100000 {
		y := 50.0
		if i == 54321 {
			y = 3
		}
		xy = append(xy, float64(i)/200, y)
	}
	out := thin(xy)
	if len(out) > 5000 {
		t.Errorf("%d numbers kept", len(out))
	}
	least := math.Inf(1)
	for i := 1; i < len(out); i += 2 {
		least = math.Min(least, out[i])
		if i > 1 && out[i-1] < out[i-3] {
			t.Fatal("the points are out of order")
		}
	}
	if least != 3 || out[0] != xy[0] || out[len(out)-2] != xy[len(xy)-2] {
		t.Errorf("peak %g, ends %g and %g", least, out[0], out[len(out)-2])
	}
}

func TestPlotErrors(t *testing.T) {
	ok := Series{"a", []float64{0, 1}, []float64{0, 1}, false}
	axis := Axis{Label: "time", Dim: unit.Time}
	for name, p := range map[string]Plot{
		"no curve":     {X: axis, Y: axis},
		"five curves":  {X: axis, Y: axis, Series: []Series{ok, ok, ok, ok, ok}},
		"lengths":      {X: axis, Y: axis, Series: []Series{{"a", []float64{0}, nil, false}}},
		"nothing seen": {X: axis, Y: axis, Series: []Series{{"a", []float64{0}, []float64{math.NaN()}, false}}},
		"short band":   {X: axis, Y: axis, Series: []Series{ok}, Bands: []Band{{"b", []float64{0}, []float64{0}, []float64{0}}}},
	} {
		_, err := p.SVG(unit.Metric())
		var want *PlotError
		if !errors.As(err, &want) {
			t.Errorf("%s: %v, want a *PlotError", name, err)
		}
	}
}

func TestValues(t *testing.T) {
	m := unit.Metric()
	for _, k := range []struct{ got, want string }{
		{Chance(0), "under 1 %"}, {Chance(0.012), "1 %"}, {Chance(0.097), "10 %"}, {Chance(0.63), "63 %"}, {Chance(0.995), "over 99 %"},
		{Chance(math.NaN()), "unknown"},
		{Range(2e-7, 9e-7, unit.Flow, m), "12–54 mL/min"}, {Range(4.1, 5.2, unit.Time, m), "4.1–5.2 s"},
		{Range(1e5, 1e9, unit.Time, m), "over 60 min"}, {Range(55, 1e9, unit.Time, m), "55 s or more"}, {Range(2, 2, unit.Time, m), "2.0 s"},
	} {
		if got := strings.ReplaceAll(k.got, "\u00a0", " "); got != k.want {
			t.Errorf("%q, want %q", got, k.want)
		}
	}
}

func TestStackErrors(t *testing.T) {
	p := demo(t, "orrin-30")
	_, err := Stack(p, "no such", nil, unit.Metric())
	var want *StackError
	if !errors.As(err, &want) {
		t.Errorf("%v, want a *StackError", err)
	}
	a, err := p.StackUnder(p.Stacks[0], 0, pump.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	a.Rings = a.Rings[1:]
	if _, err := StackNarrow(p, p.Stacks[0].Name, &a, unit.Metric()); !errors.As(err, &want) {
		t.Errorf("%v, want a *StackError", err)
	}
}
