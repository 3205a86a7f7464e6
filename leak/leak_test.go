package leak

import (
	"errors"
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/num"
	"pgregory.net/rapid"
)

func logRange(lo, hi float64) *rapid.Generator[float64] {
	return rapid.Map(rapid.Float64Range(math.Log(lo), math.Log(hi)), math.Exp)
}

func drawLiquid(t *rapid.T) Liquid {
	return Liquid{Viscosity: logRange(3e-4, 30).Draw(t, "mu"), Density: rapid.Float64Range(700, 2000).Draw(t, "rho")}
}

func near(t *rapid.T, what string, got, want, rel float64) {
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Fatalf("%s = %.12g, want %.12g within %g", what, got, want, rel)
	}
}

// geometry is a gap that has a Law; Flow is its laminar formula.
type geometry interface {
	Law(Liquid) (Law, error)
	Flow(dp float64, l Liquid) (float64, error)
}

// drawGeometry makes a valid gap, and the same gap scaled k times in every length.
func drawGeometry(t *rapid.T, k float64) (one, scaled geometry) {
	h, long := logRange(1e-6, 3e-4).Draw(t, "h"), logRange(2e-4, 0.05).Draw(t, "L")
	wide := h * logRange(21, 2000).Draw(t, "w/h")
	switch rapid.IntRange(0, 5).Draw(t, "gap") {
	case 0:
		e := rapid.Float64Range(0, 1).Draw(t, "eps")
		return Annulus{wide, h, long, e}, Annulus{k * wide, k * h, k * long, e}
	case 1:
		return Slot{wide, h, long}, Slot{k * wide, k * h, k * long}
	case 2:
		return Tube{h, long}, Tube{k * h, k * long}
	case 3:
		return RadialGap{wide, wide + long, h}, RadialGap{k * wide, k * (wide + long), k * h}
	case 4:
		a, err1 := Scratch(2*h, h, long)
		b, err2 := Scratch(2*k*h, k*h, k*long)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		return a, b
	}
	a, err1 := Hole(h)
	b, err2 := Hole(k * h)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	return a, b
}

// A path is odd or at least has the sign of its pressure; its slope and exponent are those of its flow; nothing is NaN.
func checkPath(t *rapid.T, p Path, dp float64) {
	q, slope, e := p.Flow(dp), p.Slope(dp), p.Exponent(dp)
	if !(math.Abs(q) <= math.MaxFloat64) || !(math.Abs(slope) <= math.MaxFloat64) || math.IsNaN(e) {
		t.Fatalf("at %g Pa: flow %g, slope %g, exponent %g", dp, q, slope, e)
	}
	if q*dp < 0 {
		t.Fatalf("flow %g against pressure %g", q, dp)
	}
	const step = 1e-5
	fd := (p.Flow(dp*(1+step)) - p.Flow(dp*(1-step))) / (2 * step * dp)
	if math.Abs(slope-fd) > 1e-7*math.Abs(q/dp)*(1+math.Abs(e)*5) {
		t.Fatalf("slope %g, finite difference %g", slope, fd)
	}
	near(t, "exponent", 1+e, 1+dp*slope/q, 1e-9)
	if p.Flow(0) != 0 {
		t.Fatalf("flow %g without pressure", p.Flow(0))
	}
}

func drawPressure(t *rapid.T) float64 {
	dp := logRange(1, 5e7).Draw(t, "dp")
	if rapid.Bool().Draw(t, "backward") {
		return -dp
	}
	return dp
}

func TestLawOfGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		liquid, dp := drawLiquid(t), drawPressure(t)
		gap, _ := drawGeometry(t, 1)
		law, err := gap.Law(liquid)
		if err != nil {
			t.Fatal(err)
		}
		checkPath(t, law, dp)
		if law.Flow(-dp) != -law.Flow(dp) {
			t.Fatal("not odd")
		}
		if math.Abs(law.Flow(dp*1.01)) <= math.Abs(law.Flow(dp)) {
			t.Fatal("does not rise")
		}
		if e := law.Exponent(dp); e < 0.5-1e-12 || e > 1+1e-12 {
			t.Fatalf("exponent %g", e)
		}
		if r := law.Slope(1e-9) * (law.Lin); math.Abs(r-1) > 1e-3 {
			t.Fatalf("slope at rest is %g of 1/Lin", r)
		}
		if q, err := gap.Flow(dp, liquid); err == nil && math.Abs(law.Flow(dp)) > math.Abs(q)*(1+1e-12) {
			t.Fatalf("law %g lets more through than the formula %g", law.Flow(dp), q)
		}
	})
}

