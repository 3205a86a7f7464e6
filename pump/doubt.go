package pump

import "github.com/evenstroke/evenstroke/unit"

// DoubtKind is the code of a doubt.
type DoubtKind string

// The kinds of doubts. Overloads are those that a joint or a packing set would not stand; the order of work does not go through them
// unless a person answers for it. The others are values of a sheet that can hardly be.
const (
	DoubtOverload  DoubtKind = "overload"         // the thread yields while it is tightened
	DoubtYield     DoubtKind = "pressure-yield"   // the thread yields under the rated pressure
	DoubtWeak      DoubtKind = "thread-weak"      // no torque keeps the joint shut at rated pressure without yield
	DoubtGape      DoubtKind = "gape"             // the rated pressure opens the joint
	DoubtOvertight DoubtKind = "overtight"        // the rings stand less than the load, or drag far more than they have to
	DoubtLoose     DoubtKind = "loose"            // the set does not hold the rated pressure with a margin
	DoubtBeyond    DoubtKind = "beyond"           // the rated pressure is more than the material of the rings stands
	DoubtMaterial  DoubtKind = "unknown-material" // no known material
	DoubtSize      DoubtKind = "size"             // sizes that do not go together
	DoubtDrive     DoubtKind = "drive"            // a drive and limits that do not go together
	DoubtTime      DoubtKind = "time"             // a time that hardly belongs to the pump
)

// Overloads says whether a kind is one that the order of work does not go through.
func (k DoubtKind) Overloads() bool {
	switch k {
	case DoubtOverload, DoubtYield, DoubtWeak, DoubtGape, DoubtOvertight, DoubtLoose, DoubtBeyond:
		return true
	}
	return false
}

// Doubt is one thing of a pump that can hardly be, or that it would not stand: what was found, what is expected, how to mend it.
type Doubt struct {
	Kind             DoubtKind
	Joint, Stack     string
	Line             int    // of the sheet, 0 when it is about no line
	Key              string // where in the sheet, as joints[1].torque
	Found, Want, Fix string // quantities stand as {name}, see Text
	Quantities       map[string]Quantity
	Figures          []Figure // the same in numbers, of an overload
}

// Text says the doubt in the units of a person.
func (d Doubt) Text(sys unit.System) string {
	return fill("found "+d.Found+"; expected "+d.Want+"; "+d.Fix, d.Quantities, sys)
}

// rough is a quantity whose constants are guesses: two digits.
func rough(si float64, d unit.Dim) Quantity { return Quantity{SI: si, Dim: d, Guess: true} }

// Overloads lists what the joints and packing sets of the pump would not stand as the sheet has them, see [Pump.JointDoubts] and
// [Pump.StackDoubts].
func (p *Pump) Overloads(c Conditions) []Doubt {
	var out []Doubt
	for _, j := range p.Joints {
		out = append(out, p.JointDoubts(j, 0, c)...)
	}
	for _, s := range p.Stacks {
		if len(p.holders(s.Name)) == 0 { // else its joint has looked
			out = append(out, p.StackDoubts(s, 0, c)...)
		}
	}
	return out
}
