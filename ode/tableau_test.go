package ode

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// A rooted tree is the list of the trees that hang from its root.
type tree []tree

func (t tree) order() int {
	n := 1
	for _, s := range t {
		n += s.order()
	}
	return n
}

// density is γ(t) of Butcher's theory.
func (t tree) density() float64 {
	g := float64(t.order())
	for _, s := range t {
		g *= s.density()
	}
	return g
}

// rootedTrees returns all rooted trees by order, up to most nodes.
func rootedTrees(most int) [][]tree {
	all := make([][]tree, most+1)
	all[1] = []tree{nil}
	for n := 2; n <= most; n++ {
		// Choose sub-trees in descending (order, index), so that none repeats.
		var grow func(left, order, index int, so tree)
		grow = func(left, order, index int, so tree) {
			if left == 0 {
				all[n] = append(all[n], append(tree(nil), so...))
				return
			}
			for o := min(left, order); o > 0; o-- {
				for i := len(all[o]) - 1; i >= 0; i-- {
					if o == order && i > index {
						continue
					}
					grow(left-o, o, i, append(so, all[o][i]))
				}
			}
		}
		grow(n-1, n-1, math.MaxInt, nil)
	}
	return all
}

// Number of rooted trees with 1 … 8 nodes: 1 1 2 4 9 20 48 115 (OEIS A000081;
// Hairer, Nørsett & Wanner, Solving ODEs I, table II.2.1).
func TestRootedTrees(t *testing.T) {
	for n, want := range []int{0, 1, 1, 2, 4, 9, 20, 48, 115} {
		if got := len(rootedTrees(8)[n]); got != want {
			t.Errorf("%d trees of order %d, want %d", got, n, want)
		}
	}
}

// classic is a method in the classical coefficients α_ij, γ_ij, b_i of
// Hairer & Wanner II, IV.7, eq. 7.4.
type classic struct {
	s           int
	alpha, beta *mat.Dense // β = α + γ
	gamma       *mat.Dense
}

func newClassic(t *testing.T, tab *tableau) classic {
	t.Helper()
	s := tab.stages
	inv, a := mat.NewDense(s, s, nil), mat.NewDense(s, s, nil)
	for i := range s {
		inv.Set(i, i, 1/tab.gamma)
		for j := range i {
			inv.Set(i, j, -tab.c[i][j])
			a.Set(i, j, tab.a[i][j])
		}
	}
	c := classic{s: s, alpha: new(mat.Dense), beta: new(mat.Dense), gamma: new(mat.Dense)}
	if err := c.gamma.Inverse(inv); err != nil {
		t.Fatal(err)
	}
	c.alpha.Mul(a, c.gamma)
	c.beta.Add(c.alpha, c.gamma)
	return c
}

// weights turns the factors m of U into the weights b of the stages.
func (c classic) weights(m []float64) []float64 {
	b := new(mat.Dense)
	b.Mul(mat.NewDense(1, c.s, m), c.gamma)
	return b.RawRowView(0)
}

// phi is the elementary weight of a tree for each stage: a node with one
// branch takes β, a node with several takes α (Hairer & Wanner II, IV.7,
// theorem 7.4).
func (c classic) phi(t tree) []float64 {
	out := make([]float64, c.s)
	for i := range out {
		out[i] = 1
	}
	by := c.alpha
	if len(t) == 1 {
		by = c.beta
	}
	for _, sub := range t {
		v := mat.NewVecDense(c.s, nil)
		v.MulVec(by, mat.NewVecDense(c.s, c.phi(sub)))
		for i := range out {
			out[i] *= v.AtVec(i)
		}
	}
	return out
}

// misfit is the largest violation of the order conditions of one order at
// θ: Σ b_i·Φ_i(t) = θ^order/γ(t).
func (c classic) misfit(b []float64, trees []tree, th float64) float64 {
	var worst float64
	for _, tr := range trees {
		sum := -math.Pow(th, float64(tr.order())) / tr.density()
		for i, p := range c.phi(tr) {
			sum += b[i] * p
		}
		worst = math.Max(worst, math.Abs(sum))
	}
	return worst
}

// factors of U in the solution, the embedded solution and the interpolant.
func (tab *tableau) solution() []float64 {
	m := append([]float64(nil), tab.a[tab.stages-1][:tab.stages]...)
	m[tab.stages-1] = 1
	return m
}

func (tab *tableau) embedded() []float64 {
	return append([]float64(nil), tab.a[tab.stages-1][:tab.stages]...)
}

func (tab *tableau) interpolant(th float64) []float64 {
	m := tab.solution()
	for j := range m {
		k := tab.dense[0][j] + th*(tab.dense[1][j]+th*tab.dense[2][j])
		m[j] = th * (m[j] + (1-th)*k)
	}
	return m
}

