package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
)

// The quasi-steady model of this package against the full model of package stroke, which shares no code with it: the two
// must agree within what the inference allows for (prior.Model and the stated spreads).

func demoPump(t *testing.T, name string) *pump.Pump {
	t.Helper()
	p, err := pump.DemoPump(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// water at the middle of the pressures of the test.
var water = stroke.Fluid{Density: 1003, Viscosity: 1.0e-3, Bulk: 2.23e9, Air: 0}

func fault(t *testing.T, p *pump.Pump, path string, q, share float64) stroke.Fault {
	t.Helper()
	law, err := leak.FromRated(q, p.Limits.Rated, leak.Liquid{Viscosity: water.Viscosity, Density: water.Density}, share)
	if err != nil {
		t.Fatal(err)
	}
	return stroke.Fault{Path: path, Leak: law}
}

func TestCreepAgreesWithTheFullModel(t *testing.T) {
	for _, name := range []string{"orrin-30", "varn-40"} {
		p := demoPump(t, name)
		m := p.Map()
		q := 1.2 * LeakLimit(p, pump.Up)
		b, err := newBench(p, bench4(), DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		for j, path := range m.Paths {
			for _, d := range pump.Dirs {
				if path.Shows[d] == 0 {
					continue
				}
				tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: water, Faults: []stroke.Fault{fault(t, p, path.Name, q, 1)},
					Mode: stroke.Stall, Start: d, X0: p.Stroke / 2, Duration: 3, Sample: 0.25, RelTol: 1e-6, Friction: &stroke.Friction{}})
				if err != nil {
					t.Fatal(err)
				}
				n := len(tr.T)
				v := (tr.X[n-1] - tr.X[n-5]) / (tr.T[n-1] - tr.T[n-5])
				flow := q * laminar.flow((tr.P[pump.Line][n-1]-other(tr, path, n-1))/p.Limits.Rated, 1)
				if f := b.fill[strokeIndex(d)]; f != nil && f.into[j] {
					flow = f.total(0, flow, 0)
				}
				want := float64(d) * flow / m.Creep[d]
				if math.Abs(v/want-1) > 0.02 {
					t.Errorf("%s, %s on the %sstroke: %.4g m/s in the full model, %.4g quasi-steady", name, path.Name, d, v, want)
				}
			}
		}
	}
}

// other is the pressure behind a leak: that of the closed chamber it ends in, or zero.
func other(tr *stroke.Trace, q pump.Path, i int) float64 {
	low := 0.0
	for _, node := range []string{q.From, q.To} {
		if p, ok := tr.P[node]; ok && p[i] < tr.P[pump.Line][i]-1e5 {
			low = math.Max(low, p[i])
		}
	}
	return low
}

// While a piston leak fills the rod-side chamber the line climbs above the rating, and what the rod then makes up follows from
// the line's pressure alone: the full model and the coefficients of a stall reading agree along the way. The rod starts clear of
// its upper stop, against which it may rest when the start pressure holds it exactly.
func TestClimbingStallAgreesWithTheFullModel(t *testing.T) {
	p := demoPump(t, "varn-40")
	q := 2 * LeakLimit(p, pump.Down)
	tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: water, Faults: []stroke.Fault{fault(t, p, "piston packing", q, 1)}, Mode: stroke.Stall,
		Start: pump.Down, X0: 0.98 * p.Stroke, Duration: 20, Sample: 0.25, RelTol: 1e-6, Friction: &stroke.Friction{}})
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Changeovers) > 0 {
		t.Fatalf("the stroke ends within the time: %v", tr.Changeovers)
	}
	b, err := newBench(p, bench4(), DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	j := pathIndex(t, b, "piston packing")
	above := 0
	for i := 12; i+4 < len(tr.T); i += 8 {
		press := tr.P[pump.Line][i]
		if press > overRated*p.Limits.Rated {
			above++
		}
		r := timed(Creep, pump.Down, press, 0.01, 10)
		if err := Refuse(p, &Sheet{Readings: []Reading{r}}); err != nil {
			t.Errorf("a stall that this pump makes is refused: %v", err)
		}
		o := b.creep(r)
		want := o.fill.total(0, o.coef[j*maxVariants]*q, 0) / b.m.Creep[pump.Down]
		v := (tr.X[i-4] - tr.X[i+4]) / (tr.T[i+4] - tr.T[i-4])
		if math.Abs(v/want-1) > b.prior.Model {
			t.Errorf("at %.4g Pa: %.4g m/s in the full model, %.4g from the line's pressure", press, v, want)
		}
	}
	if above < 3 {
		t.Errorf("%d pressures above what is else refused: the line climbs too little to tell", above)
	}
}

