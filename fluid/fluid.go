package fluid

import (
	"errors"
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/num"
)

// Atmosphere is the standard atmosphere [Pa], the zero of every gauge pressure here. Exact, ISO 2533.
const Atmosphere = 101325.0

// UsualAir is the share of the volume at one atmosphere that is taken for entrained air where nobody says how much: a primed pump that
// draws from an open pail. Assumed: general experience, no published source.
const UsualAir = 0.005

// MaxPressure is the highest gauge pressure [Pa] of the package: 100 MPa absolute, the limit of IAPWS-IF97.
const MaxPressure = 100e6 - Atmosphere

const zeroCelsius = 273.15 // K, exact

// ErrNoFluid is returned by the methods of a zero Fluid, which describes nothing.
var ErrNoFluid = errors.New("fluid: empty Fluid, make one with New, Water, Oil, LightSolvent or Coating")

// Fluid is one liquid. Make it with [New], [Water], [Oil], [LightSolvent] or [Coating]; it never changes after that.
type Fluid struct {
	name    string
	model   model
	thin    thinning
	air     float64
	assumed []Assumption
}

// Assumption is one value that was not given and had to be assumed.
type Assumption struct {
	Quantity string  // what, as "density at 15 °C"
	Value    float64 // in Unit
	Unit     string
	Basis    string // where the default comes from
}

// model is the state and the viscosity of a liquid; arguments are inside limits.
type model interface {
	limits() (tLo, tHi float64)
	state(T, p float64) state
	viscosity(T, p float64) float64
}

// state holds the equilibrium properties at one temperature and pressure.
type state struct {
	density, bulk, expansion, sound float64
}

// Name says what the fluid is, as "oil ISO VG 46".
func (f Fluid) Name() string { return f.name }

// Air returns the share of the volume that is undissolved air at one atmosphere, 0..1.
func (f Fluid) Air() float64 { return f.air }

// Assumptions lists every value that was assumed because it was not given. Empty for water.
func (f Fluid) Assumptions() []Assumption { return slices.Clone(f.assumed) }

// TemperatureRange returns the lowest and the highest temperature [K] that the methods accept.
func (f Fluid) TemperatureRange() (lo, hi float64) {
	if f.model == nil {
		return math.NaN(), math.NaN()
	}
	return f.model.limits()
}

// check refuses a state outside the range of the fluid. Pressure may fall to zero absolute: just below the vapour
// pressure the liquid formulas stay smooth (metastable liquid), and whether it boils is the caller's matter.
func (f Fluid) check(fn string, T, p float64) error {
	if f.model == nil {
		return ErrNoFluid
	}
	lo, hi := f.model.limits()
	if err := num.CheckRange("fluid."+fn, "T", T, lo, hi, "K"); err != nil {
		return err
	}
	return num.CheckRange("fluid."+fn, "p", p, -Atmosphere, MaxPressure, "Pa")
}

// Density returns ρ [kg/m³] of the air-free liquid at T [K] and gauge pressure p [Pa].
// Errors: *num.RangeError outside TemperatureRange or -Atmosphere..MaxPressure.
// Source: water IAPWS-IF97 region 1; others Murnaghan's equation with constant α, see [Data].
func (f Fluid) Density(T, p float64) (float64, error) {
	if err := f.check("Density", T, p); err != nil {
		return 0, err
	}
	return f.model.state(T, p).density, nil
}

// BulkModulus returns the isothermal tangent bulk modulus K_T = ρ(∂p/∂ρ)_T [Pa] of the air-free liquid; range and
// source as [Fluid.Density]. With air in it see [Fluid.Aerated].
func (f Fluid) BulkModulus(T, p float64) (float64, error) {
	if err := f.check("BulkModulus", T, p); err != nil {
		return 0, err
	}
	return f.model.state(T, p).bulk, nil
}

