package hold

import (
	"math"
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
