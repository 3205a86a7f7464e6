package pump

import (
	"strings"

	"github.com/evenstroke/evenstroke/unit"
)

// StepKind groups the steps of the work.
type StepKind string

// The kinds of steps.
const (
	StepSoak      StepKind = "soak"
	StepSafe      StepKind = "safe"
	StepStrip     StepKind = "strip"
	StepClean     StepKind = "clean"
	StepMeasure   StepKind = "measure"
	StepRework    StepKind = "rework"
	StepLubricate StepKind = "lubricate"
	StepFit       StepKind = "fit"
	StepTorque    StepKind = "torque"
	StepPrime     StepKind = "prime"
	StepHold      StepKind = "hold"
)

// StepKinds returns the kinds in the order in which they mostly come.
func StepKinds() []StepKind {
	return []StepKind{StepSoak, StepSafe, StepStrip, StepClean, StepMeasure, StepRework, StepLubricate, StepFit, StepTorque, StepPrime, StepHold}
}

// minutes returns the minutes of hands-on work of a kind where the sheet says nothing: general experience, no published source.
func (k StepKind) minutes() float64 {
	switch k {
	case StepStrip, StepMeasure, StepTorque:
		return 3
	case StepClean, StepRework:
		return 10
	case StepPrime:
		return 5
	case StepSafe:
		return 4
	}
	return 2
}

// Action is what is done with one part.
type Action string

// The actions. A part that is not chosen at all is not touched, unless it comes away with another one; then it is kept.
const (
	Keep     Action = "keep"      // taken out, cleaned, measured, refitted
	Replace  Action = "replace"   // a new one
	TurnOver Action = "turn over" // a reversible seat, its other side to the ball
	Lap      Action = "lap"       // a seat, with its ball
	Hone     Action = "hone"      // a cylinder
)

// Actions returns all actions.
func Actions() []Action { return []Action{Keep, Replace, TurnOver, Lap, Hone} }

// Allows says whether an action can be done to a part: turn over a reversible seat, lap a seat, hone a cylinder, keep or replace
// anything.
func (q Part) Allows(a Action) bool {
	switch a {
	case Keep, Replace:
		return true
	case TurnOver:
		return q.Reversible
	case Lap:
		return q.Kind == KindSeat
	case Hone:
		return q.Kind == KindCylinder
	}
	return false
}

// Chosen says what is done with each part, by name.
type Chosen map[string]Action

// All returns the choice of one action for every part that allows it, and keep for the others: All(Keep) strips, measures and
// refits the whole pump.
func (p *Pump) All(a Action) Chosen {
	c := Chosen{}
	for _, q := range p.Parts {
		if c[q.Name] = Keep; q.Allows(a) {
			c[q.Name] = a
		}
	}
	return c
}

// Step is one step of the work.
type Step struct {
	ID         string // as "torque throat nut"; the same in every order of this pump
	Kind       StepKind
	Title      string // no quantities in it
	Detail     string // quantities stand as {name}, see Text
	Part       string
	Action     Action // what becomes of the part
	Stack      string
	Ring       int    // 1 is the lowest of the stack
	Lips       string // "up", "down" or ""
	Toward     string // the node that the lips face
	Joint      string
	Torque     float64 // N·m, at the joint
	Tol        float64 // N·m, ±; 0 when none is given
	Minutes    float64 // hands-on
	Start      float64 // minutes from the beginning of the work
	Wait       float64 // minutes of waiting just before it (for a soak)
	Ready      float64 // minutes from the beginning at which what it started is ready: the end of a soak
	Doubts     []Doubt // of a step that torques a joint: what the joint, or what it presses, would not stand
	Cautions   []string
	Why        string
	After      []string // IDs of the steps of this order that must be done before it, as far as they do not follow from each other
	Quantities map[string]Quantity
}

// Quantity is one number of a text.
type Quantity struct {
	SI     float64
	Dim    unit.Dim
	Beside []float64 // values of the same kind that it must not look like: a new size and its limits
	Guess  bool      // its constants are guesses: two digits
}

func (q Quantity) text(sys unit.System) string {
	if len(q.Beside) > 0 {
		return sys.Apart(q.Dim, append([]float64{q.SI}, q.Beside...)...)[0]
	}
	if q.Guess {
		return unit.Format(q.SI, q.Dim, sys.UnitFor(q.SI, q.Dim), 2)
	}
	return sys.Show(q.SI, q.Dim)
}

// Text returns Detail with its quantities written in the units of a person.
func (s Step) Text(sys unit.System) string { return fill(s.Detail, s.Quantities, sys) }

func fill(text string, qs map[string]Quantity, sys unit.System) string {
	pairs := make([]string, 0, 2*len(qs))
	for name, q := range qs {
		pairs = append(pairs, "{"+name+"}", q.text(sys))
	}
	return strings.NewReplacer(pairs...).Replace(text)
}
