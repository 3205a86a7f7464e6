package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// stick is the flow [m³/s] by which the first seconds of a watch mislead: dry friction lets the rod stand until the line has lost a small
// share of its pressure, and the hose still stretches when the watch begins. Either is a volume ΔV = C·φ·p with the compliance C of the
// line, so that over a time T it is ΔV/T. A mark that stood may hide so much; a creep is uncertain by it. After half a minute it is next to
// nothing. A reading from a log leaves the first seconds out.
func (b *bench) stick(r Reading) float64 {
	if r.Derived != "" {
		return 0
	}
	return b.net.compliance(0, r.Pressure) * stickShare * r.Pressure / r.Time
}

// stallErrors is the part of the variance of a flow read off the rod of a stalled pump that goes with the flow: that of the model, the
// pressure and the watch, c1 = m² + (u_p/p)² + (u_T/T)².
func (b *bench) stallErrors(r Reading) float64 {
	return sq(b.prior.Model) + sq(r.UPress/r.Pressure) + sq(r.UTime/r.Time)
}

// creep: travel L in time T at a stall of stroke d and pressure p: y = A L/T·v(p), v the volume at no pressure over that at p (swellOf), since
// leaks count as they are caught.
// Variance (A v σ_L/T)² + drift² + stick² + c1 μ², see stallErrors.
func (b *bench) creep(r Reading) observation {
	area := b.m.Creep[r.Stroke] * b.swell(r.Pressure)
	travel, uTravel := r.Travel, r.UTravel
	if r.Kind == Changeover {
		travel, uTravel = b.wholeStroke(r)
	}
	y := area * travel / r.Time
	c0 := sq(area*uTravel/r.Time) + sq(b.drift) + sq(b.stick(r))
	o := observation{kind: obsGauss, y: y, normY: r.TimeIt, c0: c0, c1: b.stallErrors(r), coef: b.stall(r)}
	o.fill, o.back = b.backflow(r)
	if math.IsNaN(r.At) {
		o.along = 1 - math.Min(1, travel/b.p.Stroke)
	}
	o.guess, o.guessY, o.tau = o.coef, y, 0.02
	if y < 2*math.Sqrt(o.c0) { // no visible movement: propose leaks that would hardly be seen
		o.guessY, o.tau = math.Max(y, math.Sqrt(o.c0)), 1
	}
	return o
}

// wholeStroke returns the travel that a timed stroke spent creeping, with its standard deviation: the rest went fast, while
// line and chambers took up the difference of the two stall pressures and a late ball let fluid back.
func (b *bench) wholeStroke(r Reading) (travel, u float64) {
	s := b.p.Stroke
	swallow := b.net.swallow(b, r.Stroke, r.Pressure)
	late := 0.01 * s
	if r.Stroke == pump.Down {
		late = 0.03 * s
	}
	lost := math.Min(swallow+late, 0.6*s)
	return s - lost, math.Hypot(0.4*lost, 0.005*s)
}

// still: no movement of more than the smallest visible one in time T: A x_seen/T bounds the flow, with what friction may hide.
// Variance (A σ_x/2T)² + drift² + c1 μ², see stallErrors.
func (b *bench) still(r Reading) observation {
	area := b.m.Creep[r.Stroke] * b.swell(r.Pressure)
	c0 := sq(0.5*area*r.UTravel/r.Time) + sq(b.drift)
	o := observation{kind: obsStill, y: area*r.Travel/r.Time + b.stick(r), c0: c0, c1: b.stallErrors(r), coef: b.stall(r)}
	o.fill, o.back = b.backflow(r)
	o.guess, o.guessY, o.tau = o.coef, 0.5*o.y, 1
	return o
}

// unmoved is the probability that a mark is seen not to move at a mean flow μ: that the flow which was watched, normal around it, is
// below what would have been seen, Φ((y − μ)/σ).
func (o *observation) unmoved(mu, extra float64) float64 {
	return phi((o.y - mu) / math.Sqrt(o.c0+o.c1*mu*mu+extra))
}

// noChangeover: a rod that stood anywhere on its stroke s has not come to its end in time T.
func (b *bench) noChangeover(r Reading) observation {
	full := b.p.Stroke * b.m.Creep[r.Stroke] * b.swell(r.Pressure) / r.Time
	c0 := sq(b.drift) + sq(b.stick(r))
	o := observation{kind: obsNoTurn, c0: c0, c1: b.stallErrors(r), coef: b.stall(r), scale: 1 / full, guessY: 0.4 * full, tau: 1}
	o.guess = o.coef
	o.fill, o.back = b.backflow(r)
	return o
}

// noTurn is the probability that a rod does not come to its end, from a position uniform on the stroke: the mean of 1 − X, held to 0…1,
// where the part X of the stroke that it went is normal with mean m = μ T/(A s) and standard deviation σ:
//
//	h(1 − m) − h(−m) ,  h(a) = a Φ(a/σ) + σ φ(a/σ)
func (o *observation) noTurn(mu, extra float64) float64 {
	m, sd := mu*o.scale, o.scale*math.Sqrt(o.c0+o.c1*mu*mu+extra)
	h := func(a float64) float64 {
		z := a / sd
		return a*phi(z) + sd*math.Exp(-0.5*z*z)/math.Sqrt(2*math.Pi)
	}
	return math.Max(0, h(1-m)-h(-m))
}
