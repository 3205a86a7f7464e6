package ode

import (
	"github.com/evenstroke/evenstroke/num"
)

// Step is a stretch of the solution between two times, as Run hands it out.
// It is valid only during the call.
type Step struct {
	T0, T1 float64   // the stretch
	Y      []float64 // state at T1, before an event at T1 is handled
	Fired  []int     // events at T1, in the order in which they will be handled

	s      *Solver
	t, t1  float64 // the whole step of the method, of which the stretch may be a part
	h      float64
	dense  [][3]block // coefficients of the interpolant, filled when first used
	filled bool
}

// set begins a step of the method from t to t1.
func (p *Step) set(t, t1, h float64) {
	p.t, p.t1, p.h, p.filled = t, t1, h, false
	p.T0, p.T1 = t, t1
	p.Y, p.Fired = p.s.z[:p.s.n], nil
}

// Interp sets dst[i] = y_i(t) for the first len(dst) states, T0 <= t <= T1,
// from the continuous extension of the method:
//
//	y(t) = (1-θ)·y0 + θ·(y1 + (1-θ)·(k1 + θ·(k2 + θ·k3))),  θ = (t-t0)/h
//
// Its error is of the order of the tolerance. It returns a *num.RangeError
// if t is outside or dst longer than the state.
func (p *Step) Interp(t float64, dst []float64) error {
	slack := 1e-9 * p.h
	if err := num.CheckRange("ode.Interp", "t", t, p.T0-slack, p.T1+slack, "s"); err != nil {
		return err
	}
	if len(dst) > p.s.n {
		return &num.RangeError{Func: "ode.Interp", Name: "len(dst)", Value: float64(len(dst)), Want: "<= Dim()"}
	}
	p.at((t-p.t)/p.h, dst)
	return nil
}

// at evaluates the interpolant at θ.
func (p *Step) at(th float64, dst []float64) {
	if !p.filled {
		p.fill()
	}
	y0, y1 := p.s.y, p.s.z
	om := 1 - th
	for i := range dst {
		k := &p.dense[i/lanes]
		r := i % lanes
		dst[i] = om*y0[i] + th*(y1[i]+om*(k[0][r]+th*(k[1][r]+th*k[2][r])))
	}
}

// fill computes the coefficients of the interpolant.
func (p *Step) fill() {
	p.filled = true
	for b := range p.dense {
		u, d := &p.s.us[b], &p.dense[b]
		for k := range d {
			w := &p.s.tab.dense[k]
			for r := range lanes {
				d[k][r] = (w[0]*u[0][r] + w[1]*u[1][r] + w[2]*u[2][r] + w[3]*u[3][r]) +
					(w[4]*u[4][r] + w[5]*u[5][r] + w[6]*u[6][r] + w[7]*u[7][r])
			}
		}
	}
}
