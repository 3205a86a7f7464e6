package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// BallOnCone is a ball valve: a ball of a given diameter on a conical seat.
type BallOnCone struct {
	Diameter  float64 // of the ball [m]
	HalfAngle float64 // of the cone, from its axis [rad], 0.26..1.40 (15..80°)
}

// Contact is how a ball sits on its cone under pressure.
type Contact struct {
	Diameter  float64 // of the circle of contact [m]
	Force     float64 // that closes, along the axis [N]
	LineLoad  float64 // normal force per length of the circle [N/m]
	HalfWidth float64 // half width b of the contact band [m]
	Peak      float64 // highest contact pressure p0 [Pa]
}

func (b BallOnCone) check(fn string) error {
	if err := checkLengths(fn, length{"Diameter", b.Diameter}); err != nil {
		return err
	}
	return num.CheckRange(fn, "HalfAngle", b.HalfAngle, 0.26, 1.40, "rad")
}

// Force returns the force [N] along the axis of pressure difference dp [Pa] on the ball, with the sign of dp.
//
//	F = Δp·π·r_c²      r_c = R·cos α
//
// It shuts the ball, or lifts it while the lift is small: the pressure acts on the circle of contact. The momentum of the jet
// is left out, and so is the drag, see [SphereDrag]. Errors: *num.RangeError. Source: equilibrium of the ball.
func (b BallOnCone) Force(dp float64) (float64, error) {
	const fn = "leak.BallOnCone.Force"
	if err := b.check(fn); err != nil {
		return 0, err
	}
	rc := b.Diameter / 2 * math.Cos(b.HalfAngle)
	return dp * math.Pi * rc * rc, checkPressure(fn, dp)
}

// Contact returns the contact of the shut ball under pressure difference p > 0 [Pa], both sides elastic and unworn.
//
//	r_c = R·cos α   F = p·π·r_c²   N' = F/(2π·r_c·sin α)   b and p0 from [HertzLine] with radius R
//
// modulus is the contact modulus E* [Pa], see [ContactModulus]. Valid while b is below r_c/5 (line contact); otherwise
// *num.RangeError. Source: equilibrium of the ball; H. Hertz, as in Boresi & Schmidt, Advanced Mechanics of Materials ch. 17.
func (b BallOnCone) Contact(p, modulus float64) (Contact, error) {
	const fn = "leak.BallOnCone.Contact"
	if err := b.check(fn); err != nil {
		return Contact{}, err
	}
	if err := num.CheckPositive(fn, "p", p, "Pa"); err != nil {
		return Contact{}, err
	}
	sin, cos := math.Sincos(b.HalfAngle)
	rc := b.Diameter / 2 * cos
	c := Contact{Diameter: 2 * rc, Force: p * math.Pi * rc * rc}
	c.LineLoad = c.Force / (2 * math.Pi * rc * sin)
	var err error
	if c.HalfWidth, c.Peak, err = HertzLine(c.LineLoad, b.Diameter/2, modulus); err != nil {
		return Contact{}, err
	}
	if c.HalfWidth > rc/5 {
		return Contact{}, &num.RangeError{Func: fn, Name: "half width", Value: c.HalfWidth, Unit: "m", Want: "below a fifth of the contact radius"}
	}
	return c, nil
}

// Lifted returns the opening of the ball lifted by lift [m] off its seat, with discharge coefficient cd: a slit of height
// g = lift·sin α on a cone frustum.
//
//	A = 2π(r_c + ½g·cos α)·g      Dh = 2g
//
// The opening under debris, and that of a ball in its stroke. Valid for lift up to the ball's radius; otherwise a
// *num.RangeError. Source: geometry.
func (b BallOnCone) Lifted(lift, cd float64) (Orifice, error) {
	const fn = "leak.BallOnCone.Lifted"
	if err := b.check(fn); err != nil {
		return Orifice{}, err
	}
	if err := checkLengths(fn, length{"lift", lift}); err != nil {
		return Orifice{}, err
	}
	if err := num.CheckRange(fn, "lift", lift, 0, b.Diameter/2, "m"); err != nil {
		return Orifice{}, err
	}
	if err := num.CheckRange(fn, "Cd", cd, 0.3, 1, "1"); err != nil {
		return Orifice{}, err
	}
	sin, cos := math.Sincos(b.HalfAngle)
	g := lift * sin
	area := 2 * math.Pi * (b.Diameter/2*cos + g*cos/2) * g
	return Orifice{Area: area, Hydraulic: 2 * g, Cd: cd}, nil
}

// Seat returns the worn seat of the ball as a slot: a film of height film [m] over a contact band of width band [m], all
// round the circle of contact. A scratch across it is a [Scratch] with the same band as its length, in [Parallel].
// Errors: *num.RangeError.
func (b BallOnCone) Seat(band, film float64) (Slot, error) {
	const fn = "leak.BallOnCone.Seat"
	if err := b.check(fn); err != nil {
		return Slot{}, err
	}
	s := Slot{Width: math.Pi * b.Diameter * math.Cos(b.HalfAngle), Height: film, Length: band}
	_, err := s.duct(fn)
	return s, err
}

// ContactModulus returns the contact modulus E* [Pa] of two elastic bodies.
//
//	1/E* = (1-ν1²)/E1 + (1-ν2²)/E2
//
// e1, e2 Young's moduli [Pa], +Inf for a rigid one; nu1, nu2 Poisson's ratios, 0..0.5. Otherwise a *num.RangeError.
// Source: Hertz, as in K. L. Johnson, Contact Mechanics, ch. 4.
func ContactModulus(e1, nu1, e2, nu2 float64) (float64, error) {
	const fn = "leak.ContactModulus"
	if !(e1 > 0) || !(e2 > 0) || math.IsInf(e1, 1) && math.IsInf(e2, 1) {
		return 0, &num.RangeError{Func: fn, Name: "e", Value: min(e1, e2), Unit: "Pa", Want: "> 0, at most one of them +Inf"}
	}
	if err := num.CheckRange(fn, "nu1", nu1, 0, 0.5, "1"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "nu2", nu2, 0, 0.5, "1"); err != nil {
		return 0, err
	}
	return 1 / ((1-nu1*nu1)/e1 + (1-nu2*nu2)/e2), nil
}

// HertzLine returns half width b [m] and peak pressure p0 [Pa] of an elastic line contact.
//
//	b = √(4·N'·R/(π·E*))      p0 = √(N'·E*/(π·R))
//
// load N' is force per length [N/m], radius R of relative curvature [m], modulus E* [Pa]; all > 0, otherwise a
// *num.RangeError. Source: Hertz, as in Boresi & Schmidt, Advanced Mechanics of Materials ch. 17.
func HertzLine(load, radius, modulus float64) (b, p0 float64, err error) {
	const fn = "leak.HertzLine"
	if err := num.CheckPositive(fn, "load", load, "N/m"); err != nil {
		return 0, 0, err
	}
	if err := checkLengths(fn, length{"radius", radius}); err != nil {
		return 0, 0, err
	}
	if err := num.CheckPositive(fn, "modulus", modulus, "Pa"); err != nil {
		return 0, 0, err
	}
	b = math.Sqrt(4 * load * radius / (math.Pi * modulus))
	return b, math.Sqrt(load * modulus / (math.Pi * radius)), nil
}
