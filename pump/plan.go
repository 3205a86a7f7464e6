package pump

import (
	"fmt"
	"slices"
	"strings"
)

// A plan holds every step that could ever be done to a pump and every constraint between them. Choosing parts only leaves steps
// out: what holds between two steps through a third one holds without it too.
type plan struct {
	p      *Pump
	joints []Joint           // in the order of the build
	owner  map[string]string // by part or stack: the joint in whose group it is taken out and put in
	steps  []Step
	group  []string // by step: the joint that it belongs to; a person finishes one before the next
	index  map[string]int
	next   [][]edge // by step
	later  []bits   // by step: those that must come after it; nil when there is a cycle
}

// edge is a constraint: the step it hangs on comes before the step To.
type edge struct {
	to    int
	why   string
	order int // index in Pump.Order, or −1
}

// CycleError says that the constraints of order contradict each other.
type CycleError struct {
	Steps []string // each must come before the next, the last before the first
	order int      // index in Pump.Order of one constraint in it, or −1
}

// Error names the cycle.
func (e *CycleError) Error() string {
	return "the constraints of order go in a circle: " + strings.Join(append(slices.Clone(e.Steps), e.Steps[0]), " → ")
}

// UnknownStepError says that a constraint of order names a step that this pump cannot have.
type UnknownStepError struct {
	Step  string
	Known []string
	order int
	key   string
}

// Error names the step.
func (e *UnknownStepError) Error() string {
	return fmt.Sprintf("the order names the unknown step %q", e.Step)
}

func (pl *plan) add(s Step, group string) {
	if _, twice := pl.index[s.ID]; twice {
		return
	}
	pl.index[s.ID] = len(pl.steps)
	pl.steps = append(pl.steps, s)
	pl.group = append(pl.group, group)
	pl.next = append(pl.next, nil)
}

// before demands that step a comes before step b, when the pump has both.
func (pl *plan) before(a, b, why string) { pl.constrain(a, b, why, -1) }

func (pl *plan) constrain(a, b, why string, order int) {
	i, okA := pl.index[a]
	k, okB := pl.index[b]
	if okA && okB {
		pl.next[i] = append(pl.next[i], edge{k, why, order})
	}
}

// close finds a cycle, or computes which step must come before which.
func (pl *plan) close() error {
	const unseen, onTheWay, finished = 0, 1, 2
	state := make([]int, len(pl.steps))
	later := make([]bits, len(pl.steps))
	var trail []int
	var visit func(i int) error
	visit = func(i int) error {
		state[i] = onTheWay
		trail = append(trail, i)
		later[i] = newBits(len(pl.steps))
		for _, e := range pl.next[i] {
			if state[e.to] == onTheWay {
				return pl.cycle(trail[slices.Index(trail, e.to):])
			}
			if state[e.to] == unseen {
				if err := visit(e.to); err != nil {
					return err
				}
			}
			later[i].set(e.to)
			later[i].add(later[e.to])
		}
		trail = trail[:len(trail)-1]
		state[i] = finished
		return nil
	}
	for i := range pl.steps {
		if state[i] == unseen {
			if err := visit(i); err != nil {
				return err
			}
		}
	}
	pl.later = later
	return nil
}

// must says whether step a must come before step b.
func (pl *plan) must(a, b int) bool { return pl.later[a].has(b) }

// cycle names a cycle, and a constraint of the sheet in it if there is one.
func (pl *plan) cycle(ring []int) *CycleError {
	e := &CycleError{order: -1}
	for n, i := range ring {
		e.Steps = append(e.Steps, pl.steps[i].ID)
		to := ring[(n+1)%len(ring)]
		for _, x := range pl.next[i] {
			if x.to == to && x.order >= 0 {
				e.order = x.order
			}
		}
	}
	return e
}

// why returns the reason why a comes before b: that of the last constraint on a way from a to b.
func (pl *plan) why(a, b int) string {
	for i := range pl.steps {
		if i != a && !pl.must(a, i) {
			continue
		}
		for _, e := range pl.next[i] {
			if e.to == b {
				return e.why
			}
		}
	}
	return ""
}

// direct returns, among the steps present, those that must come before step b and do not follow from each other.
func (pl *plan) direct(present []int, b int) []int {
	all := newBits(len(pl.steps))
	for _, a := range present {
		if pl.must(a, b) {
			all.set(a)
		}
	}
	var out []int
	for _, a := range present {
		if all.has(a) && !pl.later[a].meets(all) {
			out = append(out, a)
		}
	}
	return out
}

// schedule puts the steps present in an order that keeps every constraint: of the steps that can be done now, one of the joint
// in hand before one of another, else the first of the plan; it waits for a soak only when nothing else can be done.
func (pl *plan) schedule(present []int) []Step {
	var out []Step
	after := make(map[int][]int, len(present))
	for _, i := range present {
		after[i] = pl.direct(present, i)
	}
	placed := map[int]Step{}
	clock, group := 0.0, ""
	for len(out) < len(present) {
		best, bestAt := -1, 0.0
		for _, i := range present {
			at, ready := pl.earliest(i, after[i], placed, clock)
			if !ready {
				continue
			}
			if best < 0 || at < bestAt || at == bestAt && pl.group[i] == group && pl.group[best] != group {
				best, bestAt = i, at
			}
		}
		s := pl.steps[best]
		s.Start, s.Wait = bestAt, bestAt-clock
		s.Ready = s.Start + s.Minutes + s.Ready
		for _, a := range after[best] {
			s.After = append(s.After, pl.steps[a].ID)
		}
		clock, group = s.Start+s.Minutes, pl.group[best]
		placed[best] = s
		out = append(out, s)
	}
	return out
}

// earliest returns when a step can start; ready is false while a step before it is not placed, or when it is placed itself.
func (pl *plan) earliest(i int, after []int, placed map[int]Step, clock float64) (at float64, ready bool) {
	if _, twice := placed[i]; twice {
		return 0, false
	}
	at = clock
	for _, a := range after {
		s, ok := placed[a]
		if !ok {
			return 0, false
		}
		at = max(at, s.Ready)
	}
	return at, true
}
