package pump

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/unit"
	"pgregory.net/rapid"
)

// keepsOrder checks that every step comes after those that it names, that no step comes twice, and that times never run back.
func keepsOrder(steps []Step) error {
	done := map[string]Step{}
	clock := 0.0
	for _, s := range steps {
		if _, twice := done[s.ID]; twice {
			return fmt.Errorf("%q comes twice", s.ID)
		}
		for _, a := range s.After {
			before, ok := done[a]
			if !ok {
				return fmt.Errorf("%q comes before %q", s.ID, a)
			}
			if before.Ready > s.Start+1e-9 {
				return fmt.Errorf("%q starts at %g min, before %q is ready at %g", s.ID, s.Start, a, before.Ready)
			}
		}
		if s.Start < clock-1e-9 {
			return fmt.Errorf("%q starts at %g min while the step before it lasts until %g", s.ID, s.Start, clock)
		}
		clock = s.Start + s.Minutes
		done[s.ID] = s
	}
	return nil
}

func orderText(steps []Step) string {
	var b strings.Builder
	for i, s := range steps {
		fmt.Fprintf(&b, "%3d. %s\n     %s · at %.0f min", i+1, s.Title, s.ID, s.Start)
		if s.Wait > 0 {
			fmt.Fprintf(&b, ", after a wait of %.0f min", s.Wait)
		}
		if s.Kind == StepSoak {
			fmt.Fprintf(&b, ", ready at %.0f min", s.Ready)
		}
		fmt.Fprintf(&b, "\n     %s\n", s.Text(unit.Metric()))
		if s.Why != "" {
			fmt.Fprintf(&b, "     why: %s\n", s.Why)
		}
		for _, c := range s.Cautions {
			fmt.Fprintf(&b, "     ! %s\n", c)
		}
	}
	return b.String()
}

// The whole rebuild of each demo pump, every part replaced.
func TestWorkGolden(t *testing.T) {
	for _, name := range Demo() {
		p := demo(t, name)
		steps, err := p.Work(p.All(Replace))
		if err != nil {
			t.Fatal(err)
		}
		golden(t, name+".order.golden", orderText(steps))
	}
}

// A small job: one turned seat in the inlet, nothing else is opened than its housing.
func TestWorkOpensNoMoreThanNeeded(t *testing.T) {
	p := demo(t, "orrin-30")
	steps, err := p.Work(Chosen{"inlet valve seat": TurnOver})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "seat.order.golden", orderText(steps))
	for _, s := range steps {
		if s.Joint != "" && s.Joint != "inlet housing" {
			t.Errorf("%q opens more than the inlet housing", s.ID)
		}
	}
}

func TestWorkWithNothingChosen(t *testing.T) {
	steps, err := demo(t, "orrin-30").Work(nil)
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, s := range steps {
		ids = append(ids, s.ID)
	}
	if want := []string{"earth", "fill wet cup", "prime", "hold", "relieve"}; !slices.Equal(ids, want) {
		t.Errorf("got %v, want %v", ids, want)
	}
}

// position returns the place of a step, or fails.
func position(t *testing.T, steps []Step, id string) int {
	t.Helper()
	i := slices.IndexFunc(steps, func(s Step) bool { return s.ID == id })
	if i < 0 {
		t.Fatalf("no step %q", id)
	}
	return i
}

// The order of the trade (common practice, no published source): safe first, soak early, rings one by one, piston valve on the
// bench first, throat nut loose until the rod is through, inlet last, then prime and hold.
func TestWorkOrderOfTheTrade(t *testing.T) {
	p := demo(t, "orrin-30")
	steps, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	chain := []string{"soak throat leather ring", "earth", "lock out", "depressurise", "prove zero", "open inlet housing", "take out rod", "unstack throat", "clean",
		"torque piston valve", "stack throat 1", "stack throat 2", "stack throat 7", "screw in throat nut", "fit rod", "torque throat nut",
		"torque inlet housing", "put back", "fill wet cup", "prime", "hold", "relieve"}
	for i := 1; i < len(chain); i++ {
		if a, b := position(t, steps, chain[i-1]), position(t, steps, chain[i]); a >= b {
			t.Errorf("%q is step %d, %q step %d", chain[i-1], a+1, chain[i], b+1)
		}
	}
	torque := steps[position(t, steps, "torque inlet housing")]
	for _, s := range steps[position(t, steps, "torque inlet housing")+1:] {
		if s.Kind == StepTorque {
			t.Errorf("%q comes after %q", s.ID, torque.ID)
		}
	}
	// The piston is stacked from below: its highest ring goes in first.
	if a, b := position(t, steps, "stack piston 7"), position(t, steps, "stack piston 1"); a > b {
		t.Errorf("the piston stack goes in from its wrong end")
	}
}

