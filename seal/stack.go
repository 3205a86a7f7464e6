package seal

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/num"
)

// Surface is the wall that slides past a stack.
type Surface string

// Sliding surfaces: the rod inside a stack that the housing holds; the bore outside a stack that the piston carries.
const (
	Rod    Surface = "rod"
	Bore   Surface = "bore"
	Static Surface = ""
)

// Stack is a packing stack, its rings listed from top to bottom, one at least and 100 at most.
type Stack struct {
	Rings     []Ring
	NutBelow  bool    // the nut loads the lower end; else the upper one
	Slides    Surface // what slides past it
	Clearance float64 // m, diametral, of the sliding surface behind the stack; 0: extrusion not checked
	Shore     float64 // Shore A of the rings for the extrusion table; 0: 90
	Closure   Closure // gap law; zero: DefaultClosure
}

// Duty is what a stack is exposed to.
type Duty struct {
	Load         float64 // N, axial load at the nut: the clamp of the joint, or Shoulder.Load
	Above, Below float64 // Pa, pressures above and below the stack
	Speed        float64 // m/s, of the sliding surface, for the heat
}

// RingState is what one ring does under a duty.
type RingState struct {
	Near, Far, Mean        float64 // Pa, axial stress at the end toward the nut, at the other end, over the height
	Inner, Outer           float64 // Pa, contact stress on the walls
	ForceInner, ForceOuter float64 // N, axial friction on the walls from tightening
	Pressure               float64 // Pa, pressure difference that reaches the ring
	NetInner, NetOuter     float64 // Pa, contact stress less the pressure; below 0 the ring lets through at that wall
	Toward, Away           bool    // its lips face the pressure, or away from it
	Seals                  bool    // a v-ring that holds the pressure that reaches it; without pressure, one that touches
	Capacity               float64 // Pa, highest pressure that it would seal
	Rated                  bool    // Capacity is the ring's Limit: its preload would seal that much or more
	Use                    float64 // axial stress plus pressure, over the limit; 0 when there is none
	GapInner, GapOuter     float64 // m, gap at the walls of a v-ring, see Gap
}

// Path is the way a leak takes along one wall, past the ring that throttles it: the one that holds the pressure, or the
// v-ring with the smallest gap when none does.
type Path struct {
	Gap      float64 // m
	Length   float64 // m, along the flow
	Diameter float64 // m
}

// Analysis is what Stack.Analyse finds.
type Analysis struct {
	Rings    []RingState
	From     Facing  // Up: the pressure comes from above; Down: from below; Flat: no difference
	Pressure float64 // Pa, difference
	SealedBy int     // index of the ring that holds the pressure; −1: none does
	Holds    bool
	Able     int     // v-rings that could hold the pressure alone
	Capacity float64 // Pa, highest pressure from this side that the stack seals
	Rated    bool    // Capacity is a rating of the material and no result: the preload would seal that much or more
	Margin   float64 // Capacity over Pressure; 0 without pressure
	Traps    bool    // sets face each other inside the stack and trap pressure between them
	State    State

	FarLoad   float64 // N, axial load that reaches the end away from the nut
	InnerPath Path
	OuterPath Path
	Drag      Drag
	Extrusion Extrusion
}

func (s Stack) check(fn string) error {
	vees := 0
	for _, r := range s.Rings {
		if err := r.check(fn); err != nil {
			return err
		}
		if r.Kind == VRing {
			vees++
		}
	}
	if s.Slides != Rod && s.Slides != Bore && s.Slides != Static {
		return &NameError{"sliding surface", string(s.Slides), `"rod", "bore" or ""`}
	}
	return first(
		num.CheckRange(fn, "v-rings", float64(vees), 1, 100, "1"), num.CheckRange(fn, "rings", float64(len(s.Rings)), 1, 100, "1"),
		num.CheckRange(fn, "clearance", s.Clearance, 0, math.Inf(1), "m"), num.CheckRange(fn, "Shore A", s.Shore, 0, 100, "1"),
	)
}

// order lists the indices of the rings from the top, or from the bottom.
func (s Stack) order(top bool) []int {
	ix := make([]int, len(s.Rings))
	for i := range ix {
		ix[i] = i
	}
	if !top {
		slices.Reverse(ix)
	}
	return ix
}

// Analyse works out what the stack does under the duty: axial and contact stress ring by ring, which ring holds the pressure,
// how much the stack could hold, drag, gaps (see the package comment for the model and what it leaves out).
//
// Contact stresses are means over the height of a ring. The common part of the pressures above and below surrounds the stack
// and does not count. Errors: *num.RangeError for an impossible value, *NameError for an unknown kind, facing or surface.
func (s Stack) Analyse(u Duty) (Analysis, error) {
	fn := "seal.Stack"
	a := Analysis{SealedBy: -1}
	err := first(
		s.check(fn),
		num.CheckRange(fn, "load", u.Load, 0, math.Inf(1), "N"),
		num.CheckRange(fn, "speed", u.Speed, 0, math.Inf(1), "m/s"),
	)
	if err != nil {
		return a, err
	}
	if a.From, err = Lips(u.Above, u.Below); err != nil {
		return a, err
	}
	a.Pressure = math.Abs(u.Above - u.Below)
	a.Rings, a.FarLoad = s.tighten(u.Load, rest)
	s.pressurise(&a)
	if err := s.gaps(&a); err != nil {
		return a, err
	}
	a.Traps = s.traps()
	a.Drag = s.drag(a, u)
	a.State = s.judge(a)
	a.Extrusion, err = s.extrusion(a)
	return a, err
}

