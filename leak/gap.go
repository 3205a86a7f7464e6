package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Annulus is the clearance between a rod or piston and its bore.
type Annulus struct {
	Diameter     float64 // of the piston or the rod [m]
	Gap          float64 // radial clearance h, half the difference of the diameters [m]
	Length       float64 // along the axis [m]
	Eccentricity float64 // ε = offset/h [1]: 0 centred .. 1 touching
}

func (a Annulus) duct(fn string) (duct, error) {
	if err := checkLengths(fn, length{"Diameter", a.Diameter}, length{"Gap", a.Gap}, length{"Length", a.Length}); err != nil {
		return duct{}, err
	}
	if err := num.CheckRange(fn, "Gap", a.Gap, 0, 0.05*a.Diameter, "m"); err != nil {
		return duct{}, err
	}
	if err := num.CheckRange(fn, "Eccentricity", a.Eccentricity, 0, 1, "1"); err != nil {
		return duct{}, err
	}
	d := plates(math.Pi*a.Diameter, a.Gap, a.Length)
	d.resist /= 1 + 1.5*a.Eccentricity*a.Eccentricity
	return d, nil
}

func plates(width, h, length float64) duct {
	return duct{resist: 12 * length / (width * h * h * h), area: width * h, dh: 2 * h, ends: plateEnds}
}

// Flow returns the laminar leak through an annular clearance [m³/s].
//
//	Q = π·d·h³·Δp·(1 + 1.5ε²)/(12·μ·L)
//
// Valid for h up to 0.05·d, ε of 0..1, Re = 2ρQ/(πdμ) up to [LaminarRe]. Errors: *num.RangeError, *RegimeError.
// Source: M. G. Rabie, Fluid Power Engineering (2009) eq. 2.19; eccentricity: Piercy, Hooper & Winny (1933), thin-gap form.
func (a Annulus) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.Annulus.Flow"
	d, err := a.duct(fn)
	if err != nil {
		return 0, err
	}
	return d.flow(fn, dp, l)
}

// Moving returns the flow [m³/s] when the inner wall moves with speed [m/s] along the flow: Flow plus π·d·h·speed/2.
// Range and errors as [Annulus.Flow]. Source: B. S. Massey, Mechanics of Fluids, ch. 6 (dashpot).
func (a Annulus) Moving(dp, speed float64, l Liquid) (float64, error) {
	return moving("leak.Annulus.Moving", a.Flow, dp, speed, math.Pi*a.Diameter*a.Gap, l)
}

// Law returns the flow against pressure for every Reynolds number: Flow with the losses of entry and exit, see [Law].
// Turbulent friction is not in it: beyond Re of about 2000 a gap longer than some 30 h passes less than it says.
// Errors: *num.RangeError.
func (a Annulus) Law(l Liquid) (Law, error) {
	const fn = "leak.Annulus.Law"
	d, err := a.duct(fn)
	if err != nil {
		return Law{}, err
	}
	return d.law(fn, l)
}

// Slot is a flat gap.
type Slot struct {
	Width  float64 // across the flow [m]
	Height float64 // h [m]
	Length float64 // along the flow [m]
}

func (s Slot) duct(fn string) (duct, error) {
	if err := checkLengths(fn, length{"Width", s.Width}, length{"Height", s.Height}, length{"Length", s.Length}); err != nil {
		return duct{}, err
	}
	if err := num.CheckRange(fn, "Height", s.Height, 0, 0.1*s.Width, "m"); err != nil {
		return duct{}, err
	}
	return plates(s.Width, s.Height, s.Length), nil
}

// Flow returns the laminar flow between parallel plates [m³/s].
//
//	Q = w·h³·Δp/(12·μ·L)
//
// Valid for h up to 0.1·w (7 % above the flow of the rectangle there; see [Rectangle] for closed sections) and
// Re = 2ρQ/(wμ) up to [LaminarRe]. Errors: *num.RangeError, *RegimeError. Source: Massey, Mechanics of Fluids, ch. 6.
func (s Slot) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.Slot.Flow"
	d, err := s.duct(fn)
	if err != nil {
		return 0, err
	}
	return d.flow(fn, dp, l)
}

// Moving returns the flow [m³/s] when one wall moves with speed [m/s] along the flow: Flow plus w·h·speed/2.
// Range and errors as [Slot.Flow]. Source: Massey, Mechanics of Fluids, ch. 6 (pad).
func (s Slot) Moving(dp, speed float64, l Liquid) (float64, error) {
	return moving("leak.Slot.Moving", s.Flow, dp, speed, s.Width*s.Height, l)
}

