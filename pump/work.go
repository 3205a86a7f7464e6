package pump

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// ChoiceError says that a choice cannot be carried out.
type ChoiceError struct {
	Part, Action string
	Want         string
}

// Error gives the complaint on one line.
func (e *ChoiceError) Error() string {
	return fmt.Sprintf("cannot %s %q: %s", e.Action, e.Part, e.Want)
}

// Work returns the steps of a rebuild in an order that keeps every constraint: soaks first, then make safe, strip, clean and
// measure, build, prove. Only what the chosen parts make necessary is opened; what comes away with it is refitted. With nothing
// chosen there remain the hold and what belongs to it.
//
// The order is that of a person alone: one joint is finished before the next, and soaks run while other work goes on. Start,
// Wait and Ready say when. Errors: *ChoiceError for a part that the pump does not have or an action that the part does not allow,
// *CycleError or *UnknownStepError for a pump whose constraints of order are unsound (Read refuses such a sheet).
func (p *Pump) Work(chosen Chosen) ([]Step, error) {
	r, err := p.Rebuild(chosen)
	if err != nil {
		return nil, err
	}
	return r.Steps(), nil
}

// Rebuild is the work on a pump for one choice of parts, worked out once. It is safe for concurrent use.
type Rebuild struct {
	p       *Pump
	chosen  Chosen
	plan    *plan
	present []int // steps of the plan that the choice needs, in the order of the plan
	steps   []Step
}

// Rebuild works out the work for a choice. Errors: those of Work.
func (p *Pump) Rebuild(chosen Chosen) (*Rebuild, error) {
	if err := p.check(chosen); err != nil {
		return nil, err
	}
	pl, err := p.plan(chosen)
	if err != nil {
		return nil, err
	}
	present := pl.present(chosen)
	return &Rebuild{p, maps.Clone(chosen), pl, present, pl.schedule(present)}, nil
}

// Steps returns the steps as Work gives them. They are not to be changed.
func (r *Rebuild) Steps() []Step { return r.steps }

func (p *Pump) check(chosen Chosen) error {
	list := make([]string, 0, len(chosen))
	for name := range chosen {
		list = append(list, name)
	}
	slices.Sort(list)
	for _, name := range list {
		q, ok := p.Part(name)
		a := chosen[name]
		switch {
		case !ok:
			return &ChoiceError{name, string(a), "this pump has no such part"}
		case !q.Allows(a):
			var can []string
			for _, b := range Actions() {
				if q.Allows(b) {
					can = append(can, string(b))
				}
			}
			return &ChoiceError{name, string(a), "a " + q.Kind + " can be: " + strings.Join(can, ", ")}
		}
	}
	return nil
}

// reach collects what has to be opened and taken out to get at the chosen parts.
type reach struct {
	p      *Pump
	joints map[string]bool
	parts  map[string]bool // out, not in a stack
	stacks map[string]bool
}

func (pl *plan) reached(chosen Chosen) reach {
	r := reach{pl.p, map[string]bool{}, map[string]bool{}, map[string]bool{}}
	for _, q := range pl.p.Parts {
		if _, ok := chosen[q.Name]; !ok {
			continue
		}
		stacks := pl.p.stacksOf(q.Name)
		for _, s := range stacks {
			r.unstack(s)
		}
		if len(stacks) == 0 {
			r.takeOut(q.Name)
		}
	}
	return r
}

func (r reach) takeOut(part string) {
	if r.parts[part] {
		return
	}
	r.parts[part] = true
	for _, j := range r.p.holders(part) {
		r.open(j)
	}
	if q, _ := r.p.Part(part); q.Kind == KindRod {
		for _, j := range r.p.Joints {
			if j.Loosely {
				r.open(j)
			}
		}
	}
}

// open opens a joint. What it holds comes away with it, save the rod and the stacks, which stay where they are.
func (r reach) open(j Joint) {
	if r.joints[j.Name] {
		return
	}
	r.joints[j.Name] = true
	if j.CarriedBy != "" {
		r.takeOut(j.CarriedBy)
	}
	for _, h := range j.Holds {
		if q, ok := r.p.Part(h); ok && q.Kind != KindRod {
			r.takeOut(h)
		}
	}
}

func (r reach) unstack(stack string) {
	if r.stacks[stack] {
		return
	}
	r.stacks[stack] = true
	for _, j := range r.p.holders(stack) {
		r.open(j)
	}
	for _, q := range r.p.Parts {
		if q.Kind == KindRod {
			r.takeOut(q.Name)
		}
	}
}

// The IDs of the steps of the strip.
func openID(joint string) string    { return "open " + joint }
func takeOutID(part string) string  { return "take out " + part }
func unstackID(stack string) string { return "unstack " + stack }

// TakenOut names the parts that a step of the strip takes out or sets free, by its ID; none for another step. What came out goes in again,
// whatever is chosen: a packing whose nut was loosened counts as taken out.
func (p *Pump) TakenOut(id string) []string {
	for _, q := range p.Parts {
		if id == takeOutID(q.Name) {
			return []string{q.Name}
		}
	}
	for _, st := range p.Stacks {
		if id == unstackID(st.Name) {
			return p.ringsOf(st.Name)
		}
	}
	for _, j := range p.Joints {
		if id == openID(j.Name) {
			return p.freed(j)
		}
	}
	return nil
}

// freed names what comes away with an open joint, save the rod, which stays where it is.
func (p *Pump) freed(j Joint) []string {
	var out []string
	for _, h := range j.Holds {
		if q, ok := p.Part(h); ok && q.Kind != KindRod {
			out = append(out, h)
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, h := range append(slices.Clone(j.Holds), j.Through) {
		out = append(out, p.ringsOf(h)...)
	}
	return out
}

func (p *Pump) ringsOf(stack string) []string {
	st, _ := p.Stack(stack)
	var out []string
	for _, r := range st.Rings {
		if !slices.Contains(out, r.Part) {
			out = append(out, r.Part)
		}
	}
	return out
}

// present returns the steps that a choice needs, in the order of the plan.
func (pl *plan) present(chosen Chosen) []int {
	r := pl.reached(chosen)
	opened := len(r.joints)+len(r.parts)+len(r.stacks) > 0
	var out []int
	for i, s := range pl.steps {
		if pl.needed(s, r, chosen, opened) {
			out = append(out, i)
		}
	}
	return out
}

func (pl *plan) needed(s Step, r reach, chosen Chosen, opened bool) bool {
	switch s.Kind {
	case StepSoak:
		return chosen[s.Part] == Replace
	case StepRework:
		return chosen[s.Part] == s.Action
	case StepMeasure:
		return r.parts[s.Part] && chosen[s.Part] != Replace
	case StepClean:
		return opened
	case StepSafe:
		return opened || s.ID == "earth" || s.ID == "relieve"
	case StepPrime, StepHold:
		return true
	case StepLubricate:
		return s.Stack == "" || r.stacks[s.Stack]
	}
	switch {
	case s.Joint != "":
		return r.joints[s.Joint]
	case s.Stack != "":
		return r.stacks[s.Stack]
	}
	return r.parts[s.Part]
}
