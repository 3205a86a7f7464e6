// Package pump describes one pump model: its geometry, chambers, valves, seals, drive, line, parts, joints, packing stacks
// and limits, read from a pump sheet. Nothing in it knows one arrangement by name: which chambers stand under pressure on
// which stroke, which way each lip must open and which leak shows on which stroke all follow from the chambers and the
// valves that the sheet lists (see Map). From the same sheet follow the order of work (Work) and what a build that departed from
// it costs (Departures).
//
// Symbols, SI, pressures gauge:
//
//	bore d_c [m]   rod d_r [m]   stroke s [m]   x [m] rod position from the bottom, 0..s; "up" shrinks the rod-side chamber
//	A_i [m²] = dV_i/dx of chamber i: −(A_c − A_r) on the rod side, +(A_c − A_tail) on the head side
package pump

import "math"

// Fixed nodes that every pump has beside its chambers.
const (
	Suction = "suction" // the pail it draws from, 0 Pa
	Line    = "line"    // the outlet: fittings, hose, gun
	Air     = "air"     // outside, 0 Pa
	Pail    = "pail"    // where the drain valve returns to, 0 Pa
)

// Dir is the direction of a stroke.
type Dir int

// Up shrinks the rod-side chamber, Down the head-side chamber.
const (
	Up   Dir = 1
	Down Dir = -1
)

// Dirs lists both strokes.
var Dirs = [2]Dir{Up, Down}

// String returns "up" or "down".
func (d Dir) String() string {
	if d == Up {
		return "up"
	}
	return "down"
}

// Pump is one pump model. Read makes a checked one; a pump put together by hand is taken as it is.
type Pump struct {
	Name, Note string
	Invented   bool    // of a demonstration: no such pump is made, and papers say so
	File       string  // where it was read from
	Bore       float64 // m
	Rod        float64 // m
	TailRod    float64 // m, 0 when the rod ends in the piston
	Stroke     float64 // m
	MovingMass float64 // kg, rod, piston and what moves with them
	Chambers   []Chamber
	Valves     []Valve
	Seals      []Seal
	Outlets    []Outlet
	Drive      Drive
	Hose       Hose
	Limits     Limits
	Parts      []Part
	Joints     []Joint
	Stacks     []Stack
	Order      []Before
	Fluids     []string // fluids it is meant for, words
	Doubts     []Doubt  // what Read found that can hardly be, or that a joint or a packing set would not stand
}

// Chamber is one volume that the piston changes.
type Chamber struct {
	Name   string
	Rod    bool    // on the rod side of the piston
	Dead   float64 // m³, volume left at the end of the stroke that empties it
	OpenTo string  // Line when it is open to the outlet at all times, else ""
}

// Valve is a ball check valve that lets fluid pass From → To.
type Valve struct {
	Name     string
	From, To string
	Ball     float64 // m, ball diameter
	Seat     float64 // m, diameter of the seat's contact circle
	Lift     float64 // m, free lift of the ball
	Density  float64 // kg/m³ of the ball
	OnPiston bool    // it rides on the piston
	Turnable bool    // its seat can be turned over once
}

// Seal is a packing or a static seal between two nodes.
type Seal struct {
	Name    string
	Kind    SealKind
	Between [2]string // the two nodes it keeps apart
	On      string    // "rod", "bore" or "" for a static seal
	Stacks  []string  // packing stacks that make it up, by name, from the lowest to the highest as they stand in the pump
	Size    float64   // m, diameter of the sealing line (for static seals)
}

// SealKind tells packings from static seals.
type SealKind string

// The kinds of seals.
const (
	Packing SealKind = "packing"
	Static  SealKind = "static"
)

// Outlet is a place where fluid can leave the outlet side without passing a seal of the piston: drain valve, fittings, gun.
type Outlet struct {
	Name     string
	Kind     string // "drain" or "fitting"
	From, To string
}

// DriveKind tells the two ways a pump is driven.
type DriveKind string

// ForceHeld pushes with constant force and creeps at a stall; Crank stops with its rod locked.
const (
	ForceHeld DriveKind = "force-held"
	Crank     DriveKind = "crank"
)

// Drive moves the rod.
type Drive struct {
	Kind DriveKind
	// force-held
	ForceUp, ForceDown float64 // N at the setting of the test
	FreeSpeed          float64 // m/s with no load; force falls linearly to zero there
	Changeover         float64 // s that the motor takes to reverse
	// crank
	Speed   float64 // revolutions per second under load
	Stop    float64 // Pa, the motor stops when the line reaches it
	Restart float64 // Pa, and starts again when the line has fallen to it
}

// Hose is the line from the pump to the gun.
type Hose struct {
	Length, Bore float64 // m
	Expansion    float64 // m³/Pa for the whole hose
	Fittings     float64 // m³ of rigid volume before the hose
	Tip          float64 // m, equivalent orifice diameter of the tip used for runs, 0 when none
	Segments     int     // for the moving pump
}

// Limits is what the pump has to meet.
type Limits struct {
	Rated       float64            // Pa
	Hold        float64            // Pa, pressure of the hold test
	StrokeTime  float64            // s, least time a stroke may take at rated pressure (the creep limit)
	HoldFor     float64            // s, usual length of a hold
	Leaks       map[Place]Allowed  // what may leak out of the pump at rated pressure, by where it goes
	MinutesEach map[string]float64 // minutes of hands-on work a step of a kind takes in this pump; see StepKind for the defaults
}

// Part is one part of the pump.
type Part struct {
	Name       string
	Kind       string // one of PartKinds
	Material   string
	Quantity   int
	Kit        string  // name of the kit it comes in, or ""
	Price      float64 // each, in the shop's currency
	Reversible bool
	Soak       float64  // s it must soak before fitting
	Serves     []string // leak paths it serves
	Wear       []Wear
}

