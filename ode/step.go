package ode

import "math"

// advance makes one accepted step from (t, y), leaving the new state in z,
// its derivative in g, and the size of the next step in h.
func (s *Solver) advance() error {
	for try := 0; ; try++ {
		if s.stats.Steps+s.stats.Rejected >= s.opt.MaxSteps {
			return &StepLimitError{T: s.t, Steps: s.opt.MaxSteps}
		}
		h, last := s.trim(s.h)
		if !last && h <= 4*eps*math.Abs(s.t) || try > 200 {
			return s.giveUp(h)
		}
		s.slopes()
		err := s.attempt(h)
		t1 := s.t + h
		if last {
			t1 = s.end
		}
		if s.opt.fixed > 0 {
			err = 0
		}
		if err <= 1 {
			s.deriv(t1, s.z, s.g)
			if notFinite(s.g[:s.n]) < 0 {
				s.stats.Steps++
				s.step.set(s.t, t1, h)
				if s.opt.fixed == 0 {
					s.grow(h, err)
				}
				return nil
			}
			err = math.NaN()
		}
		s.stats.Rejected++
		if err != err {
			s.h, s.ctl.held = h/4, true
			continue
		}
		s.h = s.ctl.reject(h, err, s.tab.order)
	}
}

// grow sets the size of the next step after one of size h, which may have
// been cut short by the end of the run.
func (s *Solver) grow(h, err float64) {
	wanted := s.h
	s.h = s.ctl.accept(h, err, s.tab.order)
	if h < wanted {
		s.h = math.Max(s.h, wanted)
	}
	s.h = math.Min(s.h, s.opt.MaxStep)
}

// trim fits a step into what is left of the run.
func (s *Solver) trim(h float64) (float64, bool) {
	if s.opt.fixed > 0 {
		h = s.opt.fixed
	}
	left := s.end - s.t
	if h > 0.99*left || !(h < left) {
		return left, true
	}
	if h > 0.5*left && s.opt.fixed == 0 {
		return 0.5 * left, false
	}
	return h, false
}

// giveUp says why the step size became too small.
func (s *Solver) giveUp(h float64) error {
	if i := notFinite(s.jac); i >= 0 && s.jacer != nil {
		return &NaNError{Func: "Jac", T: s.t, Index: i}
	}
	if i := notFinite(s.ft[:s.n]); i >= 0 && s.timer != nil {
		return &NaNError{Func: "DerivT", T: s.t, Index: i}
	}
	e := &StepError{T: s.t, Step: h}
	for i := 0; i < s.n; i++ {
		r := math.Abs(s.us[i/lanes][s.tab.stages-1][i%lanes]) / (s.tol[i] + s.opt.RelTol*math.Abs(s.y[i]))
		if r != r {
			return &NaNError{Func: "Deriv", T: s.t + h, Index: i}
		}
		if r > e.Err {
			e.Component, e.Err = i, r
		}
	}
	return e
}

// attempt makes a step of size h and returns its error over the tolerance,
// NaN if the step failed.
func (s *Solver) attempt(h float64) float64 {
	tab := s.tab
	s.stats.LUs++
	s.lu.load(s.jac, 1/(h*tab.gamma))
	if !s.lu.factor() {
		return math.NaN()
	}
	clear(s.x)
	s.stage(0, h, s.f)
	hinv := 1 / h
	for i := 1; i < tab.stages; i++ {
		if i < tab.tail {
			combine(i, s.z, s.y, s.x, s.us, &tab.a[i], &tab.c[i], hinv)
		} else {
			advance(i, s.z, s.x, s.us, &tab.c[i], hinv)
		}
		s.deriv(s.t+tab.alpha[i]*h, s.z, s.g)
		s.stage(i, h, s.g)
	}
	return s.finish()
}

// stage adds f and ∂f/∂t to the right side x of stage i and solves for U_i.
func (s *Solver) stage(i int, h float64, f []float64) {
	addTo(s.x, f, 1)
	if d := s.tab.d[i]; d != 0 && !s.opt.Autonomous {
		addTo(s.x, s.ft, h*d)
	}
	s.lu.solve(s.x)
	for b := range s.us {
		// By elements: a copy of the block would wait for the stores of solve.
		u, x := &s.us[b][i&7], &s.x[b]
		u[0], u[1], u[2], u[3] = x[0], x[1], x[2], x[3]
	}
}

// finish adds the last stage to z and returns the norm of the error.
func (s *Solver) finish() float64 {
	last := s.tab.stages - 1
	rel := s.opt.RelTol
	var sum float64
	for b := range s.us {
		u := &s.us[b][last&7]
		y, z, tol := (*block)(s.y[4*b:]), (*block)(s.z[4*b:]), (*block)(s.tol[4*b:])
		for r := range lanes {
			z[r] += u[r]
			e := u[r] / (tol[r] + rel*max(math.Abs(y[r]), math.Abs(z[r])))
			sum += e * e
		}
	}
	return math.Sqrt(sum / float64(s.n))
}
