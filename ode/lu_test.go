package ode

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// solveLU solves (s·I - jac)·x = b with the factorisation f.
func solveLU(t *testing.T, f *lu, jac []float64, s float64, b []float64) []float64 {
	t.Helper()
	f.load(jac, s)
	if !f.factor() {
		t.Fatal("singular")
	}
	x := make([]block, f.nb)
	for i, v := range b {
		x[i/lanes][i%lanes] = v
	}
	f.solve(x)
	out := make([]float64, len(b))
	for i := range out {
		out[i] = x[i/lanes][i%lanes]
	}
	for i := len(b); i < f.nb*lanes; i++ {
		if v := x[i/lanes][i%lanes]; v != 0 {
			t.Errorf("n=%d: filling at %d is %g", len(b), i, v)
		}
	}
	return out
}

// Against gonum, for every size, with matrices that need row exchanges and
// that come one after another, so that the order of rows is taken over.
func TestLU(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := 1; n <= 19; n++ {
		f := newLU(n)
		for k := range 40 {
			jac, b := make([]float64, n*n), make([]float64, n)
			for i := range jac {
				jac[i] = r.NormFloat64()
				if k%3 == 1 { // badly scaled, sparse
					jac[i] *= math.Exp(20 * (r.Float64() - 0.5))
					if r.Float64() < 0.4 {
						jac[i] = 0
					}
				}
			}
			for i := range b {
				b[i] = r.NormFloat64()
				if k%3 == 2 { // a cyclic exchange: zeros on the diagonal
					jac[i*n+i] = 0
				}
			}
			s := 0.0
			if k%3 == 1 || n == 1 {
				s = 3
			}
			e := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					e.Set(i, j, -jac[i*n+j])
				}
				e.Set(i, i, s-jac[i*n+i])
			}
			want := mat.NewVecDense(n, nil)
			if err := want.SolveVec(e, mat.NewVecDense(n, b)); err != nil {
				continue // too ill conditioned to compare
			}
			got := solveLU(t, f, jac, s, b)
			// Both are backward stable, so they agree to condition times ε.
			tol := 200 * eps * mat.Cond(e, 1) * mat.Norm(want, math.Inf(1))
			for i := range got {
				if d := math.Abs(got[i] - want.AtVec(i)); !(d <= tol) {
					t.Fatalf("n=%d, matrix %d: x%d off by %g, allowed %g", n, k, i, d, tol)
				}
			}
		}
	}
}

// A singular matrix is noticed, and a matrix of NaN leaves nothing behind.
func TestLUSingular(t *testing.T) {
	for n := 1; n <= 9; n++ {
		f := newLU(n)
		jac := make([]float64, n*n)
		if f.load(jac, 0); f.factor() {
			t.Errorf("n=%d: zero matrix passes for regular", n)
		}
		for i := range jac {
			jac[i] = math.NaN()
		}
		f.load(jac, 1)
		f.factor()
		clear(jac)
		b := make([]float64, n)
		for i := range b {
			b[i] = float64(i + 1)
		}
		for i, v := range solveLU(t, f, jac, 2, b) {
			if v != b[i]/2 {
				t.Errorf("n=%d: after NaN x%d = %g, want %g", n, i, v, b[i]/2)
			}
		}
	}
}

func BenchmarkLU(b *testing.B) {
	for _, n := range []int{3, 4, 8, 12, 16} {
		r := rand.New(rand.NewPCG(1, 2))
		f := newLU(n)
		a := make([]float64, n*n)
		for i := range a {
			a[i] = r.NormFloat64()
		}
		x := make([]block, f.nb)
		b.Run(fmt.Sprintf("factor%d", n), func(b *testing.B) {
			for b.Loop() {
				f.load(a, 10)
				f.factor()
			}
		})
		b.Run(fmt.Sprintf("solve%d", n), func(b *testing.B) {
			for b.Loop() {
				x[0][0] = 1
				f.solve(x)
			}
		})
	}
}