// Kinds of parts that the order of work treats in their own way.
const (
	KindRod        = "rod"
	KindCylinder   = "cylinder"
	KindSeat       = "seat"
	KindBall       = "ball"
	KindStaticSeal = "static seal"
	KindVRing      = "v-ring"
	KindFemale     = "female gland"
	KindMale       = "male gland"
	KindWiper      = "wiper"
)

// PartKinds returns every kind of part that a sheet may name.
func PartKinds() []string {
	return append([]string{KindRod, KindCylinder, KindSeat, KindBall, KindStaticSeal, "piston", "cage", "housing", "nut", "valve", "other"},
		RingKinds()...)
}

// RingKinds returns the kinds of parts that may stand in a stack.
func RingKinds() []string {
	return []string{KindVRing, KindFemale, KindMale, KindWiper, "backup", "spacer", "spring"}
}

// Wear is one measured size of a part with its limits.
type Wear struct {
	Size     string  // what is measured, e.g. diameter
	New      float64 // m
	Min, Max float64 // m; NaN when that side has no limit
}

// Joint is one threaded joint.
type Joint struct {
	Name      string
	Thread    string     // e.g. "M24x2"
	Torque    float64    // N·m
	Tol       float64    // N·m, ± tolerance; 0 when none is given
	Through   string     // name of the stack the clamp goes through, or "" when shouldered
	Friction  string     // VDI 2230 friction class A to E
	Bearing   [2]float64 // m, inner and outer diameter of the bearing face
	Yield     float64    // Pa, proof strength of the weaker part, 0 when not known
	Where     string     // "bench" (torqued before assembly) or "pump"
	Loosely   bool       // first screwed in loosely and torqued only after the rod is through
	Adapter   float64    // m, length a special wrench adds to the torque wrench, 0 for none
	Spanner   string     // the tool that fits it, words
	CarriedBy string     // part that the joint sits on and that has to be out before it can be opened; only for Where "bench"
	Holds     []string   // parts and stacks that it keeps in place: fitted before it is made, free once it is open
}

// Places where a joint is torqued.
const (
	Bench  = "bench"
	InPump = "pump"
)

// Stack is one packing set between its glands, listed from its bottom to its top as it stands in the pump.
type Stack struct {
	Name       string
	Seal       string  // the seal it belongs to
	Inner      float64 // m, rod or stem diameter
	Outer      float64 // m, bore of the gland or cylinder
	Depth      float64 // m, cavity; 0 when the nut compresses it without stop
	Shim       float64 // m, shims fitted
	FilledFrom string  // Top or Bottom: the end from which the rings go in; the ring at the other end goes in first
	Rings      []Ring
}

// Ends of a stack.
const (
	Top    = "top"
	Bottom = "bottom"
)

// Ring is one ring of a stack.
type Ring struct {
	Part     string
	Kind     string  // one of RingKinds, that of the part
	Material string  // that of the part
	Height   float64 // m
	Lips     string  // "up", "down" or ""; only a v-ring or a wiper has lips
}

// Before is one constraint of order that the sheet adds to those which follow from the stacks and joints.
type Before struct {
	First, Then string // step IDs, see Step
	Why         string
}

// boreArea, rodArea, tailArea return the areas [m²].
func (p *Pump) boreArea() float64 { return math.Pi / 4 * p.Bore * p.Bore }
func (p *Pump) rodArea() float64  { return math.Pi / 4 * p.Rod * p.Rod }
func (p *Pump) tailArea() float64 { return math.Pi / 4 * p.TailRod * p.TailRod }

// Sweep returns dV/dx [m²] of a chamber: −(A_c − A_r) on the rod side, A_c − A_tail on the head side.
func (p *Pump) Sweep(c Chamber) float64 {
	if c.Rod {
		return -(p.boreArea() - p.rodArea())
	}
	return p.boreArea() - p.tailArea()
}

// Volume returns the volume [m³] of a chamber at rod position x [m].
func (p *Pump) Volume(c Chamber, x float64) float64 {
	if c.Rod {
		return c.Dead - p.Sweep(c)*(p.Stroke-x)
	}
	return c.Dead + p.Sweep(c)*x
}

// Displacement returns the volume [m³] delivered per double stroke by a tight pump.
func (p *Pump) Displacement() float64 {
	m := p.Map()
	return p.Stroke * (m.Creep[Up] + m.Creep[Down])
}

// Chamber returns the chamber of a name.
func (p *Pump) Chamber(name string) (Chamber, bool) {
	return byName(p.Chambers, name, func(c Chamber) string { return c.Name })
}

// Valve returns the valve of a name.
func (p *Pump) Valve(name string) (Valve, bool) {
	return byName(p.Valves, name, func(v Valve) string { return v.Name })
}

// Seal returns the seal of a name.
func (p *Pump) Seal(name string) (Seal, bool) {
	return byName(p.Seals, name, func(s Seal) string { return s.Name })
}

// Part returns the part of a name.
func (p *Pump) Part(name string) (Part, bool) {
	return byName(p.Parts, name, func(q Part) string { return q.Name })
}

// Stack returns the stack of a name.
func (p *Pump) Stack(name string) (Stack, bool) {
	return byName(p.Stacks, name, func(s Stack) string { return s.Name })
}

// Joint returns the joint of a name.
func (p *Pump) Joint(name string) (Joint, bool) {
	return byName(p.Joints, name, func(j Joint) string { return j.Name })
}

func byName[T any](all []T, name string, of func(T) string) (T, bool) {
	for _, x := range all {
		if of(x) == name {
			return x, true
		}
	}
	var none T
	return none, false
}
