package pump

import (
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/unit"
)

// plan makes the plan of a pump. What is chosen changes the words of its steps only, not the steps nor their constraints.
func (p *Pump) plan(chosen Chosen) (*plan, error) {
	pl := &plan{p: p, joints: p.buildOrder(), owner: map[string]string{}, index: map[string]int{}}
	pl.own()
	pl.soaks(chosen)
	pl.safety()
	pl.strips()
	pl.bench(chosen)
	pl.builds(chosen)
	pl.proof()
	pl.constraints()
	if err := pl.sheetOrder(); err != nil {
		return nil, err
	}
	if err := pl.close(); err != nil {
		return nil, err
	}
	return pl, nil
}

// step makes a step with the minutes of its kind.
func (pl *plan) step(kind StepKind, id, title, detail string) Step {
	m, ok := pl.p.Limits.MinutesEach[string(kind)]
	if !ok {
		m = kind.minutes()
	}
	return Step{ID: id, Kind: kind, Title: title, Detail: detail, Minutes: m}
}

func (pl *plan) soaks(chosen Chosen) {
	for _, q := range pl.p.Parts {
		if q.Soak <= 0 {
			continue
		}
		s := pl.step(StepSoak, "soak "+q.Name, "Lay "+counted(q, "the new ")+" to soak",
			"Put the part wholly under the oil that the maker's manual names and note the time. It is ready after {soak}; go on with the other steps meanwhile.")
		s.Part, s.Action = q.Name, chosen[q.Name]
		s.Ready = q.Soak / 60
		s.Quantities = map[string]Quantity{"soak": {SI: q.Soak, Dim: unit.Time}}
		s.Why = "A dry ring of " + q.Material + " is stiff: it does not spread against its walls, and it runs dry at first."
		pl.add(s, "soak")
	}
}

// counted names a part with its number: "the new rod", "the new leather ring (3 pieces)".
func counted(q Part, article string) string {
	if q.Quantity == 1 {
		return article + q.Name
	}
	return fmt.Sprintf("%s%s (%d pieces)", article, q.Name, q.Quantity)
}

// The steps that make the pump safe, in their order.
var safeSteps = []string{"earth", "flush", "lock out", "depressurise", "prove zero", "take off"}

func (pl *plan) safety() {
	p := pl.p
	add := func(id, title, detail, why string, hazards ...Hazard) {
		s := pl.step(StepSafe, id, title, detail)
		s.Why, s.Cautions = why, Mind(hazards...)
		pl.add(s, "safe")
	}
	add("earth", "Earth the pump, the metal pail and the gun",
		"Clip the earth leads on and see that they hold on bare metal.", "A spark lights solvent vapour.", HazardManual, HazardEarth)
	add("flush", "Flush the pump",
		"Tip off, lowest pressure, a liquid that goes with the coating. Run until it comes clear, and stop with the rod at the bottom of its stroke.",
		"A coating that dries in the pump holds the parts together, and residue spoils every measurement.",
		append(p.solventHazards(), append(p.moving(), HazardEarth)...)...)
	lock := "Shut the supply of the drive, vent it, and lock the valve shut."
	if p.Drive.Kind == Crank {
		lock = "Switch off, pull the plug or lock the isolator; with an engine pull the spark lead."
	}
	add("lock out", "Lock out the drive", lock, "Nobody may start the pump while hands are in it.", p.moving()...)
	add("depressurise", "Relieve the pressure before anything is opened",
		"Hold the gun to the earthed pail and trigger it, then open the drain valve and leave it open.",
		"The line stays under pressure when the drive is off.", HazardInjection, HazardStored, HazardLeak)
	add("prove zero", "Prove that there is no pressure",
		"Trigger again, look at the gauge, and see that nothing more comes from gun and drain tube.",
		"A plugged tip, hose or filter hides pressure behind it.", HazardInjection, HazardStored)
	add("take off", "Take the pump off its drive",
		"Undo hose, suction tube and coupling and bring the pump to the bench over a tray.", "", HazardStored)
}

// buildOrder returns the joints in the order of the build: bench first, then those in the pump, the inlet last.
func (p *Pump) buildOrder() []Joint {
	out := slices.Clone(p.Joints)
	rank := func(j Joint) int {
		switch {
		case j.Where == Bench:
			return 0
		case p.inlet(j):
			return 2
		}
		return 1
	}
	slices.SortStableFunc(out, func(a, b Joint) int { return rank(a) - rank(b) })
	return out
}

// inlet says whether a joint closes over an inlet valve: it holds a part that serves a valve fed from suction.
func (p *Pump) inlet(j Joint) bool {
	for _, h := range j.Holds {
		q, _ := p.Part(h)
		for _, path := range q.Serves {
			if v, ok := p.Valve(path); ok && v.From == Suction && j.Where == InPump {
				return true
			}
		}
	}
	return false
}

// own gives each part and stack to the joint in whose group it belongs: the first that holds it; the rod to the joint that waits
// for it.
func (pl *plan) own() {
	for _, j := range pl.joints {
		for _, h := range append(slices.Clone(j.Holds), j.Through) {
			if _, taken := pl.owner[h]; !taken && h != "" {
				pl.owner[h] = j.Name
			}
		}
	}
	for _, j := range pl.p.Joints {
		for _, q := range pl.p.Parts {
			if q.Kind == KindRod && j.Loosely {
				pl.owner[q.Name] = j.Name
			}
		}
	}
}

func (j Joint) holds(name string) bool {
	return name != "" && (j.Through == name || slices.Contains(j.Holds, name))
}

