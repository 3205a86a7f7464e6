package hold

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/pump"
)

// driftOfLine is the variance [m⁶/s²] of the flow by which a creep misleads, with water at 20 °C: 0.2 mL a minute, and what cooling by ten
// kelvins an hour takes out of the hose and of the chamber open to it with the rod in the middle.
func driftOfLine(t *testing.T, p *pump.Pump) float64 {
	t.Helper()
	alpha, err := fluid.Water().Expansion(293.15, p.Limits.Rated)
	if err != nil {
		t.Fatal(err)
	}
	v := p.Hose.Fittings + p.Hose.Length*math.Pi*sq(p.Hose.Bore)/4
	for _, c := range p.Chambers {
		if c.OpenTo == pump.Line {
			v += p.Volume(c, p.Stroke/2)
		}
	}
	return sq(0.2e-6/60) + sq(alpha*v*10/3600)
}

// The fluid in a long wide hose shrinks by as much as sound paths leak: the same creep of two millilitres a minute speaks less for a leak there
// than on a pump with a short one.
func TestCoolingOfALongHose(t *testing.T) {
	doubt := func(length float64) float64 {
		p := differential()
		p.Hose.Length = length
		s := bench4()
		s.Readings = []Reading{still(pump.Up, 300)}
		b, err := newBench(p, s, DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		return math.Sqrt(b.obs[0].c0)
	}
	if short, long := doubt(5), doubt(500); !(long > 2*short) {
		t.Errorf("a hose of 5 m leaves a flow uncertain by %.3g m³/s, one of 500 m by %.3g", short, long)
	}
}

// That cooling is assumed is said where it counts: with litres in the line, and a mark that was watched.
func TestCoolingIsSaid(t *testing.T) {
	p := demoPump(t, "orrin-30")
	wide := *p
	wide.Hose.Length, wide.Hose.Bore = 60, 0.0127 // 7.6 L
	still := "still: up, pressure: 160 bar, time: 60 s"
	for _, c := range []struct {
		p       *pump.Pump
		reading string
		said    bool
	}{{p, still, false}, {&wide, still, true}, {&wide, "drips: throat packing, pressure: 160 bar, time: 60 s, drops: 2", false}} {
		got := slices.ContainsFunc(judged(t, c.p, c.reading).Assumed, func(s string) bool { return strings.Contains(s, "cools or warms") })
		if got != c.said {
			t.Errorf("hose of %g m, %q: said %v, want %v", c.p.Hose.Length, c.reading, got, c.said)
		}
	}
}
