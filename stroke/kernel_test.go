package stroke

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// everyFault opens every path of a pump with laws of every kind.
func everyFault(p *pump.Pump) []Fault {
	var faults []Fault
	for i, path := range p.Map().Paths {
		f := Fault{Path: path.Name}
		lin, quad := 20e6/1e-6, 20e6/1e-12
		switch i % 5 {
		case 0:
			f.Leak = leak.Law{Lin: lin}
		case 1:
			f.Leak = leak.Packing{Rest: leak.Law{Lin: lin, Quad: quad}, Energise: 5e6, Facing: leak.FacingPressure}
			f.Along = []float64{0.2, 4.8, -4.8}
		case 2:
			f.Leak = leak.Parallel{leak.Law{Quad: quad}, leak.Law{Lin: lin, Quad: quad}}
		case 3:
			f.Leak = leak.Packing{Rest: leak.Law{Lin: 5 * lin}, Energise: 9e6, Facing: leak.FacingAway}
			f.Zone = &Zone{From: 0.2 * p.Stroke, To: 0.8 * p.Stroke, Edge: 0.3 * p.Stroke}
		case 4:
			f.Leak = leak.ThinLaw{Viscous: 20e6 / math.Pow(1e-6, 0.6), N: 0.6, Quad: quad}
		}
		faults = append(faults, f)
	}
	return faults
}

// scatter draws a state in which everything moves and all pressures differ.
func scatter(s *sim, r *rand.Rand) {
	stroke := s.s.Pump.Stroke
	s.x, s.v = stroke*(0.1+0.8*r.Float64()), 0.2*r.NormFloat64()*math.Pow(10, -4*r.Float64())
	for j := range s.content {
		s.content[j] = s.k.content(j, -5e4+2e7*r.Float64(), s.x)
	}
	for i := range s.k.balls {
		b := &s.k.balls[i]
		b.mode = ballMode(r.IntN(4))
		s.z[i], s.w[i] = b.lift*r.Float64(), r.NormFloat64()
	}
	switch {
	case s.s.Mode == LockedHold:
		s.k.rod = locked
	case s.s.Pump.Drive.Kind == pump.Crank:
		s.k.rod = driven
		s.k.crank.speed, s.k.crank.accel = 5+20*r.Float64(), 100*r.NormFloat64()
	default:
		s.k.rod = rodMode(int(pushed) + r.IntN(3))
		s.k.push.rate = 1e4 * r.NormFloat64()
	}
	s.enter()
}

// TestJacobian compares the analytic derivatives with central differences, in random states and modes of every pump.
func TestJacobian(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for name, p := range pumps() {
		for _, mode := range []Mode{Run, LockedHold} {
			s, err := newSim(&Setup{Pump: p, Fluid: oil, Mode: mode, Faults: everyFault(p), Duration: 1})
			if err != nil {
				t.Fatal(err)
			}
			for range 80 {
				scatter(s, r)
				if worst, where := jacobianError(s); worst > 2e-6 {
					t.Fatalf("%s mode %d: derivative %s off by %.3g", name, mode, where, worst)
				}
			}
		}
	}
}

// jacobianError returns the largest relative deviation from a difference quotient of fourth order.
func jacobianError(s *sim) (worst float64, where string) {
	k, n := s.k, s.k.lay.dim
	jac, dt := make([]float64, n*n), make([]float64, n)
	k.Jac(0.01, s.y, jac)
	k.DerivT(0.01, s.y, dt)
	tol := s.tol.of(s)
	var f [4][]float64 // at −2, −1, 1, 2 steps
	for i := range f {
		f[i] = make([]float64, n)
	}
	compare := func(i int, got, step, scale float64, what string) {
		want := (8*(f[2][i]-f[1][i]) - (f[3][i] - f[0][i])) / (12 * step)
		noise := 1e-14 * (math.Abs(f[1][i]) + math.Abs(f[2][i])) / step
		e := math.Max(0, math.Abs(got-want)-noise) / math.Max(scale, math.Max(math.Abs(got), math.Abs(want)))
		if e > worst {
			worst, where = e, fmt.Sprintf("∂f%d/∂%s = %g, want %g, rod %v", i, what, got, want, k.rod)
		}
	}
	for j := range n {
		step, y0 := 0.3*tol[j], s.y[j]
		if k.lay.v == j {
			step = 1e-4 * math.Max(math.Abs(y0), roundSpeed)
		}
		for i, m := range []float64{-2, -1, 1, 2} {
			s.y[j] = y0 + m*step
			k.Deriv(0.01, s.y, f[i])
		}
		s.y[j] = y0
		for i := range n {
			compare(i, jac[i*n+j], step, 1e-4*tol[i]/tol[j], fmt.Sprint("y", j))
		}
	}
	const step = 1e-5
	for i, m := range []float64{-2, -1, 1, 2} {
		k.Deriv(0.01+m*step, s.y, f[i])
	}
	for i := range n {
		compare(i, dt[i], step, 1e-4*tol[i], "t")
	}
	return worst, where
}

