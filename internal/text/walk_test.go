package text_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/text"
	"github.com/evenstroke/evenstroke/pump"
)

// heard collects the sentences that the engine says.
type heard map[string]bool

func (h heard) add(sentences ...string) {
	for _, s := range sentences {
		if s != "" {
			h[s] = true
		}
	}
}

func demoPump(t *testing.T, name string) *pump.Pump {
	t.Helper()
	p, err := pump.DemoPump(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// pumps are the demo pumps as they are and with what their sheets do not have: other materials, more of a part, no spanner, a crank.
func pumps(t *testing.T) []*pump.Pump {
	t.Helper()
	var out []*pump.Pump
	for _, name := range pump.Demo() {
		out = append(out, demoPump(t, name))
		for _, change := range []func(p *pump.Pump){
			func(p *pump.Pump) { p.Fluids, p.Parts[0].Material = nil, "aluminium" },
			func(p *pump.Pump) {
				for i := range p.Parts {
					p.Parts[i].Quantity, p.Parts[i].Soak = p.Parts[i].Quantity+1, 3600
				}
			},
			func(p *pump.Pump) {
				for i := range p.Joints {
					p.Joints[i].Spanner, p.Joints[i].Tol, p.Joints[i].Adapter = "", 0, 0
				}
				for i := range p.Stacks {
					p.Stacks[i].Shim = 0
				}
			},
			func(p *pump.Pump) {
				for i := range p.Joints {
					p.Joints[i].Spanner, p.Joints[i].Adapter = "hook spanner", 0.05
				}
			},
			func(p *pump.Pump) {
				for i := range p.Joints {
					p.Joints[i].Loosely = false
				}
			},
			func(p *pump.Pump) {
				p.Drive = pump.Drive{Kind: pump.Crank, Speed: 6, Stop: p.Limits.Rated, Restart: 0.8 * p.Limits.Rated}
			},
		} {
			p := demoPump(t, name)
			change(p)
			out = append(out, p)
		}
	}
	return out
}

// choices are every action on every part alone and on all parts.
func choices(p *pump.Pump) []pump.Chosen {
	out := []pump.Chosen{nil}
	for _, a := range pump.Actions() {
		out = append(out, p.All(a))
		for _, q := range p.Parts {
			if q.Allows(a) {
				out = append(out, pump.Chosen{q.Name: a})
			}
		}
	}
	return out
}

func (h heard) step(s pump.Step) {
	h.add(s.Title, s.Detail, s.Why, string(s.Lips))
	h.add(s.Cautions...)
	if s.ID != "" {
		h.add(`"` + s.ID + `"`)
	}
}

func (h heard) departure(d pump.Departure) {
	h.add(string(d.Kind), d.Found, d.Want, d.Why, d.NoFigure)
	for _, f := range d.Figures {
		h.add(f.What, f.Assumes)
	}
}

// ordered is the build that follows the order of work.
func ordered(p *pump.Pump, steps []pump.Step) pump.Build {
	b := pump.Build{Pump: p.Name}
	for _, s := range steps {
		d := pump.Done{Step: s.ID}
		switch s.Kind {
		case pump.StepTorque:
			d.Torque, d.Turned = s.Torque, true
		case pump.StepSoak:
			q, _ := p.Part(s.Part)
			d.Soaked = q.Soak
		case pump.StepHold:
			d.Pressure, d.Held = p.Limits.Hold, p.Limits.HoldFor
		}
		b.Done = append(b.Done, d)
	}
	for _, st := range p.Stacks {
		shim := st.Shim
		built := pump.Built{Stack: st.Name, Shim: &shim}
		for _, r := range st.Rings {
			built.Rings = append(built.Rings, pump.BuiltRing{Part: r.Part, Lips: r.Lips})
		}
		b.Stacks = append(b.Stacks, built)
	}
	return b
}

// builds are ways to depart from an order: each step left out, the order turned round, readings that are off or missing, stacks that are
// built wrong.
func builds(p *pump.Pump, steps []pump.Step, rng *rand.Rand) []pump.Build {
	good := ordered(p, steps)
	var out []pump.Build
	change := func(f func(b *pump.Build)) {
		b := good
		b.Done = slices.Clone(good.Done)
		b.Stacks = slices.Clone(good.Stacks)
		for i := range b.Stacks {
			b.Stacks[i].Rings = slices.Clone(b.Stacks[i].Rings)
		}
		f(&b)
		out = append(out, b)
	}
	change(func(b *pump.Build) { b.Done, b.Stacks = nil, nil })
	change(func(b *pump.Build) { slices.Reverse(b.Done) })
	for range 3 {
		change(func(b *pump.Build) {
			rng.Shuffle(len(b.Done), func(i, k int) { b.Done[i], b.Done[k] = b.Done[k], b.Done[i] })
		})
	}
	change(func(b *pump.Build) {
		b.Done = append(b.Done, pump.Done{Step: "paint it"}, pump.Done{Step: "lap cylinder"})
	})
	for _, d := range []pump.Done{{}, {Torque: 1, Turned: true}, {Torque: 3000, Turned: true, Tool: "II A"}, {Torque: 50, Adapter: 0.05, Wrench: 0.4, Turned: true}, {Torque: 50, Adapter: 9, Wrench: 0.4, Angle: math.Pi, Turned: true},
		{Soaked: 1}, {Held: 5, Pressure: 1e6}, {Held: 5}, {Held: 1e5, Pressure: 1e6}, {Held: 5, Pressure: 1e9}} {
		change(func(b *pump.Build) {
			for i := range b.Done {
				d.Step = b.Done[i].Step
				b.Done[i] = d
			}
		})
		change(func(b *pump.Build) { // the right torque, the spanner not noted
			for i, s := range steps {
				b.Done[i].Turned, b.Done[i].Wrench = false, d.Wrench
				b.Done[i].Torque = s.Torque
			}
		})
	}
	for i := range good.Stacks {
		stacks(change, i, good.Stacks[i])
	}
	return out
}

// stacks builds one stack in every wrong way.
func stacks(change func(func(*pump.Build)), i int, good pump.Built) {
	turn := map[string]string{"up": "down", "down": "up"}
	for n := range good.Rings {
		change(func(b *pump.Build) { b.Stacks[i].Rings = slices.Delete(b.Stacks[i].Rings, n, n+1) })
		change(func(b *pump.Build) { b.Stacks[i].Rings = slices.Insert(b.Stacks[i].Rings, n, b.Stacks[i].Rings[n]) })
		change(func(b *pump.Build) { b.Stacks[i].Rings[n].Lips = turn[b.Stacks[i].Rings[n].Lips] })
		change(func(b *pump.Build) { b.Stacks[i].Rings[n].Lips = "" })
	}
	change(func(b *pump.Build) {
		b.Stacks[i].Rings = slices.Insert(b.Stacks[i].Rings, 0, pump.BuiltRing{Part: "washer"})
	})
	change(func(b *pump.Build) { slices.Reverse(b.Stacks[i].Rings) })
	for _, lips := range []func(n int, was string) string{
		func(_ int, was string) string { return turn[was] },
		func(int, string) string { return "" },
		func(n int, was string) string { return []string{was, turn[was]}[n%2] },
		func(n int, was string) string { return []string{was, ""}[n%2] },
	} {
		change(func(b *pump.Build) {
			for n := range b.Stacks[i].Rings {
				b.Stacks[i].Rings[n].Lips = lips(n, b.Stacks[i].Rings[n].Lips)
			}
		})
	}
	change(func(b *pump.Build) { thick := 0.003; b.Stacks[i].Shim = &thick })
}

// work walks the orders of work and the departures from them.
func (h heard) work(t *testing.T) {
	kinds := map[pump.DepartureKind]bool{}
	rng := rand.New(rand.NewPCG(3, 5))
	for _, p := range pumps(t) {
		for _, c := range choices(p) {
			steps, err := p.Work(c)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range steps {
				h.step(s)
			}
		}
		for _, a := range []pump.Action{pump.Replace, pump.TurnOver} {
			steps, err := p.Work(p.All(a))
			if err != nil {
				t.Fatal(err)
			}
			for _, b := range builds(p, steps, rng) {
				ds, err := p.Departures(p.All(a), b, pump.Conditions{})
				if err != nil {
					t.Fatal(err)
				}
				for _, d := range ds {
					kinds[d.Kind] = true
					h.departure(d)
				}
			}
		}
	}
	p := demoPump(t, "orrin-30")
	steps, err := p.Work(p.All(pump.Replace))
	if err != nil {
		t.Fatal(err)
	}
	ds, err := p.Departures(nil, ordered(p, steps), pump.Conditions{}) // all done though nothing was chosen
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range ds {
		kinds[d.Kind] = true
		h.departure(d)
	}
	if len(kinds) != 22 {
		t.Errorf("%d kinds of departures were walked, want all 22: %v", len(kinds), slices.Sorted(maps.Keys(kinds)))
	}
	h.refusedWork(t)
}

func (h heard) refusedWork(t *testing.T) {
	p := demoPump(t, "orrin-30")
	for _, c := range []pump.Chosen{{"crown": pump.Replace}, {"rod": pump.Lap}, {"cylinder": pump.TurnOver}, {"inlet valve seat": pump.Hone}, {"throat leather ring": pump.Lap}} {
		if _, err := p.Work(c); err == nil {
			t.Errorf("%v is taken", c)
		} else {
			h.add(err.Error())
		}
	}
	for _, b := range []pump.Build{{Pump: "x"}, {Pump: p.Name, Stacks: []pump.Built{{Stack: "y"}}}} {
		_, err := p.Departures(nil, b, pump.Conditions{})
		if err == nil {
			t.Fatal("a build of another pump is taken")
		}
		h.add(err.Error())
	}
	bad := demoPump(t, "orrin-30")
	bad.Order = append(bad.Order, pump.Before{First: "hold", Then: "earth"})
	if _, err := bad.Work(nil); err != nil {
		h.add(err.Error())
	}
}

// TestEverythingTheEngineSaysIsTranslated runs the engine over every pump and hold of the tree and wants each sentence in every language.
func TestEverythingTheEngineSaysIsTranslated(t *testing.T) {
	c, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	h := heard{}
	h.work(t)
	h.holds(t)
	h.drawings(t)
	missing := map[string]bool{}
	for _, lang := range c.Languages()[1:] {
		for s := range h {
			said, ok := c.In(lang).Engine(s)
			switch {
			case ok && said == s && s[0] != '"' && strings.Contains(s, " ") && strings.Trim(s, "{}±abcdehiklnoqrtuw ") != "":
				missing["untouched: "+s] = true
			case !ok:
				missing[s] = true
			}
		}
	}
	t.Logf("%d sentences", len(h))
	if len(h) < 500 {
		t.Errorf("the engine said only %d sentences: the walk no longer fits it", len(h))
	}
	for _, s := range slices.Sorted(maps.Keys(missing)) {
		t.Errorf("no translation: %s", s)
	}
}