// Every length k times as large and every time k² (μ, ρ kept): velocities go with 1/k, pressures with 1/k², flows with k.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := logRange(0.2, 5).Draw(t, "k")
		liquid, dp := drawLiquid(t), drawPressure(t)
		a, b := drawGeometry(t, k)
		la, err1 := a.Law(liquid)
		lb, err2 := b.Law(liquid)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		near(t, "scaled flow", lb.Flow(dp/(k*k)), k*la.Flow(dp), 1e-10)
		qa, err1 := a.Flow(dp, liquid)
		qb, err2 := b.Flow(dp/(k*k), liquid)
		if (err1 == nil) == (err2 == nil) && err1 == nil {
			near(t, "scaled formula", qb, k*qa, 1e-10)
		}
	})
}

// Far inside the laminar regime and far longer than wide, the law is the formula.
func TestLawMeetsLaminarFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := logRange(1e-6, 1e-4).Draw(t, "h")
		a := Annulus{Diameter: 400 * h, Gap: h, Length: 2000 * h, Eccentricity: rapid.Float64Range(0, 1).Draw(t, "eps")}
		liquid := drawLiquid(t)
		dp := liquid.Viscosity * liquid.Viscosity / (liquid.Density * h * h) // Re is of the order of 1e-4
		law, err := a.Law(liquid)
		if err != nil {
			t.Fatal(err)
		}
		q, err := a.Flow(dp, liquid)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "law", law.Flow(dp), q, 2e-3)
	})
}

func TestFromRated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, dp := logRange(1e-12, 1e-4).Draw(t, "q"), logRange(1e4, 5e7).Draw(t, "rated")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		l, other := drawLiquid(t), drawLiquid(t)
		law, err := FromRated(q, dp, l, share)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "rated flow", law.Flow(dp), q, 1e-12)
		near(t, "exponent", law.Exponent(dp), 1/(2-math.Max(share, leastShare)), 1e-9)
		checkPath(t, law, drawPressure(t))
		changed, err := law.For(other)
		if err != nil {
			t.Fatal(err)
		}
		back, err := changed.For(l)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "there and back", back.Flow(dp), q, 1e-12)
	})
	if law, err := FromRated(0, 1e6, Liquid{1, 1000}, 0.5); err != nil || !law.Tight() || law.Flow(1e7) != 0 {
		t.Errorf("no leak: %+v, %v", law, err)
	}
}

// The law of a gap with another liquid is the law of the gap made for that liquid.
func TestLawFor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one, other := drawLiquid(t), drawLiquid(t)
		gap, _ := drawGeometry(t, 1)
		a, err1 := gap.Law(one)
		b, err2 := gap.Law(other)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		c, err := a.For(other)
		if err != nil {
			t.Fatal(err)
		}
		dp := drawPressure(t)
		near(t, "flow", c.Flow(dp), b.Flow(dp), 1e-12)
	})
}

func TestThinLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, long := logRange(5e-6, 3e-4).Draw(t, "h"), logRange(5e-4, 0.05).Draw(t, "L")
		liquid := PowerLaw{K: logRange(1e-2, 50).Draw(t, "K"), N: rapid.Float64Range(0.3, 1).Draw(t, "n"), Density: 1300}
		var law ThinLaw
		var err error
		if rapid.Bool().Draw(t, "tube") {
			law, err = Tube{h, long}.LawThin(liquid)
		} else {
			law, err = Slot{50 * h, h, long}.LawThin(liquid)
		}
		if err != nil {
			t.Fatal(err)
		}
		dp := math.Copysign(logRange(1e3, 5e7).Draw(t, "dp"), drawPressure(t))
		checkPath(t, law, dp)
		q := math.Abs(law.Flow(dp))
		near(t, "pressure", law.Viscous*math.Pow(q, law.N)+law.Quad*q*q, math.Abs(dp), 1e-11)
		if law.Flow(-dp) != -law.Flow(dp) || math.Abs(law.Flow(1.01*dp)) <= q {
			t.Fatal("not odd and rising")
		}
		if e := law.Exponent(dp); e < 0.5-1e-12 || e > 1/law.N+1e-12 {
			t.Fatalf("exponent %g", e)
		}
	})
}