// tighten walks from the nut through the stack and returns the rings with their axial stress and wall forces, and the load
// that is left at the far end.
func (s Stack) tighten(load float64, walls signs) ([]RingState, float64) {
	states := make([]RingState, len(s.Rings))
	for _, i := range s.order(!s.NutBelow) {
		r, x := s.Rings[i], &states[i]
		beta := decay(r.Inner, r.Outer, r.ID, r.OD, walls)
		x.Near = load / r.area()
		x.Far = x.Near * math.Exp(-beta*r.Height)
		x.Mean = x.Near * meanFactor(beta*r.Height)
		x.ForceInner = walls.inner * r.rub(r.Inner, r.ID, r.Inner.K*x.Mean)
		x.ForceOuter = walls.outer * r.rub(r.Outer, r.OD, r.Outer.K*x.Mean)
		load = x.Far * r.area()
	}
	return states, load
}

// rub is the friction force on a wall under a contact stress.
func (r Ring) rub(w Wall, diameter, contact float64) float64 {
	return math.Pi * diameter * r.Height * w.Mu * contact
}

// pressurise lets the pressure in from its side: it reaches every ring up to and including the first that holds it.
func (s Stack) pressurise(a *Analysis) {
	left := a.Pressure
	for _, i := range s.order(a.From != Down) {
		r, x := s.Rings[i], &a.Rings[i]
		x.Pressure = left
		ei, eo := r.share(r.Inner, a.From), r.share(r.Outer, a.From)
		qi, qo := r.Inner.K*x.Mean, r.Outer.K*x.Mean
		x.Inner, x.Outer = max(qi+ei*left, 0), max(qo+eo*left, 0)
		x.NetInner, x.NetOuter = qi+(ei-1)*left, qo+(eo-1)*left // q − p without losing a small preload to round-off
		if r.Limit > 0 {
			x.Use = (max(x.Near, x.Far) + left) / r.Limit
		}
		if r.Kind != VRing {
			continue
		}
		x.Toward = a.From != Flat && r.Lips == a.From
		x.Away = a.From != Flat && r.Lips != Flat && r.Lips != a.From
		sealed := min(hold(qi, ei), hold(qo, eo))
		x.Capacity, x.Rated = min(sealed, r.strength()), sealed >= r.strength()
		if x.Capacity > a.Capacity {
			a.Capacity, a.Rated = x.Capacity, x.Rated
		}
		if x.Capacity >= a.Pressure && x.Capacity > 0 {
			a.Able++
		}
		x.Seals = min(x.NetInner, x.NetOuter) > 0 && left <= x.Capacity
		if x.Seals && left > 0 {
			a.SealedBy, left = i, 0
		}
	}
	a.Holds = a.SealedBy >= 0 || a.Pressure == 0
	if a.Pressure > 0 {
		a.Margin = a.Capacity / a.Pressure
	}
}

// strength is the limit of the ring; a ring without one is taken to stand 1 GPa, more than any packing does.
func (r Ring) strength() float64 {
	if r.Limit > 0 {
		return r.Limit
	}
	return 1e9
}

// gaps fills in the gaps at the walls of the v-rings and the path of a leak along each wall.
func (s Stack) gaps(a *Analysis) error {
	c := s.Closure
	if c == (Closure{}) {
		c = DefaultClosure()
	}
	for i, r := range s.Rings {
		if r.Kind != VRing {
			continue
		}
		x := &a.Rings[i]
		var err error
		if x.GapInner, err = Gap(c, x.NetInner, r.section(), r.Modulus); err != nil {
			return err
		}
		if x.GapOuter, err = Gap(c, x.NetOuter, r.section(), r.Modulus); err != nil {
			return err
		}
		if a.SealedBy >= 0 && a.SealedBy != i {
			continue
		}
		if a.InnerPath.Diameter == 0 || x.GapInner < a.InnerPath.Gap {
			a.InnerPath = Path{x.GapInner, r.Height, r.ID}
		}
		if a.OuterPath.Diameter == 0 || x.GapOuter < a.OuterPath.Gap {
			a.OuterPath = Path{x.GapOuter, r.Height, r.OD}
		}
	}
	return nil
}

// traps says whether lips that face down stand above lips that face up.
func (s Stack) traps() bool {
	down := false
	for _, r := range s.Rings {
		if r.Kind == VRing && r.Lips == Up && down {
			return true
		}
		down = down || r.Kind == VRing && r.Lips == Down
	}
	return false
}
