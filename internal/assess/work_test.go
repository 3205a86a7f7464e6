package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

func workOf(t tester, b *book, p *pump.Pump) *Work {
	t.Helper()
	w, err := WorkOf(b.job(), p, p.Rebuild, b.at)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func chose(c pump.Chosen) *record.Chose {
	out := &record.Chose{Parts: map[string]string{}}
	for part, a := range c {
		out.Parts[part] = string(a)
	}
	return out
}

// properly is the record of a step that was done as it should be.
func properly(p *pump.Pump, s pump.Step) *record.Did {
	d := &record.Did{Step: s.ID}
	m := unit.Metric()
	switch s.Kind {
	case pump.StepTorque:
		d.Torque, d.Wrench, d.Adapter, d.Angle = m.Show(s.Torque, unit.Torque), "400 mm", "0 mm", "0°"
		if j, ok := p.Joint(s.Joint); ok && j.Adapter > 0 {
			d.Adapter, d.Angle = m.Show(j.Adapter, unit.Length), "90°"
		}
	case pump.StepSoak:
		d.Soaked = fmt.Sprintf("%.0f s", s.Quantities["soak"].SI)
	case pump.StepHold:
		d.Pressure, d.Held = fmt.Sprintf("%.0f Pa", math.Ceil(p.Limits.Hold)), fmt.Sprintf("%.0f s", p.Limits.HoldFor)
	}
	return d
}

// Doing what Next says, one step after the other, finishes the work without a departure at any moment, with whatever is chosen.
func TestFollowingNextFinishesTheWork(t *testing.T) {
	for name, actions := range map[string][]pump.Action{"orrin-30": {pump.Keep}, "tolsk-18": {pump.Keep, pump.Replace}, "varn-40": {pump.Replace}} {
		p, _ := demoPump(t, name)
		for _, a := range actions {
			b := newBook(t, p)
			b.write(chose(p.All(a)))
			n := len(workOf(t, b, p).Steps)
			for i := 0; ; i++ {
				if i > 2*n {
					t.Fatalf("%s, %s: no end after %d steps of %d", name, a, i, n)
				}
				w := workOf(t, b, p)
				if len(w.Departures) > 0 {
					t.Fatalf("%s, %s: after %d steps: %s", name, a, i, w.Departures[0].Text(unit.Metric()))
				}
				if w.Next == nil {
					if i < n {
						t.Fatalf("%s, %s: nothing left after %d of %d steps", name, a, i, n)
					}
					break
				}
				s := w.Next.Step
				if s.Kind == pump.StepSoak && w.Next.State == Todo {
					soak, err := StartSoak(s, b.at.Add(time.Minute))
					if err != nil {
						t.Fatal(err)
					}
					b.write(soak)
					continue
				}
				if w.Next.State == Soaking { // nothing else can be done: wait
					b.at = w.Next.Until
					continue
				}
				did := properly(p, s)
				if err := CheckDid(p, s, did); err != nil {
					t.Fatalf("%s: %s: %v", name, s.ID, err)
				}
				b.write(did)
			}
			b.write(&record.Moved{To: record.StageHand})
			if w := workOf(t, b, p); len(w.Departures) > 0 || w.Progress[PhaseBuild].Done != w.Progress[PhaseBuild].Of {
				t.Errorf("%s, %s: at the end %v, %v", name, a, w.Departures, w.Progress)
			}
		}
	}
}

// Any order that keeps the constraints is as good: at no moment is there a departure. One pair of constrained steps the wrong way
// round is one as soon as the second of them is done, and not before.
func TestOnlyRealDeparturesAreTold(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	chosen := p.All(pump.Replace)
	steps, err := p.Work(chosen)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		order := anyOrder(t, steps)
		b := newBook(t, p)
		b.write(chose(chosen))
		upTo := rapid.IntRange(0, len(order)).Draw(t, "done")
		for _, s := range order[:upTo] {
			b.write(properly(p, s))
		}
		w := workOf(t, b, p)
		for _, d := range w.Departures {
			t.Errorf("after %d steps in a sound order: %s", upTo, d.Text(unit.Metric()))
		}
		done := 0
		for _, ph := range Phases() {
			done += w.Progress[ph].Done
		}
		if done < upTo {
			t.Errorf("%d steps done, progress says %d", upTo, done)
		}
	})
}