// Adiabatic returns the isentropic bulk modulus K_S = ρc² [Pa], the one that a fast stroke feels; range as
// [Fluid.Density]. Source: water IAPWS-IF97; others K_S = K_T/(1 - α²·T·K_T/(ρ·cp)), an identity of thermodynamics.
func (f Fluid) Adiabatic(T, p float64) (float64, error) {
	if err := f.check("Adiabatic", T, p); err != nil {
		return 0, err
	}
	s := f.model.state(T, p)
	return s.density * s.sound * s.sound, nil
}

// SoundSpeed returns c = √(K_S/ρ) [m/s] in the air-free liquid; range and source as [Fluid.Adiabatic].
func (f Fluid) SoundSpeed(T, p float64) (float64, error) {
	if err := f.check("SoundSpeed", T, p); err != nil {
		return 0, err
	}
	return f.model.state(T, p).sound, nil
}

// Expansion returns the thermal expansion α = -(1/ρ)(∂ρ/∂T)_p [1/K]; range and source as [Fluid.Density].
func (f Fluid) Expansion(T, p float64) (float64, error) {
	if err := f.check("Expansion", T, p); err != nil {
		return 0, err
	}
	return f.model.state(T, p).expansion, nil
}

// Viscosity returns the dynamic viscosity μ [Pa·s] at T [K] and gauge pressure p [Pa]. For a shear-thinning coating it
// is the viscosity at the shear rate at which it was measured; see [Fluid.Apparent] for other rates.
// Errors: as [Fluid.Density]. Source: water IAPWS R12-08; oil ASTM D341 with Roelands' pressure term; others Arrhenius.
func (f Fluid) Viscosity(T, p float64) (float64, error) {
	if err := f.check("Viscosity", T, p); err != nil {
		return 0, err
	}
	return f.model.viscosity(T, p), nil
}

// Apparent returns the viscosity τ/γ̇ [Pa·s] at shear rate γ̇ ≥ 0 [1/s]: K·γ̇ⁿ⁻¹, constant below ThinFrom and above
// ThinTo (a truncated power law, so that it stays finite at rest). For a Newtonian fluid it is Viscosity.
// Errors: *num.RangeError as [Fluid.Density] and for a negative or infinite rate.
func (f Fluid) Apparent(T, p, rate float64) (float64, error) {
	if err := f.check("Apparent", T, p); err != nil {
		return 0, err
	}
	if err := num.CheckRange("fluid.Apparent", "rate", rate, 0, math.MaxFloat64, "1/s"); err != nil {
		return 0, err
	}
	mu := f.model.viscosity(T, p)
	if f.thin.newtonian() {
		return mu, nil
	}
	rate = min(max(rate, ThinFrom), ThinTo)
	return mu * math.Pow(rate/f.thin.rate, f.thin.n-1), nil
}

// PowerLaw returns consistency K [Pa·sⁿ] and index n [1] of τ = K·γ̇ⁿ at T [K] and gauge pressure p [Pa]. For a
// Newtonian fluid K is the viscosity and n is 1. Valid for shear rates ThinFrom..ThinTo. Errors: as [Fluid.Density].
func (f Fluid) PowerLaw(T, p float64) (k, n float64, err error) {
	if err := f.check("PowerLaw", T, p); err != nil {
		return 0, 0, err
	}
	mu := f.model.viscosity(T, p)
	if f.thin.newtonian() {
		return mu, 1, nil
	}
	return mu * math.Pow(f.thin.rate, 1-f.thin.n), f.thin.n, nil
}

// Range of shear rates [1/s] in which a coating follows its power law; outside it keeps the viscosity of the nearer
// end. Assumed: common practice, no published source.
const (
	ThinFrom = 1.0
	ThinTo   = 1e5
)

// thinning anchors a power law: the viscosity of the model holds at shear rate rate, and index n turns it.
type thinning struct{ n, rate float64 }

func (t thinning) newtonian() bool { return t.n == 0 || t.n == 1 }
