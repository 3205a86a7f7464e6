package pump

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/unit"
	"pgregory.net/rapid"
)

// asOrdered returns the build that follows the order of work to the letter.
func asOrdered(t testing.TB, p *Pump, chosen Chosen) Build {
	t.Helper()
	steps, err := p.Work(chosen)
	if err != nil {
		t.Fatal(err)
	}
	b := Build{Pump: p.Name}
	stacks := map[string]bool{}
	for _, s := range steps {
		d := Done{Step: s.ID}
		switch s.Kind {
		case StepTorque:
			d.Torque, d.Turned = s.Torque, true
		case StepSoak:
			q, _ := p.Part(s.Part)
			d.Soaked = q.Soak
		case StepHold:
			d.Pressure, d.Held = p.Limits.Hold, p.Limits.HoldFor
		}
		b.Done = append(b.Done, d)
		stacks[s.Stack] = true
	}
	for _, st := range p.Stacks {
		if !stacks[st.Name] {
			continue
		}
		built := Built{Stack: st.Name, Shim: &st.Shim}
		for _, r := range st.Rings {
			built.Rings = append(built.Rings, BuiltRing{r.Part, r.Lips})
		}
		b.Stacks = append(b.Stacks, built)
	}
	return b
}

func departures(t testing.TB, p *Pump, chosen Chosen, b Build) []Departure {
	t.Helper()
	ds, err := p.Departures(chosen, b, Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range ds {
		checkDeparture(t, d)
	}
	return ds
}

// only returns the one departure that a test expects.
func only(t *testing.T, ds []Departure, kind DepartureKind) Departure {
	t.Helper()
	if len(ds) != 1 || ds[0].Kind != kind {
		var got []string
		for _, d := range ds {
			got = append(got, d.Text(unit.Metric()))
		}
		t.Fatalf("want one departure %q, got %d:\n%s", kind, len(ds), strings.Join(got, "\n"))
	}
	return ds[0]
}

// figure returns the value of the figure whose name begins so.
func figure(t *testing.T, d Departure, what string) float64 {
	t.Helper()
	for _, f := range d.Figures {
		if strings.HasPrefix(f.What, what) {
			return f.SI
		}
	}
	t.Fatalf("no figure %q in %+v", what, d.Figures)
	return 0
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s is %.8g, want %.8g", what, got, want)
	}
}

