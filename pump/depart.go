package pump

import (
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/unit"
)

// DepartureKind groups departures.
type DepartureKind string

// The kinds of departures.
const (
	OrderBroken       DepartureKind = "order broken"
	NutBeforeRod      DepartureKind = "nut before rod" // a nut torqued before the rod was through the rings under it
	NotDone           DepartureKind = "not done"
	UnknownStep       DepartureKind = "unknown step"
	NotChosen         DepartureKind = "not chosen" // done although the choice does not need it
	SeatNotTurned     DepartureKind = "seat not turned"
	SoakShort         DepartureKind = "soak cut short"
	SoakNotRecorded   DepartureKind = "soak not recorded"
	TorqueOff         DepartureKind = "torque outside tolerance"
	TorqueNotRecorded DepartureKind = "torque not recorded"
	JointUnsound      DepartureKind = "joint not sound"      // at the torque that it got: see Doubt
	SpannerUnclear    DepartureKind = "spanner not recorded" // its adapter may have changed the torque
	RingMissing       DepartureKind = "ring missing"
	RingExtra         DepartureKind = "ring too many"
	RingPlace         DepartureKind = "ring in the wrong place"
	LipsReversed      DepartureKind = "lips reversed"
	LipsNotRecorded   DepartureKind = "lips not recorded"
	ShimOff           DepartureKind = "shim other than on the sheet"
	HoldNotDone       DepartureKind = "hold not done"
	HoldShort         DepartureKind = "hold too short"
	HoldLow           DepartureKind = "hold below its pressure"
	HoldNotRecorded   DepartureKind = "hold not recorded"
)

// Departure is one way in which a build departs from the order of work, and what it costs.
type Departure struct {
	Kind       DepartureKind
	Step       string // ID of the step that it is about, or ""
	Other      string // for OrderBroken and NutBeforeRod: the step that should have come before
	Part       string
	Stack      string
	Ring       int // place in the stack, 1 is the lowest; 0 when it is about no single ring
	Joint      string
	Found      string // quantities stand as {name}, see Text
	Want       string
	Why        string // why it matters
	Quantities map[string]Quantity
	Figures    []Figure // the consequence in numbers
	NoFigure   string   // why there is no number, when there is none
}

// Text says the departure and its consequence in the units of a person.
func (d Departure) Text(sys unit.System) string {
	s := fill(fmt.Sprintf("%s: found %s; expected %s.", d.Kind, d.Found, d.Want), d.Quantities, sys)
	if d.Why != "" {
		s += " " + d.Why
	}
	if len(d.Figures) > 0 {
		s += " In numbers: " + figureText(d.Figures, sys) + "."
	}
	if d.NoFigure != "" {
		s += " No number: " + d.NoFigure + "."
	}
	return s
}

// BuildError says that a record cannot be compared with a pump at all.
type BuildError struct{ Found, Want string }

// Error gives the complaint on one line.
func (e *BuildError) Error() string { return "the build: found " + e.Found + "; expected " + e.Want }

const noCost = "what it costs shows only in the hold"

// noCostOf says why a step that was left out or came too early has no number.
func noCostOf(s Step) string {
	switch s.Kind {
	case StepSafe:
		return "what is at stake is a person"
	case StepMeasure:
		return "the size is not known"
	case StepLubricate:
		return "no published value for a dry start was found"
	}
	return noCost
}

// Departures names every way in which a build departs from the work that the choice asks for, in this order: steps and their
// order, torques and soaks, the stacks ring by ring, the hold. Each carries its consequence in numbers where one can be computed
// from the sheet, and says why where none can.
//
// Strip and clean steps that are not recorded are no departure, since the parts are out; the rings of a stack that is recorded
// under Stacks need not be recorded as steps. Errors: *BuildError when the build is of another pump, is of an unknown stack, and
// the errors of Work.
func (p *Pump) Departures(chosen Chosen, b Build, c Conditions) ([]Departure, error) {
	if err := p.checkBuild(b); err != nil {
		return nil, err
	}
	r, err := p.Rebuild(chosen)
	if err != nil {
		return nil, err
	}
	return r.Departures(b, c)
}

// Departures is Pump.Departures for the choice of this rebuild.
func (r *Rebuild) Departures(b Build, c Conditions) ([]Departure, error) {
	if err := r.p.checkBuild(b); err != nil {
		return nil, err
	}
	a := &audit{p: r.p, pl: r.plan, b: b, c: c, chosen: r.chosen, wanted: map[int]bool{}, first: map[int]int{}, last: map[int]int{}}
	for _, i := range r.present {
		a.wanted[i] = true
	}
	a.steps()
	a.sequence()
	a.readings()
	a.stacks()
	a.hold()
	return a.out, nil
}

func (p *Pump) checkBuild(b Build) error {
	if b.Pump != p.Name {
		return &BuildError{fmt.Sprintf("a build of %q", b.Pump), fmt.Sprintf("a build of %q", p.Name)}
	}
	for _, s := range b.Stacks {
		if _, ok := p.Stack(s.Stack); !ok {
			return &BuildError{fmt.Sprintf("the unknown stack %q", s.Stack), "a stack of this pump"}
		}
	}
	return nil
}

