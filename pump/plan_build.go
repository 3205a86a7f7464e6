package pump

import (
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/unit"
)

// builds adds the steps that put the pump together.
func (pl *plan) builds(chosen Chosen) {
	for _, q := range pl.p.Parts {
		if len(pl.p.stacksOf(q.Name)) == 0 && pl.owner[q.Name] == "" {
			pl.fit(q, chosen, "loose")
		}
	}
	for _, st := range pl.p.Stacks {
		if pl.owner[st.Name] == "" {
			pl.stack(st, chosen, "loose")
		}
	}
	for _, j := range pl.joints {
		pl.assemble(j, chosen)
	}
}

// assemble adds what a joint holds, in the order in which it goes in, and the joint.
func (pl *plan) assemble(j Joint, chosen Chosen) {
	inside := append([]string{}, j.Holds...)
	if j.Through != "" {
		inside = append(inside, j.Through)
	}
	for _, q := range pl.p.Parts { // the rod, which belongs to the joint that waits for it
		if pl.owner[q.Name] == j.Name {
			inside = append(inside, q.Name)
		}
	}
	for _, name := range inside {
		if pl.owner[name] != j.Name {
			continue
		}
		if st, ok := pl.p.Stack(name); ok {
			pl.stack(st, chosen, "close "+j.Name)
		}
		if q, ok := pl.p.Part(name); ok && q.Kind != KindRod {
			pl.fit(q, chosen, "close "+j.Name)
		}
	}
	if j.Loosely {
		s := pl.step(StepFit, "screw in "+j.Name, "Screw the "+j.Name+" in, loosely", "By hand only, until it just touches the rings.")
		s.Joint = j.Name
		s.Why = "Rings that are pressed together before the rod is through close on it: the rod tears their lips."
		pl.add(s, "close "+j.Name)
	}
	for _, q := range pl.p.Parts {
		if q.Kind == KindRod && pl.owner[q.Name] == j.Name {
			pl.fit(q, chosen, "close "+j.Name)
		}
	}
	pl.torque(j)
}

func (pl *plan) fit(q Part, chosen Chosen, group string) {
	verb, detail, why := "Refit "+counted(q, "the "), "Clean, dry, the way round it sat.", ""
	switch chosen[q.Name] {
	case Replace:
		verb, detail = "Fit "+counted(q, "the new "), "Compare it with the old one before it goes in."
	case TurnOver:
		verb, detail = "Fit the turned "+q.Name, "The unused edge to the ball."
	case Lap:
		verb = "Fit the lapped " + q.Name
	case Hone:
		verb = "Fit the honed " + q.Name
	}
	switch q.Kind {
	case KindRod:
		verb += " and push it through"
		detail += " Oil rod, lips and piston; push straight and turn a little, so that no lip folds under."
		why = "The lips must meet a smooth oiled rod end first, with nothing pressing on them yet."
	case KindStaticSeal:
		if chosen[q.Name] != Replace {
			detail += " A static seal that was open is better renewed."
			why = "It has taken the shape of its old place."
		}
	case KindBall, KindSeat:
		detail += " See that ball and seat are free of lint and grit."
		why = "One grain on a seat is a leak."
	}
	s := pl.step(StepFit, "fit "+q.Name, verb, detail)
	s.Part, s.Action, s.Why = q.Name, chosen[q.Name], why
	pl.add(s, group)
}

// stack adds the rings of a stack, the one farthest from the open end first.
func (pl *plan) stack(st Stack, chosen Chosen, group string) {
	lub := pl.step(StepLubricate, "lubricate "+st.Name, "Oil the rings and walls of the "+st.Name+" stack",
		"A thin film of the oil or grease that the maker's manual names, on rings, bore and thread.")
	lub.Stack = st.Name
	lub.Why = "A dry lip turns over on its way in."
	if st.Shim > 0 {
		lub.Detail += " Have the shims of {shim} at hand."
		lub.Quantities = map[string]Quantity{"shim": {SI: st.Shim, Dim: unit.Length}}
	}
	pl.add(lub, group)
	facing, known := pl.p.FacingOf(pl.p.Map(), st)
	for n := range st.Rings {
		k := n // index of the ring that goes in as number n
		if st.FilledFrom == Bottom {
			k = len(st.Rings) - 1 - n
		}
		pl.add(pl.ring(st, k, n, facing, known, chosen), group)
	}
}