func TestWorkLips(t *testing.T) {
	p := demo(t, "orrin-30")
	steps, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	throat, piston := steps[position(t, steps, "stack throat 2")], steps[position(t, steps, "stack piston 2")]
	if throat.Lips != "down" || piston.Lips != "up" || throat.Toward != "upper" || piston.Toward != "upper" {
		t.Errorf("throat %q toward %q, piston %q toward %q", throat.Lips, throat.Toward, piston.Lips, piston.Toward)
	}
	if !strings.Contains(piston.Title, "lips up, toward the upper chamber") {
		t.Error(piston.Title)
	}
}

// The soak is on the clock: with nothing to do meanwhile the build waits for it.
func TestWorkWaitsForTheSoak(t *testing.T) {
	p := demo(t, "orrin-30")
	for i := range p.Parts {
		if p.Parts[i].Name == "throat leather ring" {
			p.Parts[i].Soak = 10 * 3600
		}
	}
	steps, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	if err := keepsOrder(steps); err != nil {
		t.Error(err)
	}
	soak, lub := steps[position(t, steps, "soak throat leather ring")], steps[position(t, steps, "lubricate throat")]
	if soak.Start != 0 || lub.Start != soak.Ready || lub.Wait <= 0 {
		t.Errorf("soak from %g, ready %g; the stack starts at %g after a wait of %g", soak.Start, soak.Ready, lub.Start, lub.Wait)
	}
	if want := 2 + 600.0; soak.Ready != want { // 2 minutes of work and 10 hours
		t.Errorf("ready at %g, want %g", soak.Ready, want)
	}
	// What does not need the ring is done before the wait.
	if a, b := position(t, steps, "torque piston valve"), position(t, steps, "lubricate throat"); a > b {
		t.Error("the piston waits for the rings of the throat")
	}
}

func TestWorkCautions(t *testing.T) {
	find := func(name, id, word string) bool {
		p := demo(t, name)
		steps, err := p.Work(p.All(Replace))
		if err != nil {
			t.Fatal(err)
		}
		return slices.ContainsFunc(steps[position(t, steps, id)].Cautions, func(c string) bool { return strings.Contains(c, word) })
	}
	for _, c := range []struct {
		pump, step, word string
		want             bool
	}{
		{"orrin-30", "depressurise", "skin", true},
		{"orrin-30", "depressurise", "does not relieve the line", true},
		{"orrin-30", "flush", "Earth the pump", true},
		{"orrin-30", "flush", "isocyanates", true},  // its fluids name polyurethane
		{"tolsk-18", "flush", "isocyanates", false}, // its fluids do not
		{"orrin-30", "clean", "halogenated", true},  // aluminium bronze
		{"tolsk-18", "clean", "halogenated", true},  // aluminium foot
		{"varn-40", "clean", "halogenated", false},  // no light metal
		{"tolsk-18", "lock out", "starts again by itself", true},
		{"orrin-30", "hold", "Never feel for one", true},
		{"orrin-30", "earth", "maker's manual", true},
	} {
		if got := find(c.pump, c.step, c.word); got != c.want {
			t.Errorf("%s, %s: caution with %q is %v, want %v", c.pump, c.step, c.word, got, c.want)
		}
	}
}

// Titles and details carry no number with a unit; Text writes them in the units of the person.
func TestStepText(t *testing.T) {
	p := demo(t, "orrin-30")
	steps, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	s := steps[position(t, steps, "torque throat nut")]
	for _, c := range []struct {
		sys  unit.System
		want string
	}{{unit.Metric(), "22.0 N·m ± 2.00 N·m"}, {unit.Imperial(), "16.2 lbf·ft ± 1.48 lbf·ft"}} { // 22 N·m / 1.355818
		if got := s.Text(c.sys); !strings.Contains(got, c.want) {
			t.Errorf("got %q, want %q in it", got, c.want)
		}
	}
	for _, s := range steps {
		if text := s.Text(unit.Metric()); strings.ContainsAny(text, "{}") {
			t.Errorf("%q leaves a place open: %s", s.ID, text)
		}
		if strings.ContainsAny(s.Title, "{}") {
			t.Errorf("%q has a quantity in its title", s.ID)
		}
	}
}

