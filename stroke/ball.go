package stroke

import "math"

// ballMode says what a ball is doing.
type ballMode uint8

const (
	seated ballMode = iota
	free
	stopped // at its upper stop
	stuck   // at its upper stop and held there by a fault, though the flow pulls it down
)

// ball is a check valve: a ball on the edge of a seat, free to lift up to a stop.
//
// The gap between edge and ball at lift z, its area (a frustum), and the area that counts, with the seat bore in series:
//
//	L = √(r_s² + (y0+z)²)   g = L − R   A_g = π(r_s + R·r_s/L)·g   1/A² = 1/A_g² + 1/A_s²   A_s = π r_s²
//
// The velocity in the gap, with its laminar end (H. E. Merritt, Hydraulic Control Systems, 1967, §3-4: Cd = δ√Re):
//
//	dp = ρ/(2Cd²)·u|u| + μ/(2δ²·2g)·u
//
// A moving ball takes its own volume along: Q = u·A + A_s·w, and dp·A_s is the force on it (power is kept). The ball:
//
//	(m + ρV/2)·w' = A_s·dp − (m − ρV)·(gravity + x") − 6πμR·w − ½·0.44·ρπR²·w|w|
//
// added mass of a sphere, buoyant weight (x" only for a ball on the piston), Stokes' and Newton's drag.
type ball struct {
	from, to     int
	rs, r, y0    float64 // m
	seat         float64 // A_s, m²
	lift         float64 // m
	turb, lam    float64 // ρ/(2Cd²), μ/(2δ²)
	inertia      float64 // m + ρV/2, kg
	heavy        float64 // m − ρV, kg
	drag1, drag2 float64
	onPiston     bool
	late         float64 // s, stays at its stop for so long after the flow has turned (fault)

	mode    ballMode
	at      int // index of z in the state when free
	open    gap // at the stop
	carries carries
}

// gap is the opening at one lift: A [m²], 2g [m], and their slopes with z.
type gap struct{ area, width, dArea, dWidth float64 }

// opening returns the gap at lift z.
func (b *ball) opening(z float64) gap {
	if z <= 0 {
		return gap{}
	}
	yc := b.y0 + z
	l := math.Sqrt(b.rs*b.rs + yc*yc)
	il := 1 / l
	g, dg := z*(yc+b.y0)/(l+b.r), yc*il // g = L − R without cancellation
	foot := b.r * b.rs * il
	ag := math.Pi * (b.rs + foot) * g
	dag := math.Pi * (b.rs + foot - foot*il*g) * dg
	h := 1 / math.Sqrt(ag*ag+b.seat*b.seat)
	s := b.seat * h
	return gap{ag * s, 2 * g, dag * s * s * s, 2 * dg}
}

// through returns the flow u·A, and its slopes with dp and with z.
func (b *ball) through(dp float64, g gap) (q, byP, byZ float64) {
	s := math.Sqrt(b.lam*b.lam + 4*b.turb*g.width*g.width*math.Abs(dp))
	is := 1 / s
	e := 2 * dp / (b.lam + s) // u/(2g)
	u := e * g.width
	return u * g.area, g.area * g.width * is, u*g.dArea + g.area*b.lam*e*is*g.dWidth
}

// force returns the net force [N] that lifts a ball at rest, for pressures from and to and piston acceleration a.
func (b *ball) force(dp, a float64) float64 {
	if b.onPiston {
		return b.seat*dp - b.heavy*(gravity+a)
	}
	return b.seat*dp - b.heavy*gravity
}
