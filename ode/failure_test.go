package ode

import (
	"errors"
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/num"
)

// quick is y' = f(t, y) from a function.
type quick func(t, y float64) float64

func (quick) Dim() int                           { return 1 }
func (f quick) Deriv(t float64, y, dy []float64) { dy[0] = f(t, y[0]) }

func TestFailures(t *testing.T) {
	run := func(f quick, o Options, y0, t1 float64) (Stats, error) {
		return mustNew(t, f, o).Run(0, []float64{y0}, t1, nil)
	}
	// y' = y², y = 1/(1-t): no solution beyond t = 1.
	var se *StepError
	st, err := run(func(_, y float64) float64 { return y * y }, Options{}, 1, 2)
	if !errors.As(err, &se) || math.Abs(se.T-1) > 1e-6 || se.Component != 0 || se.Step <= 0 || st.T != se.T {
		t.Errorf("blow-up: %v", err)
	}
	// Not defined from t = 1 on.
	var ne *NaNError
	_, err = run(func(tm, _ float64) float64 { return math.Log(1 - tm) }, Options{}, 1, 2)
	if !errors.As(err, &ne) || math.Abs(ne.T-1) > 1e-6 || ne.Func != "Deriv" {
		t.Errorf("undefined: %v", err)
	}
	_, err = run(func(_, y float64) float64 { return math.Sqrt(-y) }, Options{}, 1, 2)
	if !errors.As(err, &ne) || ne.T != 0 || ne.Index != 0 {
		t.Errorf("undefined at the start: %v", err)
	}
	// A domain that the solution touches but does not leave: y' = -2√y… stays ok.
	if _, err = run(func(_, y float64) float64 { return 1 - math.Sqrt(y) }, Options{}, 0, 50); err != nil {
		t.Errorf("edge of the domain: %v", err)
	}
	var le *StepLimitError
	if _, err = run(func(tm, y float64) float64 { return math.Cos(1e3 * tm) }, Options{MaxSteps: 50}, 0, 1e3); !errors.As(err, &le) || le.Steps != 50 {
		t.Errorf("step limit: %v", err)
	}
	calls := 0
	o := Options{MaxStep: 1e-3, Progress: func(tm float64) bool { calls++; return tm < 0.5 }}
	if st, err = run(func(_, y float64) float64 { return -y }, o, 1, 10); !errors.Is(err, ErrCanceled) || st.T < 0.5 || st.T > 0.6 || calls < 5 {
		t.Errorf("canceled: %v at %g", err, st.T)
	}
	mine := errors.New("enough")
	y := []float64{1}
	st, err = mustNew(t, quick(func(_, y float64) float64 { return -y }), Options{}).Run(0, y, 1, func(*Step) error { return mine })
	if err != mine || st.Steps != 1 || math.Abs(y[0]-math.Exp(-st.T)) > 1e-6 || st.T == 0 {
		t.Errorf("error of out: %v at %g", err, st.T)
	}
	for _, e := range []error{se, ne, le, &ZenoError{}, &JacobianError{}} {
		if len(e.Error()) < 20 {
			t.Errorf("%T says %q", e, e.Error())
		}
	}
}

func TestRangeErrors(t *testing.T) {
	var re *num.RangeError
	for _, o := range []Options{
		{Method: 7}, {RelTol: -1}, {RelTol: 1}, {RelTol: math.NaN()}, {AbsTol: []float64{1, 2, 3}}, {AbsTol: []float64{0}},
		{AbsTol: []float64{1, -1}}, {MaxStep: -1}, {FirstStep: math.NaN()}, {MaxSteps: -3}, {ZenoCount: -1}, {ZenoTime: math.Inf(1)},
	} {
		if _, err := New(oscillator{}, o); !errors.As(err, &re) {
			t.Errorf("%+v: %v", o, err)
		}
	}
	if _, err := New(newLinear(nil), Options{}); !errors.As(err, &re) {
		t.Errorf("no states: %v", err)
	}
	s := mustNew(t, oscillator{}, Options{})
	for _, c := range []struct {
		t0, t1 float64
		y      []float64
	}{{0, 1, []float64{1}}, {0, -1, []float64{1, 2}}, {math.NaN(), 1, []float64{1, 2}}, {0, math.Inf(1), []float64{1, 2}}, {0, 1, []float64{1, math.NaN()}}} {
		if _, err := s.Run(c.t0, c.y, c.t1, nil); !errors.As(err, &re) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	y := []float64{3, 4}
	if st, err := s.Run(2, y, 2, nil); err != nil || st.T != 2 || y[0] != 3 || y[1] != 4 {
		t.Errorf("empty run: %v %+v", err, st)
	}
	_, err := s.Run(0, y, 1, func(p *Step) error {
		if err := p.Interp(p.T1+p.T1-p.T0, y); !errors.As(err, &re) {
			t.Errorf("outside: %v", err)
		}
		if err := p.Interp(p.T1, make([]float64, 3)); !errors.As(err, &re) {
			t.Errorf("too long: %v", err)
		}
		return p.Interp(p.T1, nil)
	})
	if err != nil {
		t.Error(err)
	}
	if _, err = s.Run(1, []float64{0, 1}, 2, At([]float64{0.5}, func(float64, []float64) error { return nil })); !errors.As(err, &re) {
		t.Errorf("time before the start: %v", err)
	}
}

// square is y' = y² with a Jacobian, which may be unusable.
type square struct{ jac float64 }

func (square) Dim() int                            { return 1 }
func (square) Deriv(_ float64, y, dy []float64)    { dy[0] = y[0] * y[0] }
func (square) DerivT(_ float64, _, dfdt []float64) {}
func (s square) Jac(_ float64, y, jac []float64)   { jac[0] = s.jac * y[0] }

func TestFailuresWithJacobian(t *testing.T) {
	var se *StepError
	if _, err := mustNew(t, square{2}, Options{}).Run(0, []float64{1}, 2, nil); !errors.As(err, &se) || math.Abs(se.T-1) > 1e-6 {
		t.Errorf("blow-up: %v", err)
	}
	var ne *NaNError
	if _, err := mustNew(t, square{math.NaN()}, Options{}).Run(0, []float64{1}, 2, nil); !errors.As(err, &ne) || ne.Func != "Jac" || ne.Index != 0 {
		t.Errorf("NaN in the Jacobian: %v", err)
	}
}

// The domain of f may end with the run: the difference for ∂f/∂t then looks
// back.
func TestEndOfDomain(t *testing.T) {
	f := quick(func(tm, y float64) float64 {
		if tm > 1 {
			return math.NaN()
		}
		return math.Cos(tm) - y
	})
	y := []float64{1}
	if _, err := mustNew(t, f, Options{}).Run(1-1e-9, y, 1, nil); err != nil || y[0] >= 1 {
		t.Errorf("%v, y = %v", err, y)
	}
}