func pathIndex(t *testing.T, b *bench, name string) int {
	t.Helper()
	for j, q := range b.paths {
		if q.Name == name {
			return j
		}
	}
	t.Fatalf("no path %s", name)
	return 0
}

func TestLockedHoldAgreesWithTheFullModel(t *testing.T) {
	p := demoPump(t, "tolsk-18")
	for _, c := range []struct {
		path, second string
		share        float64
		form         form
		stroke       pump.Dir
	}{
		{"throat packing", "", 1, laminar, pump.Up}, {"drain valve", "", 0, orifice, pump.Down}, {"piston packing", "", 1, laminar, pump.Up},
		{"inlet valve", "", 0, orifice, pump.Down}, {"piston valve", "inlet valve", 0, orifice, pump.Up}, {"piston packing", "inlet valve", 1, laminar, pump.Down},
	} {
		q := 20e-6 / 60
		faults := []stroke.Fault{fault(t, p, c.path, q, c.share)}
		if c.second != "" { // a lower chamber between two leaks: small, and quick
			faults = append(faults, fault(t, p, c.second, 1.5*q, c.share))
		}
		tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: water, Faults: faults, Mode: stroke.LockedHold,
			Start: c.stroke, X0: p.Stroke / 2, P0: 20e6, Duration: 40, Sample: 2, RelTol: 1e-7, WholeLine: true})
		if err != nil {
			t.Fatal(err)
		}
		s := bench4()
		s.Fluid.Air = 0
		b, err := newBench(p, s, DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		pts := []Point{}
		for i := 0; i < len(tr.T); i += 4 {
			pts = append(pts, Point{tr.T[i], tr.P[pump.Line][i]})
		}
		h := b.net.prepare(Reading{Stroke: c.stroke}, pts, 0)
		h.visc = 1
		press := make([]float64, len(h.at))
		leaks := []leakOf{b.leak(c.path, q, c.form)}
		if c.second != "" {
			leaks = append(leaks, b.leak(c.second, 1.5*q, c.form))
		}
		b.net.simulate(&h, b.net.pressed[strokeIndex(c.stroke)], leaks, p.Limits.Rated, pts[0].Pressure, 1, press)
		for k := range pts {
			if math.Abs(press[k]-pts[k].Pressure) > 0.03*20e6 {
				t.Errorf("%s after the %sstroke at %.0f s: %.4g Pa here, %.4g Pa in the full model", c.path, c.stroke, pts[k].Time, press[k], pts[k].Pressure)
			}
		}
	}
}

// What the full model does at a stall, written as a trace and read back, gives the fault that was put in.
func TestTraceOfTheFullModelNamesTheFault(t *testing.T) {
	p := demoPump(t, "orrin-30")
	q := 70e-6 / 60
	tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: water, Faults: []stroke.Fault{fault(t, p, "inlet valve", q, 0), fault(t, p, "throat packing", q/3, 1)},
		Mode: stroke.Stall, Start: pump.Up, X0: 0.02, Duration: 150, Sample: 0.25, RelTol: 1e-5})
	if err != nil {
		t.Fatal(err)
	}
	trace := Trace{T: tr.T, P: tr.P[pump.Line], X: tr.X}
	s := bench4()
	if s.Readings, err = trace.creeps(TraceOptions{Kind: "force-held", Gauge: s.Gauge, Ruler: s.Ruler}); err != nil {
		t.Fatal(err)
	}
	if len(s.Readings) < 3 {
		t.Fatalf("%d strokes found in the trace, want at least 3", len(s.Readings))
	}
	r := analyse(t, p, s, DefaultPrior())
	// the upstroke's leak may be any path that shows there; the rest of the downstroke's can only be on the inlet side
	inlet := pathShare(t, r, "inlet valve")
	if p := inlet.P + pathShare(t, r, "inlet seat seal").P; p < 0.9 {
		t.Errorf("the inlet side has %.2f, want it named", p)
	}
	if !grouped(r, "inlet valve", "inlet seat seal") {
		t.Errorf("groups %v: the inlet valve and its seat seal leak between the same places", r.Groups)
	}
	if got := q * mlPerMin; inlet.Flow.Q05 > 1.4*got || inlet.Flow.Q95 < 0.9*got {
		t.Errorf("inlet leak %+v, put in %.0f mL/min", inlet.Flow, got)
	}
}