// RingID returns the ID of the step that puts ring k (1 is the lowest) into a stack.
func RingID(stack string, k int) string { return fmt.Sprintf("stack %s %d", stack, k) }

func (pl *plan) ring(st Stack, k, n int, facing Facing, known bool, chosen Chosen) Step {
	ring := st.Rings[k]
	article, again := "the ", " A used ring goes back to its own place."
	if chosen[ring.Part] == Replace {
		article, again = "a new ", ""
	}
	title := fmt.Sprintf("Put in ring %d of the %s stack: %s%s", k+1, st.Name, article, ring.Part)
	s := pl.step(StepFit, RingID(st.Name, k+1), title, "")
	s.Minutes /= 2
	s.Part, s.Action, s.Stack, s.Ring, s.Lips = ring.Part, chosen[ring.Part], st.Name, k+1, ring.Lips
	place := fmt.Sprintf("Number %d to go in, ring %d of %d from the bottom", n+1, k+1, len(st.Rings))
	s.Detail = place + "."
	if ring.Kind == KindVRing && known {
		s.Lips, s.Toward = facing.Lips, facing.Node
		s.Title += fmt.Sprintf(", lips %s, toward %s", s.Lips, pl.p.nodeWords(s.Toward))
		s.Detail = fmt.Sprintf("%s, lips %s.", place, s.Lips)
		s.Why = "Pressure spreads the lips only when it comes from their open side; " + facing.why() + "."
	} else if ring.Lips != "" {
		s.Title += ", lip " + ring.Lips
		s.Detail = fmt.Sprintf("%s, lip %s.", place, ring.Lips)
	}
	switch {
	case ring.Kind == KindMale && known:
		s.Why = "It fills the open lips of the next ring, on the side where the pressure stands."
	case ring.Kind == KindFemale && known:
		s.Why = "It backs the set next to the rigid part, so that pressure cannot push the rings into the gap."
	}
	s.Detail += " Seat it square before the next one." + again
	return s
}

// nodeWords names a node in a sentence: "the upper chamber", "the rod side", "the line".
func (p *Pump) nodeWords(node string) string {
	if _, ok := p.Chamber(node); ok && !strings.HasSuffix(node, "chamber") && !strings.HasSuffix(node, "side") {
		return "the " + node + " chamber"
	}
	return "the " + node
}

// TorqueID returns the ID of the step that torques a joint.
func TorqueID(j Joint) string { return "torque " + j.Name }

// TorqueTitle returns the title of the step that torques a joint.
func TorqueTitle(j Joint) string { return "Torque the " + j.Name }

func (pl *plan) torque(j Joint) {
	s := pl.step(StepTorque, TorqueID(j), TorqueTitle(j), "Tighten in one even pull to {torque}")
	s.Joint, s.Torque, s.Tol = j.Name, j.Torque, j.Tol
	s.Doubts = pl.p.JointDoubts(j, 0, Conditions{})
	s.Quantities = map[string]Quantity{"torque": {SI: j.Torque, Dim: unit.Torque}}
	if j.Tol > 0 {
		s.Detail += " ± {tolerance}"
		s.Quantities["tolerance"] = Quantity{SI: j.Tol, Dim: unit.Torque}
	}
	s.Detail += "."
	if j.Spanner != "" {
		s.Detail += " It takes a " + j.Spanner + "."
	}
	if j.Adapter > 0 {
		s.Detail += " The spanner adds {adapter} to the wrench: held square to it no correction is needed; in line with it, set torque × wrench length / (wrench length + {adapter})."
		s.Quantities["adapter"] = Quantity{SI: j.Adapter, Dim: unit.Length}
	}
	switch {
	case j.Loosely:
		s.Why = "Only now do the rings lie against the rod that they have to seal."
	case j.Where == Bench:
		s.Why = "Once it is in the pump it can be neither held nor reached."
	case pl.p.inlet(j):
		s.Why = "It closes the pump: the last look inside is before it."
	}
	pl.add(s, "close "+j.Name)
}
