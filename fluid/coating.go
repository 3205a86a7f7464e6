package fluid

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// CoatingOptions describes a coating by a flow cup (Cup, CupTime) or by a rotational viscometer (Viscosity, ShearRate).
// The other zero fields take defaults.
type CoatingOptions struct {
	Cup         string  // as "ISO 4", see [Cups]
	CupTime     float64 // s
	Viscosity   float64 // apparent viscosity at ShearRate [Pa·s]
	ShearRate   float64 // 1/s
	Temperature float64 // of the viscosity and the density [K]; default that of the cup's standard, else 296.15 K
	ShearIndex  float64 // n of the power law, 0.2..1; default 1, Newtonian
	Data        Data
}

// Defaults of a coating. None has a published source that holds for coatings in general.
var coatingDefaults = defaults{
	data: Data{Density: 1300, Expansion: 6e-4, BulkModulus: 2.0e9, BulkSlope: 9, BulkSoftens: 5e-3, HeatCapacity: 2200,
		Activation: 3500},
	basis: "guess for an unknown coating, no published source", densAt: "of the coating",
	arrhens: true,
}

const (
	coatingLo = zeroCelsius + 2 // K
	coatingHi = zeroCelsius + 80
)

// Coating returns a coating, Newtonian or shear-thinning by a power law.
//
// From a cup: the cup reads ν, so μ = ν·ρ is the viscosity of the Newtonian liquid that flows alike. With the apparent
// wall shear rate Γ of [CupRate] and the tube law of a power-law fluid (Rabinowitsch–Mooney),
//
//	K = μ·Γ^{1-n}·(4n/(3n+1))ⁿ
//
// From a viscometer: K = μ·γ̇^{1-n}. K goes with temperature by [Arrhenius], n is constant. T 275.15..353.15 K.
// Errors: *num.RangeError, *CupError, *SpecError if neither or both ways are given.
// Source: power law in a tube, Geankoplis, Transport Processes §3.5.
func Coating(o CoatingOptions) (Fluid, error) {
	const fn = "fluid.Coating"
	assumed, err := fill(fn, append(o.Data.fields(coatingDefaults), field{value: &o.ShearIndex, name: "shear index n", unit: "1",
		def: 1, lo: 0.2, hi: 1, basis: "taken as Newtonian; most coatings thin under shear"}))
	if err != nil {
		return Fluid{}, err
	}
	cupped := o.Cup != "" || o.CupTime != 0
	if cupped == (o.Viscosity != 0 || o.ShearRate != 0) {
		return Fluid{}, &SpecError{Field: "Cup", Got: fmt.Sprintf("%q", o.Cup), Want: "either a cup and its time, or a viscosity and its shear rate"}
	}
	if o.Temperature == 0 {
		o.Temperature = zeroCelsius + 23
		if c, err := findCup(o.Cup); err == nil {
			o.Temperature = c.at
		}
		assumed = append(assumed, Assumption{"temperature of the viscosity", o.Temperature, "K", "that of the test standard"})
	}
	if err := num.CheckRange(fn, "Temperature", o.Temperature, coatingLo, coatingHi, "K"); err != nil {
		return Fluid{}, err
	}
	name := "coating"
	if cupped {
		if o.Viscosity, o.ShearRate, err = cupAnchor(o); err != nil {
			return Fluid{}, err
		}
		name = fmt.Sprintf("coating, %s cup %g s", o.Cup, o.CupTime)
	}
	if err := num.CheckRange(fn, "Viscosity", o.Viscosity, 1e-4, 1e4, "Pa·s"); err != nil {
		return Fluid{}, err
	}
	if err := num.CheckRange(fn, "ShearRate", o.ShearRate, ThinFrom, ThinTo, "1/s"); err != nil {
		return Fluid{}, err
	}
	l := liquid{data: o.Data, t0: o.Temperature, tLo: coatingLo, tHi: coatingHi,
		mu0: arrhenius(o.Viscosity, o.Temperature, o.Data.Activation)}
	return Fluid{name: name, model: l, thin: thinning{n: o.ShearIndex, rate: o.ShearRate}, assumed: assumed}, nil
}

// cupAnchor returns the viscosity that the cup reads and the shear rate at which the power law has it.
//
// K·γ^{n-1} = μ with K = μ·Γ^{1-n}·(4n/(3n+1))ⁿ gives γ = Γ·((3n+1)/(4n))^{n/(n-1)}, and Γ for n = 1.
func cupAnchor(o CoatingOptions) (mu, rate float64, err error) {
	nu, err := CupViscosity(o.Cup, o.CupTime)
	if err != nil {
		return 0, 0, err
	}
	rate, err = CupRate(o.Cup, o.CupTime)
	if err != nil {
		return 0, 0, err
	}
	if n := o.ShearIndex; n != 1 {
		rate *= math.Pow((3*n+1)/(4*n), n/(n-1))
	}
	return nu * o.Data.Density, rate, nil
}
