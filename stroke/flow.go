package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/leak"
)

// branch is one way from node to node with a law dp = Lin·Q + Quad·Q|Q| (the one of leak.Law; here unrolled for speed).
type branch struct {
	from, to  int
	lin, quad float64
	shape     *shape // nil for a law that stays as it is
	carries   carries
}

// shape changes a leak with pressure, with rod position, or from one seating of a ball to the next:
//
//	Q = r·k(x)·Q'     Q' by leak.Law, with the gap h of leak.Packing: dp = (Lin/h³)·Q' + (Quad/h²)·Q'|Q'|
//
// k(x) is the leak along the stroke, relative; r is drawn anew at each seating.
type shape struct {
	energise float64    // Facing/Energise of leak.Packing, 1/Pa; 0 for a rigid gap
	path     leak.Path  // when neither a Law nor a Packing: Q' by its methods
	along    [4]float64 // k(x) = Σ along[i]·x^i, x in m
	zone     Zone
	factor   float64 // r
}

// evenPressure [Pa] rounds off the corner of the square-root law at dp = 0: |dp| stands for √(dp² + evenPressure²) in a
// law without a laminar part. The flow at 1 MPa changes by 2.5e-9.
const evenPressure = 100.0

// lawFlow returns Q [m³/s] of dp = lin·Q + quad·Q|Q|.
func lawFlow(lin, quad, dp float64) float64 {
	switch {
	case quad == 0:
		return dp / lin
	case lin == 0:
		return dp / math.Sqrt(quad*math.Sqrt(dp*dp+evenPressure*evenPressure))
	}
	return 2 * dp / (lin + math.Sqrt(lin*lin+4*quad*math.Abs(dp)))
}

// lawSlope returns dQ/d(dp).
func lawSlope(lin, quad, dp float64) float64 {
	switch {
	case quad == 0:
		return 1 / lin
	case lin == 0:
		m := math.Sqrt(dp*dp + evenPressure*evenPressure)
		return (1 - 0.5*(dp/m)*(dp/m)) / math.Sqrt(quad*m)
	}
	return 1 / math.Sqrt(lin*lin+4*quad*math.Abs(dp))
}

// flow returns Q, ∂Q/∂dp and ∂Q/∂x of a branch with a shape.
func (s *shape) flow(lin, quad, dp, x float64) (q, slope, alongX float64) {
	if s.path != nil {
		q, slope = s.path.Flow(dp), s.path.Slope(dp)
	} else {
		q, slope = s.gapFlow(lin, quad, dp)
	}
	k, dk := s.position(x)
	k *= s.factor
	return k * q, k * slope, s.factor * dk * q
}

// gapFlow returns Q' and ∂Q'/∂dp for a gap that the pressure changes.
func (s *shape) gapFlow(lin, quad, dp float64) (q, slope float64) {
	e := s.energise * dp
	h, grow := 1-e, -s.energise/(1-e) // grow = d(ln h)/d(dp)
	if e > 0 {
		h, grow = 1/(1+e), -s.energise/(1+e)
	}
	lin /= h * h * h
	quad /= h * h
	q = lawFlow(lin, quad, dp)
	return q, lawSlope(lin, quad, dp) * (1 + (3*lin*q+2*quad*q*math.Abs(q))*grow)
}

// position returns k(x) and dk/dx.
func (s *shape) position(x float64) (k, dk float64) {
	c := &s.along
	k = c[0] + x*(c[1]+x*(c[2]+x*c[3]))
	dk = c[1] + x*(2*c[2]+x*3*c[3])
	if s.zone.Edge == 0 {
		return k, dk
	}
	w, dw := s.zone.window(x)
	return k * w, dk*w + k*dw
}

// window returns 1 inside the zone, 0 outside, with smooth edges, and its slope.
func (z Zone) window(x float64) (w, dw float64) {
	up, dup := smooth((x - z.From) / z.Edge)
	down, ddown := smooth((z.To - x) / z.Edge)
	return up * down, (dup*down - up*ddown) / z.Edge
}

// smooth rises from 0 at −½ to 1 at ½ with two continuous slopes.
func smooth(u float64) (f, df float64) {
	u += 0.5
	switch {
	case u <= 0:
		return 0, 0
	case u >= 1:
		return 1, 0
	}
	return u * u * u * (10 + u*(6*u-15)), 30 * u * u * (1 - u) * (1 - u)
}
