package ode

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

const eps = 0x1p-52

// Stats counts the work of a run.
type Stats struct {
	T        float64 // time reached
	Steps    int     // accepted steps
	Rejected int     // rejected steps
	Derivs   int     // calls of Deriv, those for differences included
	Jacs     int     // Jacobians
	LUs      int     // factorisations
	Events   int     // events handled
	NextStep float64 // step size that the solver would try next
	Stopped  bool    // an event handler ended the run
}

// Solver integrates one System. It keeps all work space, so that a run does
// not allocate. It is not for use by several goroutines at once.
type Solver struct {
	sys   System
	jacer Jacobian
	timer TimeDerivative
	opt   Options
	tab   *tableau
	n     int

	t, h, end float64
	y, z      []float64 // state and new state, filled up to blocks of four
	f, g      []float64 // their derivatives
	ft        []float64 // ∂f/∂t
	jac       []float64 // row-major
	x         []block   // right side and solution of a stage
	us        []stages
	lu        *lu
	tol       []float64
	haveJac   bool

	ctl   control
	step  Step
	ev    events
	stats Stats
}

// New returns a Solver for sys. It returns a *num.RangeError if the system
// has no states or an option is out of range.
func New(sys System, opt Options) (*Solver, error) {
	n := sys.Dim()
	if err := num.CheckRange("ode.New", "Dim", float64(n), 1, 1000, ""); err != nil {
		return nil, err
	}
	opt, err := opt.withDefaults(n)
	if err != nil {
		return nil, err
	}
	s := &Solver{sys: sys, opt: opt, tab: opt.Method.tableau(), n: n, lu: newLU(n)}
	s.jacer, _ = sys.(Jacobian)
	s.timer, _ = sys.(TimeDerivative)
	nb := s.lu.nb
	s.y, s.z = make([]float64, lanes*nb), make([]float64, lanes*nb)
	s.f, s.g = make([]float64, lanes*nb), make([]float64, lanes*nb)
	s.ft, s.tol = make([]float64, lanes*nb), make([]float64, lanes*nb)
	s.jac = make([]float64, n*n)
	s.x, s.us = make([]block, nb), make([]stages, nb)
	s.step.dense = make([][3]block, nb)
	s.step.s = s
	for i := range s.tol {
		s.tol[i] = 1
	}
	copy(s.tol, opt.AbsTol)
	if sw, ok := sys.(Events); ok {
		s.ev.init(s, sw)
	}
	return s, nil
}

// Run integrates from (t0, y) to t1 > t0. On return y holds the state reached,
// at Stats.T; that is t1 unless an event handler stopped the run or an error
// is returned. out, if not nil, is called for each accepted step, in order and
// without gaps; an error from it ends the run and is returned.
//
// Errors: *num.RangeError, *StepError, *StepLimitError, *NaNError,
// *ZenoError, ErrCanceled.
func (s *Solver) Run(t0 float64, y []float64, t1 float64, out func(*Step) error) (Stats, error) {
	if err := s.begin(t0, y, t1); err != nil {
		return Stats{T: t0}, err
	}
	err := s.run(out)
	copy(y, s.y[:s.n])
	s.stats.T, s.stats.NextStep = s.t, s.h
	return s.stats, err
}

func (s *Solver) run(out func(*Step) error) error {
	if s.t >= s.end {
		return nil
	}
	if err := s.restart(s.opt.FirstStep); err != nil {
		return err
	}
	s.ev.begin(s.end - s.t)
	if err := s.ev.arm(s.t, s.y, s.f); err != nil {
		return err
	}
	for s.t < s.end && !s.stats.Stopped {
		if err := s.advance(); err != nil {
			return err
		}
		if err := s.deliver(out); err != nil {
			return err
		}
		if s.opt.Progress != nil && s.stats.Steps%64 == 0 && !s.opt.Progress(s.t) {
			return ErrCanceled
		}
	}
	return nil
}

// deliver hands the step out, in stretches between events, and moves on to
// its end or to the restart after an event.
func (s *Solver) deliver(out func(*Step) error) error {
	p, e := &s.step, &s.ev
	th := 0.0
	for e.n > 0 {
		next, found, err := e.search(th)
		if err != nil {
			return err
		}
		if !found {
			break
		}
		th = next
		p.T1, p.Y, p.Fired = p.t+th*p.h, e.y[:s.n], e.fired
		if out != nil {
			if err := out(p); err != nil {
				s.moveTo(p.T1, e.y)
				return err
			}
		}
		act, err := e.handle(p.T1)
		if err != nil || act != Continue {
			s.moveTo(p.T1, e.y)
			return s.resume(act, err)
		}
		if err := e.rearm(th); err != nil {
			return err
		}
		p.T0 = p.T1
	}
	p.T1, p.Y, p.Fired = p.t1, s.z[:s.n], nil
	var err error
	if out != nil {
		err = out(p)
	}
	s.t, s.haveJac = p.t1, false
	s.y, s.z = s.z, s.y
	s.f, s.g = s.g, s.f
	return err
}

// moveTo makes (t, y) the state reached.
func (s *Solver) moveTo(t float64, y []float64) {
	s.t = t
	copy(s.y, y)
}

// resume goes on after an event as its handlers want.
func (s *Solver) resume(act Action, err error) error {
	if act == Stop || err != nil {
		s.stats.Stopped = err == nil
		return err
	}
	if s.t >= s.end {
		return nil
	}
	h := s.h
	if act == Reguess {
		h = 0
	}
	if err := s.restart(h); err != nil {
		return err
	}
	return s.ev.arm(s.t, s.y, s.f)
}

// begin takes over the arguments of Run.
func (s *Solver) begin(t0 float64, y []float64, t1 float64) error {
	if len(y) != s.n {
		return &num.RangeError{Func: "ode.Run", Name: "len(y)", Value: float64(len(y)), Want: "Dim()"}
	}
	if err := num.CheckFinite("ode.Run", "t0", t0, "s"); err != nil {
		return err
	}
	if err := num.CheckRange("ode.Run", "t1", t1, t0, math.Inf(1), "s"); err != nil {
		return err
	}
	for _, v := range y {
		if err := num.CheckFinite("ode.Run", "y", v, ""); err != nil {
			return err
		}
	}
	copy(s.y, y)
	s.t, s.end = t0, t1
	s.stats = Stats{}
	s.lu.reset()
	return nil
}

// restart begins a smooth stretch at (t, y) with step size h, or with a guess
// if h is 0.
func (s *Solver) restart(h float64) error {
	s.deriv(s.t, s.y, s.f)
	if i := notFinite(s.f[:s.n]); i >= 0 {
		return &NaNError{Func: "Deriv", T: s.t, Index: i}
	}
	s.haveJac = false
	s.ctl = control{}
	if h == 0 {
		h = s.firstStep()
	}
	s.h = math.Min(h, s.opt.MaxStep)
	return nil
}

// deriv calls the system.
func (s *Solver) deriv(t float64, y, dy []float64) {
	s.stats.Derivs++
	s.sys.Deriv(t, y[:s.n], dy[:s.n])
}

// notFinite returns the first index of v whose value is NaN or infinite, -1
// if there is none.
func notFinite(v []float64) int {
	for i, x := range v {
		if x-x != 0 {
			return i
		}
	}
	return -1
}
