package pump

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/evenstroke/evenstroke/unit"
)

// Clamp goes with torque in proportion (Motosh, VDI 2230-1), so that 60 % of the torque leaves 60 % of the clamp. 30.35 mm² and so
// on are not needed: the ratio is analytic. The O-ring of the inlet sits on 26 mm: 164 bar push with π/4·26²·16.4 = 8.707 kN.
func TestTorqueOff(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	find(b, "torque inlet housing").Torque = 81 // of 135
	d := only(t, departures(t, p, chosen, b), TorqueOff)
	is, should := figure(t, d, "clamp as built"), figure(t, d, "clamp that the sheet asks for")
	near(t, "clamp over clamp", is/should, 0.6, 1e-12)
	near(t, "clamp lost", figure(t, d, "clamp lost"), 0.4*should, 1e-12)
	push := figure(t, d, "force of the rated pressure")
	near(t, "separating force", push, 8.7072e3, 1e-4)
	near(t, "clamp left", figure(t, d, "clamp left at rated"), is-push, 1e-12)
	if lo, hi := figure(t, d, "clamp that 5 % of such joints stay below"), figure(t, d, "clamp that 5 % of such joints exceed"); !(lo < is && is < hi) {
		t.Errorf("clamp %g outside its own band %g to %g", is, lo, hi)
	}
}

// At the edge of the tolerance a reading is in, beyond it out.
func TestTorqueTolerance(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	for _, c := range []struct {
		torque float64
		in     bool
	}{{24, true}, {24.01, false}, {20, true}, {19.99, false}} { // 22 ± 2
		b := asOrdered(t, p, chosen)
		find(b, "torque throat nut").Torque = c.torque
		if ds := departures(t, p, chosen, b); (len(ds) == 0) != c.in {
			t.Errorf("%g N·m: %d departures", c.torque, len(ds))
		}
	}
}

// The right reading through an adapter in line is too much at the joint: 64 N·m with 42 mm on 400 mm is 64·442/400 = 70.72.
func TestTorqueThroughAdapter(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	x := find(b, "torque piston valve")
	x.Wrench, x.Adapter = 0.4, 0.042
	d := only(t, departures(t, p, chosen, b), TorqueOff)
	near(t, "torque at the joint", d.Quantities["at"].SI, 70.72, 1e-12)
	near(t, "clamp over clamp", figure(t, d, "clamp as built")/figure(t, d, "clamp that the sheet"), 70.72/64, 1e-12)
	// Set to 64·400/442 = 57.92 it is right.
	x.Torque = 64 * 400.0 / 442
	if ds := departures(t, p, chosen, b); len(ds) > 0 {
		t.Errorf("the corrected setting is a departure: %s", ds[0].Text(unit.Metric()))
	}
	// Square to the wrench no correction is needed.
	x.Torque, x.Angle = 64, math.Pi/2
	if ds := departures(t, p, chosen, b); len(ds) > 0 {
		t.Errorf("a square spanner is a departure: %s", ds[0].Text(unit.Metric()))
	}
	// Without a word on the spanner the torque may have been anything up to that.
	*x = Done{Step: x.Step, Torque: 64, Wrench: 0.4}
	near(t, "torque in line", figure(t, only(t, departures(t, p, chosen, b), SpannerUnclear), "torque at the joint"), 70.72, 1e-12)
	x.Wrench = 0
	if d := only(t, departures(t, p, chosen, b), SpannerUnclear); d.NoFigure == "" {
		t.Errorf("a number without the length of the wrench: %+v", d)
	}
	x.Torque = 0
	only(t, departures(t, p, chosen, b), TorqueNotRecorded)
}

// The torque of a nut on its stack is what the rings are pressed with: a fifth of it seals less. (Drag need not fall: the pressure
// then reaches more lips.)
func TestTorqueOfAStack(t *testing.T) {
	p := demo(t, "tolsk-18")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	find(b, "torque throat bush").Torque = 2
	ds := departures(t, p, chosen, b)
	if only(t, ds[:1], JointUnsound).Stack != "throat" {
		t.Errorf("the set that does not seal: %+v", ds[0])
	}
	d := only(t, ds[1:], TorqueOff)
	if is, should := figure(t, d, "pressure that the stack seals as built"), figure(t, d, "pressure that it would seal"); is >= should {
		t.Errorf("seals %g as built, %g as it should", is, should)
	}
	near(t, "load", figure(t, d, "axial load on the stack"), figure(t, d, "clamp as built"), 1e-12)
}

func TestSoakShort(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	find(b, "soak throat leather ring").Soaked = 15 * 60
	d := only(t, departures(t, p, chosen, b), SoakShort)
	near(t, "missing", figure(t, d, "share of the soak"), 0.75, 1e-12)
	if d.NoFigure == "" {
		t.Error("what a short soak costs has no published value, and it has to say so")
	}
	b.Done = slices.DeleteFunc(b.Done, func(d Done) bool { return d.Step == "soak throat leather ring" })
	only(t, departures(t, p, chosen, b), SoakNotRecorded)
}

func TestSeatNotTurned(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := Chosen{"inlet valve seat": TurnOver}
	b := asOrdered(t, p, chosen)
	b.Done = slices.DeleteFunc(b.Done, func(d Done) bool { return d.Step == "turn over inlet valve seat" })
	if d := only(t, departures(t, p, chosen, b), SeatNotTurned); d.NoFigure == "" || d.Part != "inlet valve seat" {
		t.Errorf("got %+v", d)
	}
}