// With n = 1 a power-law liquid is Newtonian: the same laminar formulas.
func TestThinOfIndexOneIsNewtonian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, long, l := logRange(1e-6, 1e-4).Draw(t, "h"), logRange(1e-3, 0.05).Draw(t, "L"), drawLiquid(t)
		p := PowerLaw{K: l.Viscosity, N: 1, Density: l.Density}
		dp := drawPressure(t)
		slot, tube, ring := Slot{100 * h, h, long}, Tube{h, long}, Annulus{Diameter: 100 * h, Gap: h, Length: long}
		for _, pair := range [][2]func() (float64, error){
			{func() (float64, error) { return slot.Flow(dp, l) }, func() (float64, error) { return slot.FlowThin(dp, p) }},
			{func() (float64, error) { return tube.Flow(dp, l) }, func() (float64, error) { return tube.FlowThin(dp, p) }},
			{func() (float64, error) { return ring.Flow(dp, l) }, func() (float64, error) { return ring.FlowThin(dp, p) }},
		} {
			a, err1 := pair[0]()
			b, err2 := pair[1]()
			var r1, r2 *RegimeError
			switch {
			case errors.As(err1, &r1) && errors.As(err2, &r2):
				near(t, "Reynolds number refused", r2.Re, r1.Re, 1e-10)
			case err1 != nil || err2 != nil:
				t.Fatalf("one refuses: %v, %v", err1, err2)
			default:
				near(t, "flow", b, a, 1e-12)
			}
		}
		// what is lost to inertia does not depend on how the liquid thins
		for _, pair := range [][2]func() (Path, error){
			{func() (Path, error) { return slot.Law(l) }, func() (Path, error) { return slot.LawThin(p) }},
			{func() (Path, error) { return tube.Law(l) }, func() (Path, error) { return tube.LawThin(p) }},
			{func() (Path, error) { return ring.Law(l) }, func() (Path, error) { return ring.LawThin(p) }},
		} {
			a, err1 := pair[0]()
			b, err2 := pair[1]()
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			near(t, "inertia", b.(ThinLaw).Quad, a.(Law).Quad, 1e-14)
		}
	})
}

// A tube refuses a power-law liquid at the generalised Reynolds number of Metzner and Reed.
func TestTubeRefusesAtMetznerReed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := logRange(1e-3, 5e-2).Draw(t, "d")
		liquid := PowerLaw{K: logRange(1e-3, 1).Draw(t, "K"), N: rapid.Float64Range(0.3, 1).Draw(t, "n"), Density: 1200}
		dp := logRange(1e2, 1e6).Draw(t, "dp")
		law, err := Tube{d, 1}.LawThin(liquid)
		if err != nil {
			t.Fatal(err)
		}
		v := math.Pow(dp/law.Viscous, 1/liquid.N) / (math.Pi * d * d / 4)
		want, err := TubeReynolds(d, v, liquid)
		if err != nil {
			t.Fatal(err)
		}
		var regime *RegimeError
		_, err = Tube{d, 1}.FlowThin(dp, liquid)
		switch {
		case errors.As(err, &regime):
			near(t, "Re'", regime.Re, want, 1e-9)
		case err != nil || want > LaminarRe*(1+1e-9):
			t.Fatalf("accepted at Re' = %g, %v", want, err)
		}
	})
}

func TestPacking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, rated := logRange(1e-10, 1e-5).Draw(t, "q"), logRange(1e6, 5e7).Draw(t, "rated")
		energise := rapid.OneOf(rapid.Just(0.0), logRange(1e5, 1e8)).Draw(t, "energise")
		facing := rapid.SampledFrom([]Facing{FacingPressure, FacingAway}).Draw(t, "facing")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		l := drawLiquid(t)
		p, err := RatedPacking(q, rated, energise, facing, l, share)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "rated flow", p.Flow(rated), q, 1e-11)
		dp := drawPressure(t)
		checkPath(t, p, dp)
		if e := p.Exponent(dp); e < -2-1e-9 || e > 4+1e-9 {
			t.Fatalf("exponent %g", e)
		}
		// the slope does not jump where the pressure turns
		near(t, "slope at rest", p.Slope(1e-6), p.Slope(-1e-6), 1e-6)
		// turning packing and pressure round turns the flow round
		turned := Packing{Rest: p.Rest, Energise: p.Energise, Facing: -p.Facing}
		near(t, "mirror", turned.Flow(-dp), -p.Flow(dp), 1e-12)
		other, err := p.For(Liquid{2 * l.Viscosity, l.Density})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(other.Flow(dp)) >= math.Abs(p.Flow(dp)) {
			t.Fatal("a thicker liquid leaks no less")
		}
	})
	tight, err := RatedPacking(0, 1e7, 1e6, FacingPressure, Liquid{1, 1000}, 0.5)
	if err != nil || tight.Flow(2e7) != 0 || tight.Slope(2e7) != 0 || tight.Exponent(2e7) != 1 {
		t.Errorf("tight packing: %+v, %v", tight, err)
	}
}

