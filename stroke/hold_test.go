package stroke

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// lockedSetup is a hold with the rod locked at mid-stroke, the line as one volume, no air.
func lockedSetup(p *pump.Pump, after pump.Dir, f ...Fault) Setup {
	return Setup{Pump: p, Fluid: still, Mode: LockedHold, Start: after, X0: p.Stroke / 2, P0: 20e6, WholeLine: true, Faults: f,
		Duration: 60, Sample: 0.5, RelTol: 1e-8}
}

// compliances returns C [m³/Pa] of the line with the upper chamber, and of the lower chamber, from the geometry.
func compliances(p *pump.Pump, x float64) (cu, cl float64) {
	upper, _ := p.Chamber("upper")
	lower, _ := p.Chamber("lower")
	h := p.Hose
	v := h.Fittings + h.Length*math.Pi/4*h.Bore*h.Bore + p.Volume(upper, x)
	return v/still.Bulk + h.Expansion, p.Volume(lower, x) / still.Bulk
}

// TestLaminarHold: a locked hold that leaks to the air by a laminar law falls exponentially.
func TestLaminarHold(t *testing.T) {
	p := heldPump()
	cu, _ := compliances(p, p.Stroke/2)
	lin := 20 / cu // time constant of 20 s
	for _, path := range []string{"throat packings", "drain valve", "outside"} {
		tr := simulate(t, lockedSetup(p, pump.Up, Fault{Path: path, Leak: leak.Law{Lin: lin}}))
		for i, at := range tr.T {
			want, err := LaminarHold(20e6, cu, lin, at)
			if err != nil || !near(tr.P[pump.Line][i], want, 1e-6) {
				t.Fatalf("%s after %g s: %.9g Pa, want %.9g (%v)", path, at, tr.P[pump.Line][i], want, err)
			}
		}
	}
}

// TestOrificeHold: through an orifice the square root of the pressure falls linearly.
func TestOrificeHold(t *testing.T) {
	p := heldPump()
	cu, _ := compliances(p, p.Stroke/2)
	quad := 20e6 / math.Pow(20e6*cu/40, 2) // the first flow would empty it in 40 s
	tr := simulate(t, lockedSetup(p, pump.Up, Fault{Path: "outside", Leak: leak.Law{Quad: quad}}))
	for i, at := range tr.T {
		want, err := OrificeHold(20e6, cu, quad, at)
		if err != nil || math.Abs(tr.P[pump.Line][i]-want) > 1e-6*want+1 {
			t.Fatalf("after %g s: %.9g Pa, want %.9g (%v)", at, tr.P[pump.Line][i], want, err)
		}
	}
}

// TestLockedHoldHidesPistonSeal: with a tight inlet valve the leak past the piston fills the closed lower chamber; the line
// falls a little, to the mixing pressure, and then stands. Analytic: conservation of volume.
func TestLockedHoldHidesPistonSeal(t *testing.T) {
	p := heldPump()
	cu, cl := compliances(p, p.Stroke/2)
	want, err := MixingPressure(cu, 20e6, cl, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"piston packings", "piston valve"} {
		tr := simulate(t, lockedSetup(p, pump.Up, Fault{Path: path, Leak: leak.Law{Lin: 20e6 / 2e-7}}))
		line, lower := last(tr.P[pump.Line]), last(tr.P["lower"])
		if !near(line, want, 1e-7) || !near(lower, want, 1e-7) {
			t.Errorf("%s: ends at %.9g over %.9g Pa, want %.9g", path, line, lower, want)
		}
		if fall := (20e6 - line) / 20e6; fall > 0.02 {
			t.Errorf("%s: the line falls by %.3g: not hidden", path, fall)
		}
	}
}

// TestWhatShowsPistonSeal: the same leak shows in a hold whose lower chamber is vented, in a force-held stall, and in a run.
func TestWhatShowsPistonSeal(t *testing.T) {
	p := heldPump()
	f := Fault{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 2e-7}}
	s := lockedSetup(p, pump.Up, f)
	s.Vented = []string{"lower"}
	cu, _ := compliances(p, p.Stroke/2)
	want, err := LaminarHold(20e6, cu, 20e6/2e-7, 60)
	if err != nil {
		t.Fatal(err)
	}
	if got := last(simulate(t, s).P[pump.Line]); !near(got, want, 1e-6) {
		t.Errorf("vented: %.9g Pa after a minute, want %.9g", got, want)
	}
	if v := last(simulate(t, creepSetup(p, pump.Up, f)).V); v < 5e-4 {
		t.Errorf("stall: creeps at only %g m/s", v)
	}
	tight, leaky := runLoss(t, p), runLoss(t, p, Fault{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 4e-6}})
	if leaky < tight+1e-6 {
		t.Errorf("run: loses %g m³ a double stroke, tight %g", leaky, tight)
	}
}

