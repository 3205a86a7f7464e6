package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Facing says to which side the lips of a packing open.
type Facing int

// The two ways to fit a lip packing. Positive pressure differences come from the high-pressure side.
const (
	FacingPressure Facing = 1  // lips open toward the high pressure, which presses them to the wall: right
	FacingAway     Facing = -1 // lips reversed: the pressure lifts them off the wall
)

// Packing is the flow past a set of lip rings whose gap depends on pressure. One form holds for all variants:
//
//		x = Δp/Energise, counted from the side that the lips face
//		h = h0/(1+x) for x ≥ 0 (pressed to the wall)      h = h0·(1-x) for x < 0 (lifted off)
//		Δp = Lin·(h0/h)³·Q + Quad·(h0/h)²·Q|Q|
//
//	  - worn: the gap does not care; Energise = 0 stands for a rigid gap; Q ∝ Δp, exponent 1.
//	  - too little preload: the lips face the pressure but stand off at rest; Q rises, is largest near Δp = Energise/2 and
//	    falls above it: exponent (1-2x)/(1+x), from 1 to -2.
//	  - reversed lips: exponent (1+4|x|)/(1+|x|), from 1 up to 4, until inertia limits it.
//	  - scratched rod: a groove does not close; use [Groove.Law] with the length of the packing.
//
// Energise is the pressure that moves the lip by its own gap at rest, h0·k with k the radial stiffness of the lip per area
// [Pa/m]. The opening branch is that linear spring. The closing branch has the same slope at rest and never closes fully, as
// lips on a rough wall do not; its shape is ours, for want of a published law of V-packings: common-sense default, to be
// judged by creep at several pressures. The flow is not odd: reversed pressure finds reversed lips. The slope is continuous.
type Packing struct {
	Rest     Law     // law of the gap h0 that the packing has without pressure
	Energise float64 // Pa, 0 for a rigid gap
	Facing   Facing
}

// NewPacking returns the packing whose gap at rest is the annulus a, filled with liquid l.
// Errors: *num.RangeError for the annulus, the liquid, a negative Energise or a Facing of neither way.
func NewPacking(a Annulus, energise float64, facing Facing, l Liquid) (Packing, error) {
	law, err := a.Law(l)
	if err != nil {
		return Packing{}, err
	}
	p := Packing{Rest: law, Energise: energise, Facing: facing}
	return p, p.check("leak.NewPacking")
}

// RatedPacking returns the packing that leaks q [m³/s] of liquid l at the rated pressure dp [Pa], with the given viscous
// share of the pressure loss there (see [FromRated]). q = 0 gives a tight packing. Errors: *num.RangeError.
func RatedPacking(q, dp, energise float64, facing Facing, l Liquid, share float64) (Packing, error) {
	const fn = "leak.RatedPacking"
	if err := checkRated(fn, q, dp, l, share); err != nil {
		return Packing{}, err
	}
	p := Packing{Energise: energise, Facing: facing}
	if err := p.check(fn); err != nil {
		return Packing{}, err
	}
	g, _ := p.gap(dp)
	at := rated(q, dp, l, share)
	p.Rest = Law{Lin: at.Lin * g * g * g, Quad: at.Quad * g * g, Liquid: l}
	return p, nil
}

func (p Packing) check(fn string) error {
	if err := num.CheckRange(fn, "Energise", p.Energise, 0, math.MaxFloat64, "Pa"); err != nil {
		return err
	}
	if p.Facing != FacingPressure && p.Facing != FacingAway {
		return &num.RangeError{Func: fn, Name: "Facing", Value: float64(p.Facing), Unit: "1", Want: "FacingPressure or FacingAway"}
	}
	return nil
}

// For returns the same packing with another liquid; see [Law.For].
func (p Packing) For(l Liquid) (Packing, error) {
	rest, err := p.Rest.For(l)
	return Packing{Rest: rest, Energise: p.Energise, Facing: p.Facing}, err
}

// gap returns h/h0 and its derivative by Δp [1/Pa].
func (p Packing) gap(dp float64) (g, slope float64) {
	if p.Energise == 0 {
		return 1, 0
	}
	k := float64(p.Facing) / p.Energise
	x := k * dp
	if x < 0 {
		return 1 - x, -k
	}
	return 1 / (1 + x), -k / ((1 + x) * (1 + x))
}

// Flow returns Q [m³/s] at dp [Pa].
func (p Packing) Flow(dp float64) float64 {
	g, _ := p.gap(dp)
	return p.at(g).Flow(dp)
}

// at is the law of the gap g·h0.
func (p Packing) at(g float64) Law {
	return Law{Lin: p.Rest.Lin / (g * g * g), Quad: p.Rest.Quad / (g * g)}
}

// Slope returns dQ/dΔp [m³/(s·Pa)] at dp [Pa]; negative where the lips close faster than the pressure rises.
func (p Packing) Slope(dp float64) float64 {
	g, dg := p.gap(dp)
	law := p.at(g)
	q := law.Flow(dp)
	// total differential of Δp = a(g)·Q + b(g)·Q|Q| with da/dg = -3a/g, db/dg = -2b/g
	moved := (3*law.Lin*q + 2*law.Quad*q*math.Abs(q)) / g * dg
	return law.Slope(dp) * (1 + moved)
}

// Exponent returns dlnQ/dlnΔp at dp, from -2 to 4; 1 at rest and for a tight packing.
func (p Packing) Exponent(dp float64) float64 { return exponent(dp, p.Flow(dp), p.Slope(dp)) }
