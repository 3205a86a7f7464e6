package ode

import "math"

// control chooses step sizes from the errors of the last two steps: the
// predictive controller of Gustafsson, as given by Hairer & Wanner, Solving
// ODEs II, IV.8 (eq. 8.31).
type control struct {
	log, h       float64 // last accepted step: ln of its error, size; h = 0 if none
	held         bool    // the last try was rejected: do not grow
	badErr, badH float64 // of that try
}

const (
	safety   = 0.9
	growMost = 6.0
	cutMost  = 0.1
)

// accept returns the size of the step after one of size h with error err,
// for a method of the given order:
//
//	h·s·err^-q,  and at most  h·s·(h/h')·(err'/err²)^q
//
// with q = 1/order and h', err' of the step before.
func (c *control) accept(h, err float64, order int) float64 {
	q := 1 / float64(order)
	l := math.Log(math.Max(err, 1e-10))
	fac := safety * math.Exp(-q*l)
	if c.h > 0 {
		fac = math.Min(fac, safety*h/c.h*math.Exp(q*(c.log-2*l)))
	}
	fac = math.Max(cutMost, math.Min(growMost, fac))
	if c.held {
		fac = math.Min(fac, 1)
	}
	c.log, c.h = math.Max(l, -5), h
	c.held, c.badErr = false, 0
	return h * fac
}

// reject returns the size of the next try after one of size h with error err.
// Where the error of a stiff transient falls slower with h than the order
// says, the second rejection in a row measures how it falls.
func (c *control) reject(h, err float64, order int) float64 {
	q := 1 / float64(order)
	if c.held && c.badErr > err && h < c.badH {
		q = math.Max(q, math.Min(math.Log(h/c.badH)/math.Log(err/c.badErr), 5))
	}
	c.held, c.badErr, c.badH = true, err, h
	return h * math.Max(cutMost, safety*math.Pow(err, -q))
}

// firstStep guesses a step size at (t, y): Hairer, Nørsett & Wanner, Solving
// ODEs I, II.4.
func (s *Solver) firstStep() float64 {
	p := s.tab.order
	var d0, d1 float64
	for i := 0; i < s.n; i++ {
		w := 1 / (s.tol[i] + s.opt.RelTol*math.Abs(s.y[i]))
		d0 += s.y[i] * w * s.y[i] * w
		d1 += s.f[i] * w * s.f[i] * w
	}
	n := float64(s.n)
	d0, d1 = math.Sqrt(d0/n), math.Sqrt(d1/n)
	h := 0.01 * d0 / d1
	if d0 < 1e-5 || d1 < 1e-5 {
		h = 1e-6 * (s.end - s.t)
	}
	h = math.Min(h, math.Min(s.end-s.t, s.opt.MaxStep))
	for i := 0; i < s.n; i++ {
		s.z[i] = s.y[i] + h*s.f[i]
	}
	s.deriv(s.t+h, s.z, s.g)
	var d2 float64
	for i := 0; i < s.n; i++ {
		w := 1 / (s.tol[i] + s.opt.RelTol*math.Abs(s.y[i]))
		d := (s.g[i] - s.f[i]) * w
		d2 += d * d
	}
	d2 = math.Sqrt(d2/n) / h
	if d2-d2 != 0 { // the trial state lies outside the domain of f
		return h * 0.01
	}
	most := math.Max(d1, d2)
	return math.Min(100*h, math.Pow(0.01/most, 1/float64(p)))
}
