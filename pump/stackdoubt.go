package pump

import (
	"math"

	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

const assumesRings = "default friction and lateral factors of the ring materials"

// StackDoubts says what a packing set would not stand under the load of Load at a torque [N·m] (0 is that of the sheet): rings pressed
// beyond what they stand or dragging far more than they have to, a set that does not hold the rated pressure with a margin, a rated
// pressure beyond the rating of the rings. A set that cannot be computed raises none.
func (p *Pump) StackDoubts(st Stack, torque float64, c Conditions) []Doubt {
	a, err := p.StackUnder(st, torque, c)
	if err != nil || a.State == seal.Sound {
		return nil
	}
	load, err := p.Load(st, torque, c)
	if err != nil {
		return nil
	}
	d := Doubt{Stack: st.Name, Figures: []Figure{capacity("pressure that the stack seals as built", a, p.assumes(st)), {What: "axial load on the stack as built", SI: load, Dim: unit.Force, Assumes: p.assumes(st)}},
		Quantities: map[string]Quantity{"load": rough(load, unit.Force), "rated": {SI: p.Limits.Rated, Dim: unit.Pressure}}}
	switch a.State {
	case seal.Overtight:
		d.Kind = DoubtOvertight
		p.overtight(&d, st, a, torque, c)
	case seal.Beyond:
		d.Kind, d.Found = DoubtBeyond, "a rated pressure of {rated} on the "+st.Name+" stack, whose rings are rated for {most}"
		d.Quantities["most"] = rough(a.Capacity, unit.Pressure)
		d.Want, d.Fix = "rings whose rating is above the rated pressure", "look at the materials of the rings and at rated"
	default:
		d.Kind, d.Found = DoubtLoose, "a load of {load} on the "+st.Name+" stack, which then seals up to {holds} of the rated {rated}"
		d.Quantities["holds"] = rough(a.Capacity, unit.Pressure)
		d.Want, d.Fix = "a set that seals a tenth more than the rated pressure", "look at the torque of its nut, or at depth, shim and the heights of the rings"
	}
	return []Doubt{d}
}

func (p *Pump) assumes(st Stack) string {
	if p.through(st.Name) {
		return assumesRings + "; " + assumesFriction
	}
	return assumesRings
}

// overtight says how much too tight a set is, and where it is not: the highest torque of its nut, or the least shims.
func (p *Pump) overtight(d *Doubt, st Stack, a seal.Analysis, torque float64, c Conditions) {
	use := 0.0
	for _, r := range a.Rings {
		use = math.Max(use, r.Use)
	}
	d.Found = "a load of {load} on the " + st.Name + " stack, which drags at the rated {rated} with {wear} of the drag of a set that just seals"
	d.Quantities["wear"] = rough(a.Drag.Wear, unit.Ratio)
	if use > 1 {
		d.Found = "a load of {load} on the " + st.Name + " stack, which takes its rings to {use} of what they stand at the rated {rated}"
		d.Quantities["use"] = rough(use, unit.Ratio)
	}
	j, through := p.nut(st.Name)
	if !through {
		d.Want, d.Fix = "a set that its nut presses less", "look at depth and shim and at the heights of the rings"
		return
	}
	if torque == 0 {
		torque = j.Torque
	}
	lo, hi := 0.0, torque
	for range 12 {
		mid := (lo + hi) / 2
		if at, err := p.StackUnder(st, mid, c); err == nil && at.State == seal.Overtight {
			hi = mid
		} else {
			lo = mid
		}
	}
	d.Quantities["most"] = rough(floor2(lo), unit.Torque)
	d.Want, d.Fix = "at most about {most} on its nut", "look at the decimal point and the unit of the torque"
}

// nut is the joint whose clamp goes through a stack.
func (p *Pump) nut(stack string) (Joint, bool) {
	for _, j := range p.Joints {
		if j.Through == stack {
			return j, true
		}
	}
	return Joint{}, false
}

// RestsOn lists the constants of the materials that a result about a stack rests on. Errors: those of Packing.
func (p *Pump) RestsOn(st Stack, c Conditions) ([]seal.Basis, error) {
	s, err := p.Packing(st, c)
	if err != nil {
		return nil, err
	}
	return s.Basis(c.kelvin())
}
