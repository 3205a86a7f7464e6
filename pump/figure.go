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
	for _, j := range p.Joints {
		if j.Through == st.Name {
			if torque == 0 {
				torque = j.Torque
			}
			return j.clamp(torque)
		}
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
	assumes := "default friction and lateral factors of the ring materials"
	if p.through(sheet.Name) {
		assumes += "; " + assumesFriction
	}
	return []Figure{
		{"pressure that the stack seals as built", is.Capacity, unit.Pressure, assumes},
		{"rated pressure", p.Limits.Rated, unit.Pressure, ""},
		{"pressure that it would seal as the sheet has it", should.Capacity, unit.Pressure, assumes},
		{"axial load on the stack as built", load, unit.Force, assumes},
		{"drag at rated pressure as built, mean of both strokes", (is.Drag.Up + is.Drag.Down) / 2, unit.Force, assumes},
		{"drag as the sheet has it", (should.Drag.Up + should.Drag.Down) / 2, unit.Force, assumes},
	}, ""
}

func (p *Pump) through(stack string) bool {
	for _, j := range p.Joints {
		if j.Through == stack {
			return true
		}
	}
	return false
}

func noFigure(err error) string { return "it cannot be computed: " + err.Error() }

// figureText writes figures in the units of a person.
func figureText(fs []Figure, sys unit.System) string {
	parts := make([]string, len(fs))
	for i, f := range fs {
		parts[i] = f.What + ": " + sys.Show(f.SI, f.Dim)
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