var methods = []struct {
	name  string
	m     Method
	dense int // order of the interpolant
}{{"Rodas5P", Rodas5P, 4}, {"Rodas4", Rodas4, 3}}

// The order conditions by rooted trees, which a wrong digit in any
// coefficient violates: solution to order p and not p+1, error estimate to
// p-1 and not p, interpolant to its order.
func TestOrderConditions(t *testing.T) {
	const tol = 5e-14 // coefficients have 16 digits and magnitudes up to 150
	all := rootedTrees(6)
	for _, m := range methods {
		tab := m.m.tableau()
		c := newClassic(t, tab)
		b, hat := c.weights(tab.solution()), c.weights(tab.embedded())
		check := func(what string, b []float64, order int, th float64) {
			t.Helper()
			for n := 1; n <= order; n++ {
				if e := c.misfit(b, all[n], th); e > tol {
					t.Errorf("%s: %s violates order %d by %.2g", m.name, what, n, e)
				}
			}
			if e := c.misfit(b, all[order+1], th); e < 1e-4 {
				t.Errorf("%s: %s seems to have order %d", m.name, what, order+1)
			}
		}
		check("solution", b, tab.order, 1)
		check("error estimate", hat, tab.order-1, 1)
		for _, th := range []float64{0.1, 0.35, 0.8} {
			check("interpolant", c.weights(tab.interpolant(th)), m.dense, th)
		}
	}
}

// α_i and d_i are the row sums of α and γ, the tail rows are as documented,
// and the rows of a and c hold nothing on or above the diagonal.
func TestRowSums(t *testing.T) {
	for _, m := range methods {
		tab := m.m.tableau()
		c := newClassic(t, tab)
		for i := range tab.stages {
			if e := mat.Sum(c.alpha.RowView(i)) - tab.alpha[i]; math.Abs(e) > 5e-14 {
				t.Errorf("%s: α_%d off by %.2g", m.name, i+1, e)
			}
			if e := mat.Sum(c.gamma.RowView(i)) - tab.d[i]; math.Abs(e) > 5e-14 {
				t.Errorf("%s: d_%d off by %.2g", m.name, i+1, e)
			}
			for j := i; j < maxStages; j++ {
				if tab.a[i][j] != 0 || tab.c[i][j] != 0 {
					t.Errorf("%s: element (%d, %d) of a or c", m.name, i+1, j+1)
				}
			}
			if i >= tab.tail {
				want := tab.a[i-1]
				want[i-1]++
				if want != tab.a[i] {
					t.Errorf("%s: row %d is not the row before plus one", m.name, i+1)
				}
			}
		}
	}
}

// stability is R(z) = 1 + z·bᵀ(I - z·β)⁻¹·1 (Hairer & Wanner II, eq. 7.14).
func (c classic) stability(b []float64, re, im float64) float64 {
	// (I - z·β)·x = 1 as a real system of twice the size.
	s := c.s
	a, one := mat.NewDense(2*s, 2*s, nil), mat.NewVecDense(2*s, nil)
	for i := range s {
		one.SetVec(i, 1)
		for j := range s {
			v := c.beta.At(i, j)
			e := 0.0
			if i == j {
				e = 1
			}
			a.Set(i, j, e-re*v)
			a.Set(i+s, j+s, e-re*v)
			a.Set(i, j+s, im*v)
			a.Set(i+s, j, -im*v)
		}
	}
	x := mat.NewVecDense(2*s, nil)
	if err := x.SolveVec(a, one); err != nil {
		return math.NaN()
	}
	u, v := 0.0, 0.0
	for i := range s {
		u += b[i] * x.AtVec(i)
		v += b[i] * x.AtVec(i+s)
	}
	return math.Hypot(1+re*u-im*v, re*v+im*u)
}

// L-stability: |R(iy)| <= 1 on the imaginary axis (R has its poles at 1/γ > 0,
// so by the maximum principle that is A-stability) and R -> 0 at infinity, for
// the solution and for the error estimate.
func TestLStable(t *testing.T) {
	for _, m := range methods {
		tab := m.m.tableau()
		c := newClassic(t, tab)
		for what, b := range map[string][]float64{"solution": c.weights(tab.solution()), "estimate": c.weights(tab.embedded())} {
			for y := 1e-3; y < 1e6; y *= 1.05 {
				if r := c.stability(b, 0, y); !(r <= 1+1e-12) && what == "solution" {
					t.Errorf("%s: |R(%gi)| = %g", m.name, y, r)
				}
			}
			if r := c.stability(b, -1e9, 0); !(r < 1e-7) {
				t.Errorf("%s: R of the %s at -1e9 is %g", m.name, what, r)
			}
			if r := c.stability(b, -0.1, 0) - math.Exp(-0.1); !(math.Abs(r) < 1e-5) {
				t.Errorf("%s: R of the %s at -0.1 is off by %g", m.name, what, r)
			}
		}
	}
}

