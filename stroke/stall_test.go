package stroke

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// smoothRod has no friction, so that the drive's force stands against the pressures alone.
var smoothRod = &Friction{}

// still is oil without air: constant compliance.
var still = Fluid{Density: 860, Viscosity: 0.05, Bulk: 1.6e9}

// creepSetup is a stall in the middle of a stroke that starts at its own stall pressure.
func creepSetup(p *pump.Pump, d pump.Dir, f ...Fault) Setup {
	return Setup{Pump: p, Fluid: still, Mode: Stall, Start: d, X0: p.Stroke / 2, Friction: smoothRod, Faults: f,
		Duration: 8, Sample: 0.05, RelTol: 1e-7}
}

func simulate(t *testing.T, s Setup) *Trace {
	t.Helper()
	tr, err := Simulate(s)
	if err != nil {
		t.Fatal(err)
	}
	if tr.MassError > 1e-11 {
		t.Errorf("fluid lost or gained: %.3g of what moved", tr.MassError)
	}
	return tr
}

func last(v []float64) float64 { return v[len(v)-1] }

// TestCreepSpeed: at a force-held stall the rod creeps with v·A(d) = Σ Q over the paths under pressure on that stroke, as
// the pressure map says, in each direction and for each path. Q is volume at zero pressure, so that a chamber gives up
// A·v·(1 + p/K). Check: continuity and the balance of forces, by hand.
func TestCreepSpeed(t *testing.T) {
	laws := map[string]leak.Law{"laminar": {Lin: 20e6 / 1e-6}, "orifice": {Quad: 20e6 / 1e-12}, "mixed": {Lin: 10e6 / 1e-6, Quad: 10e6 / 1e-12}}
	for name, p := range map[string]*pump.Pump{"differential": heldPump(), "four-valve": doublePump()} {
		m := p.Map()
		for _, path := range m.Paths {
			for _, d := range pump.Dirs {
				if overfills(p, m, path, d) {
					continue // see TestLeakThatOverfills
				}
				for kind, law := range laws {
					tr := simulate(t, creepSetup(p, d, Fault{Path: path.Name, Leak: law}))
					v := last(tr.V) * float64(d)
					if rest := restForce(p, tr, d); math.Abs(rest) > 2e-6*p.Drive.ForceUp {
						t.Errorf("%s %s %v: %g N out of balance", name, path.Name, d, rest)
					}
					want := creepWanted(p, m, tr, path, d, law)
					if math.Abs(v-want) > 2e-4*want+1e-8 {
						t.Errorf("%s, %s leak of %s, stroke %v: creeps at %.6g m/s, want %.6g", name, kind, path.Name, d, v, want)
					}
				}
			}
		}
	}
}

// at returns the last pressure of a node.
func at(p *pump.Pump, tr *Trace, node string) float64 {
	if c, ok := p.Chamber(node); ok && c.OpenTo == pump.Line {
		node = pump.Line
	}
	if v := tr.P[node]; v != nil {
		return last(v)
	}
	return 0
}

// restForce is the drive's force plus Σ p·dV/dx, at the end of a trace.
func restForce(p *pump.Pump, tr *Trace, d pump.Dir) float64 {
	f := float64(d) * forceOf(p.Drive, d) * (1 - float64(d)*last(tr.V)/p.Drive.FreeSpeed)
	for _, c := range p.Chambers {
		f += at(p, tr, c.Name) * p.Sweep(c)
	}
	return f
}

// creepWanted is the creep that continuity asks for: Q = v·Σ|A_i|·(1 + p_i/K) over the pressed chambers' net sweep.
func creepWanted(p *pump.Pump, m pump.Map, tr *Trace, path pump.Path, d pump.Dir, law leak.Law) float64 {
	dp := (at(p, tr, path.From) - at(p, tr, path.To)) * float64(path.Shows[d])
	sweep := 0.0
	for _, c := range p.Chambers {
		if m.Pressed[d][c.Name] {
			sweep -= float64(d) * p.Sweep(c) * (1 + at(p, tr, c.Name)/still.Bulk)
		}
	}
	return math.Abs(float64(path.Shows[d])) * law.Flow(dp) / sweep
}

// overfills says whether a leak ends in a closed chamber that expands less than the leak brings.
func overfills(p *pump.Pump, m pump.Map, path pump.Path, d pump.Dir) bool {
	into := path.To
	if path.Shows[d] < 0 {
		into = path.From
	}
	c, ok := p.Chamber(into)
	return ok && path.Shows[d] != 0 && p.Sweep(c)*float64(d) < m.Creep[d]*(1-1e-9)
}