// TestLockedHoldHidesInlet: a lone inlet leak hides behind a tight piston, whichever stroke it stopped on.
func TestLockedHoldHidesInlet(t *testing.T) {
	p := heldPump()
	for _, path := range []string{"inlet valve", "inlet static seal"} {
		for _, after := range pump.Dirs {
			tr := simulate(t, lockedSetup(p, after, Fault{Path: path, Leak: leak.Law{Lin: 20e6 / 2e-7}}))
			if line, lower := last(tr.P[pump.Line]), last(tr.P["lower"]); !near(line, 20e6, 1e-6) || lower > 1e4 {
				t.Errorf("%s, after %v: line %.9g, lower chamber %.5g Pa: want the line to stand and the chamber empty", path, after, line, lower)
			}
		}
	}
	// With both leaks the line empties through them in series.
	tr := simulate(t, lockedSetup(p, pump.Up, Fault{Path: "inlet valve", Leak: leak.Law{Lin: 20e6 / 4e-7}},
		Fault{Path: "piston valve", Leak: leak.Law{Lin: 20e6 / 4e-7}}))
	cu, _ := compliances(p, p.Stroke/2)
	want, err := LaminarHold(20e6, cu, 2*20e6/4e-7, 60)
	if err != nil {
		t.Fatal(err)
	}
	if got := last(tr.P[pump.Line]); !near(got, want, 0.05) {
		t.Errorf("both: %.4g Pa after a minute, want about %.4g", got, want)
	}
}

// TestCrankHold: a crank drive stops at its stop pressure, stands, and starts again when a laminar leak has let the line
// down to its restart pressure: after R·C·ln(p_stop/p_restart). It then turns by x = s/2·(1 − cos θ).
func TestCrankHold(t *testing.T) {
	p := crankPump()
	const rc = 30.0
	set := Setup{Pump: p, Fluid: still, Mode: Stall, WholeLine: true, Duration: 40, Sample: 0.01, RelTol: 1e-7,
		Faults: []Fault{{Path: "outside", Leak: leak.Law{Lin: 1}}}}
	v := p.Hose.Fittings + p.Hose.Length*math.Pi/4*p.Hose.Bore*p.Hose.Bore
	set.Faults[0].Leak = leak.Law{Lin: rc / (v/still.Bulk + p.Hose.Expansion)} // nearly: the upper chamber adds a little
	tr := simulate(t, set)
	var stops, starts []float64
	for i := 1; i < len(tr.T); i++ {
		switch {
		case tr.V[i] == 0 && tr.V[i-1] != 0:
			stops = append(stops, tr.T[i])
		case tr.V[i] != 0 && tr.V[i-1] == 0 && i > 1:
			starts = append(starts, tr.T[i])
		}
	}
	if len(stops) < 3 || len(starts) < 2 {
		t.Fatalf("stops at %v, starts at %v", stops, starts)
	}
	for i := range tr.T {
		if tr.P[pump.Line][i] >= p.Drive.Stop {
			if got := stops[0] - tr.T[i]; math.Abs(got-crankRamp) > 1.1*set.Sample {
				t.Errorf("runs out in %.3g s, want %.3g", got, crankRamp)
			}
			break
		}
	}
	i := int(stops[0]/set.Sample) + 1
	want := rc * math.Log(tr.P[pump.Line][i]/p.Drive.Restart)
	if got := starts[0] - tr.T[i]; math.Abs(got-want) > 0.03*want+0.02 {
		t.Errorf("stands %.4g s, want %.4g", got, want)
	}
	set = Setup{Pump: p, Fluid: still, Mode: Run, Duration: 3, Sample: 0.01, RelTol: 1e-6}
	p.Drive.Stop = 1e9 // it never stops
	tr = simulate(t, set)
	omega := 2 * math.Pi * p.Drive.Speed
	for i, at := range tr.T {
		if at < crankRamp {
			continue
		}
		want := p.Stroke / 2 * (1 - math.Cos(omega*(at-crankRamp/2)))
		if math.Abs(tr.X[i]-want) > 1e-5*p.Stroke {
			t.Fatalf("at %g s: x = %.9g, want %.9g", at, tr.X[i], want)
		}
	}
	for _, st := range tr.Strokes[1:] {
		if !near(st.Dur, 0.5/p.Drive.Speed, 1e-9) || !near(st.Travel, p.Stroke, 1e-6) {
			t.Errorf("stroke takes %.12g s over %.9g m", st.Dur, st.Travel)
		}
	}
}