func TestDeparturesGolden(t *testing.T) {
	data, err := os.ReadFile("testdata/orrin-30.build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := ReadBuild("orrin-30.build.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	p := demo(t, "orrin-30")
	chosen := Chosen{"throat leather ring": Replace, "throat polyethylene ring": Replace, "piston leather ring": Replace, "piston polyethylene ring": Replace, "inlet valve seat": TurnOver}
	var out strings.Builder
	for _, d := range departures(t, p, chosen, b) {
		var names []string // the words only: the values are those of other packages, checked below and there
		for _, f := range d.Figures {
			names = append(names, f.What)
		}
		d.Figures = nil
		fmt.Fprintf(&out, "%s\n", d.Text(unit.Metric()))
		for _, n := range names {
			fmt.Fprintf(&out, "  figure: %s\n", n)
		}
		out.WriteString("\n")
	}
	golden(t, "orrin-30.departures.golden", out.String())
}

// A build to the letter departs in nothing, whatever was chosen.
func TestNoDepartures(t *testing.T) {
	for _, name := range Demo() {
		p := demo(t, name)
		rapid.Check(t, func(rt *rapid.T) {
			chosen := anyChoice(rt, p)
			if ds := departures(t, p, chosen, asOrdered(t, p, chosen)); len(ds) > 0 {
				rt.Fatalf("%s", ds[0].Text(unit.Metric()))
			}
		})
	}
}

// Any shuffle of the steps: a departure of order is found exactly when some step stands before one that has to come first.
func TestAnyPermutation(t *testing.T) {
	for _, name := range Demo() {
		p := demo(t, name)
		rapid.Check(t, func(rt *rapid.T) {
			chosen := anyChoice(rt, p)
			b := asOrdered(t, p, chosen)
			n := len(b.Done)
			if rapid.Bool().Draw(rt, "shuffle all") {
				b.Done = rapid.Permutation(b.Done).Draw(rt, "order")
			} else { // two neighbours, or two far apart
				i, k := rapid.IntRange(0, n-1).Draw(rt, "i"), rapid.IntRange(0, n-1).Draw(rt, "k")
				b.Done[i], b.Done[k] = b.Done[k], b.Done[i]
			}
			pl, err := p.plan(chosen)
			if err != nil {
				rt.Fatal(err)
			}
			violated := false
			for i, d := range b.Done {
				for _, later := range b.Done[i+1:] {
					violated = violated || pl.reach[pl.index[later.Step]][pl.index[d.Step]]
				}
			}
			found := false
			for _, d := range departures(t, p, chosen, b) {
				if d.Kind != OrderBroken && d.Kind != NutBeforeRod {
					rt.Fatalf("a departure that is none: %s", d.Text(unit.Metric()))
				}
				found = true
				if !pl.reach[pl.index[d.Other]][pl.index[d.Step]] || d.Why == "" {
					rt.Fatalf("no such constraint: %s", d.Text(unit.Metric()))
				}
			}
			if found != violated {
				rt.Fatalf("violated %v, found %v", violated, found)
			}
		})
	}
}

// move puts one step before another.
func move(b *Build, step, before string) {
	at := func(id string) int { return slices.IndexFunc(b.Done, func(d Done) bool { return d.Step == id }) }
	d := b.Done[at(step)]
	b.Done = slices.Delete(b.Done, at(step), at(step)+1)
	b.Done = slices.Insert(b.Done, at(before), d)
}

func find(b Build, step string) *Done {
	return &b.Done[slices.IndexFunc(b.Done, func(d Done) bool { return d.Step == step })]
}

// The throat nut torqued before the rod was through. The force to push the rod in is the wall friction of the set: of a uniform
// set π·d·μ·K·σ0·(1−e^(−βL))/β; here it must lie between that of its loaded and its far end (bounds by hand: σ0 = F/A, μ·K of
// leather 0.08·0.6 and UHMWPE 0.15·0.852).
func TestNutBeforeRod(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	move(&b, "torque throat nut", "fit rod")
	d := only(t, departures(t, p, chosen, b), NutBeforeRod)
	if d.Other != "fit rod" || d.Joint != "throat nut" {
		t.Errorf("got %+v", d)
	}
	clamp := figure(t, d, "clamp on the rings")
	sigma := clamp / (math.Pi / 4 * (0.0312*0.0312 - 0.0212*0.0212))
	most := math.Pi * 0.0212 * sigma * (3*0.0034*0.08*0.6 + 2*0.0032*0.15*0.852)
	if f := figure(t, d, "force to push the rod"); !(f < most && f > 0.4*most) {
		t.Errorf("force %g N, want below %g", f, most)
	}
	// Torqued again afterwards it is still a departure: the rod went through tight rings.
	b.Done = append(b.Done, Done{})
	copy(b.Done[len(b.Done)-3:], []Done{{Step: "torque throat nut", Torque: 22, Turned: true}})
	b.Done = slices.DeleteFunc(b.Done, func(d Done) bool { return d.Step == "" })
	found := false
	for _, d := range departures(t, p, chosen, b) {
		found = found || d.Kind == NutBeforeRod
	}
	if !found {
		t.Error("a second torque hides the first")
	}
}

// A whole set the wrong way round. A lip that pressure folds in holds at most K·σ/(1+o), o = 0.2 (package seal): bounds by hand
// with σ at both ends of the set. K of UHMWPE 0.46/0.54 = 0.852.
func TestLipsReversed(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	for i := range b.Stacks[0].Rings {
		if r := &b.Stacks[0].Rings[i]; r.Lips == "down" {
			r.Lips = "up"
		}
	}
	d := only(t, departures(t, p, chosen, b), LipsReversed)
	load := figure(t, d, "axial load")
	sigma := load / (math.Pi / 4 * (0.0312*0.0312 - 0.0212*0.0212))
	got, rated := figure(t, d, "pressure that the stack seals as built"), figure(t, d, "rated pressure")
	if most := 0.852 * sigma / 1.2; !(got <= most*1.001 && got > 0.6*most) {
		t.Errorf("capacity %g, want up to %g", got, most)
	}
	if got > rated/2 || figure(t, d, "pressure that it would seal") < rated {
		t.Errorf("a reversed set seals %g Pa of %g", got, rated)
	}
	near(t, "rated", rated, 3300*6894.757293168, 1e-12)
	if !strings.Contains(d.Found, "all 5 v-rings") || !strings.Contains(d.Want, "lips down, toward the upper chamber") {
		t.Errorf("found %q, want %q", d.Found, d.Want)
	}
}

func TestOneLipReversed(t *testing.T) {
	p := demo(t, "varn-40")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	i := slices.IndexFunc(b.Stacks, func(s Built) bool { return s.Stack == "upper piston" })
	b.Stacks[i].Rings[2].Lips = "down"
	d := only(t, departures(t, p, chosen, b), LipsReversed)
	if d.Ring != 3 || d.Part != "piston PTFE ring" || !strings.Contains(d.Want, "toward the rod side") {
		t.Errorf("got %+v", d)
	}
	b.Stacks[i].Rings[2].Lips = ""
	only(t, departures(t, p, chosen, b), LipsNotRecorded)
}

func TestRings(t *testing.T) {
	p := demo(t, "orrin-30")
	chosen := p.All(Replace)
	good := asOrdered(t, p, chosen)
	with := func(stack int, rings func([]BuiltRing) []BuiltRing) Build {
		b := good
		b.Stacks = slices.Clone(good.Stacks)
		b.Stacks[stack].Rings = rings(slices.Clone(good.Stacks[stack].Rings))
		return b
	}
	missing := only(t, departures(t, p, chosen, with(1, func(r []BuiltRing) []BuiltRing { return slices.Delete(r, 2, 3) })), RingMissing)
	if missing.Ring != 3 || missing.Part != "piston leather ring" {
		t.Errorf("got %+v", missing)
	}
	// 25.4 mm of cavity for 26.6 − 3.4 = 23.2 mm of rings: the nut presses nothing, and only lips are left, which hold nothing at rest.
	if load := figure(t, missing, "axial load"); load != 0 {
		t.Errorf("a stack lower than its cavity carries %g N", load)
	}
	if capacity := figure(t, missing, "pressure that the stack seals as built"); capacity != 0 {
		t.Errorf("it seals %g Pa", capacity)
	}
	extra := only(t, departures(t, p, chosen, with(0, func(r []BuiltRing) []BuiltRing {
		return slices.Insert(r, 3, BuiltRing{"throat leather ring", "down"})
	})), RingExtra)
	if extra.Ring != 4 && extra.Ring != 3 && extra.Ring != 5 {
		t.Errorf("got %+v", extra)
	}
	foreign := only(t, departures(t, p, chosen, with(0, func(r []BuiltRing) []BuiltRing {
		return slices.Insert(r, 3, BuiltRing{"washer", ""})
	})), RingExtra)
	if len(foreign.Figures) > 0 || !strings.Contains(foreign.NoFigure, `"washer"`) {
		t.Errorf("a ring that nobody knows has figures: %+v", foreign)
	}
	moved := only(t, departures(t, p, chosen, with(0, func(r []BuiltRing) []BuiltRing { r[5], r[6] = r[6], r[5]; return r })), RingPlace)
	if moved.Stack != "throat" {
		t.Errorf("got %+v", moved)
	}
}

// Ring steps may be recorded instead of the stack; one left out is not done.
func TestRingStepNotDone(t *testing.T) {
	p := demo(t, "tolsk-18")
	chosen := p.All(Replace)
	b := asOrdered(t, p, chosen)
	b.Stacks = nil
	b.Done = slices.DeleteFunc(b.Done, func(d Done) bool { return d.Step == "stack piston 3" })
	if d := only(t, departures(t, p, chosen, b), NotDone); d.Ring != 3 || d.Stack != "piston" {
		t.Errorf("got %+v", d)
	}
}

// Clamp goes with torque in proportion (Motosh, VDI 2230-1), so that 60 % of the torque leaves 60 % of the clamp. 30.35 mm² and so
// on are not needed: the ratio is analytic. The O-ring of the inlet sits on 26 mm: 228 bar push with π/4·26²·22.7527 = 12.080 kN.
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
	near(t, "separating force", push, 12.080e3, 1e-4)
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
	d := only(t, departures(t, p, chosen, b), TorqueOff)
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
	b.Stacks[1].Shim = &none // 0.4 mm less than the sheet: the compression falls from 1.2 mm to 0.8 mm, the load with it
	d := only(t, departures(t, p, chosen, b), ShimOff)
	should, err := p.Load(p.Stacks[1], 0, Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "load", figure(t, d, "axial load"), should*0.8/1.2, 1e-9)
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