// TestLeakThatOverfills: in a four-valve pump the rod side expands by less than the head side gives up on the downstroke. A
// leak from one to the other fills the rod side up, so its pressure rises, and with it that of the head side and the line.
// With a soft line the rod creeps as the rod side takes the leak, v = Q/(Ac−Ar), and the line stores the rest; with a stiff
// one the creep dies away: the leak hides. (Continuity and balance of forces, by hand.)
func TestLeakThatOverfills(t *testing.T) {
	p := doublePump()
	law := leak.Law{Lin: 20e6 / 1e-6}
	tr := simulate(t, creepSetup(p, pump.Down, Fault{Path: "piston seal", Leak: law}))
	lower, upper := last(tr.P["lower"]), last(tr.P["upper"])
	want := law.Flow(lower-upper) / -p.Sweep(p.Chambers[0])
	if got := math.Abs(last(tr.V)); !near(got, want, 0.01) || upper < tr.P["upper"][20] {
		t.Errorf("soft line: creeps at %.5g m/s, want %.5g; rod side at %.4g Pa", got, want, upper)
	}
	p.Hose = pump.Hose{Fittings: 10e-6}
	s := creepSetup(p, pump.Down, Fault{Path: "piston seal", Leak: law})
	s.X0, s.Duration = 0.07, 150
	tr = simulate(t, s)
	first, end := math.Abs(tr.V[2]), math.Abs(last(tr.V))
	lower, upper = last(tr.P["lower"]), last(tr.P["upper"])
	if end > 0.1*first || upper < 0.95*lower || lower < 5*tr.P["lower"][2] {
		t.Errorf("stiff line: creep %.3g → %.3g m/s, chambers at %.4g and %.4g Pa: want it to die", first, end, lower, upper)
	}
}

// TestTightPumpStands: no leak, no creep, in either direction.
func TestTightPumpStands(t *testing.T) {
	for name, p := range map[string]*pump.Pump{"differential": heldPump(), "four-valve": doublePump()} {
		for _, d := range pump.Dirs {
			for _, f := range []Fluid{still, oil} {
				s := creepSetup(p, d)
				s.Fluid, s.Friction, s.Duration, s.Sample = f, nil, 60, 1
				tr := simulate(t, s)
				if moved := math.Abs(last(tr.X) - tr.X[5]); moved > 1e-9 || len(tr.Changeovers) > 0 {
					t.Errorf("%s, stroke %v: moves %g m in 55 s", name, d, moved)
				}
			}
		}
	}
}

// TestFrictionLowersStall: a creeping rod carries F − F_f, F_f = F_s + Σ μπdL·p by Coulomb's law (by hand).
func TestFrictionLowersStall(t *testing.T) {
	p := heldPump()
	fr := &Friction{Steady: 100, PerPa: map[string]float64{"throat packings": 2e-5, "piston packings": 3e-5}, Viscous: 500}
	s := creepSetup(p, pump.Up, Fault{Path: "outside", Leak: leak.Law{Lin: 20e6 / 2e-6}})
	s.Friction, s.X0, s.Duration = fr, 0.01, 15
	tr := simulate(t, s)
	v, area := last(tr.V), p.Map().Creep[pump.Up]
	low := last(tr.P["lower"]) // a little below zero: the inlet valve has to open
	want := (p.Drive.ForceUp*(1-v/p.Drive.FreeSpeed) - 100 - 500*v + low*(math.Pi/4*p.Bore*p.Bore+3e-5)) / (area + 5e-5)
	if got := last(tr.P[pump.Line]); !near(got, want, 5e-5) {
		t.Errorf("stalls at %.7g Pa, want %.7g", got, want)
	}
}