// A hold of 20 s without changeover proves 20 s a stroke: of 35.387 cm³ up and 35.299 cm³ down (worked sizes of a 30/21.2 mm pump
// with 100 mm of stroke) 106.16 and 105.90 mL/min, where 60 s allow 35.387 and 35.299. At the limit the rod travels 33.3 mm.
func TestHoldShort(t *testing.T) {
	p := demo(t, "orrin-30")
	b := asOrdered(t, p, nil)
	find(b, "hold").Held = 20
	d := only(t, departures(t, p, nil, b), HoldShort)
	perMin := 1e-6 / 60
	near(t, "up", figure(t, d, "leak that this hold could miss on the upstroke"), 106.16*perMin, 1e-4)
	near(t, "down", figure(t, d, "leak that this hold could miss on the downstroke"), 105.90*perMin, 1e-4)
	near(t, "allowed up", figure(t, d, "leak that the limit allows on the upstroke"), 35.387*perMin, 1e-4)
	near(t, "allowed down", figure(t, d, "leak that the limit allows on the downstroke"), 35.299*perMin, 1e-4)
	near(t, "travel", figure(t, d, "travel of the rod"), 0.1/3, 1e-12)
}

// Crank, by hand: 400 psi = 2.75790 MPa of dead band; hose 1.0e-12 m³/Pa; liquid 482.63 mL in 50 ft of 1/4 in, 20 mL of fittings,
// 2.5 + 2.428 mL in the upper chamber at mid stroke, at 2 GPa; 30 s: 6.916 mL/min.
func TestHoldShortCrank(t *testing.T) {
	p := demo(t, "tolsk-18")
	b := asOrdered(t, p, nil)
	find(b, "hold").Held = 30
	d := only(t, departures(t, p, nil, b), HoldShort)
	near(t, "missed", figure(t, d, "leak that this hold could miss"), 6.916e-6/60, 5e-4)
}

// A laminar leak runs with the pressure, an orifice with its root: 160 bar against 100 bar is 1.6 and 1.2649.
func TestHoldLow(t *testing.T) {
	p := demo(t, "varn-40")
	b := asOrdered(t, p, nil)
	find(b, "hold").Pressure = 100e5
	d := only(t, departures(t, p, nil, b), HoldLow)
	var got []float64
	for _, f := range d.Figures {
		got = append(got, f.SI)
	}
	near(t, "orifice", got[0], 1.2649111, 1e-7)
	near(t, "laminar", got[1], 1.6, 1e-12)
	find(b, "hold").Held = 0
	only(t, departures(t, p, nil, b), HoldNotRecorded)
	b.Done = slices.DeleteFunc(b.Done, func(d Done) bool { return d.Step == "hold" })
	only(t, departures(t, p, nil, b), HoldNotDone)
}

// Two holds: the one that reached its pressure counts, however long the other.
func TestHoldTwice(t *testing.T) {
	p := demo(t, "orrin-30")
	b := asOrdered(t, p, nil)
	b.Done = append(b.Done, Done{Step: "hold", Pressure: 50e5, Held: 3600})
	for _, d := range departures(t, p, nil, b) {
		if d.Kind != OrderBroken {
			t.Errorf("got %s", d.Text(unit.Metric()))
		}
	}
}

func TestShim(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	none := 0.0
	b.Stacks[1].Shim = &none // 0.3 mm less than the sheet: the compression falls from 1.1 mm to 0.8 mm, the load with it
	d := only(t, departures(t, p, chosen, b), ShimOff)
	should, err := p.Load(p.Stacks[1], 0, Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "load", figure(t, d, "axial load"), should*0.8/1.1, 1e-9)
	b = asOrdered(t, p, chosen)
	more := 0.5e-3
	b.Stacks[0].Shim = &more // the nut goes through the throat: shims do not change its load
	if d := only(t, departures(t, p, chosen, b), ShimOff); len(d.Figures) > 0 || d.NoFigure == "" {
		t.Errorf("got %+v", d)
	}
}

func TestStepsThatDoNotBelong(t *testing.T) {
	p := demo(t, "orrin-30")
	b := asOrdered(t, p, nil)
	b.Done = append([]Done{{Step: "polish everything"}}, b.Done...)
	only(t, departures(t, p, nil, b), UnknownStep)
	b.Done[0], b.Done[1] = b.Done[1], Done{Step: "lap inlet valve seat"} // after earth, which comes before all work on parts
	if d := only(t, departures(t, p, nil, b), NotChosen); d.Part != "inlet valve seat" {
		t.Errorf("got %+v", d)
	}
}

func TestDeparturesRefuses(t *testing.T) {
	p := demo(t, "orrin-30")
	var be *BuildError
	if _, err := p.Departures(nil, Build{Pump: "tolsk-18"}, Conditions{}); !errors.As(err, &be) {
		t.Errorf("a build of another pump: %v", err)
	}
	if _, err := p.Departures(nil, Build{Pump: p.Name, Stacks: []Built{{Stack: "neck"}}}, Conditions{}); !errors.As(err, &be) {
		t.Errorf("an unknown stack: %v", err)
	}
	var ce *ChoiceError
	if _, err := p.Departures(Chosen{"x": Keep}, Build{Pump: p.Name}, Conditions{}); !errors.As(err, &ce) {
		t.Errorf("an unknown part: %v", err)
	}
}

// As the sheets have them, all stacks of the demo pumps hold their rated pressure with a margin and without being overtight.
func TestDemoStacksAreSound(t *testing.T) {
	for _, name := range Demo() {
		p := demo(t, name)
		for _, st := range p.Stacks {
			a, err := p.StackUnder(st, 0, Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			if a.State != "sound" || a.Capacity < 1.5*p.Limits.Rated {
				t.Errorf("%s, %s: %s, seals %g of %g", name, st.Name, a.State, a.Capacity, p.Limits.Rated)
			}
		}
	}
}