// audit compares one build with the plan.
type audit struct {
	p           *Pump
	pl          *plan
	b           Build
	c           Conditions
	chosen      Chosen
	wanted      map[int]bool
	first, last map[int]int // place in Done by step of the plan
	out         []Departure
}

func (a *audit) add(d Departure) { a.out = append(a.out, d) }

// steps finds steps that are unknown, not chosen, or not done. A measurement that the choice does not need is none of them: it may be what
// the choice was made by.
func (a *audit) steps() {
	for n, d := range a.b.Done {
		i, ok := a.pl.index[d.Step]
		if !ok {
			a.add(Departure{Kind: UnknownStep, Step: d.Step, Found: quoted(d.Step), Want: "a step of this pump", NoFigure: "the step is not known"})
			continue
		}
		if _, again := a.first[i]; !again {
			a.first[i] = n
			if s := a.pl.steps[i]; !a.wanted[i] && s.Kind != StepMeasure {
				a.add(Departure{Kind: NotChosen, Step: d.Step, Part: s.Part, Stack: s.Stack, Joint: s.Joint, Found: quoted(d.Step) + ", which was done",
					Want: "only what was chosen", NoFigure: noCost})
			}
		}
		a.last[i] = n
	}
	for i, s := range a.pl.steps {
		if _, done := a.first[i]; a.wanted[i] && !done && a.missed(s) {
			a.add(a.notDone(s))
		}
	}
}

// missed says whether a step without record counts as not done. The hold has a check of its own.
func (a *audit) missed(s Step) bool {
	switch {
	case s.Kind == StepStrip || s.Kind == StepClean || s.Kind == StepHold:
		return false
	case s.Ring > 0:
		return a.built(s.Stack) == nil
	}
	return true
}

func (a *audit) notDone(s Step) Departure {
	d := Departure{Kind: NotDone, Step: s.ID, Part: s.Part, Stack: s.Stack, Ring: s.Ring, Joint: s.Joint,
		Found: "no record of " + quoted(s.ID), Want: "it to be done", Why: s.Why, NoFigure: noCostOf(s)}
	switch {
	case s.Kind == StepRework && s.Action == TurnOver:
		d.Kind, d.Found, d.Want = SeatNotTurned, "the "+s.Part+" not turned over", "its unused edge to the ball"
		d.NoFigure = "how far the used edge is worn was not measured; " + noCost
	case s.Kind == StepSoak:
		d = a.soak(s, 0)
	case s.Kind == StepTorque:
		if j, ok := a.p.Joint(s.Joint); ok {
			d.Figures, d.NoFigure = a.untorqued(j)
		}
	}
	return d
}

// untorqued returns what a joint lacks that was never torqued.
func (a *audit) untorqued(j Joint) ([]Figure, string) {
	f, err := j.clamp(j.Torque)
	if err != nil {
		return nil, noFigure(err)
	}
	return []Figure{
		{What: "clamp that the joint has for certain", SI: 0, Dim: unit.Force},
		{What: "clamp that its torque would bring", SI: f, Dim: unit.Force, Assumes: assumesFriction},
	}, ""
}

// sequence finds steps done before one that had to come first.
func (a *audit) sequence() {
	var done []int
	for i := range a.pl.steps {
		if _, ok := a.first[i]; ok {
			done = append(done, i)
		}
	}
	for _, b := range done {
		for _, before := range a.pl.direct(done, b) {
			if a.first[b] < a.first[before] {
				a.add(a.broken(a.pl.steps[before], a.pl.steps[b], a.pl.why(before, b)))
			}
		}
	}
}

func (a *audit) broken(before, s Step, why string) Departure {
	d := Departure{Kind: OrderBroken, Step: s.ID, Other: before.ID, Part: s.Part, Stack: s.Stack, Ring: s.Ring, Joint: s.Joint,
		Found: fmt.Sprintf("%q done before %q", s.ID, before.ID), Want: "the other way round", Why: why, NoFigure: noCostOf(before)}
	j, _ := a.p.Joint(s.Joint)
	q, _ := a.p.Part(before.Part)
	if s.Kind == StepTorque && j.Loosely && q.Kind == KindRod && strings.HasPrefix(before.ID, "fit ") {
		d.Kind = NutBeforeRod
		d.Figures, d.NoFigure = a.throughTight(j)
	}
	return d
}

// throughTight returns the force with which the rod had to be pushed through rings that were pressed together already.
func (a *audit) throughTight(j Joint) ([]Figure, string) {
	st, ok := a.p.Stack(j.Through)
	if !ok {
		return nil, "no stack lies under this joint"
	}
	clamp, err := j.clamp(j.Torque)
	if err != nil {
		return nil, noFigure(err)
	}
	f, err := a.p.pushThrough(st, clamp, a.c)
	if err != nil {
		return nil, noFigure(err)
	}
	return []Figure{
		{What: "force to push the rod through the tightened rings, lips folding not counted", SI: f, Dim: unit.Force, Assumes: "default friction of the ring materials; " + assumesFriction},
		{What: "clamp on the rings meanwhile", SI: clamp, Dim: unit.Force, Assumes: assumesFriction},
	}, ""
}

// built returns the record of a stack, or nil.
func (a *audit) built(stack string) *Built {
	i := slices.IndexFunc(a.b.Stacks, func(b Built) bool { return b.Stack == stack })
	if i < 0 {
		return nil
	}
	return &a.b.Stacks[i]
}
