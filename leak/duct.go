package leak

import "math"

// Loss factors of the two ends of a duct together, in units of ρV²/2, with nothing regained behind the outlet: one plus
// the excess pressure drop K∞ of developing laminar flow. Source: Shah & London, Laminar Flow Forced Convection in
// Ducts (1978) (from memory): K∞ = 0.674 between plates, 1.25 in a tube. A groove takes the loss of a sharp orifice, 1/SharpCd²;
// K∞ of triangles is 1.8, so the two differ by 5 %.
const (
	plateEnds  = 1.674
	tubeEnds   = 2.25
	grooveEnds = 1 / (SharpCd * SharpCd)
)

// duct is what every gap with a length comes down to.
type duct struct {
	resist float64 // Δp/(μ·Q) of developed laminar flow [1/m³]
	area   float64 // [m²]
	dh     float64 // hydraulic diameter [m]
	ends   float64 // loss factor of both ends [1]
}

// flow is the developed laminar flow; refused when not laminar.
func (d duct) flow(fn string, dp float64, l Liquid) (float64, error) {
	if err := l.check(fn); err != nil {
		return 0, err
	}
	if err := checkPressure(fn, dp); err != nil {
		return 0, err
	}
	q := dp / (l.Viscosity * d.resist)
	if re := d.reynolds(q, l); re > LaminarRe {
		return 0, &RegimeError{Func: fn, Re: re, Hi: LaminarRe}
	}
	return q, nil
}

func (d duct) reynolds(q float64, l Liquid) float64 {
	return l.Density * math.Abs(q) / d.area * d.dh / l.Viscosity
}

// law adds to the developed laminar flow the creeping flow toward both mouths and the loss of kinetic energy.
func (d duct) law(fn string, l Liquid) (Law, error) {
	if err := l.check(fn); err != nil {
		return Law{}, err
	}
	return Law{
		Lin:    l.Viscosity * (d.resist + mouths(d.area, d.dh)),
		Quad:   d.inertia(l.Density),
		Liquid: l,
	}, nil
}

// inertia is Δp/Q² [Pa·s²/m⁶] of the kinetic energy lost at the ends.
func (d duct) inertia(rho float64) float64 { return d.ends * rho / (2 * d.area * d.area) }

// mouths is the resistance Δp/(μ·Q) [1/m³] of creeping flow into and out of an opening: 6π/(Dh·A).
// It is exact for a round hole in a thin wall (R. A. Sampson, Phil. Trans. A 182 (1891) 449: Q = r³Δp/(3μ)), and 8 % low
// for a slit (H. Hasimoto 1958: Q = πwh²Δp/(32μ)).
func mouths(area, dh float64) float64 { return 6 * math.Pi / (dh * area) }
