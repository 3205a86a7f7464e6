package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// form is the shape of a leak law: flow over flow at rated pressure, g(x), against x = p/p_rated; g(1) = 1, odd in x.
type form uint8

const (
	laminar form = iota // worn clearance, annulus or long scratch: g = x
	orifice             // open seat: g = √x
	mixed               // short scratch: half of the pressure lost by viscosity, half by inertia at rated flow
	loose               // preload too low, the lip closes as pressure energises it: g = x (1+e)³/(1+e x)³
	lifting             // reversed lip, pressure opens it: g = x (1+k x)³/(1+k)³
)

const (
	looseE   = 2.0 // gap h = h0/(1+p/pe) with pe = half the rated pressure
	liftingK = 1.0 // gap h = h0(1+p/pk) with pk = the rated pressure
	mixShare = 0.5
)

// flow returns g(x) for viscosity ratio m (viscosity over that of the sheet's fluid). Odd in x.
//
//	mixed: x = λ m g + (1−λ) g², λ = 1/2
func (f form) flow(x, m float64) float64 {
	if x < 0 {
		return -f.flow(-x, m)
	}
	switch f {
	case orifice:
		return math.Sqrt(x)
	case mixed:
		a := mixShare * m
		return (math.Sqrt(a*a+4*(1-mixShare)*x) - a) / (2 * (1 - mixShare))
	case loose:
		r := (1 + looseE) / (1 + looseE*x)
		return x * r * r * r / m
	case lifting:
		r := (1 + liftingK*x) / (1 + liftingK)
		return x * r * r * r / m
	default:
		return x / m
	}
}

// variant is one way in which a path can be at fault.
type variant struct {
	name   string
	form   form
	weight float64 // share among the variants of the path's kind; general experience, no published source
	mid    bool    // a bore worn most in the middle: leak varies with rod position
	debris bool    // changes at each reseat
	zone   bool    // a scratch along part of the stroke: shows at some rod positions only
}

var packingVariants = []variant{
	{"worn", laminar, 0.50, false, false, false},
	{"scratched", mixed, 0.20, false, false, true},
	{"preload too low", loose, 0.20, false, false, false},
	{"lips reversed or cut", lifting, 0.10, false, false, false},
}

var boreVariants = []variant{
	{"worn", laminar, 0.42, false, false, false},
	{"bore worn in the middle", laminar, 0.13, true, false, false},
	{"scratched", mixed, 0.17, false, false, true},
	{"preload too low", loose, 0.19, false, false, false},
	{"lips reversed or cut", lifting, 0.09, false, false, false},
}

var seatVariants = []variant{
	{"seat open", orifice, 0.55, false, false, false},
	{"seat scored", laminar, 0.25, false, false, false},
	{"debris on the seat", orifice, 0.20, false, true, false},
}

var otherVariants = []variant{
	{"scratch", mixed, 0.4, false, false, false},
	{"gap", laminar, 0.35, false, false, false},
	{"hole", orifice, 0.25, false, false, false},
}

const maxVariants = 5

func variantsOf(p pump.Path) []variant {
	switch p.Kind {
	case pump.PathPacking:
		if p.OnBore {
			return boreVariants
		}
		return packingVariants
	case pump.PathSeat, pump.PathDrain:
		return seatVariants
	default:
		return otherVariants
	}
}

// midWear is the leak at relative rod position ξ over its mean along the stroke, for a bore worn most in the middle:
// 0.2 + 4.8 ξ(1−ξ), whose mean is 1. An assumption, marked as such.
func midWear(xi float64) float64 {
	xi = math.Min(1, math.Max(0, xi))
	return 0.2 + 4.8*xi*(1-xi)
}

// midWearSD is the standard deviation of midWear over the stroke: √(1.128 − 1).
const midWearSD = 0.358

// zoneSD is the relative standard deviation of a scratch's leak over rod positions that are not known. An assumption.
const zoneSD = 0.6

// midWearOver averages midWear from ξ0 to ξ1.
func midWearOver(a, b float64) float64 {
	if math.Abs(b-a) < 1e-6 {
		return midWear(a)
	}
	f := func(x float64) float64 { return 0.2*x + 4.8*(x*x/2-x*x*x/3) }
	return (f(b) - f(a)) / (b - a)
}
