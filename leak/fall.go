package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Gravity is standard gravity [m/s²]. Exact, ISO 80000-3.
const Gravity = 9.80665

// SphereDrag returns the drag [N] on a ball of diameter d [m] moving at speed v [m/s] through still liquid far from walls.
//
//	F = Cd·½ρv²·πd²/4      Cd = (24/Re)(1 + 0.15·Re^0.687) up to Re = 1000, 0.44 above
//
// Valid for Re = ρvd/μ up to 2e5; otherwise a *num.RangeError. In a narrow cage the drag is higher. F has the sign of v.
// Source: Schiller & Naumann (1933), within 5 % of the standard drag curve of Clift, Grace & Weber (1978); Newton's 0.44.
func SphereDrag(d, v float64, l Liquid) (float64, error) {
	const fn = "leak.SphereDrag"
	if err := checkLengths(fn, length{"d", d}); err != nil {
		return 0, err
	}
	if err := l.check(fn); err != nil {
		return 0, err
	}
	if err := num.CheckFinite(fn, "v", v, "m/s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "Re", l.Density*math.Abs(v)*d/l.Viscosity, 0, 2e5, "1"); err != nil {
		return 0, err
	}
	return signed(sphereDrag(d, math.Abs(v), l), v), nil
}

func sphereDrag(d, v float64, l Liquid) float64 {
	re := l.Density * v * d / l.Viscosity
	if re > 1000 {
		return 0.44 * math.Pi / 8 * l.Density * v * v * d * d
	}
	return 3 * math.Pi * l.Viscosity * d * v * (1 + 0.15*math.Pow(re, 0.687))
}

// FreeFallLag returns the time [s] that a ball without spring takes to fall through its lift [m], drag left out.
//
//	t = √(2·lift/g')      g' = g·(ρb-ρf)/(ρb + ½ρf)
//
// rhoBall, rhoLiquid densities ρb > ρf [kg/m³]; ½ρf is the liquid that the ball carries along (added mass of a sphere).
// Valid for positive arguments; otherwise a *num.RangeError. Thick liquids: [ClosingLag]. Source: potential flow about a
// sphere, as in H. Lamb, Hydrodynamics §92.
func FreeFallLag(lift, rhoBall, rhoLiquid float64) (float64, error) {
	const fn = "leak.FreeFallLag"
	if err := checkLengths(fn, length{"lift", lift}); err != nil {
		return 0, err
	}
	if err := num.CheckPositive(fn, "rhoLiquid", rhoLiquid, "kg/m³"); err != nil {
		return 0, err
	}
	if err := num.CheckPositive(fn, "rhoBall", rhoBall, "kg/m³"); err != nil {
		return 0, err
	}
	if rhoBall <= rhoLiquid {
		return 0, &num.RangeError{Func: fn, Name: "rhoBall", Value: rhoBall, Unit: "kg/m³", Want: "denser than the liquid"}
	}
	g := Gravity * (rhoBall - rhoLiquid) / (rhoBall + rhoLiquid/2)
	return math.Sqrt(2 * lift / g), nil
}

// ClosingLag returns the time [s] that a ball of diameter d [m] and density rhoBall [kg/m³] takes to fall through its lift
// [m] from rest in liquid l, with the drag of [SphereDrag].
//
//	(ρb + ½ρf)·V·dv/dt = (ρb-ρf)·V·g - F(v)
//
// It integrates t = ∫dv/a and y = ∫v·dv/a over v = v_t(1-e^{-s}), v_t the final speed: smooth however thick the liquid;
// error below 1e-4. Cage walls slow the ball further. Errors: as [FreeFallLag], and for d and l.
// Source: equation of motion of a sphere, Clift, Grace & Weber (1978) without the history term.
func ClosingLag(lift, d, rhoBall float64, l Liquid) (float64, error) {
	const fn = "leak.ClosingLag"
	if _, err := FreeFallLag(lift, rhoBall, l.Density); err != nil {
		return 0, err
	}
	if err := checkLengths(fn, length{"d", d}); err != nil {
		return 0, err
	}
	if err := l.check(fn); err != nil {
		return 0, err
	}
	volume := math.Pi * d * d * d / 6
	weight := (rhoBall - l.Density) * volume * Gravity
	mass := (rhoBall + l.Density/2) * volume
	vt := finalSpeed(d, weight, l)
	const end = 14.0 // there v is within 1e-6 of v_t
	ds := min(0.005, math.Sqrt(2*weight/mass*lift)/vt/200)
	t, y := 0.0, 0.0
	for s := ds / 2; s < end; s += ds { // midpoint rule
		left := vt * math.Exp(-s)
		v := vt - left
		dt := ds * left * mass / (weight - sphereDrag(d, v, l))
		if y+v*dt >= lift {
			return t + (lift-y)/v, nil
		}
		t, y = t+dt, y+v*dt
	}
	return t + (lift-y)/vt, nil
}

// finalSpeed returns the speed [m/s] at which the drag carries the weight.
func finalSpeed(d, weight float64, l Liquid) float64 {
	lo, hi := 0.0, weight/(3*math.Pi*l.Viscosity*d) // Stokes' speed is never reached
	for range 100 {
		mid := (lo + hi) / 2
		if sphereDrag(d, mid, l) < weight {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// BackSlip returns the volume [m³] that flows back through a valve while its ball closes late.
//
//	V = ½·v·A·t
//
// v [m/s] piston speed, area A [m²] of the chamber, lag t [s]; half, since the opening shrinks as the ball comes down; at
// most v·A·t. It is lost once a stroke and is not a leak. Valid for values ≥ 0; otherwise a *num.RangeError.
// Source: ball closing at constant speed; model without a published number.
func BackSlip(v, area, lag float64) (float64, error) {
	const fn = "leak.BackSlip"
	if err := num.CheckRange(fn, "v", v, 0, math.MaxFloat64, "m/s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "area", area, 0, math.MaxFloat64, "m²"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "lag", lag, 0, math.MaxFloat64, "s"); err != nil {
		return 0, err
	}
	return v * area * lag / 2, nil
}
