package ode

import (
	"math"
	"testing"
)

// arenstorf is the restricted three-body problem (Hairer, Nørsett & Wanner,
// Solving ODEs I, II.0): after one period the orbit is back at its start.
type arenstorf struct{}

func (arenstorf) Dim() int { return 4 }
func (arenstorf) Deriv(_ float64, y, dy []float64) {
	const mu = 0.012277471
	a, b := y[0]+mu, y[0]-(1-mu)
	d1 := math.Pow(a*a+y[1]*y[1], 1.5)
	d2 := math.Pow(b*b+y[1]*y[1], 1.5)
	dy[0], dy[1] = y[2], y[3]
	dy[2] = y[0] + 2*y[3] - (1-mu)*a/d1 - mu*b/d2
	dy[3] = y[1] - 2*y[2] - (1-mu)*y[1]/d1 - mu*y[1]/d2
}

func TestArenstorf(t *testing.T) {
	last := math.Inf(1)
	for _, tol := range []float64{1e-6, 1e-8, 1e-10, 1e-12} {
		start := []float64{0.994, 0, 0, -2.00158510637908252240537862224}
		y := append([]float64(nil), start...)
		s := mustNew(t, arenstorf{}, Options{RelTol: tol, AbsTol: []float64{tol}, Autonomous: true})
		if _, err := s.Run(0, y, 17.0652165601579625588917206249, nil); err != nil {
			t.Fatal(err)
		}
		// The orbit magnifies an early error of position by some 1e4.
		e := math.Hypot(y[0]-start[0], y[1])
		if !(e < 2e4*tol) || e > last/5 {
			t.Errorf("tol %g: orbit misses its start by %g (before %g)", tol, e, last)
		}
		last = e
	}
}

// linear is y' = A·y with A = V·diag(λ)·V⁻¹ in 2×2 blocks (a pair a±ib) and
// single values, mixed by reflections H = I - 2·v·vᵀ: y = H·exp(Λt)·H·y0.
type linear struct {
	pairs [][2]float64 // a, b; b = 0 for single values
	n     int
	a     []float64
}

func newLinear(pairs [][2]float64) *linear {
	l := &linear{pairs: pairs}
	for _, p := range pairs {
		l.n++
		if p[1] != 0 {
			l.n++
		}
	}
	l.a = make([]float64, l.n*l.n)
	e := make([]float64, l.n)
	for j := range l.n {
		clear(e)
		e[j] = 1
		l.mirror(e)
		l.apply(e, func(a, b, x, y float64) (float64, float64) { return a*x + b*y, a*y - b*x })
		l.mirror(e)
		for i := range e {
			l.a[i*l.n+j] = e[i]
		}
	}
	return l
}

func (l *linear) mirror(x []float64) {
	var s, v float64
	for i := range x {
		w := float64(i + 1)
		s += w * x[i]
		v += w * w
	}
	for i := range x {
		x[i] -= 2 * s / v * float64(i+1)
	}
}

func (l *linear) apply(x []float64, f func(a, b, x, y float64) (float64, float64)) {
	i := 0
	for _, p := range l.pairs {
		if p[1] == 0 {
			x[i], _ = f(p[0], 0, x[i], 0)
			i++
		} else {
			x[i], x[i+1] = f(p[0], p[1], x[i], x[i+1])
			i += 2
		}
	}
}

func (l *linear) exact(t float64, y []float64) {
	l.mirror(y)
	l.apply(y, func(a, b, x, y float64) (float64, float64) {
		e, c, s := math.Exp(a*t), math.Cos(b*t), math.Sin(b*t)
		return e * (c*x + s*y), e * (c*y - s*x)
	})
	l.mirror(y)
}

func (l *linear) Dim() int { return l.n }
func (l *linear) Deriv(_ float64, y, dy []float64) {
	for i := range dy {
		dy[i] = 0
		for j, v := range y {
			dy[i] += l.a[i*l.n+j] * v
		}
	}
}
func (l *linear) Jac(_ float64, _, jac []float64) { copy(jac, l.a) }

// Linear systems of every size that the blocks of the solver split
// differently, with eigenvalues from -1e7 to 0 and oscillations.
func TestLinear(t *testing.T) {
	values := [][2]float64{{-0.3, 0}, {-1e7, 0}, {-0.1, 2}, {-1e4, 0}, {0, 0}, {-50, 300}, {-1, 0}, {-1e3, 0}, {-2, 5}, {-1e5, 1e5}, {-3, 0}}
	for k := 1; k <= len(values); k++ {
		l := newLinear(values[:k])
		y, want := make([]float64, l.n), make([]float64, l.n)
		for i := range y {
			y[i] = math.Sin(float64(2*i + 1))
		}
		copy(want, y)
		l.exact(2, want)
		for _, tol := range []float64{1e-5, 1e-8} {
			got := append([]float64(nil), y...)
			s := mustNew(t, l, Options{RelTol: tol, AbsTol: []float64{tol}, Autonomous: true})
			if _, err := s.Run(0, got, 2, nil); err != nil {
				t.Fatal(err)
			}
			if e := distance(got, want); !(e < 10*tol) {
				t.Errorf("n=%d tol %g: error %.3g", l.n, tol, e)
			}
		}
	}
}

// pushed starts at rest and without force: y” = t² - y, y = t² - 2 + 2·cos t.
// With differences, nothing tells the size of the increments at the start.
type pushed struct{}

func (pushed) Dim() int                            { return 2 }
func (pushed) Deriv(t float64, y, dy []float64)    { dy[0], dy[1] = y[1], t*t-y[0] }
func (pushed) DerivT(t float64, _, dfdt []float64) { dfdt[1] = 2 * t }

func TestStartFromRest(t *testing.T) {
	for _, sys := range []System{pushed{}, numeric{pushed{}}} {
		for _, tol := range []float64{1e-4, 1e-8} {
			y := []float64{0, 0}
			s := mustNew(t, sys, Options{RelTol: tol, AbsTol: []float64{tol}})
			st, err := s.Run(0, y, 10, nil)
			want := []float64{98 + 2*math.Cos(10), 20 - 2*math.Sin(10)}
			if e := distance(y, want); err != nil || !(e < 100*tol) || st.Steps > 300 {
				t.Errorf("%T, tol %g: %v, off by %g, %+v", sys, tol, err, e, st)
			}
		}
	}
}