// A packing made of its gap leaks as that gap when it cannot move.
func TestNewPackingRigid(t *testing.T) {
	a, l := Annulus{Diameter: 0.02, Gap: 1e-5, Length: 0.005}, Liquid{0.1, 1200}
	p, err := NewPacking(a, 0, FacingPressure, l)
	if err != nil {
		t.Fatal(err)
	}
	law, err := a.Law(l)
	if err != nil || p.Flow(1e7) != law.Flow(1e7) {
		t.Errorf("%g, want %g, %v", p.Flow(1e7), law.Flow(1e7), err)
	}
}

func TestParallelAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err1 := FromRated(1e-7, 2e7, drawLiquid(t), rapid.Float64Range(0, 1).Draw(t, "a"))
		b, err2 := RatedPacking(2e-7, 2e7, 4e6, FacingPressure, drawLiquid(t), 1)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		dp := drawPressure(t)
		near(t, "sum", Parallel{a, b}.Flow(dp), a.Flow(dp)+b.Flow(dp), 1e-15)
		checkPath(t, Parallel{a, b}, dp)
	})
	if e := (Parallel{}).Exponent(1e6); e != 1 {
		t.Errorf("exponent of nothing: %g", e)
	}
}

func TestErrorsAreTyped(t *testing.T) {
	water, bad := Liquid{1e-3, 998}, Liquid{0, 998}
	for name, call := range map[string]func() error{
		"no viscosity":  func() error { _, err := Slot{1, 1e-4, 1}.Flow(1, bad); return err },
		"NaN pressure":  func() error { _, err := Tube{1e-3, 1}.Flow(math.NaN(), water); return err },
		"no length":     func() error { _, err := Annulus{0.1, 1e-4, 0, 0}.Law(water); return err },
		"no section":    func() error { _, err := Groove{Length: 1}.Law(water); return err },
		"flat vee":      func() error { _, err := Vee(1, 1e-4); return err },
		"large Cd":      func() error { _, err := Orifice{1e-6, 1e-3, 1.2}.Law(water); return err },
		"no facing":     func() error { _, err := RatedPacking(1, 1, 1, 0, water, 1); return err },
		"soft lip":      func() error { _, err := NewPacking(Annulus{0.02, 1e-5, 1e-3, 0}, -1, FacingAway, water); return err },
		"thickening":    func() error { _, err := Slot{1, 1e-4, 1}.LawThin(PowerLaw{1, 1.3, 1000}); return err },
		"infinite wall": func() error { _, err := Slot{1, 1e-4, 1}.Moving(1, math.Inf(1), water); return err },
		"high lift":     func() error { _, err := BallOnCone{0.01, 0.8}.Lifted(0.006, 0.7); return err },
		"law unfilled":  func() error { _, err := Law{Lin: 1}.For(water); return err },
		"negative leak": func() error { _, err := FromRated(-1, 1e6, water, 1); return err },
	} {
		var re *num.RangeError
		if err := call(); !errors.As(err, &re) {
			t.Errorf("%s: %v, want a range error", name, err)
		}
	}
	var regime *RegimeError
	if _, err := (Tube{0.01, 1}).Flow(1e5, water); !errors.As(err, &regime) || regime.Re <= LaminarRe {
		t.Errorf("turbulent tube: %v", err)
	}
	// a slot of 0.1 m × 0.1 mm × 10 mm, water, 1 MPa: Q = 8.3333e-4 m³/s, Re = 2ρQ/(wμ) = 16633, by hand
	if _, err := (Slot{0.1, 1e-4, 0.01}).FlowThin(1e6, PowerLaw{1e-3, 1, 998}); !errors.As(err, &regime) || math.Abs(regime.Re/16633-1) > 1e-4 {
		t.Errorf("turbulent slot: %v", err)
	}
	hole, err := Hole(1e-4)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := hole.Flow(10, water); !errors.As(err, &regime) || regime.Re >= regime.Lo {
		t.Errorf("slow orifice: %v", err)
	}
	if q, err := hole.Flow(0, water); q != 0 || err != nil {
		t.Errorf("orifice at rest: %g, %v", q, err)
	}
}
