package stroke

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/pump"
)

// runSetup is a minute's run with the tip open.
func runSetup(p *pump.Pump, f ...Fault) Setup {
	return Setup{Pump: p, Fluid: oil, Mode: Run, Faults: f, Duration: 12, RelTol: 1e-5}
}

// runLoss returns the volume lost per double stroke of a run, less its first and last strokes.
func runLoss(t *testing.T, p *pump.Pump, f ...Fault) float64 {
	t.Helper()
	return lossPerCycle(simulate(t, runSetup(p, f...)))
}

func lossPerCycle(tr *Trace) float64 {
	sum, n := 0.0, 0
	for i := 2; i+1 < len(tr.Strokes); i += 2 {
		sum += tr.Strokes[i].Lost + tr.Strokes[i+1].Lost
		n++
	}
	return sum / float64(n)
}

// TestMassBalance: with every path leaking, in every mode of every pump, the fluid is kept to round-off at any tolerance.
func TestMassBalance(t *testing.T) {
	for name, p := range pumps() {
		for _, mode := range []Mode{Stall, Run, LockedHold} {
			for _, tol := range []float64{1e-3, 1e-6} {
				tr, err := Simulate(Setup{Pump: p, Fluid: oil, Mode: mode, Faults: everyFault(p), Duration: 2, RelTol: tol})
				if err != nil {
					t.Fatal(err)
				}
				if tr.MassError > 1e-12 {
					t.Errorf("%s, mode %d, tolerance %g: mass error %.3g", name, mode, tol, tr.MassError)
				}
			}
		}
	}
}

// TestDelivery: a tight pump with a rigid liquid delivers Ac·s a double stroke, whatever its rod; a four-valve pump
// (2Ac − Ar)·s, less what flows back while the balls close: the less the smaller their lift.
func TestDelivery(t *testing.T) {
	for name, p := range map[string]*pump.Pump{"differential": heldPump(), "four-valve": doublePump(), "crank": crankPump()} {
		p.Hose.Expansion = 1e-14
		if p.Drive.Kind == pump.Crank {
			p.Drive.Stop = 1e9
		}
		want, err := SingleActing(p.Bore, p.Stroke, 1)
		if name == "four-valve" {
			want, err = DoubleActing(p.Bore, p.Rod, p.Stroke, 1)
		}
		if err != nil {
			t.Fatal(err)
		}
		s := runSetup(p)
		s.Fluid = Fluid{Density: 860, Viscosity: 0.05, Bulk: 1e11}
		s.Friction = smoothRod
		rigid := delivered(simulate(t, s))
		if !near(rigid, want, 0.02) || rigid > want*(1+1e-6) {
			t.Errorf("%s: delivers %.6g m³ a double stroke, want %.6g less the closing of the balls", name, rigid, want)
		}
		for i := range p.Valves {
			p.Valves[i].Lift = 0.5 * mm
		}
		if quick := delivered(simulate(t, s)); !near(quick, want, 0.01) || quick > want*(1+1e-6) {
			t.Errorf("%s: with quick balls %.6g m³, want %.6g", name, quick, want)
		}
	}
	// Compression and the closing of the balls take the first 3 to 15 % of a downstroke of a sound pump with oil (common
	// practice, no published source).
	p := heldPump()
	tr := simulate(t, runSetup(p))
	lost, swept := 0.0, 0.0
	for _, st := range tr.Strokes[2:] {
		if st.Dir == pump.Down {
			lost, swept = lost+st.Lost, swept+st.Swept
		}
	}
	if share := lost / swept; share < 0.03 || share > 0.15 {
		t.Errorf("a downstroke loses %.3g of its sweep", share)
	}
}

// delivered is the mean volume that leaves per double stroke.
func delivered(tr *Trace) float64 {
	sum, n := 0.0, 0
	for i := 2; i+1 < len(tr.Strokes); i += 2 {
		sum += tr.Strokes[i].Delivered + tr.Strokes[i+1].Delivered
		n++
	}
	return sum / float64(n)
}