// Before anything is chosen the steps of the proof are in no order yet, and none of them is missing from it.
func TestNothingIsMissingBeforeTheChoice(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	if w := workOf(t, newBook(t, p), p); len(w.Departures) > 0 {
		t.Errorf("departures of a job that was just booked in: %s", kinds(w))
	}
}

// anyOrder draws an order of the steps that keeps every constraint.
func anyOrder(t *rapid.T, steps []pump.Step) []pump.Step {
	done := map[string]bool{}
	var out []pump.Step
	for len(out) < len(steps) {
		var can []pump.Step
		for _, s := range steps {
			ok := !done[s.ID]
			for _, a := range s.After {
				ok = ok && done[a]
			}
			if ok {
				can = append(can, s)
			}
		}
		s := can[rapid.IntRange(0, len(can)-1).Draw(t, "next")]
		done[s.ID] = true
		out = append(out, s)
	}
	return out
}

func kinds(w *Work) string {
	var out []string
	for _, d := range w.Departures {
		out = append(out, string(d.Kind)+" "+d.Step+d.Stack)
	}
	return strings.Join(out, "; ")
}

func TestDepartures(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	did := func(id string) *record.Did { return &record.Did{Step: id} }
	chosen := pump.Chosen{"drain valve cartridge": pump.Keep}
	for _, c := range []struct {
		name   string
		bodies []record.Body
		want   string
	}{
		{"nothing done", nil, ""},
		{"a torque off", []record.Body{did("clean"), did("fit drain valve cartridge"), &record.Did{Step: "torque drain cartridge", Torque: "30 N·m"}}, "torque outside tolerance torque drain cartridge"},
		{"a torque not read", []record.Body{did("clean"), did("fit drain valve cartridge"), did("torque drain cartridge")}, "torque not recorded torque drain cartridge"},
		{"fitted without cleaning is no departure of its own", []record.Body{did("fit drain valve cartridge")}, ""},
		{"torqued before it was fitted", []record.Body{&record.Did{Step: "torque drain cartridge", Torque: "23 N·m"}}, "not done fit drain valve cartridge"},
		{"and fitted then", []record.Body{&record.Did{Step: "torque drain cartridge", Torque: "23 N·m"}, did("fit drain valve cartridge")}, "order broken torque drain cartridge"},
		{"left out on purpose", []record.Body{&record.Did{Step: "fit drain valve cartridge", Skipped: true, Note: "the new one leaks"}}, "not done fit drain valve cartridge"},
		{"not of this work", []record.Body{did("fit rod ")}, "unknown step fit rod "},
		{"not chosen", []record.Body{did("hone cylinder")}, "not chosen hone cylinder"},
		{"measured, and another part chosen", []record.Body{did("measure cylinder")}, ""},
		{"primed", []record.Body{did("clean"), did("fit drain valve cartridge"), &record.Did{Step: "torque drain cartridge", Torque: "23 N·m"}, did("prime")},
			"not done put back; not done fill wet cup"},
	} {
		b := newBook(t, p)
		b.write(chose(chosen))
		for _, id := range []string{"earth", "flush", "lock out", "depressurise", "prove zero", "take off"} {
			b.write(did(id))
		}
		for _, x := range c.bodies {
			b.write(x)
		}
		w := workOf(t, b, p)
		got := kinds(w)
		if got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
		if c.name == "left out on purpose" && (w.Departures[0].Reason != "the new one leaks" || w.Departures[0].Entry == nil) {
			t.Errorf("%+v", w.Departures[0])
		}
	}
}

