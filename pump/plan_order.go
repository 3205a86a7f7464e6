package pump

import (
	"slices"

	"github.com/evenstroke/evenstroke/unit"
)

// proof adds the steps that put the pump back and prove it.
func (pl *plan) proof() {
	p := pl.p
	s := pl.step(StepSafe, "put back", "Put the pump back on its drive", "Coupling, suction tube, hose; the earth leads stay on. The drive is still locked out.")
	s.Cautions = Mind(p.moving()...)
	pl.add(s, "prove")
	if p.hasWetCup() {
		s = pl.step(StepLubricate, "fill wet cup", "Fill the wet cup", "Throat seal liquid over the throat packing.")
		s.Why = "It keeps what seeps past the lips from drying on the rod, and shows drops that can be counted."
		pl.add(s, "prove")
	}
	s = pl.step(StepPrime, "prime", "Prime the pump", "Take the lock off the drive. Drain valve open, lowest pressure. Run until the return is free of air, shut the drain, and look over every joint.")
	s.Why = "Air is soft: it swallows the stroke and hides or feigns a leak."
	s.Cautions = Mind(append([]Hazard{HazardEarth, HazardInjection, HazardLeak}, p.moving()...)...)
	pl.add(s, "prove")
	s = pl.step(StepHold, "hold", "Hold test", holdDetail(p.Drive.Kind))
	s.Minutes += p.Limits.HoldFor / 60
	s.Quantities = map[string]Quantity{"pressure": {SI: p.Limits.Hold, Dim: unit.Pressure}, "time": {SI: p.Limits.HoldFor, Dim: unit.Time},
		"stroke_time": {SI: p.Limits.StrokeTime, Dim: unit.Time}, "stroke": {SI: p.Stroke, Dim: unit.Length}}
	s.Why = "A rebuild is proven under pressure, not by its parts."
	s.Cautions = Mind(append([]Hazard{HazardInjection, HazardLeak, HazardRated}, p.moving()...)...)
	pl.add(s, "prove")
	s = pl.step(StepSafe, "relieve", "Relieve the pressure after the hold", "Drive off and locked out, gun triggered into the earthed pail, drain valve opened and left open.")
	s.Why = "What holds also holds when nobody is looking."
	s.Cautions = Mind(HazardStored, HazardInjection)
	pl.add(s, "prove")
}

func holdDetail(kind DriveKind) string {
	if kind == Crank {
		return "Gun shut. Raise the pressure in steps to {pressure}, let the drive stop, and watch the gauge for {time}. A locked rod hides some leaks: a run or a vented lower chamber shows them."
	}
	return "Gun shut. Mark the rod before the pressure is raised. Raise it in steps to {pressure} and hold it for {time} on either stroke: the rod may take no less than {stroke_time} for its {stroke}."
}

// hasWetCup says whether a packing on the rod seals to the air.
func (p *Pump) hasWetCup() bool {
	for _, s := range p.Seals {
		if s.Kind == Packing && s.On == "rod" && (s.Between[0] == Air || s.Between[1] == Air) {
			return true
		}
	}
	return false
}

// constraints adds every constraint that follows from what pumps, joints and stacks are.
func (pl *plan) constraints() {
	pl.safeFirst()
	for _, j := range pl.p.Joints {
		pl.jointOrder(j)
	}
	for _, st := range pl.p.Stacks {
		pl.stackOrder(st)
	}
	for _, q := range pl.p.Parts {
		pl.partOrder(q)
	}
	pl.inletLast()
	pl.proofLast()
}

func (pl *plan) safeFirst() {
	for i := 1; i < len(safeSteps); i++ {
		pl.before(safeSteps[i-1], safeSteps[i], "The pump is made safe in this order.")
	}
	for _, s := range pl.steps {
		switch s.Kind {
		case StepStrip:
			pl.before("take off", s.ID, "Nothing is opened before the pump is safe.")
			pl.before(s.ID, "clean", "Parts are cleaned when all of them are out.")
		case StepMeasure, StepRework:
			pl.before("clean", s.ID, "Dirt is no part of the size.")
		}
	}
}

// closing returns the step that begins to close a joint and the one that ends it.
func closing(j Joint) (begin, end string) {
	end = "torque " + j.Name
	if j.Loosely {
		return "screw in " + j.Name, end
	}
	return end, end
}