// TestStrokesStallApart: the two strokes stall at F/(Ac−Ar) and F/Ar, which are equal only for Ar = Ac/2; the line stores
// C·Δp between them, and that much of the stroke is swallowed at each changeover.
func TestStrokesStallApart(t *testing.T) {
	for _, rod := range []float64{20 * mm, 30 * mm / math.Sqrt2, 22 * mm} {
		p := heldPump()
		p.Rod = rod
		s := creepSetup(p, pump.Up, Fault{Path: "outside", Leak: leak.Law{Lin: 20e6 / 1e-6}})
		s.Duration, s.RelTol, s.WholeLine = 90, 1e-6, true
		tr := simulate(t, s)
		area := p.Map().Creep
		if len(tr.Strokes) < 2 {
			t.Fatalf("rod %g: only %d strokes", rod, len(tr.Strokes))
		}
		first, second := tr.Strokes[0], tr.Strokes[1]
		for _, st := range []StrokeTime{first, second} {
			want := p.Drive.ForceUp * (1 - speedNear(tr, st)/p.Drive.FreeSpeed) / area[st.Dir]
			if !near(st.Line, want, 1e-3) {
				t.Errorf("rod %g, stroke %v: stalls at %.6g Pa, want %.6g", rod, st.Dir, st.Line, want)
			}
		}
		k := &kernel{soft: 1 / still.Bulk}
		line := p.Hose.Fittings + p.Hose.Length*math.Pi/4*p.Hose.Bore*p.Hose.Bore
		upper, _ := p.Chamber("upper")
		k.nodes = []node{{volume: line + p.Volume(upper, 0), area: p.Sweep(upper), stretch: p.Hose.Expansion}}
		stored := k.content(0, second.Line, 0) - k.content(0, first.Line, p.Stroke)
		if !near(second.Delivered, stored, 1e-6) && math.Abs(second.Delivered-stored) > 1e-12 {
			t.Errorf("rod %g: the line stores %.6g m³ on the second stroke, want %.6g", rod, second.Delivered, stored)
		}
		if share := stored / second.Swept; rod == 20*mm && share < 0.3 {
			t.Errorf("rod %g: the line swallows %.3g of the stroke, want a good part", rod, share)
		}
		if rod == 30*mm/math.Sqrt2 && math.Abs(first.Line-second.Line) > 2e-4*first.Line {
			t.Errorf("Ar = Ac/2 but the strokes stall at %g and %g Pa", first.Line, second.Line)
		}
	}
}

// speedNear returns the rod's speed at the last sample of a stroke.
func speedNear(tr *Trace, st StrokeTime) float64 {
	v := 0.0
	for i, at := range tr.T {
		if at < st.Start+st.Dur {
			v = math.Abs(tr.V[i])
		}
	}
	return v
}

// TestCreepAlongStroke: a worn bore leaks with rod position as its profile says, a scratched rod only while the scratch is
// in the packing, a slack packing less at high pressure.
func TestCreepAlongStroke(t *testing.T) {
	p := heldPump()
	area := p.Map().Creep[pump.Up]
	law := leak.Law{Lin: 20e6 / 8e-6}
	creep := func(v, line float64) float64 { return v * area * (1 + line/still.Bulk) / law.Flow(line) }
	s := creepSetup(p, pump.Up, Fault{Path: "piston packings", Leak: law, Along: []float64{0.2, 4.8, -4.8}})
	s.X0, s.Duration = 0.02, 5
	tr := simulate(t, s)
	for i := 20; i < len(tr.T) && len(tr.Changeovers) == 0; i++ {
		u := tr.X[i] / p.Stroke
		if got, want := creep(tr.V[i], tr.P[pump.Line][i]), 0.2+4.8*u*(1-u); !near(got, want, 0.01) {
			t.Errorf("x/s = %.3f: leak is %.4g of nominal, want %.4g", u, got, want)
		}
	}
	law = leak.Law{Lin: 20e6 / 4e-7}
	s = creepSetup(p, pump.Up, Fault{Path: "throat packings", Leak: law, Zone: &Zone{From: 0.04, To: 0.06, Edge: 0.004}})
	tr = simulate(t, s)
	i := len(tr.T) / 2
	if got := creep(tr.V[i], tr.P[pump.Line][i]); !near(got, 1, 0.01) {
		t.Errorf("scratch in the packing: leak is %.4g of nominal", got)
	}
	s.X0 = 0.08
	if tr = simulate(t, s); math.Abs(last(tr.V)) > 1e-9 {
		t.Errorf("scratch out of the packing, yet it creeps at %g m/s", last(tr.V))
	}
	packing, err := leak.RatedPacking(5e-7, 20e6, 4e6, leak.FacingPressure, leak.Liquid{Viscosity: 0.05, Density: 860}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, force := range []float64{1500, 3500, 7100} {
		p.Drive.ForceUp = force
		s = creepSetup(p, pump.Up, Fault{Path: "piston packings", Leak: packing})
		s.Duration = 4
		tr = simulate(t, s)
		line := last(tr.P[pump.Line])
		if want := packing.Flow(line) / area / (1 + line/still.Bulk); !near(last(tr.V), want, 1e-3) {
			t.Errorf("at %.3g Pa: creeps at %.5g m/s, want %.5g", line, last(tr.V), want)
		}
	}
}
