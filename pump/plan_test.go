package pump

import (
	"slices"
	"testing"
)

// What the trade knows must come before what (common practice, no published source). Doing the later one too early is found.
func TestOrderOfTheTradeIsGuarded(t *testing.T) {
	for pumpName, pairs := range map[string][][2]string{
		"orrin-30": {
			{"earth", "flush"}, {"lock out", "depressurise"}, {"depressurise", "open inlet housing"}, {"prove zero", "open drain cartridge"},
			{"open inlet housing", "take out rod"}, {"open throat nut", "take out rod"}, {"take out rod", "unstack throat"}, {"take out rod", "open piston valve"},
			{"clean", "fit inlet valve ball"}, {"take out inlet valve seat", "clean"},
			{"soak throat leather ring", "lubricate throat"}, {"soak piston leather ring", "stack piston 5"}, {"lubricate throat", "stack throat 1"},
			{"stack throat 1", "stack throat 2"}, {"stack throat 6", "stack throat 7"}, {"stack piston 7", "stack piston 6"}, {"stack piston 2", "stack piston 1"},
			{"stack throat 7", "screw in throat nut"}, {"screw in throat nut", "fit rod"}, {"fit rod", "torque throat nut"}, {"stack throat 7", "fit rod"},
			{"stack piston 1", "torque piston valve"}, {"fit piston valve seat", "torque piston valve"}, {"torque piston valve", "fit rod"},
			{"fit inlet valve ball", "fit inlet valve seat"}, {"fit inlet O-ring", "torque inlet housing"}, {"fit rod", "torque inlet housing"},
			{"torque throat nut", "torque inlet housing"}, {"torque drain cartridge", "torque inlet housing"},
			{"torque inlet housing", "put back"}, {"fill wet cup", "prime"}, {"prime", "hold"}, {"hold", "relieve"},
		},
		"tolsk-18": {{"torque piston cap", "fit rod"}, {"fit rod", "torque throat bush"}, {"fit rod", "fit sleeve"}, {"torque throat bush", "torque foot"}},
		"varn-40": {{"stack upper piston 1", "lubricate lower piston"}, {"fit piston disc", "stack lower piston 5"}, {"torque rod-side outlet plug", "torque rod-side inlet plug"},
			{"torque head cover", "torque head-side inlet plug"}, {"fit rod", "fit head cover O-ring"}, {"fit rod", "torque head cover"}},
	} {
		p := demo(t, pumpName)
		chosen := p.All(Replace)
		pl, err := p.plan(chosen)
		if err != nil {
			t.Fatal(err)
		}
		for _, pair := range pairs {
			if !pl.must(pl.index[pair[0]], pl.index[pair[1]]) {
				t.Errorf("%s: %q need not come before %q", pumpName, pair[0], pair[1])
			}
			b := asOrdered(t, p, chosen)
			move(&b, pair[1], pair[0])
			ds := departures(t, p, chosen, b)
			if !slices.ContainsFunc(ds, func(d Departure) bool {
				return (d.Kind == OrderBroken || d.Kind == NutBeforeRod) && d.Step == pair[1]
			}) {
				t.Errorf("%s: %q before %q is not found (%d departures)", pumpName, pair[1], pair[0], len(ds))
			}
		}
	}
}

// chain makes a plan of steps a, b, c … whose ranks are their order in ids, with constraints pairs[i][0] before pairs[i][1].
func chain(t *testing.T, ids []string, pairs ...[2]string) *plan {
	t.Helper()
	pl := &plan{p: &Pump{}, index: map[string]int{}}
	for _, id := range ids {
		pl.add(Step{ID: id, Minutes: 1}, "")
	}
	for _, c := range pairs {
		pl.before(c[0], c[1], c[0]+" first")
	}
	if err := pl.close(); err != nil {
		t.Fatal(err)
	}
	return pl
}

func idsOf(steps []Step) []string {
	var out []string
	for _, s := range steps {
		out = append(out, s.ID)
	}
	return out
}

// What holds between two steps through a third one holds when the third is left out.
func TestPlanThroughAnAbsentStep(t *testing.T) {
	pl := chain(t, []string{"c", "b", "a"}, [2]string{"a", "b"}, [2]string{"b", "c"})
	steps := pl.schedule([]int{0, 2}) // without b; the rank alone would put c first
	if got := idsOf(steps); !slices.Equal(got, []string{"a", "c"}) {
		t.Errorf("got %v", got)
	}
	if got := steps[1].After; !slices.Equal(got, []string{"a"}) {
		t.Errorf("c after %v", got)
	}
	if got := pl.why(2, 0); got != "b first" { // the last constraint on the way from a to c
		t.Errorf("why: %q", got)
	}
	all := pl.schedule([]int{0, 1, 2})
	if got := idsOf(all); !slices.Equal(got, []string{"a", "b", "c"}) {
		t.Errorf("got %v", got)
	}
	if got := all[2].After; !slices.Equal(got, []string{"b"}) { // a follows from b
		t.Errorf("c after %v", got)
	}
}

// A joint in hand is finished before the next is begun, and a step that is not ready is not waited for while others are.
func TestPlanFinishesWhatIsInHand(t *testing.T) {
	pl := chain(t, []string{"soak", "x1", "y1", "x2", "y2"}, [2]string{"soak", "x1"}, [2]string{"x1", "x2"}, [2]string{"y1", "y2"})
	pl.group = []string{"", "x", "y", "x", "y"}
	pl.steps[0].Ready = 1.5 // on top of its own minute: ready at 2.5
	steps := pl.schedule([]int{0, 1, 2, 3, 4})
	if got := idsOf(steps); !slices.Equal(got, []string{"soak", "y1", "y2", "x1", "x2"}) {
		t.Errorf("got %v", got)
	}
	pl.steps[0].Ready = 9
	steps = pl.schedule([]int{0, 1, 2, 3, 4})
	if x := steps[3]; x.ID != "x1" || x.Start != 10 || x.Wait != 7 {
		t.Errorf("after a soak of 9 minutes from minute 1 on: %+v", x)
	}
}

// What a step of the strip takes out is named by the steps themselves: every part that a whole strip opens, and nothing for another step.
func TestTakenOut(t *testing.T) {
	for _, name := range Demo() {
		p := demo(t, name)
		all := Chosen{}
		for _, q := range p.Parts {
			if q.Allows(Keep) {
				all[q.Name] = Keep
			}
		}
		steps, err := p.Work(all)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]bool{}
		for _, s := range steps {
			parts := p.TakenOut(s.ID)
			if len(parts) > 0 && s.Kind != StepStrip {
				t.Errorf("%s: %q is no step of the strip and takes out %v", name, s.ID, parts)
			}
			if s.Kind == StepStrip && s.Part != "" && !slices.Equal(parts, []string{s.Part}) {
				t.Errorf("%s: %q takes out %v, want %s", name, s.ID, parts, s.Part)
			}
			for _, q := range parts {
				out[q] = true
			}
		}
		for _, st := range p.Stacks {
			for _, r := range st.Rings {
				if !out[r.Part] {
					t.Errorf("%s: %s of the %s stack is never taken out", name, r.Part, st.Name)
				}
			}
		}
		if got := p.TakenOut("measure " + p.Parts[0].Name); got != nil {
			t.Errorf("%s: measuring takes out %v", name, got)
		}
	}
}
