package pump

import (
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

// Figure is one number of a consequence.
type Figure struct {
	What    string // as "pressure that the throat stack seals as built"
	SI      float64
	Dim     unit.Dim
	Assumes string // what it rests on beside the sheet, or ""
	AtLeast bool   // a rating, not a result: the true value is that or more
}

// Show writes the value in the units of a person, a force or a pressure that rests on guesses with two digits; "or more" is for the
// caller to add.
func (f Figure) Show(sys unit.System) string {
	guess := f.Assumes != "" && (f.Dim == unit.Force || f.Dim == unit.Pressure)
	return Quantity{SI: f.SI, Dim: f.Dim, Guess: guess}.text(sys)
}

// Conditions are what the sheet does not say and a consequence may depend on. The zero value is a bench at 20 °C.
type Conditions struct {
	Temperature float64 // K, of the packing; 0 is 293.15 K
}

func (c Conditions) kelvin() float64 {
	if c.Temperature == 0 {
		return 293.15
	}
	return c.Temperature
}

const assumesFriction = "friction in the middle of its class"

// clamp returns the clamp [N] that a torque brings in a joint, at the middle of its friction class.
func (j Joint) clamp(torque float64) (float64, error) {
	c, err := j.contact()
	if err != nil {
		return 0, err
	}
	return bolt.Clamp(torque, c)
}

func (j Joint) contact() (bolt.Contact, error) {
	t, err := bolt.ParseThread(j.Thread)
	if err != nil {
		return bolt.Contact{}, err
	}
	f, err := bolt.Friction(j.Friction)
	if err != nil {
		return bolt.Contact{}, err
	}
	b, err := bolt.MeanBearing(j.Bearing[1], j.Bearing[0])
	return bolt.Contact{Thread: t, Bearing: b, MuThread: f.Mu.Mid(), MuBearing: f.Mu.Mid()}, err
}

// rigid says whether a kind of ring only passes the load on, so that any metal will do for it.
func rigid(kind string) bool {
	return kind == KindFemale || kind == KindMale || kind == "spacer"
}

// Packing returns a stack as package seal computes it: rings from top to bottom, the nut at the end that the rings go in from.
// Glands and spacers of a material that seal does not know count as steel, since they are stiff against the rings.
func (p *Pump) Packing(st Stack, c Conditions) (seal.Stack, error) {
	s := seal.Stack{NutBelow: st.FilledFrom == Bottom}
	if owner, ok := p.Seal(st.Seal); ok {
		s.Slides = seal.Surface(owner.On)
	}
	for i := len(st.Rings) - 1; i >= 0; i-- {
		q := st.Rings[i]
		if q.Kind == "spring" {
			return seal.Stack{}, fmt.Errorf("the stack %s has a spring, whose rate the sheet does not give", st.Name)
		}
		lips := seal.Facing(q.Lips)
		if q.Kind != KindVRing {
			lips = seal.Flat
		}
		ring, err := seal.NewRing(seal.Kind(q.Kind), q.Material, st.Inner, st.Outer, q.Height, lips, c.kelvin())
		if err != nil && rigid(q.Kind) {
			ring, err = seal.NewRing(seal.Kind(q.Kind), "steel", st.Inner, st.Outer, q.Height, lips, c.kelvin())
		}
		if err != nil {
			return seal.Stack{}, fmt.Errorf("ring %d of the stack %s: %w", i+1, st.Name, err)
		}
		s.Rings = append(s.Rings, ring)
	}
	return s, nil
}

// Load returns the axial load [N] on a stack at its nut: the clamp of the joint that goes through it at the given torque
// (0 is the torque of the sheet), or what the depth of its cavity and its shims leave when the nut stops at a shoulder.
func (p *Pump) Load(st Stack, torque float64, c Conditions) (float64, error) {
	if j, ok := p.nut(st.Name); ok {
		if torque == 0 {
			torque = j.Torque
		}
		return j.clamp(torque)
	}
	if st.Depth == 0 {
		return 0, fmt.Errorf("no joint goes through the stack %s and the sheet gives no depth of its cavity", st.Name)
	}
	s, err := p.Packing(st, c)
	if err != nil {
		return 0, err
	}
	sh, err := s.Shouldered(st.Depth, st.Shim)
	return sh.Load, err
}

// StackUnder works out what a stack does with the rated pressure on the side that its lips have to face, under the load of
// Load.
func (p *Pump) StackUnder(st Stack, torque float64, c Conditions) (seal.Analysis, error) {
	load, err := p.Load(st, torque, c)
	if err != nil {
		return seal.Analysis{}, err
	}
	s, err := p.Packing(st, c)
	if err != nil {
		return seal.Analysis{}, err
	}
	f, ok := p.FacingOf(p.Map(), st)
	if !ok {
		return seal.Analysis{}, fmt.Errorf("no pressure stands across the stack %s on one known side", st.Name)
	}
	u := seal.Duty{Load: load, Above: p.Limits.Rated}
	if f.Lips == "down" {
		u.Above, u.Below = 0, u.Above
	}
	return s.Analyse(u)
}

// stackFigures compares a stack as built with the stack of the sheet: pressure that it seals, load, drag.
func (p *Pump) stackFigures(built, sheet Stack, torque float64, c Conditions) ([]Figure, string) {
	is, err := p.StackUnder(built, torque, c)
	if err != nil {
		return nil, noFigure(err)
	}
	should, err := p.StackUnder(sheet, 0, c)
	if err != nil {
		return nil, noFigure(err)
	}
	load, err := p.Load(built, torque, c)
	if err != nil {
		return nil, noFigure(err)
	}
	assumes := p.assumes(sheet)
	return []Figure{
		capacity("pressure that the stack seals as built", is, assumes),
		{What: "rated pressure", SI: p.Limits.Rated, Dim: unit.Pressure},
		capacity("pressure that it would seal as the sheet has it", should, assumes),
		{What: "axial load on the stack as built", SI: load, Dim: unit.Force, Assumes: assumes},
		{What: "drag at rated pressure as built, mean of both strokes", SI: (is.Drag.Up + is.Drag.Down) / 2, Dim: unit.Force, Assumes: assumes},
		{What: "drag as the sheet has it", SI: (should.Drag.Up + should.Drag.Down) / 2, Dim: unit.Force, Assumes: assumes},
	}, ""
}

// assumesRating is what a capacity rests on that is the rating of a ring.
const assumesRating = "rating of the ring, from memory"

// capacity is the pressure that a stack seals: worked out from its preload, or no more than that its rings are rated for it.
func capacity(what string, a seal.Analysis, assumes string) Figure {
	f := Figure{What: what, SI: a.Capacity, Dim: unit.Pressure, Assumes: assumes, AtLeast: a.Rated}
	if a.Rated {
		f.Assumes = assumesRating
	}
	return f
}

func (p *Pump) through(stack string) bool {
	_, ok := p.nut(stack)
	return ok
}

func noFigure(err error) string { return "it cannot be computed: " + err.Error() }

// figureText writes figures in the units of a person.
func figureText(fs []Figure, sys unit.System) string {
	parts := make([]string, len(fs))
	for i, f := range fs {
		parts[i] = f.What + ": " + f.Show(sys)
		if f.AtLeast {
			parts[i] += " or more"
		}
	}
	return strings.Join(parts, "; ")
}

// pushThrough returns the force [N] that moves the rod through a stack under a load without pressure.
func (p *Pump) pushThrough(st Stack, load float64, c Conditions) (float64, error) {
	s, err := p.Packing(st, c)
	if err != nil {
		return 0, err
	}
	a, err := s.Analyse(seal.Duty{Load: load})
	return a.Drag.Up, err
}
