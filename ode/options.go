package ode

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Options steer a Solver. The zero value is usable.
type Options struct {
	// Method is the Rosenbrock method, Rodas5P if not set.
	Method Method

	// RelTol and AbsTol bound the local error of each step: the root mean
	// square over the states of error/(AbsTol + RelTol·|y|) is kept below 1.
	// AbsTol has one value for all states or one for each, in the unit of the
	// state. Defaults: 1e-6 and 1e-9.
	RelTol float64
	AbsTol []float64

	// FirstStep is tried first; 0 means that the solver guesses.
	FirstStep float64
	// MaxStep bounds every step; 0 means no bound. It also bounds what the
	// search for events can overlook.
	MaxStep float64
	// MaxSteps bounds the number of steps tried in a run; 0 means a million.
	MaxSteps int

	// Autonomous promises that Deriv does not depend on t, which saves one
	// call a step. A false promise costs the order of the method.
	Autonomous bool

	// EventSamples is the number of points inside a step at which the
	// switching functions are looked at besides its end; 0 means 2, a
	// negative number means none.
	EventSamples int
	// More than ZenoCount passages of one switching function within ZenoTime
	// are a *ZenoError; 0 means 5, and 1e-10 of the length of the run.
	ZenoCount int
	ZenoTime  float64

	// Progress, if set, is called every 64 steps; the run ends with
	// ErrCanceled as soon as it returns false.
	Progress func(t float64) bool

	fixed float64 // step size without control, for tests of the order
}

// withDefaults checks o and fills what is not set, for n states.
func (o Options) withDefaults(n int) (Options, error) {
	if o.Method.tableau() == nil {
		return o, &num.RangeError{Func: "ode.New", Name: "Method", Value: float64(o.Method), Want: "Rodas5P or Rodas4"}
	}
	if o.RelTol == 0 {
		o.RelTol = 1e-6
	}
	if err := num.CheckRange("ode.New", "RelTol", o.RelTol, 1e-14, 0.1, ""); err != nil {
		return o, err
	}
	tol, err := o.absTol(n)
	if err != nil {
		return o, err
	}
	o.AbsTol = tol
	for _, c := range []struct {
		name string
		v    float64
	}{{"FirstStep", o.FirstStep}, {"MaxStep", o.MaxStep}, {"MaxSteps", float64(o.MaxSteps)},
		{"ZenoCount", float64(o.ZenoCount)}, {"ZenoTime", o.ZenoTime}} {
		if err := num.CheckRange("ode.New", c.name, c.v, 0, math.Inf(1), ""); err != nil {
			return o, err
		}
	}
	if o.MaxStep == 0 {
		o.MaxStep = math.Inf(1)
	}
	if o.MaxSteps == 0 {
		o.MaxSteps = 1_000_000
	}
	if o.EventSamples == 0 {
		o.EventSamples = 2
	}
	if o.ZenoCount == 0 {
		o.ZenoCount = 5
	}
	return o, nil
}

// absTol returns one tolerance for each of n states.
func (o Options) absTol(n int) ([]float64, error) {
	given := o.AbsTol
	if len(given) == 0 {
		given = []float64{1e-9}
	}
	if len(given) != 1 && len(given) != n {
		return nil, &num.RangeError{Func: "ode.New", Name: "len(AbsTol)", Value: float64(len(given)), Want: "0, 1 or Dim()"}
	}
	tol := make([]float64, n)
	for i := range tol {
		tol[i] = given[i%len(given)]
		if err := num.CheckPositive("ode.New", "AbsTol", tol[i], ""); err != nil {
			return nil, err
		}
	}
	return tol, nil
}
