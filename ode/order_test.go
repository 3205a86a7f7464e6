package ode

import (
	"math"
	"testing"
)

// kaps is the singular perturbation problem of P. Kaps with the exact
// solution y1 = exp(-2t), y2 = exp(-t) for every ε (Hairer & Wanner II, VI).
type kaps struct{ e float64 }

func (kaps) Dim() int { return 2 }
func (k kaps) Deriv(_ float64, y, dy []float64) {
	dy[0] = -(1/k.e+2)*y[0] + y[1]*y[1]/k.e
	dy[1] = y[0] - y[1] - y[1]*y[1]
}
func (k kaps) Jac(_ float64, y, jac []float64) {
	jac[0], jac[1] = -(1/k.e + 2), 2*y[1]/k.e
	jac[2], jac[3] = 1, -1-2*y[1]
}

// rational is y' = -2t·y², y = 1/(1+t²): nonlinear, not autonomous. The second
// state is the same with the opposite sign, coupled.
type rational struct{}

func (rational) Dim() int { return 2 }
func (rational) Deriv(t float64, y, dy []float64) {
	dy[0] = 2 * t * y[0] * y[1]
	dy[1] = 2 * t * y[0] * y[0]
}
func (rational) Jac(t float64, y, jac []float64) {
	jac[0], jac[1] = 2*t*y[1], 2*t*y[0]
	jac[2] = 4 * t * y[0]
}
func (rational) DerivT(_ float64, y, ft []float64) {
	ft[0] = 2 * y[0] * y[1]
	ft[1] = 2 * y[0] * y[0]
}

// prothero is y' = λ(y - sin t) + cos t, y = sin t for every λ (A. Prothero,
// A. Robinson, Math. Comp. 28 (1974) 145).
type prothero struct{ lambda float64 }

func (prothero) Dim() int { return 1 }
func (p prothero) Deriv(t float64, y, dy []float64) {
	dy[0] = p.lambda*(y[0]-math.Sin(t)) + math.Cos(t)
}
func (p prothero) Jac(_ float64, _, jac []float64) { jac[0] = p.lambda }
func (p prothero) DerivT(t float64, _, ft []float64) {
	ft[0] = -p.lambda*math.Cos(t) - math.Sin(t)
}

// fixedRun integrates with steps of size h and returns the largest error at
// the ends of the steps and inside them.
func fixedRun(t *testing.T, sys System, m Method, t0, t1, h float64, exact func(float64, []float64)) (atEnd, inside float64) {
	t.Helper()
	s, err := New(sys, Options{Method: m, fixed: h})
	if err != nil {
		t.Fatal(err)
	}
	n := sys.Dim()
	y, got, want := make([]float64, n), make([]float64, n), make([]float64, n)
	exact(t0, y)
	_, err = s.Run(t0, y, t1, func(p *Step) error {
		exact(p.T1, want)
		atEnd = math.Max(atEnd, distance(p.Y, want))
		for _, th := range []float64{0.15, 0.4, 0.65, 0.9} {
			at := p.T0 + th*(p.T1-p.T0)
			if err := p.Interp(at, got); err != nil {
				return err
			}
			exact(at, want)
			inside = math.Max(inside, distance(got, want))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return atEnd, inside
}

func distance(a, b []float64) float64 {
	var d float64
	for i := range a {
		d = math.Max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// Observed orders by halving the step. Non-stiff: the order of the method (5,
// 4) at the ends of the steps and one more than the local order of the
// interpolant, at most that of the method, inside. Stiff, for Prothero &
// Robinson: order 3 for Rodas5P and 1 for Rodas4 (Steinebach 2023, table of
// orders; from memory), but from a small error; the interpolant keeps 4 and 3.
func TestObservedOrder(t *testing.T) {
	kapsExact := func(t float64, y []float64) { y[0], y[1] = math.Exp(-2*t), math.Exp(-t) }
	sine := func(t float64, y []float64) { y[0] = math.Sin(t) }
	cases := []struct {
		name   string
		sys    System
		t0, t1 float64
		exact  func(float64, []float64)
		n      int
		end    [2]float64 // orders of Rodas5P and Rodas4
		inside [2]float64
	}{
		{"Kaps, eps 1", kaps{1}, 0, 2, kapsExact, 32, [2]float64{5, 4}, [2]float64{5, 4}},
		{"rational", rational{}, 0.5, 2.5, func(t float64, y []float64) { y[0] = 1 / (1 + t*t); y[1] = -y[0] }, 64, [2]float64{5, 4}, [2]float64{5, 4}},
		{"Prothero-Robinson, -1", prothero{-1}, 0, 3, sine, 16, [2]float64{5, 4}, [2]float64{5, 4}},
		{"Prothero-Robinson, -1e6", prothero{-1e6}, 0, 3, sine, 32, [2]float64{3, 1}, [2]float64{4, 3}},
	}
	for _, c := range cases {
		for k, m := range methods {
			var end, in [3]float64
			for j := range 3 {
				end[j], in[j] = fixedRun(t, c.sys, m.m, c.t0, c.t1, (c.t1-c.t0)/float64(c.n<<j), c.exact)
			}
			for j := range 2 {
				p, q := math.Log2(end[j]/end[j+1]), math.Log2(in[j]/in[j+1])
				if math.Abs(p-c.end[k]) > 0.25 || math.Abs(q-c.inside[k]) > 0.25 {
					t.Errorf("%s, %s: orders %.2f and %.2f inside, want %g and %g (errors %.2g, %.2g)",
						c.name, m.name, p, q, c.end[k], c.inside[k], end, in)
				}
			}
		}
	}
	// Very stiff and nonlinear: no worse than the non-stiff limit.
	for k, m := range methods {
		end, in := fixedRun(t, kaps{1e-8}, m.m, 0, 2, 1.0/32, kapsExact)
		if end > []float64{1e-10, 1e-7}[k] || in > []float64{1e-7, 1e-5}[k] {
			t.Errorf("Kaps, eps 1e-8, %s: errors %.2g and %.2g", m.name, end, in)
		}
	}
}

// A wrong ∂f/∂t or Jacobian costs the order: with differences both methods
// keep it until round-off.
func TestDifferencesKeepOrder(t *testing.T) {
	exact := func(t float64, y []float64) { y[0] = 1 / (1 + t*t); y[1] = -y[0] }
	for k, m := range methods {
		a, _ := fixedRun(t, numeric{rational{}}, m.m, 0.5, 2.5, 1.0/16, exact)
		b, _ := fixedRun(t, numeric{rational{}}, m.m, 0.5, 2.5, 1.0/32, exact)
		if p := math.Log2(a / b); math.Abs(p-[]float64{5, 4}[k]) > 0.4 {
			t.Errorf("%s: order %.2f with differences (errors %g, %g)", m.name, p, a, b)
		}
	}
}