// holders returns the joints that keep a part or stack in place.
func (p *Pump) holders(name string) []Joint {
	var out []Joint
	for _, j := range p.Joints {
		if j.holds(name) {
			out = append(out, j)
		}
	}
	return out
}

// strips adds the steps that take the pump apart: the joints from the inlet backward, each with what comes free.
func (pl *plan) strips() {
	for _, j := range slices.Backward(pl.joints) {
		s := pl.step(StepStrip, openID(j.Name), "Open the "+j.Name, openDetail(j))
		s.Joint, s.Cautions = j.Name, Mind(HazardStored)
		pl.add(s, openID(j.Name))
		for _, q := range pl.p.Parts {
			if pl.owner[q.Name] == j.Name {
				pl.takeOut(q, openID(j.Name))
			}
		}
		for _, st := range pl.p.Stacks {
			if pl.owner[st.Name] == j.Name {
				pl.unstack(st, openID(j.Name))
			}
		}
	}
	for _, q := range pl.p.Parts {
		if len(pl.p.stacksOf(q.Name)) == 0 {
			pl.takeOut(q, "loose")
		}
	}
	for _, st := range pl.p.Stacks {
		pl.unstack(st, "loose")
	}
}

func openDetail(j Joint) string {
	text := openWords(j)
	if j.Spanner != "" {
		text += " It takes a " + j.Spanner + "."
	}
	return text
}

func openWords(j Joint) string {
	switch {
	case j.Loosely:
		return "Turn it back until the rings under it are free; leave it in its thread until the rod is out."
	case j.Where == Bench && j.CarriedBy != "":
		return "Hold the " + j.CarriedBy + " in soft jaws on its flats and unscrew the joint on the bench."
	case j.Where == Bench:
		return "Hold the part in soft jaws and unscrew the joint on the bench."
	}
	return "Unscrew it slowly and let what is left inside run into the tray."
}

func (pl *plan) takeOut(q Part, group string) {
	s := pl.step(StepStrip, takeOutID(q.Name), "Take out "+counted(q, "the "), "Lay the part down in the order of the strip, the way round it sat.")
	if q.Kind != KindRod {
		s.Minutes /= 3
	}
	if q.Kind == KindRod {
		s.Detail = "Push the rod out with the piston on it, straight, and guard its surface."
		s.Why = "A scratched rod leaks through every new packing."
	}
	s.Part = q.Name
	pl.add(s, group)
}

func (pl *plan) unstack(st Stack, group string) {
	s := pl.step(StepStrip, unstackID(st.Name), "Take out the rings of the "+st.Name+" stack",
		"One by one, with a tool softer than the bore. Note how many there are and which way the lips point before they lose their place.")
	s.Stack, s.Cautions = st.Name, Mind(HazardSpring)
	s.Why = "How it was built may be why it leaked."
	pl.add(s, group)
}

// bench adds what is done to the parts while they are out.
func (pl *plan) bench(chosen Chosen) {
	s := pl.step(StepClean, "clean", "Clean and look at every part", "Wash the parts that go back, dry them, and look at rod, bore, seats and threads in raking light.")
	s.Cautions = Mind(pl.p.solventHazards()...)
	s.Why = "Dirt under a gauge or a seal is measured and sealed with the part."
	pl.add(s, "clean")
	for _, q := range pl.p.Parts {
		if len(pl.p.stacksOf(q.Name)) > 0 {
			continue
		}
		pl.measure(q)
		pl.rework(q, TurnOver, "turn over "+q.Name, "Turn the "+q.Name+" over", "Lay its unused side to the ball and mark the used one.",
			"A reversible seat has two edges; the second one is as new. Once only.")
		pl.rework(q, Lap, "lap "+q.Name, "Lap the "+q.Name+" with its ball", "A few light turns with fine paste, then wash every trace of it off. Stop at an even bright ring.",
			"A wide ring seals worse than a narrow one; paste left behind laps on.")
		pl.rework(q, Hone, "hone "+q.Name, "Hone the "+q.Name, "No more than it takes to clear the marks, crossed at an even angle; wash, dry, and measure again.",
			"A honed bore is larger: its new size has to meet the limit.")
	}
}

func (pl *plan) measure(q Part) {
	if len(q.Wear) == 0 {
		return
	}
	s := pl.step(StepMeasure, "measure "+q.Name, "Measure the "+q.Name, "")
	s.Part, s.Quantities = q.Name, map[string]Quantity{}
	for i, w := range q.Wear {
		s.Detail += wearText(i, w, s.Quantities)
	}
	s.Detail += "Several heights and directions; note every reading."
	s.Why = "Wear shows in one place and one direction first."
	pl.add(s, "measure")
}

func wearText(i int, w Wear, qs map[string]Quantity) string {
	name := func(what string, si float64) string {
		key := fmt.Sprintf("%s%d", what, i+1)
		qs[key] = Quantity{SI: si, Dim: unit.Length, Beside: []float64{w.New, w.Min, w.Max}}
		return "{" + key + "}"
	}
	text := w.Size + ": new " + name("new", w.New)
	if w.Min == w.Min { // not NaN
		text += ", at least " + name("min", w.Min)
	}
	if w.Max == w.Max {
		text += ", at most " + name("max", w.Max)
	}
	return text + ". "
}

func (pl *plan) rework(q Part, a Action, id, title, detail, why string) {
	if !q.Allows(a) {
		return
	}
	s := pl.step(StepRework, id, title, detail)
	s.Part, s.Action, s.Why = q.Name, a, why
	if a != TurnOver {
		s.Cautions = Mind(pl.p.solventHazards()...)
	}
	pl.add(s, "rework "+q.Name)
}
