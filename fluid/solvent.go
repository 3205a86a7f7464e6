package fluid

import "github.com/evenstroke/evenstroke/num"

// SolventOptions refines a solvent. The zero value takes all defaults.
type SolventOptions struct {
	Viscosity   float64 // at Temperature and zero gauge pressure [Pa·s]
	Temperature float64 // of Viscosity and Data.Density [K], default 293.15
	Data        Data
}

// Defaults of a white-spirit-like C9–C12 cut: density 0.79 g/mL and 0.9–1.3 mPa·s at 20–25 °C are what handbooks give
// for white spirit (from memory); expansion, compressibility and activation are those of n-decane to n-dodecane,
// from memory.
var solventDefaults = defaults{
	data: Data{Density: 790, Expansion: 9.5e-4, BulkModulus: 0.97e9, BulkSlope: 10, BulkSoftens: 8e-3, HeatCapacity: 2100,
		RoelandsZ: 0.6, Activation: 1300},
	basis: "typical white spirit, from memory", densAt: "of the solvent",
	arrhens: true,
}

const solventViscosity = 1.1e-3 // Pa·s at 20 °C, default

// LightSolvent returns a light hydrocarbon solvent like white spirit: Newtonian, viscosity by [Arrhenius] with
// [Roelands] for pressure, state by [Data]. T 263.15..323.15 K.
// Errors: *num.RangeError for an impossible option.
func LightSolvent(o SolventOptions) (Fluid, error) {
	const fn = "fluid.LightSolvent"
	if o.Temperature == 0 {
		o.Temperature = zeroCelsius + 20
	}
	if err := num.CheckRange(fn, "Temperature", o.Temperature, solventLo, solventHi, "K"); err != nil {
		return Fluid{}, err
	}
	fields := append(o.Data.fields(solventDefaults), field{value: &o.Viscosity, name: "viscosity of the solvent", unit: "Pa·s",
		def: solventViscosity, lo: 1e-4, hi: 0.1, basis: solventDefaults.basis})
	assumed, err := fill(fn, fields)
	if err != nil {
		return Fluid{}, err
	}
	l := liquid{data: o.Data, t0: o.Temperature, tLo: solventLo, tHi: solventHi,
		mu0: arrhenius(o.Viscosity, o.Temperature, o.Data.Activation)}
	return Fluid{name: "light solvent", model: l, assumed: assumed}, nil
}

const (
	solventLo = zeroCelsius - 10 // K
	solventHi = zeroCelsius + 50
)