// Law returns the flow against pressure for every Reynolds number; see [Annulus.Law].
func (s Slot) Law(l Liquid) (Law, error) {
	const fn = "leak.Slot.Law"
	d, err := s.duct(fn)
	if err != nil {
		return Law{}, err
	}
	return d.law(fn, l)
}

func moving(fn string, flow func(float64, Liquid) (float64, error), dp, speed, area float64, l Liquid) (float64, error) {
	if err := num.CheckFinite(fn, "speed", speed, "m/s"); err != nil {
		return 0, err
	}
	q, err := flow(dp, l)
	if err != nil {
		return 0, err
	}
	return q + speed*area/2, nil
}

// Tube is a round bore.
type Tube struct {
	Diameter float64 // m
	Length   float64 // m
}

func (t Tube) duct(fn string) (duct, error) {
	if err := checkLengths(fn, length{"Diameter", t.Diameter}, length{"Length", t.Length}); err != nil {
		return duct{}, err
	}
	d := t.Diameter
	return duct{resist: 128 * t.Length / (math.Pi * d * d * d * d), area: math.Pi * d * d / 4, dh: d, ends: tubeEnds}, nil
}

// Flow returns the laminar flow through a tube [m³/s].
//
//	Q = π·d⁴·Δp/(128·μ·L)
//
// Valid for Re = 4ρQ/(πdμ) up to [LaminarRe] and L much above d. Errors: *num.RangeError, *RegimeError.
// Source: Hagen–Poiseuille.
func (t Tube) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.Tube.Flow"
	d, err := t.duct(fn)
	if err != nil {
		return 0, err
	}
	return d.flow(fn, dp, l)
}

// Law returns the flow against pressure for every Reynolds number and any length, down to a hole in a thin plate; see
// [Annulus.Law]. In creeping flow it is within 1 % for every L/d.
// Source: Z. Dagan, S. Weinbaum & R. Pfeffer, J. Fluid Mech. 115 (1982) 505: Δp = μQ(3/r³ + 8L/(πr⁴)).
func (t Tube) Law(l Liquid) (Law, error) {
	const fn = "leak.Tube.Law"
	d, err := t.duct(fn)
	if err != nil {
		return Law{}, err
	}
	return d.law(fn, l)
}

// RadialGap is the gap between two flat rings, as under a seat or a face: the liquid flows between an inner and an outer
// circle.
type RadialGap struct {
	Inner, Outer float64 // diameters [m]
	Height       float64 // h [m]
}

func (r RadialGap) duct(fn string) (duct, error) {
	if err := checkLengths(fn, length{"Inner", r.Inner}, length{"Outer", r.Outer}, length{"Height", r.Height}); err != nil {
		return duct{}, err
	}
	if r.Outer <= r.Inner {
		return duct{}, &num.RangeError{Func: fn, Name: "Outer", Value: r.Outer, Unit: "m", Want: "> Inner"}
	}
	if err := num.CheckRange(fn, "Height", r.Height, 0, 0.1*r.Inner, "m"); err != nil {
		return duct{}, err
	}
	h := r.Height
	return duct{
		resist: 6 * math.Log(r.Outer/r.Inner) / (math.Pi * h * h * h),
		area:   math.Pi * r.Inner * h, dh: 2 * h, ends: plateEnds,
	}, nil
}

// Flow returns the laminar radial flow [m³/s].
//
//	Q = π·h³·Δp/(6·μ·ln(d2/d1)), which for a narrow ring is π(d1+d2)h³Δp/(12(d2-d1)μ)
//
// d1, d2 inner and outer diameter. Valid for h up to 0.1·d1 and Re at the inner circle up to [LaminarRe]. Errors:
// *num.RangeError, *RegimeError. Source: lubrication theory; narrow form: Rabie, Fluid Power Engineering eq. 2.24.
func (r RadialGap) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.RadialGap.Flow"
	d, err := r.duct(fn)
	if err != nil {
		return 0, err
	}
	return d.flow(fn, dp, l)
}

// Law returns the flow against pressure for every Reynolds number; see [Annulus.Law].
func (r RadialGap) Law(l Liquid) (Law, error) {
	const fn = "leak.RadialGap.Law"
	d, err := r.duct(fn)
	if err != nil {
		return Law{}, err
	}
	return d.law(fn, l)
}
