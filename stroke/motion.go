package stroke

import "math"

// rodMode says how the rod moves.
type rodMode uint8

const (
	locked   rodMode = iota // stands still whatever the pressures
	driven                  // x' = v(t), given by the crank
	pushed                  // x" from the balance of forces
	atTop                   // pushed against its stop at x = s
	atBottom                // pushed against its stop at x = 0
)

// push is the force of a force-held drive on the rod, positive upward:
//
//	F(t, v) = F0 + F'·(t − t0) − D·v
//
// F0 is ±ForceUp or ±ForceDown and F' = 0 on a stroke; while the motor changes over, F runs straight from one to the other.
// D = F/FreeSpeed lets the force fall linearly to zero at the free speed.
type push struct {
	start, from, rate float64 // t0 [s], F0 [N], F' [N/s]
	damping           float64 // D, N·s/m
}

func (d *push) force(t float64) float64 { return d.from + d.rate*(t-d.start) }

// crank is the motion of a crank drive from time t0 on, at constant angular acceleration:
//
//	θ = θ0 + ω0·τ + α·τ²/2   x = s/2·(1 − cos θ)   τ = t − t0
type crank struct {
	start, angle, speed, accel float64
	half                       float64 // s/2, m
}

// at returns θ and ω at time t.
func (c *crank) at(t float64) (angle, speed float64) {
	tau := t - c.start
	return c.angle + tau*(c.speed+0.5*c.accel*tau), c.speed + c.accel*tau
}

// motion returns v, x" and x"' at time t.
func (c *crank) motion(t float64) (v, a, jerk float64) {
	th, w := c.at(t)
	sin, cos := math.Sincos(th)
	w2 := w * w
	v = c.half * sin * w
	a = c.half * (cos*w2 + sin*c.accel)
	jerk = c.half * w * (3*cos*c.accel - sin*w2)
	return v, a, jerk
}

// reaches returns the time after now at which the crank passes angle th for the first time, +Inf if it never does.
func (c *crank) reaches(th, now float64) float64 {
	_, w := c.at(now)
	d := th - first(c.at(now))
	disc := w*w + 2*c.accel*d
	if d < 0 || disc < 0 || w+math.Sqrt(disc) <= 0 {
		return math.Inf(1)
	}
	return now + 2*d/(w+math.Sqrt(disc))
}

func first(a, _ float64) float64 { return a }

// rub is the friction of one packing: a normal force that grows with the pressure across it.
type rub struct {
	from, to int
	perPa    float64 // μ·π·d·L, N/Pa
}

// friction of the rod, against its motion:
//
//	F_f = (F_s + Σ (μπdL)_k·√(dp_k² + p_e²))·v/√(v² + v_e²) + c·v
//
// Coulomb's law with rounded corners: at speeds far below v_e it is a stiff damper.
type friction struct {
	steady  float64 // F_s, N
	viscous float64 // c, N·s/m
	rubs    []rub
}

const (
	roundSpeed    = 1e-4 // v_e, m/s
	roundPressure = 1e4  // p_e, Pa
)

// normal returns F_s + Σ … at pressures p.
func (f *friction) normal(p []float64) float64 {
	sum := f.steady
	for i := range f.rubs {
		r := &f.rubs[i]
		dp := p[r.from] - p[r.to]
		sum += r.perPa * math.Sqrt(dp*dp+roundPressure*roundPressure)
	}
	return sum
}