func TestWorkRefuses(t *testing.T) {
	p := demo(t, "orrin-30")
	for _, c := range []struct {
		chosen Chosen
		want   string
	}{
		{Chosen{"gearbox": Replace}, `cannot replace "gearbox": this pump has no such part`},
		{Chosen{"rod": TurnOver}, `cannot turn over "rod": a rod can be: keep, replace`},
		{Chosen{"cylinder": Lap}, `cannot lap "cylinder": a cylinder can be: keep, replace, hone`},
		{Chosen{"inlet valve seat": "polish"}, `cannot polish "inlet valve seat": a seat can be: keep, replace, turn over, lap`},
	} {
		_, err := p.Work(c.chosen)
		var ce *ChoiceError
		if !errors.As(err, &ce) || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
	p.Order = append(p.Order, Before{"torque throat nut", "fit rod", "no"})
	_, err := p.Work(nil)
	var cycle *CycleError
	if !errors.As(err, &cycle) {
		t.Fatalf("want a cycle, got %v", err)
	}
	if want := "fit rod → torque throat nut → fit rod"; !strings.Contains(err.Error(), want) && !strings.Contains(err.Error(), "torque throat nut → fit rod → torque throat nut") {
		t.Errorf("got %v, want it to name %s", err, want)
	}
	p.Order[len(p.Order)-1] = Before{"dance", "fit rod", "no"}
	var unknown *UnknownStepError
	if _, err := p.Work(nil); !errors.As(err, &unknown) || unknown.Step != "dance" {
		t.Errorf("want an unknown step, got %v", err)
	}
}

// anyChoice draws a random valid choice.
func anyChoice(t *rapid.T, p *Pump) Chosen {
	c := Chosen{}
	for _, q := range p.Parts {
		if !rapid.Bool().Draw(t, q.Name) {
			continue
		}
		var can []Action
		for _, a := range Actions() {
			if q.Allows(a) {
				can = append(can, a)
			}
		}
		c[q.Name] = rapid.SampledFrom(can).Draw(t, "action of "+q.Name)
	}
	return c
}

// Any valid choice gives an order that keeps every constraint of the plan, not only those between neighbours, and holds for every
// chosen part the steps that its action needs.
func TestWorkAnyChoice(t *testing.T) {
	pumps := allDemos(t)
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(pumps).Draw(t, "pump")
		chosen := anyChoice(t, p)
		steps, err := p.Work(chosen)
		if err != nil {
			t.Fatal(err)
		}
		if err := keepsOrder(steps); err != nil {
			t.Fatal(err)
		}
		pl, err := p.plan(chosen)
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]bool{}
		for i, s := range steps {
			at[s.ID] = true
			for _, later := range steps[i:] {
				if pl.must(pl.index[later.ID], pl.index[s.ID]) {
					t.Fatalf("%q has to come before %q", later.ID, s.ID)
				}
			}
		}
		for part, a := range chosen {
			if len(p.stacksOf(part)) == 0 && (!at["take out "+part] || !at["fit "+part]) {
				t.Fatalf("%s %s, but it is not taken out and fitted", a, part)
			}
			if (a == TurnOver || a == Lap || a == Hone) && !at[string(a)+" "+part] {
				t.Fatalf("no step to %s %s", a, part)
			}
		}
		for _, j := range p.Joints {
			if at["open "+j.Name] != at["torque "+j.Name] {
				t.Fatalf("the joint %s is opened and not torqued, or torqued and not opened", j.Name)
			}
		}
	})
}

// Work is the same every time, and does not change the pump.
func TestWorkIsStable(t *testing.T) {
	p := demo(t, "varn-40")
	a, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		b, err := p.Work(p.All(Replace))
		if err != nil {
			t.Fatal(err)
		}
		if orderText(a) != orderText(b) {
			t.Fatal("the order changes from run to run")
		}
	}
}

// A pump put together by hand, without joints, rings or drive, is worked on as far as it goes.
func TestWorkByHand(t *testing.T) {
	p, err := arrangement("differential", 0.03, 0.0212, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Parts = []Part{{Name: "rod", Kind: KindRod, Quantity: 1}}
	p.Stacks = []Stack{{Name: "throat", Seal: "throat packing"}}
	p.Joints = []Joint{{Name: "nut", Through: "throat", Loosely: true}}
	steps, err := p.Work(p.All(Replace))
	if err != nil {
		t.Fatal(err)
	}
	if err := keepsOrder(steps); err != nil {
		t.Error(err)
	}
	if a, b := position(t, steps, "fit rod"), position(t, steps, "torque nut"); a > b {
		t.Error("the nut is torqued before the rod is through")
	}
}