// What was not made safe is told as soon as a step after it is done.
func TestUnsafeWorkIsADeparture(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"drain valve cartridge": pump.Keep}))
	b.write(&record.Did{Step: "flush"})
	b.write(&record.Did{Step: "open drain cartridge"})
	if got, want := kinds(workOf(t, b, p)), "not done earth; not done lock out; not done depressurise; not done prove zero; not done take off"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestStatesOfSteps(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"throat leather ring": pump.Replace}))
	state := func(id string) State { t.Helper(); return workOf(t, b, p).Step(id).State }
	w := workOf(t, b, p)
	if w.Next.ID != "soak throat leather ring" || w.Next.Phase != PhaseBuild {
		t.Fatalf("next %s", w.Next.ID)
	}
	soak, err := StartSoak(w.Next.Step, b.at)
	if err != nil {
		t.Fatal(err)
	}
	if soak.Ready.Sub(b.at) != time.Hour { // 60 min on the sheet
		t.Errorf("ready %v after it was laid down", soak.Ready.Sub(b.at))
	}
	b.write(soak)
	if state("soak throat leather ring") != Soaking || workOf(t, b, p).Next.ID != "earth" {
		t.Errorf("a soak that runs: %s, next %s", state("soak throat leather ring"), workOf(t, b, p).Next.ID)
	}
	b.at = soak.Ready
	if state("soak throat leather ring") != Ready || workOf(t, b, p).Next.ID != "earth" {
		t.Errorf("a soak that is ready: %s, next %s", state("soak throat leather ring"), workOf(t, b, p).Next.ID)
	}
	b.write(&record.Did{Step: "open throat nut"})
	if state("earth") != Missed || workOf(t, b, p).Next.ID != "earth" {
		t.Errorf("earth is %s", state("earth"))
	}
	if state("take out rod") != Todo {
		t.Errorf("the rod is %s", state("take out rod"))
	}
	b.write(&record.Did{Step: "measure rod"})
	for _, id := range []string{"take out rod", "open throat nut", "unstack throat", "clean"} {
		if s := state(id); s != Passed && s != Done {
			t.Errorf("%s is %s although the rod was measured", id, s)
		}
	}
	caution := w.Step("earth").Mind[0].Text
	b.write(&record.Minded{Caution: caution})
	if m := workOf(t, b, p).Step("earth").Mind[0]; m.Minded == nil || m.Text != caution {
		t.Errorf("a caution that was acknowledged: %+v", m)
	}
	b.write(&record.Did{Step: "hum a tune"})
	if l := workOf(t, b, p).Loose; len(l) != 1 {
		t.Errorf("loose %v", l)
	}
}

// A ring whose soak is ready is asked for when its stack is next.
func TestRipeSoakComesBeforeItsStack(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"throat leather ring": pump.Replace}))
	w := workOf(t, b, p)
	soak, err := StartSoak(w.Next.Step, b.at)
	if err != nil {
		t.Fatal(err)
	}
	b.write(soak)
	for _, s := range w.Steps[1:] {
		if s.ID == "lubricate throat" {
			break
		}
		b.write(properly(p, s.Step))
	}
	b.at = soak.Ready
	if next := workOf(t, b, p).Next; next.ID != "soak throat leather ring" || next.State != Ready {
		t.Errorf("next %s, %s", next.ID, next.State)
	}
	b.write(&record.Did{Step: "soak throat leather ring"}) // its time follows from the start
	w = workOf(t, b, p)
	if w.Next.ID != "lubricate throat" || len(w.Departures) != 0 {
		t.Errorf("next %s, departures %s", w.Next.ID, kinds(w))
	}
}

// Adapters: M_set = M·L/(L + E) in line, no correction square (moment equilibrium; instruction sheets of torque wrenches).
func TestTorqueOfAStep(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"throat leather ring": pump.Replace, "drain valve cartridge": pump.Keep}))
	torque := func(id string) *Torque { t.Helper(); return workOf(t, b, p).Step(id).Wrench }
	if w := torque("torque throat nut"); w.Asked != 22 || w.Tol != 2 || math.Abs(w.Adapter-0.06) > 1e-12 || w.Length != 0 || w.InLine != 0 || w.Spanner != "hook spanner" {
		t.Errorf("before any wrench: %+v", w)
	}
	b.write(&record.Did{Step: "torque drain cartridge", Torque: "23 N·m", Wrench: "340 mm"})
	w := torque("torque throat nut")
	if want := 22 * 340.0 / 400; math.Abs(w.InLine-want) > 1e-9 {
		t.Errorf("in line with the wrench used last: %g, want %g", w.InLine, want)
	}
	if set, err := w.Setting(0.34, math.Pi/2); err != nil || math.Abs(set-22) > 1e-9 {
		t.Errorf("square: %g, %v", set, err)
	}
	if d := torque("torque drain cartridge"); !d.Within || d.Got != 23 || d.InLine != 23 {
		t.Errorf("without an adapter: %+v", d)
	}
	b.write(&record.Did{Step: "torque throat nut", Torque: "22 N·m", Wrench: "400 mm", Adapter: "60 mm", Angle: "0°"})
	if w = torque("torque throat nut"); math.Abs(w.Got-22*460.0/400) > 1e-9 || w.Read != 22 || w.Within {
		t.Errorf("through the spanner: %+v", w)
	}
}
