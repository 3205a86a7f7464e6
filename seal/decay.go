package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Wall is one wall of the annulus as a ring meets it.
type Wall struct {
	Mu float64 // friction coefficient, 0..1
	K  float64 // radial over axial stress, 0..1
}

func (w Wall) check(fn, at string) error {
	return first(num.CheckRange(fn, "μ"+at, w.Mu, 0, 1, "1"), num.CheckRange(fn, "K"+at, w.K, 0, 1, "1"))
}

// LateralFactor returns K = ν/(1−ν), radial over axial stress of an elastic ring that the walls confine; 0 <= ν <= 0.5.
// Source: Valve Selection Handbook, packings (PTFE at 23 °C: ν 0.46, K 0.85; soft rubber: ν 0.5, K 1).
func LateralFactor(poisson float64) (float64, error) {
	if err := num.CheckRange("seal.LateralFactor", "ν", poisson, 0, 0.5, "1"); err != nil {
		return 0, err
	}
	return poisson / (1 - poisson), nil
}

// Decay returns β [1/m], the rate at which wall friction takes the axial stress away along a packing:
//
//	β = 4·(μi·Ki·d + μo·Ko·D)/(D² − d²)
//
// inner and outer wall, d and D [m] their diameters, 0 <= d < D, 0 <= μ, K <= 1. Equilibrium of a slice of the annulus.
func Decay(inner, outer Wall, d, D float64) (float64, error) {
	fn := "seal.Decay"
	if err := first(inner.check(fn, "i"), outer.check(fn, "o"), annulus(fn, d, D)); err != nil {
		return 0, err
	}
	return decay(inner, outer, d, D, rest), nil
}

// signs says which way each wall pulls on the packing: +1 back toward the nut, −1 away from it, as a wall does that slides
// away from the nut and drags the packing along.
type signs struct{ inner, outer float64 }

// rest is a packing that is being tightened: both walls hold it back.
var rest = signs{+1, +1}

func decay(inner, outer Wall, d, D float64, s signs) float64 {
	return 4 * (s.inner*inner.Mu*inner.K*d + s.outer*outer.Mu*outer.K*D) / ((D - d) * (D + d))
}

// AxialStress returns σ(z) = σ0·exp(−β·z) [Pa]: σ0 [Pa] >= 0 at the loaded end, β [1/m] finite, depth z [m] >= 0.
func AxialStress(sigma0, beta, z float64) (float64, error) {
	if err := checkProfile("seal.AxialStress", sigma0, beta, z); err != nil {
		return 0, err
	}
	return sigma0 * math.Exp(-beta*z), nil
}

// MeanStress returns the mean axial stress over the height h [m] below a place with σ0 [Pa]:
//
//	σm = σ0·(1 − exp(−β·h))/(β·h)     (σ0 as β·h goes to 0)
//
// Range as AxialStress.
func MeanStress(sigma0, beta, height float64) (float64, error) {
	if err := checkProfile("seal.MeanStress", sigma0, beta, height); err != nil {
		return 0, err
	}
	return sigma0 * meanFactor(beta*height), nil
}

// meanFactor is (1−exp(−x))/x with its digits kept near 0.
func meanFactor(x float64) float64 {
	if x == 0 {
		return 1
	}
	return -math.Expm1(-x) / x
}

// WallForce returns the friction force [N] of a packing of height h [m] on a wall of the given diameter [m]:
//
//	T = π·diameter·μ·K·σ0·(1 − exp(−β·h))/β
//
// σ0 [Pa] >= 0 at the loaded end, β [1/m] of the packing (see Decay), diameter > 0. It is the integral of μ·K·σ over the wall.
func WallForce(w Wall, diameter, sigma0, beta, height float64) (float64, error) {
	fn := "seal.WallForce"
	if err := first(w.check(fn, ""), num.CheckPositive(fn, "diameter", diameter, "m"), checkProfile(fn, sigma0, beta, height)); err != nil {
		return 0, err
	}
	return math.Pi * diameter * height * w.Mu * w.K * sigma0 * meanFactor(beta*height), nil
}

// Contact returns the contact stress q = K·σ + e·p [Pa] of a ring on a wall: σ [Pa] >= 0 axial stress, K 0..1, p [Pa] >= 0
// pressure that reaches the ring, e −1..2 its energising share (see the package comment). Not below 0: a ring does not pull.
// Source: e = K for a confined elastic ring, equilibrium; V-rings: Valve Selection Handbook.
func Contact(k, axial, share, pressure float64) (float64, error) {
	fn := "seal.Contact"
	if err := first(
		num.CheckRange(fn, "K", k, 0, 1, "1"), num.CheckRange(fn, "σ", axial, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "e", share, -1, 2, "1"), num.CheckRange(fn, "p", pressure, 0, math.Inf(1), "Pa"),
	); err != nil {
		return 0, err
	}
	return max(k*axial+share*pressure, 0), nil
}

// Capacity returns the highest pressure [Pa] that a ring with the preload q0 = K·σ [Pa] >= 0 seals, min(q0/(1−e), limit):
// e −1..2 energising share; limit [Pa] > 0, what the material stands. With e >= 1 only the limit counts, unless there is no
// preload at all, which seals nothing. It follows from q0 + e·p = p.
func Capacity(preload, share, limit float64) (float64, error) {
	fn := "seal.Capacity"
	if err := first(
		num.CheckRange(fn, "q0", preload, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "e", share, -1, 2, "1"), num.CheckPositive(fn, "limit", limit, "Pa"),
	); err != nil {
		return 0, err
	}
	return min(hold(preload, share), limit), nil
}

// hold is the pressure at which q0 + e·p = p, without regard to the material.
func hold(preload, share float64) float64 {
	switch {
	case preload <= 0:
		return 0
	case share >= 1:
		return math.Inf(1)
	}
	return preload / (1 - share)
}

func checkProfile(fn string, sigma0, beta, z float64) error {
	return first(
		num.CheckRange(fn, "σ0", sigma0, 0, math.Inf(1), "Pa"),
		num.CheckFinite(fn, "β", beta, "1/m"), num.CheckRange(fn, "β·z", beta*z, -50, math.Inf(1), "1"),
		num.CheckRange(fn, "z", z, 0, math.Inf(1), "m"),
	)
}

// annulus checks 0 <= d < D.
func annulus(fn string, d, D float64) error {
	if err := num.CheckRange(fn, "d", d, 0, math.Inf(1), "m"); err != nil {
		return err
	}
	if !(D > d && D <= math.MaxFloat64) {
		return &num.RangeError{Func: fn, Name: "D", Value: D, Unit: "m", Want: "> d and finite"}
	}
	return nil
}

// first returns the first error that is not nil.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
