package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// SharpCd is the discharge coefficient of a sharp-edged orifice much smaller than the pipe, π/(π+2) = 0.6110.
// Source: Kirchhoff's free-streamline contraction, as in Rabie, Fluid Power Engineering (2009) eq. 2.36-2.39.
const SharpCd = math.Pi / (math.Pi + 2)

// orificeRe is the lowest Reynolds number at which a constant discharge coefficient is used; there the viscous term of
// [Orifice.Law] takes 0.7 % off.
const orificeRe = 1000.0

// Orifice is a short opening.
type Orifice struct {
	Area      float64 // m²
	Hydraulic float64 // hydraulic diameter [m]: of a round hole its diameter, of a slit twice its height
	Cd        float64 // discharge coefficient at high Reynolds number [1], 0.3..1
}

// Hole returns a sharp-edged round orifice of diameter d [m]. Errors: *num.RangeError unless d > 0.
func Hole(d float64) (Orifice, error) {
	if err := checkLengths("leak.Hole", length{"d", d}); err != nil {
		return Orifice{}, err
	}
	return Orifice{Area: math.Pi * d * d / 4, Hydraulic: d, Cd: SharpCd}, nil
}

func (o Orifice) check(fn string, l Liquid) error {
	if err := num.CheckPositive(fn, "Area", o.Area, "m²"); err != nil {
		return err
	}
	if err := checkLengths(fn, length{"Hydraulic", o.Hydraulic}); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "Cd", o.Cd, 0.3, 1, "1"); err != nil {
		return err
	}
	return l.check(fn)
}

// Flow returns the flow through the orifice [m³/s] at high Reynolds number.
//
//	Q = Cd·A·√(2Δp/ρ)
//
// Valid for Re = ρQ·Dh/(Aμ) of at least 1000, or dp = 0. Errors: *num.RangeError, *RegimeError.
// Source: Rabie, Fluid Power Engineering (2009) eq. 2.36; Esposito, Fluid Power with Applications, ch. 8.
func (o Orifice) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.Orifice.Flow"
	if err := o.check(fn, l); err != nil {
		return 0, err
	}
	if err := checkPressure(fn, dp); err != nil {
		return 0, err
	}
	q := o.Cd * o.Area * math.Sqrt(2*math.Abs(dp)/l.Density)
	if re := l.Density * q * o.Hydraulic / (o.Area * l.Viscosity); dp != 0 && re < orificeRe {
		return 0, &RegimeError{Func: fn, Re: re, Lo: orificeRe, Hi: math.Inf(1)}
	}
	return signed(q, dp), nil
}

// Law returns the flow against pressure for every Reynolds number, with the low-Reynolds transition.
//
//	Δp = 6πμ·Q/(Dh·A) + ρQ²/(2·Cd²·A²)
//
// Both ends are exact for a round hole in a thin wall: creeping flow Q = r³Δp/(3μ) (Sampson 1891) and the free jet. The
// discharge coefficient is then √(Re/12π) = 0.163·√Re at low Re (Wuest 1954, as in Merritt: 0.157·√Re), constant at high Re,
// with the two terms equal at Re = 12π·Cd² = 14. Measured coefficients pass through a flat maximum, some 15 % higher,
// between; a smooth law leaves that out. Errors: *num.RangeError.
func (o Orifice) Law(l Liquid) (Law, error) {
	if err := o.check("leak.Orifice.Law", l); err != nil {
		return Law{}, err
	}
	return Law{
		Lin:    l.Viscosity * mouths(o.Area, o.Hydraulic),
		Quad:   l.Density / (2 * o.Cd * o.Cd * o.Area * o.Area),
		Liquid: l,
	}, nil
}

// ShortTubeCd returns the discharge coefficient [1] of a short tube with a sharp entry.
//
//	Cdu = 0.827 - 0.0085·l/d      1/Cd = 1/Cdu + (20/Re)(1 + 2.25·l/d) - 0.005·(l/d)/(1 + 7.5·log10²(0.00015·Re))
//
// re is ρ·V·d/μ with V = Q/A; ld is length over diameter. Valid for ld of 2..10 and Re of 10..1e5; otherwise a
// *num.RangeError. Source: Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7 (1965) 210 (from memory).
func ShortTubeCd(re, ld float64) (float64, error) {
	const fn = "leak.ShortTubeCd"
	if err := num.CheckRange(fn, "re", re, 10, 1e5, "1"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "ld", ld, 2, 10, "1"); err != nil {
		return 0, err
	}
	lg := math.Log10(0.00015 * re)
	inv := 1/(0.827-0.0085*ld) + 20/re*(1+2.25*ld) - 0.005*ld/(1+7.5*lg*lg)
	return 1 / inv, nil
}
