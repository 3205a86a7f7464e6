package fluid

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// EffectiveBulkModulus returns the bulk modulus [Pa] of a liquid with entrained (undissolved) air.
//
//	β = (1+r)/(1/β_l + r/(n·p))      r = x0/(1-x0)·(p0/p)^{1/n},  p absolute, p0 one atmosphere
//
// betaLiquid β_l of the air-free liquid [Pa]; air x0 the share of the volume that is air at one atmosphere, 0..0.5;
// p gauge pressure [Pa], from -100 000 Pa; n polytropic index, 1 slow (isothermal) .. 1.4 fast (adiabatic). Air that
// dissolves under pressure is not counted, so β errs low at high pressure. Otherwise a *num.RangeError.
// Source: a polytropic gas beside the liquid, as H. E. Merritt, Hydraulic Control Systems, derives it.
func EffectiveBulkModulus(betaLiquid, air, p, n float64) (float64, error) {
	const fn = "fluid.EffectiveBulkModulus"
	if err := num.CheckRange(fn, "p", p, lowestAerated, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	a := Aerated{Liquid: betaLiquid, Air: air, Index: n}
	if err := a.check(fn); err != nil {
		return 0, err
	}
	return a.Modulus(p), nil
}

// SeriesBulkModulus returns the bulk modulus [Pa] of liquid, free gas and container wall together.
//
//	1/β_e = 1/β_c + 1/β_l + (V_g/V_t)/β_g
//
// betaLiquid β_l; betaWall β_c, +Inf for a rigid wall; gas V_g/V_t, the share of the volume that is gas at this pressure,
// 0..1; betaGas β_g, which is n·p with absolute p. All moduli in Pa, > 0; otherwise a *num.RangeError.
// Source: H. E. Merritt, Hydraulic Control Systems, effective bulk modulus.
func SeriesBulkModulus(betaLiquid, betaWall, gas, betaGas float64) (float64, error) {
	const fn = "fluid.SeriesBulkModulus"
	if err := num.CheckPositive(fn, "betaLiquid", betaLiquid, "Pa"); err != nil {
		return 0, err
	}
	if !(betaWall > 0) {
		return 0, &num.RangeError{Func: fn, Name: "betaWall", Value: betaWall, Unit: "Pa", Want: "> 0, +Inf for rigid"}
	}
	if err := num.CheckRange(fn, "gas", gas, 0, 1, "1"); err != nil {
		return 0, err
	}
	if err := num.CheckPositive(fn, "betaGas", betaGas, "Pa"); err != nil {
		return 0, err
	}
	return 1 / (1/betaWall + 1/betaLiquid + gas/betaGas), nil
}

// TubeWallModulus returns the bulk modulus β_c [Pa] that the wall of a thin tube adds.
//
//	β_c = t·E/D
//
// e Young's modulus E [Pa], d bore [m], t wall [m]. Valid for t/d up to 0.1 (up to 17 % above Lamé's thick tube there);
// otherwise a *num.RangeError. Source: H. E. Merritt, Hydraulic Control Systems, effective bulk modulus; from hoop stress.
func TubeWallModulus(e, d, t float64) (float64, error) {
	const fn = "fluid.TubeWallModulus"
	for _, c := range []error{
		num.CheckPositive(fn, "e", e, "Pa"), num.CheckPositive(fn, "d", d, "m"), num.CheckPositive(fn, "t", t, "m"),
	} {
		if c != nil {
			return 0, c
		}
	}
	if err := num.CheckRange(fn, "t", t, 0, 0.1*d, "m"); err != nil {
		return 0, err
	}
	return t * e / d, nil
}

// lowestAerated is the lowest gauge pressure [Pa] at which the air law is used; a pump chamber does not go lower, since
// the liquid boils.
const lowestAerated = -100e3

// Aerated is a liquid with entrained air in a yielding wall, as a simulator needs it: check it once, then ask for the
// modulus at any pressure without errors.
type Aerated struct {
	Liquid float64 // bulk modulus of the air-free liquid at zero gauge pressure [Pa]
	Slope  float64 // its increase per pressure, dK/dp [1], 0..20
	Air    float64 // x0, share of air at one atmosphere [1], 0..0.5
	Index  float64 // n, 1..1.4
	Wall   float64 // bulk modulus of the wall [Pa], 0 for a rigid one
}

// Check returns a *num.RangeError if a field is out of range.
func (a Aerated) Check() error { return a.check("fluid.Aerated") }

func (a Aerated) check(fn string) error {
	if err := num.CheckPositive(fn, "betaLiquid", a.Liquid, "Pa"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "Slope", a.Slope, 0, 20, "1"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "air", a.Air, 0, 0.5, "1"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "n", a.Index, 1, 1.4, "1"); err != nil {
		return err
	}
	return num.CheckRange(fn, "Wall", a.Wall, 0, math.MaxFloat64, "Pa")
}

// Modulus returns the effective bulk modulus [Pa] at gauge pressure p [Pa]: [EffectiveBulkModulus] with
// β_l = Liquid + Slope·p, and the wall in series. Below -100 000 Pa it keeps the value it has there.
func (a Aerated) Modulus(p float64) float64 {
	p = max(p, lowestAerated)
	abs := p + Atmosphere
	r := a.Air / (1 - a.Air) * math.Pow(Atmosphere/abs, 1/a.Index)
	soft := (1/(a.Liquid+a.Slope*p) + r/(a.Index*abs)) / (1 + r)
	if a.Wall > 0 {
		soft += 1 / a.Wall
	}
	return 1 / soft
}

// Aerated returns the fluid with its entrained air at T [K] and polytropic index n (1 slow .. 1.4 fast), in a rigid wall;
// adiabatic takes the isentropic modulus of the liquid instead of the isothermal. The modulus runs straight from zero
// gauge pressure to 50 MPa, which is exact for the fluids described by [Data] (isothermal) and within 1 % for water.
// Errors: *num.RangeError as [Fluid.Density], and for n.
func (f Fluid) Aerated(T, n float64, adiabatic bool) (Aerated, error) {
	modulus := f.BulkModulus
	if adiabatic {
		modulus = f.Adiabatic
	}
	const high = 50e6 // Pa
	k0, err := modulus(T, 0)
	if err != nil {
		return Aerated{}, err
	}
	k1, err := modulus(T, high)
	if err != nil {
		return Aerated{}, err
	}
	a := Aerated{Liquid: k0, Slope: (k1 - k0) / high, Air: f.air, Index: n}
	return a, a.Check()
}