// TestContentInverts checks pressure and content against each other over the whole range, down to where the fluid parts.
func TestContentInverts(t *testing.T) {
	p := heldPump()
	for _, air := range []float64{0, 1e-6, 0.005, 0.3} {
		s, err := newSim(&Setup{Pump: p, Fluid: Fluid{860, 0.05, 1.6e9, air}, Mode: Stall, Duration: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []float64{-101e3, -5e4, -10, 0, 1, 1e5, 3e6, 2e7, 1e8} {
			for j := range s.content {
				s.content[j] = s.k.content(j, want, 0.03)
			}
			s.k.pressures(s.content, 0.03)
			for j := range s.content {
				if d := math.Abs(s.k.p[j] - want); d > 1e-9*math.Abs(want)+1e-5 {
					t.Errorf("air %g: p = %.9g comes back as %.9g", air, want, s.k.p[j])
				}
			}
		}
		for j := range s.content { // more taken out than there is: it parts at −1 atmosphere
			s.content[j] = -0.3 * s.k.nodes[j].volume
		}
		s.k.pressures(s.content, 0.03)
		for j := range s.content {
			if p := s.k.p[j]; p < -atmosphere*(1+1e-12) || p > -0.5*atmosphere && air < 0.1 {
				t.Errorf("air %g: an emptied node stands at %g Pa", air, p)
			}
		}
	}
}

// TestEffectiveBulkModulus checks dn/dp against the published mean of liquid and isothermal gas: Merritt's
// 1/β = (1/β_l + r/p)/(1+r), r = x0/(1−x0)·p0/p. The model here leaves the small factor (1+r)(1−x0) out.
func TestEffectiveBulkModulus(t *testing.T) {
	const x0, bulk = 0.01, 1.7e9
	s, err := newSim(&Setup{Pump: heldPump(), Fluid: Fluid{860, 0.05, bulk, x0}, Mode: Stall, Duration: 1})
	if err != nil {
		t.Fatal(err)
	}
	lower := len(s.content) - 1
	v := s.k.nodes[lower].volume + s.k.nodes[lower].area*0.05
	for _, abs := range []float64{1e6, 5e6, 10e6, 20e6} {
		s.content[lower] = s.k.content(lower, abs-atmosphere, 0.05)
		s.k.pressureSlopes(s.content, 0.05)
		r := x0 / (1 - x0) * atmosphere / abs
		want := (1 + r) / (1/bulk + r/abs)
		if got := v * s.k.pn[lower]; !near(got, want, 0.012) {
			t.Errorf("at %g Pa: K = %.5g, want %.5g", abs, got, want)
		}
	}
}

// TestBallOpening checks the gap against its closed limits and its slopes against differences.
func TestBallOpening(t *testing.T) {
	s, err := newSim(&Setup{Pump: heldPump(), Fluid: oil, Mode: Stall, Duration: 1})
	if err != nil {
		t.Fatal(err)
	}
	b := &s.k.balls[0]
	// Just off the seat the ball's surface stands at sin α = y0/R to the axis, so the gap is z·y0/R and the frustum is a
	// band of the circumference 2π·rs.
	z := 1e-9
	if g, want := b.opening(z), 2*math.Pi*b.rs*z*b.y0/b.r; !near(g.area, want, 1e-6) || !near(g.width, 2*z*b.y0/b.r, 1e-6) {
		t.Errorf("just open: %+v, want area %g", g, want)
	}
	// Far off the seat bore alone counts.
	if g := b.opening(1); !near(g.area, b.seat, 1e-4) {
		t.Errorf("far open: area %g, want %g", g.area, b.seat)
	}
	for _, z := range []float64{1e-7, 1e-4, 3e-3} {
		g, hi, lo := b.opening(z), b.opening(z*(1+1e-6)), b.opening(z*(1-1e-6))
		if d := (hi.area - lo.area) / (2e-6 * z); !near(g.dArea, d, 1e-7) {
			t.Errorf("dA/dz = %g, want %g", g.dArea, d)
		}
		if d := (hi.width - lo.width) / (2e-6 * z); !near(g.dWidth, d, 1e-7) {
			t.Errorf("d(2g)/dz = %g, want %g", g.dWidth, d)
		}
	}
	// A wide open valve passes Cd·A·√(2dp/ρ) of a thin liquid (H. E. Merritt, Hydraulic Control Systems, eq. 3-29), and
	// 2δ²·D_h·A·dp/μ at a vanishing dp (§3-4).
	g := b.open
	q, _, _ := b.through(1e6, g)
	if want := ballCd * g.area * math.Sqrt(2*1e6/oil.Density); !near(q, want, 0.02) {
		t.Errorf("turbulent flow %g, want %g", q, want)
	}
	q, _, _ = b.through(1e-6, g)
	if want := 2 * ballDelta * ballDelta * g.width * g.area * 1e-6 / oil.Viscosity; !near(q, want, 1e-5) {
		t.Errorf("laminar flow %g, want %g", q, want)
	}
}

// TestBallFalls lets a ball fall from its stop with the same pressure on both sides. Without drag it takes √(2h/g') with
// the added mass of a sphere: steel in water, 3 mm, 27.3 ms. Leaving the seat with a share e of its speed it comes down
// again 2e falls later (both by hand).
func TestBallFalls(t *testing.T) {
	p := heldPump()
	p.Valves[0].Lift = 3 * mm
	set := Setup{Pump: p, Fluid: Fluid{1000, 1e-7, 2.2e9, 0}, Mode: LockedHold, Vented: []string{"lower"}, X0: 0.05,
		Duration: 0.1, RelTol: 1e-7, Rebound: 0.4}
	s, err := newSim(&set)
	if err != nil {
		t.Fatal(err)
	}
	b := &s.k.balls[0]
	b.mode, b.drag1, b.drag2, s.z[0] = free, 0, 0, b.lift
	var met []float64
	for s.t < s.end && b.mode == free {
		s.enter()
		sol, err := s.solver()
		if err != nil {
			t.Fatal(err)
		}
		s.k.fired = s.k.fired[:0]
		st, err := sol.Run(s.t, s.y, s.end, nil)
		if err != nil {
			t.Fatal(err)
		}
		s.leave(st.T)
		for _, w := range s.k.fired {
			s.happen(w)
			met = append(met, s.t)
		}
	}
	if len(met) < 2 {
		t.Fatalf("it meets the seat at %v s, want at least two times", met)
	}
	landed := met[0]
	want, err := leak.FreeFallLag(3*mm, 7800, 1000)
	if err != nil {
		t.Fatal(err)
	}
	if !near(landed, want, 1e-4) || math.Abs(landed-27.3e-3) > 0.1e-3 {
		t.Errorf("falls in %.4g s, want %.4g", landed, want)
	}
	if again := want * (1 + 2*set.Rebound); !near(met[1], again, 1e-4) {
		t.Errorf("comes down again after %.4g s, want %.4g", met[1], again)
	}
}

// TestFluidAt checks the constants taken from a fluid against IAPWS-IF97 and IAPWS R12-08 for water at 20 °C: density
// 998.207, 1002.695 and 1007.435 kg/m³ at 0.1, 10 and 20.68 MPa, viscosity 0.99878 mPa·s at 10 MPa.
func TestFluidAt(t *testing.T) {
	f, err := FluidAt(fluid.Water(), 293.15, 20.68e6, 1)
	if err != nil {
		t.Fatal(err)
	}
	if want := 20.68e6 / (1007.435/998.207 - 1); !near(f.Bulk, want, 1e-2) {
		t.Errorf("bulk modulus %.5g, want %.5g", f.Bulk, want)
	}
	f, err = FluidAt(fluid.Water(), 293.15, 2*(10e6-fluid.Atmosphere), 1)
	if err != nil || !near(f.Density, 1002.695, 1e-5) || !near(f.Viscosity, 0.99878e-3, 1e-4) {
		t.Errorf("density %.7g, viscosity %.6g (%v)", f.Density, f.Viscosity, err)
	}
	if _, err := FluidAt(fluid.Water(), 293.15, 0, 1); err == nil {
		t.Error("no pressure is not refused")
	}
	if _, err := FluidAt(fluid.Water(), 20, 1e6, 1); err == nil {
		t.Error("20 K is not refused")
	}
}