// The shapes of the inference are the laws of package leak at constant size.
func TestShapesAreTheLawsOfLeak(t *testing.T) {
	const q, rated = 1e-6, 20e6
	l := leak.Liquid{Viscosity: 1e-3, Density: 1000}
	law := func(p leak.Path, err error) leak.Path {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	rated1 := func(share float64) leak.Path { x, err := leak.FromRated(q, rated, l, share); return law(x, err) }
	packing := func(e float64, f leak.Facing) leak.Path {
		x, err := leak.RatedPacking(q, rated, e, f, l, 1)
		return law(x, err)
	}
	for f, want := range map[form]leak.Path{
		laminar: rated1(1), mixed: rated1(mixShare), orifice: rated1(0),
		loose: packing(rated/looseE, leak.FacingPressure), lifting: packing(rated/liftingK, leak.FacingAway),
	} {
		for _, x := range []float64{0.05, 0.3, 0.7, 1, 1.1} {
			w := math.Abs(want.Flow(x * rated))
			if f == lifting {
				w = math.Abs(want.Flow(x * rated)) // the packing is built with its lips away from this pressure
			}
			if got := q * f.flow(x, 1); math.Abs(got/w-1) > 2e-3 {
				t.Errorf("form %d at %g of rated: %.5g, package leak %.5g", f, x, got, w)
			}
		}
	}
}

// The rod creeps at the pressure of the stall, a leak is counted as it is caught: the same volume of fluid in the full model and in a creep
// reading, with and without air, to a sixth of the 1.2 % by which the two volumes differ. So is the time of a stroke at the rated pressure.
func TestCreepCountsTheVolumeOfTheFullModel(t *testing.T) {
	p := demoPump(t, "orrin-30")
	for _, air := range []float64{0, 0.005} {
		s := bench4()
		s.Fluid.Air = air
		b, err := newBench(p, s, DefaultPrior())
		if err != nil {
			t.Fatal(err)
		}
		liq := water
		liq.Air, liq.Bulk = air, p.Limits.Rated/(b.swell(p.Limits.Rated)-air-1) // secant, as the full model takes it
		j := pathIndex(t, b, "drain valve")
		for _, d := range pump.Dirs {
			q := 1.5 * LeakLimit(p, d)
			tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: liq, Faults: []stroke.Fault{fault(t, p, "drain valve", q, 1)},
				Mode: stroke.Stall, Start: d, X0: p.Stroke / 2, Duration: 12, Sample: 0.5, RelTol: 1e-8, Friction: &stroke.Friction{}})
			if err != nil {
				t.Fatal(err)
			}
			i, k := len(tr.T)-17, len(tr.T)-1
			press, time := tr.P[pump.Line][k], tr.T[k]-tr.T[i]
			travel := math.Abs(tr.X[k] - tr.X[i])
			flow := q * press / p.Limits.Rated
			still := timed(Still, d, press, travel, time)
			for what, y := range map[string]float64{"creep": b.creep(timed(Creep, d, press, travel, time)).y, "stillness": b.still(still).y - b.stick(still)} {
				if math.Abs(y/flow-1) > 2e-3 {
					t.Errorf("air %g, %s on the %sstroke reads as %.5g m³/s, the leak is %.5g", air, what, d, y, flow)
				}
			}
			got := b.strokeTime(&draw{set: b.index[setKey([]int8{int8(j)})], q: [3]float64{q}}, d)
			sound := b.base[strokeIndex(d)] - b.sound[j].median // which the full model has none of
			if want := p.Stroke * time / travel * press / p.Limits.Rated * q / (q + sound); math.Abs(got/want-1) > 2e-3 {
				t.Errorf("air %g, %sstroke: a stroke of %.4g s at rated pressure, the full model %.4g s", air, d, got, want)
			}
		}
	}
}