// TestRunLosesSum: what a run loses is the sum of the leaks: piston on the upstroke, inlet on the downstroke.
func TestRunLosesSum(t *testing.T) {
	p := heldPump()
	law := leak.Law{Lin: 20e6 / 6e-6}
	piston, inlet := Fault{Path: "piston packings", Leak: law}, Fault{Path: "inlet valve", Leak: law}
	none, onlyPiston, onlyInlet, both := runLoss(t, p), runLoss(t, p, piston), runLoss(t, p, inlet), runLoss(t, p, piston, inlet)
	if sum := onlyPiston + onlyInlet - none; !near(both, sum, 0.08) || onlyPiston < 1.5*none || onlyInlet < 1.5*none {
		t.Errorf("loses %.4g with both, %.4g + %.4g − %.4g apart", both, onlyPiston, onlyInlet, none)
	}
	// The losses are the leaks: counted flow against Swept − Delivered over the same strokes.
	tr := simulate(t, runSetup(p, piston, inlet))
	lost, cycles := 0.0, 0.0
	for _, st := range tr.Strokes {
		lost += st.Lost
		cycles += 0.5
	}
	leaked := tr.Leaked["piston packings"] + tr.Leaked["inlet valve"]
	if rest := lost - leaked - none*cycles; math.Abs(rest) > 0.15*leaked {
		t.Errorf("lost %.4g, leaked %.4g, sound pump's loss %.4g", lost, leaked, none*cycles)
	}
}

// TestLateBall: a late inlet ball loses the volume that the piston sweeps while it hangs, on every downstroke, and leaves
// the creep of a stall as it is.
func TestLateBall(t *testing.T) {
	p := heldPump()
	const late = 0.05
	tight := runLoss(t, p)
	s := runSetup(p, Fault{Path: "inlet valve", Late: late})
	s.Sample = 0.001
	tr := simulate(t, s)
	extra := lossPerCycle(tr) - tight
	swept, downs, hanging := 0.0, 0, 0
	for _, st := range tr.Strokes[2:] {
		if st.Dir != pump.Down {
			continue
		}
		downs++
		for i := int(st.Start/s.Sample) + 1; tr.T[i] < st.Start+st.Dur; i++ {
			if tr.Lift["inlet valve"][i] == p.Valves[0].Lift && tr.V[i] < 0 {
				hanging++
				swept += -tr.V[i] * s.Sample * math.Pi / 4 * p.Bore * p.Bore
			}
		}
	}
	swept /= float64(downs)
	if extra < 0.8*swept || extra > 1.3*swept || extra < 1e-7 {
		t.Errorf("loses %.4g m³ more a double stroke; the piston sweeps %.4g while the ball hangs", extra, swept)
	}
	if each := float64(hanging) * s.Sample / float64(downs); !near(each, late, 0.2) {
		t.Errorf("the ball hangs %.4g s a stroke, want %.4g", each, late)
	}
	leaky := Fault{Path: "inlet valve", Leak: leak.Law{Lin: 20e6 / 1e-6}}
	sound := simulate(t, creepSetup(p, pump.Down, leaky))
	leaky.Late = late
	hung := simulate(t, creepSetup(p, pump.Down, leaky))
	if !near(last(sound.V), last(hung.V), 1e-6) {
		t.Errorf("creep %g m/s with the late ball, %g without", last(hung.V), last(sound.V))
	}
	if tr := simulate(t, creepSetup(p, pump.Down, Fault{Path: "inlet valve", Late: late})); math.Abs(last(tr.V)) > 1e-9 {
		t.Errorf("a late ball alone creeps at %g m/s", last(tr.V))
	}
}

// TestToleranceIndependence: the result does not depend on the step sizes: it settles as the tolerance falls.
func TestToleranceIndependence(t *testing.T) {
	for name, s := range map[string]Setup{
		"stall": {Pump: heldPump(), Fluid: oil, Mode: Stall, Duration: 20, Sample: 0.1, Faults: []Fault{
			{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 8e-6}}, {Path: "inlet valve", Leak: leak.Law{Quad: 20e6 / 25e-12}}}},
		"run": {Pump: heldPump(), Fluid: oil, Mode: Run, Duration: 10, Sample: 0.1},
	} {
		s.RelTol = 1e-8
		ref := simulate(t, s)
		worst := math.Inf(1)
		for _, tol := range []float64{1e-3, 1e-5, 1e-6} {
			s.RelTol = tol
			e := apart(simulate(t, s), ref, s.Pump)
			if e > 10*tol || e > worst {
				t.Errorf("%s: tolerance %g, error %.3g (before %.3g)", name, tol, e, worst)
			}
			worst = e
		}
	}
}

// apart is the root mean square difference of two traces: rod over stroke, and line over 20 MPa.
func apart(a, b *Trace, p *pump.Pump) float64 {
	sum := 0.0
	for i := range b.T {
		dx, dp := (a.X[i]-b.X[i])/p.Stroke, (a.P[pump.Line][i]-b.P[pump.Line][i])/20e6
		sum += dx*dx + dp*dp
	}
	return math.Sqrt(sum / float64(len(b.T)))
}