// stiffMisfit is the largest violation, for k = 2 … order-1, of
//
//	Σ b_i·ω_ij·α_j^k = θ^k         (ω = β⁻¹)
//	Σ b_i·(ω²)_ij·α_j^k = k·θ^(k-1)  if second is set
//
// The first are conditions for differential-algebraic equations of index 1
// (Hairer & Wanner II, VI.4); the second are what keeps the order in the limit
// of Prothero & Robinson (Steinebach 2023).
func (c classic) stiffMisfit(t *testing.T, b, alpha []float64, order int, th float64, second bool) float64 {
	var worst float64
	for k := 2; k < order; k++ {
		x := mat.NewVecDense(c.s, nil)
		for i := range c.s {
			x.SetVec(i, math.Pow(alpha[i], float64(k)))
		}
		want := math.Pow(th, float64(k))
		for range 2 {
			if err := x.SolveVec(c.beta, x); err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(mat.Dot(mat.NewVecDense(c.s, b), x)-want))
			if !second {
				break
			}
			want = float64(k) * math.Pow(th, float64(k-1))
		}
	}
	return worst
}

// worstMisfit is the largest violation of anything that the coefficients of a
// method have to satisfy.
func worstMisfit(t *testing.T, tab *tableau, trees [][]tree, dense int) float64 {
	c := newClassic(t, tab)
	var worst float64
	note := func(e float64) { worst = math.Max(worst, math.Abs(e)) }
	for n := 1; n <= tab.order; n++ {
		note(c.misfit(c.weights(tab.solution()), trees[n], 1))
		if n < tab.order {
			note(c.misfit(c.weights(tab.embedded()), trees[n], 1))
		}
		if n <= dense {
			note(c.misfit(c.weights(tab.interpolant(0.3)), trees[n], 0.3))
			note(c.misfit(c.weights(tab.interpolant(0.8)), trees[n], 0.8))
		}
	}
	for _, th := range []float64{0.3, 0.8} {
		note(c.stiffMisfit(t, c.weights(tab.interpolant(th)), tab.alpha[:], dense, th, tab.order == 5))
	}
	for i := range tab.stages {
		note(mat.Sum(c.alpha.RowView(i)) - tab.alpha[i])
		note(mat.Sum(c.gamma.RowView(i)) - tab.d[i])
	}
	return worst
}

// No digit is wrong: a change in the tenth digit of any coefficient breaks a
// condition. Only the factors of the last stage of Rodas5P in the interpolant
// are free: they multiply the error estimate, which is of the next order. They
// are there to make the error of the interpolant small, and so they do.
func TestEveryDigitCounts(t *testing.T) {
	trees := rootedTrees(5)
	for _, th := range []float64{0.2, 0.4, 0.6, 0.8} {
		tab := Rodas5P.tableau()
		c := newClassic(t, tab)
		e := c.misfit(c.weights(tab.interpolant(th)), trees[5], th)
		tab2 := *tab
		for k := range tab2.dense {
			tab2.dense[k][7] = 0
		}
		if without := c.misfit(c.weights(tab2.interpolant(th)), trees[5], th); e > 4e-3 || e > 0.5*without {
			t.Errorf("at %g: error constant %.2g, without the last stage %.2g", th, e, without)
		}
	}
	for _, m := range methods {
		tab := *m.m.tableau()
		check := func(name string, v *float64) {
			if *v == 0 {
				return
			}
			if e := worstMisfit(t, &tab, trees, m.dense); e > 1e-13 {
				t.Fatalf("%s: conditions violated by %.2g", m.name, e)
			}
			old := *v
			*v += 1e-9 * old
			if e := worstMisfit(t, &tab, trees, m.dense); e < 1e-12 {
				t.Errorf("%s: nobody misses a changed %s (worst misfit %.2g)", m.name, name, e)
			}
			*v = old
		}
		check("gamma", &tab.gamma)
		for i := range maxStages {
			check("alpha", &tab.alpha[i])
			check("d", &tab.d[i])
			for j := range maxStages {
				check("a", &tab.a[i][j])
				check("c", &tab.c[i][j])
			}
			for k := range tab.dense {
				if i != tab.stages-1 {
					check("dense", &tab.dense[k][i])
				}
			}
		}
	}
}
