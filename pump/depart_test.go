package pump

import (
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
	pumps := allDemos(t)
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom(pumps).Draw(rt, "pump")
		chosen := anyChoice(rt, p)
		if ds := departures(t, p, chosen, asOrdered(t, p, chosen)); len(ds) > 0 {
			rt.Fatalf("%s", ds[0].Text(unit.Metric()))
		}
	})
}

// Any shuffle of the steps: a departure of order is found exactly when some step stands before one that has to come first.
func TestAnyPermutation(t *testing.T) {
	pumps := allDemos(t)
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom(pumps).Draw(rt, "pump")
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
				violated = violated || pl.must(pl.index[later.Step], pl.index[d.Step])
			}
		}
		found := false
		for _, d := range departures(t, p, chosen, b) {
			if d.Kind != OrderBroken && d.Kind != NutBeforeRod {
				rt.Fatalf("a departure that is none: %s", d.Text(unit.Metric()))
			}
			found = true
			if !pl.must(pl.index[d.Other], pl.index[d.Step]) || d.Why == "" {
				rt.Fatalf("no such constraint: %s", d.Text(unit.Metric()))
			}
		}
		if found != violated {
			rt.Fatalf("violated %v, found %v", violated, found)
		}
	})
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
	near(t, "rated", rated, 16.4e6, 1e-12)
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
