package stroke

import (
	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/num"
)

// FluidAt returns the constants of a fluid for a test at temperature T [K] and gauge pressure p [Pa]: density and viscosity
// at half the pressure, viscosity at shear rate rate [1/s] (of a leak gap; no matter for a Newtonian fluid), and the secant
// bulk modulus from zero to p, so that the volume compressed at p is right.
//
//	K = p/(ρ(p)/ρ(0) − 1)
//
// Errors: *num.RangeError outside the range of the fluid, and for p ≤ 0.
func FluidAt(f fluid.Fluid, T, p, rate float64) (Fluid, error) {
	if err := num.CheckPositive("stroke.FluidAt", "p", p, "Pa"); err != nil {
		return Fluid{}, err
	}
	rest, err := f.Density(T, 0)
	if err != nil {
		return Fluid{}, err
	}
	full, err := f.Density(T, p)
	if err != nil {
		return Fluid{}, err
	}
	half, err := f.Density(T, p/2)
	if err != nil {
		return Fluid{}, err
	}
	mu, err := f.Apparent(T, p/2, rate)
	if err != nil {
		return Fluid{}, err
	}
	return Fluid{Density: half, Viscosity: mu, Bulk: p / (full/rest - 1), Air: f.Air()}, nil
}
