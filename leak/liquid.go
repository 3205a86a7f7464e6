package leak

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// LaminarRe is the Reynolds number on the hydraulic diameter up to which the laminar formulas are used.
// Common engineering limit: pipe flow turns near 2100..2300.
const LaminarRe = 2000.0

// Liquid is a Newtonian liquid.
type Liquid struct {
	Viscosity float64 // μ [Pa·s]
	Density   float64 // ρ [kg/m³]
}

func (l Liquid) check(fn string) error {
	if err := num.CheckPositive(fn, "Viscosity", l.Viscosity, "Pa·s"); err != nil {
		return err
	}
	return num.CheckPositive(fn, "Density", l.Density, "kg/m³")
}

// PowerLaw is a shear-thinning liquid, τ = K·γ̇ⁿ.
type PowerLaw struct {
	K       float64 // consistency [Pa·sⁿ]
	N       float64 // index n [1], 0.1..1; 1 is Newtonian
	Density float64 // ρ [kg/m³]
}

func (l PowerLaw) check(fn string) error {
	if err := num.CheckPositive(fn, "K", l.K, "Pa·sⁿ"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "N", l.N, 0.1, 1, "1"); err != nil {
		return err
	}
	return num.CheckPositive(fn, "Density", l.Density, "kg/m³")
}

// RegimeError says that the flow is not of the kind that the formula describes; the Law of the same gap goes on.
type RegimeError struct {
	Func   string  // as "leak.Annulus.Flow"
	Re     float64 // Reynolds number that the formula would give
	Lo, Hi float64 // Reynolds numbers for which it holds
}

// Error gives the complaint on one line.
func (e *RegimeError) Error() string {
	if e.Re > e.Hi {
		return fmt.Sprintf("%s: Re = %.3g is too high for laminar flow (at most %g): use Law", e.Func, e.Re, e.Hi)
	}
	return fmt.Sprintf("%s: Re = %.3g is too low for a constant discharge coefficient (at least %g): use Law", e.Func, e.Re, e.Lo)
}

// length is one named length to check.
type length struct {
	name  string
	value float64
}

func checkLengths(fn string, all ...length) error {
	for _, l := range all {
		if err := num.CheckPositive(fn, l.name, l.value, "m"); err != nil {
			return err
		}
	}
	return nil
}

func checkPressure(fn string, dp float64) error { return num.CheckFinite(fn, "dp", dp, "Pa") }

// signed gives v the sign of dp.
func signed(v, dp float64) float64 {
	if dp == 0 {
		return 0
	}
	return math.Copysign(v, dp)
}
