package ode

import "math"

// slopes fills jac and ft at (t, y), unless the Jacobian is known there.
func (s *Solver) slopes() {
	if s.haveJac {
		return
	}
	s.stats.Jacs++
	if s.jacer != nil {
		clear(s.jac)
		s.jacer.Jac(s.t, s.y[:s.n], s.jac)
	} else {
		s.differences()
	}
	s.haveJac = true
	switch {
	case s.opt.Autonomous:
	case s.timer != nil:
		clear(s.ft)
		s.timer.DerivT(s.t, s.y[:s.n], s.ft[:s.n])
	default:
		s.timeDifference()
	}
}

// differences fills the Jacobian by one-sided differences. The increment of
// y_j is √ε·|y_j|, but not less than what lifts the change of f over its
// round-off (as in CVODE), and points the way y_j moves, so that it does not
// leave the domain of f where the solution stays inside; if it does, the
// other way is tried.
func (s *Solver) differences() {
	n := s.n
	var norm float64
	for i := 0; i < n; i++ {
		w := s.f[i] / (s.tol[i] + s.opt.RelTol*math.Abs(s.y[i]))
		norm += w * w
	}
	norm = 1000 * eps * math.Sqrt(norm*float64(n)) * math.Abs(s.h)
	if norm == 0 {
		norm = 1
	}
	y, dy := s.z, s.g
	copy(y, s.y)
	for j := 0; j < n; j++ {
		d := math.Max(math.Sqrt(eps)*math.Abs(s.y[j]), norm*(s.tol[j]+s.opt.RelTol*math.Abs(s.y[j])))
		y[j] = s.y[j] + math.Copysign(d, s.f[j])
		s.deriv(s.t, y, dy)
		if notFinite(dy[:n]) >= 0 {
			y[j] = s.y[j] - math.Copysign(d, s.f[j])
			s.deriv(s.t, y, dy)
		}
		d = 1 / (y[j] - s.y[j])
		for i := 0; i < n; i++ {
			s.jac[i*n+j] = (dy[i] - s.f[i]) * d
		}
		y[j] = s.y[j]
	}
}

// timeDifference fills ft by a one-sided difference over √ε of the step,
// backwards if f is not defined later.
func (s *Solver) timeDifference() {
	d := math.Sqrt(eps) * math.Max(math.Abs(s.t), s.h)
	t := s.t + d
	s.deriv(t, s.y, s.ft)
	if notFinite(s.ft[:s.n]) >= 0 {
		t = s.t - d
		s.deriv(t, s.y, s.ft)
	}
	d = 1 / (t - s.t)
	for i := 0; i < s.n; i++ {
		s.ft[i] = (s.ft[i] - s.f[i]) * d
	}
}