// TestDebris: the leak of a seat with debris is drawn anew at each seating, repeatably, and only then.
func TestDebris(t *testing.T) {
	run := func(seed uint64) *Trace {
		s := Setup{Pump: heldPump(), Fluid: oil, Mode: Stall, Duration: 60, RelTol: 1e-5, Rand: rand.New(rand.NewPCG(seed, 1)),
			Faults: []Fault{{Path: "inlet valve", Leak: leak.Law{Quad: 20e6 / 64e-12}, Reseat: 0.6},
				{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 8e-6}}}}
		return simulate(t, s)
	}
	a, b, c := run(1), run(1), run(2)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same seed gives different traces")
	}
	if reflect.DeepEqual(a.Strokes, c.Strokes) {
		t.Error("different seeds give the same strokes")
	}
	var lo, hi [2]float64
	lo = [2]float64{math.Inf(1), math.Inf(1)}
	for _, st := range a.Strokes[1:] {
		i := (1 - int(st.Dir)) / 2
		lo[i], hi[i] = min(lo[i], st.Dur), max(hi[i], st.Dur)
	}
	if up, down := hi[0]/lo[0], hi[1]/lo[1]; down < 1.3 || up > 1.1 {
		t.Errorf("longest over shortest: upstroke %.3g, downstroke %.3g; want only the downstroke to vary", up, down)
	}
}

// TestTip: the tip opens and shuts when told; while it is shut nothing leaves.
func TestTip(t *testing.T) {
	s := Setup{Pump: heldPump(), Fluid: oil, Mode: Stall, Duration: 6, Sample: 0.1, Tip: []Turn{{1, true}, {3, false}}}
	tr := simulate(t, s)
	for i, at := range tr.T {
		if moving := math.Abs(tr.V[i]) > 5e-3; at < 0.95 && moving || at > 1.5 && at < 2.95 && !moving || at > 5 && moving {
			t.Errorf("at %g s the rod moves at %g m/s", at, tr.V[i])
		}
	}
	if tr.Delivered < 3e-5 {
		t.Errorf("delivered %g m³", tr.Delivered)
	}
}

// TestHoseLoss: in a steady run the hose loses what Hagen and Poiseuille say: Δp = 128·μ·L·Q/(π·d⁴).
func TestHoseLoss(t *testing.T) {
	p := heldPump()
	p.Stroke = 2 // long, so that it runs steadily
	s := Setup{Pump: p, Fluid: Fluid{860, 0.3, 1.6e9, 0}, Mode: Run, Duration: 8, Sample: 0.1, Friction: smoothRod}
	tr := simulate(t, s)
	q := last(tr.V) * p.Map().Creep[pump.Up] * (1 + last(tr.P[pump.Line])/1.6e9)
	length := p.Hose.Length * (1 - 0.5/3) // between the middles of the first half resistance and the last node
	d := p.Hose.Bore
	want := 128 * 0.3 * length * q / (math.Pi * math.Pow(d, 4))
	if got := last(tr.P[pump.Line]) - last(tr.P["hose 3"]); len(tr.Strokes) > 0 || !near(got, want, 0.05) {
		t.Errorf("hose loses %.5g Pa, want %.5g", got, want)
	}
}

// TestStarved: a pump that cannot fill parts its fluid; the pressure comes near −1 atmosphere and never falls below.
func TestStarved(t *testing.T) {
	p := heldPump()
	p.Valves[0].Lift = 0.05 * mm
	p.Hose.Tip = 2 * mm
	for _, f := range []Fluid{oil, {860, 0.05, 1.6e9, 1e-4}} {
		tr := simulate(t, Setup{Pump: p, Fluid: f, Mode: Run, Duration: 10})
		if low := tr.Lowest["lower"]; low < -atmosphere || low > -0.7*atmosphere {
			t.Errorf("air %g: the lower chamber falls to %g Pa", f.Air, low)
		}
	}
}

// TestProgress: the callback hears of the run and can end it.
func TestProgress(t *testing.T) {
	s := runSetup(heldPump())
	var heard []float64
	s.Progress = func(at float64) bool { heard = append(heard, at); return at < 5 }
	tr, err := Simulate(s)
	if !errors.Is(err, ode.ErrCanceled) || len(heard) < 3 || tr.Stats.T < 5 || tr.Stats.T > 10 {
		t.Errorf("%v after %d calls at %g s", err, len(heard), tr.Stats.T)
	}
}