func (pl *plan) jointOrder(j Joint) {
	begin, end := closing(j)
	pl.before("clean", begin, "A joint is closed with clean threads.")
	if begin != end {
		pl.before(begin, end, "It has to be screwed in before it can be torqued.")
	}
	inside := j.Holds
	if j.Through != "" && !slices.Contains(j.Holds, j.Through) {
		inside = append(slices.Clone(inside), j.Through)
	}
	for i, h := range inside {
		pl.before(openID(j.Name), takeOutID(h), "It comes free once the joint is open.")
		pl.before(openID(j.Name), unstackID(h), "It comes free once the joint is open.")
		last := pl.lastOf(h)
		if q, ok := pl.p.Part(h); !ok || q.Kind != KindRod || !j.Loosely {
			pl.before(last, begin, "The joint closes over it.")
		}
		if i > 0 {
			pl.before(pl.lastOf(inside[i-1]), pl.firstOf(h), "They go in in this order.")
		}
	}
	for _, q := range pl.p.Parts {
		if q.Kind == KindRod && j.Loosely {
			pl.before(openID(j.Name), takeOutID(q.Name), "Rings under pressure of their nut hold the rod.")
			pl.before(begin, "fit "+q.Name, "The nut is in its thread before the rod is through.")
			pl.before("fit "+q.Name, end, "The nut is torqued only when the rod is through: rings pressed together before close on it and tear.")
		}
	}
	if j.CarriedBy != "" {
		pl.before(takeOutID(j.CarriedBy), openID(j.Name), "The joint is opened on the bench.")
		pl.before(end, "fit "+j.CarriedBy, "The joint is torqued on the bench: inside the pump it can be neither held nor reached.")
	}
}

// firstOf and lastOf return the first and last step of putting in a part or a stack.
func (pl *plan) firstOf(name string) string {
	if _, ok := pl.p.Stack(name); ok {
		return "lubricate " + name
	}
	return "fit " + name
}

func (pl *plan) lastOf(name string) string {
	st, ok := pl.p.Stack(name)
	switch {
	case ok && len(st.Rings) > 0:
		return RingID(name, st.fillOrder()[len(st.Rings)-1])
	case ok:
		return pl.firstOf(name)
	}
	return "fit " + name
}

// fillOrder returns the numbers of the rings (1 is the lowest) in the order in which they go in.
func (s Stack) fillOrder() []int {
	out := make([]int, len(s.Rings))
	for i := range out {
		if out[i] = i + 1; s.FilledFrom == Bottom {
			out[i] = len(s.Rings) - i
		}
	}
	return out
}

func (pl *plan) stackOrder(st Stack) {
	lub := "lubricate " + st.Name
	pl.before("clean", lub, "Oil goes on clean walls.")
	order := st.fillOrder()
	if len(order) == 0 { // only in a pump put together by hand
		return
	}
	pl.before(lub, RingID(st.Name, order[0]), "A ring goes in oiled.")
	for i := 1; i < len(order); i++ {
		pl.before(RingID(st.Name, order[i-1]), RingID(st.Name, order[i]), "Rings go in one by one, the one farthest from the open end first.")
	}
	for _, ring := range st.Rings {
		pl.before("soak "+ring.Part, lub, "The ring is soaked before it goes in.")
	}
	for _, q := range pl.p.Parts {
		if q.Kind != KindRod {
			continue
		}
		pl.before(takeOutID(q.Name), unstackID(st.Name), "The rings come out when the rod is out of them.")
		pl.before(RingID(st.Name, order[len(order)-1]), "fit "+q.Name, "The rod goes through rings that are all in place.")
	}
}

func (pl *plan) partOrder(q Part) {
	fit := "fit " + q.Name
	pl.before("soak "+q.Name, fit, "The part is soaked before it goes in.")
	pl.before("clean", fit, "Parts go in clean.")
	pl.before("measure "+q.Name, fit, "In the pump it can no longer be measured.")
	for _, rework := range []string{"turn over ", "lap ", "hone "} {
		pl.before("measure "+q.Name, rework+q.Name, "What was found is measured before it is changed.")
		pl.before(rework+q.Name, fit, "The part is made good before it goes in.")
	}
}

// inletLast demands that the joints which close over the inlet valves are torqued after all others (common practice).
func (pl *plan) inletLast() {
	for _, j := range pl.p.Joints {
		for _, other := range pl.p.Joints {
			if pl.p.inlet(j) && !pl.p.inlet(other) {
				_, end := closing(other)
				pl.before(end, "torque "+j.Name, "The inlet closes the pump: whatever is forgotten inside is found before it.")
			}
		}
	}
}

func (pl *plan) proofLast() {
	chain := []string{"put back", "fill wet cup", "prime", "hold", "relieve"}
	for _, s := range pl.steps {
		if s.Kind == StepFit || s.Kind == StepTorque {
			pl.before(s.ID, "put back", "The pump is whole before it goes back.")
		}
	}
	why := map[string]string{
		"fill wet cup": "The wet cup is filled in place.", "prime": "A dry rod is not run.",
		"hold": "Air in the pump spoils the hold.", "relieve": "The pump is left without pressure.",
	}
	for i, a := range chain {
		for _, b := range chain[i+1:] {
			pl.before(a, b, why[b])
		}
	}
	pl.before("earth", "prime", "A spark lights solvent vapour.")
}

func (pl *plan) ids() []string {
	out := make([]string, len(pl.steps))
	for i, s := range pl.steps {
		out[i] = s.ID
	}
	return out
}

// sheetOrder adds the constraints of the sheet.
func (pl *plan) sheetOrder() error {
	for i, o := range pl.p.Order {
		for _, end := range [][2]string{{"first", o.First}, {"then", o.Then}} {
			if _, ok := pl.index[end[1]]; !ok {
				return &UnknownStepError{Step: end[1], Known: pl.ids(), order: i, key: end[0]}
			}
		}
		pl.constrain(o.First, o.Then, o.Why, i)
	}
	return nil
}
