package fluid

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

const (
	mm2 = 1e-6 // m²/s in one mm²/s, exact

	// waltherMin is the lowest kinematic viscosity [m²/s] for which the short form of ASTM D341 (constant 0.7) holds.
	waltherMin = 2 * mm2
	waltherMax = 2e7 * mm2
)

// WaltherAB returns the constants A and B of the ASTM D341 line through two points of kinematic viscosity.
//
//	log10(log10(ν+0.7)) = A - B·log10(T)      ν in mm²/s, T in K
//
// t1, t2 temperatures [K], nu1, nu2 kinematic viscosities [m²/s]. Valid for ν of 2..2e7 mm²/s, T of 150..600 K, two
// different temperatures and the lower viscosity at the higher one; otherwise a *num.RangeError.
// Source: ASTM D341; C. Walther, Erdöl und Teer 4 (1928) 510.
func WaltherAB(t1, nu1, t2, nu2 float64) (a, b float64, err error) {
	const fn = "fluid.WaltherAB"
	for _, c := range []error{
		num.CheckRange(fn, "t1", t1, 150, 600, "K"), num.CheckRange(fn, "t2", t2, 150, 600, "K"),
		num.CheckRange(fn, "nu1", nu1, waltherMin, waltherMax, "m²/s"),
		num.CheckRange(fn, "nu2", nu2, waltherMin, waltherMax, "m²/s"),
	} {
		if c != nil {
			return 0, 0, c
		}
	}
	if t1 == t2 {
		return 0, 0, &num.RangeError{Func: fn, Name: "t2", Value: t2, Unit: "K", Want: "a temperature other than t1"}
	}
	w1, w2 := waltherY(nu1), waltherY(nu2)
	b = (w1 - w2) / (math.Log10(t2) - math.Log10(t1))
	if b <= 0 {
		return 0, 0, &num.RangeError{Func: fn, Name: "nu2", Value: nu2, Unit: "m²/s", Want: "less viscous when warmer"}
	}
	return w1 + b*math.Log10(t1), b, nil
}

// WaltherViscosity returns the kinematic viscosity [m²/s] at T [K] on the ASTM D341 line with constants a, b.
//
//	ν = 10^(10^(A - B·log10 T)) - 0.7      ν in mm²/s
//
// Valid while the result is 2..2e7 mm²/s; otherwise a *num.RangeError. Source: ASTM D341.
func WaltherViscosity(a, b, T float64) (float64, error) {
	const fn = "fluid.WaltherViscosity"
	if err := num.CheckRange(fn, "T", T, 150, 600, "K"); err != nil {
		return 0, err
	}
	nu := walther(a, b, T)
	if !(nu >= waltherMin && nu <= waltherMax) {
		return 0, &num.RangeError{Func: fn, Name: "T", Value: T, Unit: "K", Want: "a viscosity of 2..2e7 mm²/s"}
	}
	return nu, nil
}

func walther(a, b, T float64) float64 {
	return mm2 * (math.Pow(10, math.Pow(10, a-b*math.Log10(T))) - 0.7)
}

func waltherY(nu float64) float64 { return math.Log10(math.Log10(nu/mm2 + 0.7)) }

// waltherT returns the temperature [K] at which the line has viscosity nu [m²/s].
func waltherT(a, b, nu float64) float64 { return math.Pow(10, (a-waltherY(nu))/b) }

// Roelands returns the viscosity [Pa·s] at gauge pressure p [Pa] of a liquid that has mu0 [Pa·s] at zero gauge pressure.
//
//	μ = μ0·exp{(ln μ0 + 9.67)·[(1 + 5.1e-9 p)^Z - 1]}      μ in Pa·s, p in Pa
//
// Its slope at p = 0 is Barus' coefficient, 5.1e-9·Z·(ln μ0 + 9.67). z is about 0.6 for mineral oil [1], 0 for no effect.
// Valid for μ0 of 1e-4..1e4 Pa·s, p of -Atmosphere..MaxPressure, z of 0..1.5; otherwise a *num.RangeError.
// Source: C. J. A. Roelands (1966), as in Hamrock, Fundamentals of Fluid Film Lubrication (from memory).
func Roelands(mu0, z, p float64) (float64, error) {
	const fn = "fluid.Roelands"
	if err := num.CheckRange(fn, "mu0", mu0, 1e-4, 1e4, "Pa·s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "z", z, 0, 1.5, "1"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "p", p, -Atmosphere, MaxPressure, "Pa"); err != nil {
		return 0, err
	}
	return mu0 * roelandsFactor(mu0, z, p), nil
}

func roelandsFactor(mu0, z, p float64) float64 {
	return math.Exp((math.Log(mu0) + 9.67) * (math.Pow(1+5.1e-9*p, z) - 1))
}

// Arrhenius returns the viscosity [Pa·s] at T [K] of a liquid that has muRef [Pa·s] at tRef [K].
//
//	μ = μ_ref·exp[(E/R)·(1/T - 1/T_ref)]
//
// activation is E/R [K]. Valid for positive finite arguments; otherwise a *num.RangeError.
// Source: S. Arrhenius, E. N. da C. Andrade (1930), as in Bird, Stewart & Lightfoot, Transport Phenomena §1.5.
func Arrhenius(muRef, tRef, activation, T float64) (float64, error) {
	const fn = "fluid.Arrhenius"
	for _, c := range []error{
		num.CheckPositive(fn, "muRef", muRef, "Pa·s"), num.CheckPositive(fn, "tRef", tRef, "K"),
		num.CheckPositive(fn, "activation", activation, "K"), num.CheckPositive(fn, "T", T, "K"),
	} {
		if c != nil {
			return 0, c
		}
	}
	mu := arrhenius(muRef, tRef, activation)(T)
	return mu, num.CheckPositive(fn, "μ", mu, "Pa·s")
}

func arrhenius(muRef, tRef, activation float64) func(T float64) float64 {
	return func(T float64) float64 { return muRef * math.Exp(activation*(1/T-1/tRef)) }
}
