package num

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// counted counts the calls of a function.
func counted(f func(float64) float64, n *int) func(float64) float64 {
	return func(x float64) float64 { *n++; return f(x) }
}

// Functions that are hard for interpolation, with known roots.
var hard = []struct {
	name       string
	f          func(x float64) (y, dy float64)
	a, b, root float64
}{
	{"step", func(x float64) (float64, float64) {
		if x < 0.7 {
			return -1, 0
		}
		return 1, 0
	}, 0, 1, 0.7},
	{"pole beside", func(x float64) (float64, float64) { return 1/(x+1e-9) - 2, -1 / ((x + 1e-9) * (x + 1e-9)) }, 0, 1e6, 0.5 - 1e-9},
	{"flat", func(x float64) (float64, float64) { return math.Pow(x, 19) - 1e-12, 19 * math.Pow(x, 18) }, 0, 1, math.Pow(1e-12, 1.0/19)},
	{"steep", func(x float64) (float64, float64) {
		return math.Tanh(1e8 * (x - 0.123)), 1e8 / math.Pow(math.Cosh(math.Min(1e8*math.Abs(x-0.123), 300)), 2)
	}, -1, 1, 0.123},
	{"huge", func(x float64) (float64, float64) { return math.Exp(x) - 1e300, math.Exp(x) }, 0, 709, math.Log(1e300)},
	{"tiny", func(x float64) (float64, float64) { return 1e-300 * (x - 0.3), 1e-300 }, 0, 1, 0.3},
	{"zero", func(x float64) (float64, float64) { return x * x * x, 3 * x * x }, -1, 2, 0},
	{"wrong slope", func(x float64) (float64, float64) { return x - 0.3, -1 }, 0, 1, 0.3},
	{"huge slope", func(x float64) (float64, float64) { return x - 0.3, 1e200 }, 0, 1, 0.3},
	{"no slope", func(x float64) (float64, float64) { return x - 0.3, 0 }, 0, 1, 0.3},
	{"NaN slope", func(x float64) (float64, float64) { return x - 0.3, math.NaN() }, 0, 1, 0.3},
}

func TestHardRoots(t *testing.T) {
	for _, h := range hard {
		for _, tol := range []float64{0, 1e-6} {
			for _, turn := range []bool{false, true} {
				a, b := h.a, h.b
				if turn {
					a, b = b, a
				}
				n := 0
				f := counted(func(x float64) float64 { y, _ := h.f(x); return y }, &n)
				x, err := Brent(f, a, b, tol)
				if err != nil || !(math.Abs(x-h.root) <= tol+4*eps*math.Abs(h.root)+1e-100) || n > 200 && h.root != 0 {
					t.Errorf("Brent, %s, tol %g: %v, off by %g after %d calls", h.name, tol, err, x-h.root, n)
				}
				n = 0
				x, err = Newton(func(x float64) (float64, float64) { n++; return h.f(x) }, a, b, tol)
				if err != nil || n > 200 && h.root != 0 || !(math.Abs(x-h.root) <= tol+4*eps*math.Abs(h.root)+1e-100) {
					t.Errorf("Newton, %s, tol %g: %v, off by %g", h.name, tol, err, x-h.root)
				}
			}
		}
	}
}

// Smooth functions take few calls: interpolation converges with order above
// 1.6, Newton with 2, from where bisection alone would take 52 calls. A
// method that converges only because bisection saves it would show.
func TestRootsAreFast(t *testing.T) {
	for _, c := range []struct {
		name          string
		f             func(x float64) (y, dy float64)
		a, b          float64
		brent, newton int
	}{
		{"cosine", func(x float64) (float64, float64) { return math.Cos(x) - x, -math.Sin(x) - 1 }, 0, 1, 9, 8},
		{"wallis", functions["wallis"], 2, 3, 10, 9},
		{"exp", func(x float64) (float64, float64) { return math.Exp(x) - 3, math.Exp(x) }, 0, 2, 11, 9},
		{"inverse", func(x float64) (float64, float64) { return 1/x - 0.7, -1 / (x * x) }, 0.5, 4, 12, 11},
		{"sqrt", func(x float64) (float64, float64) { return math.Sqrt(x) - 1.1, 0.5 / math.Sqrt(x) }, 0.1, 4, 11, 9},
	} {
		for _, turn := range []bool{false, true} {
			a, b := c.a, c.b
			if turn {
				a, b = b, a
			}
			n, m := 0, 0
			if _, err := Brent(func(x float64) float64 { n++; y, _ := c.f(x); return y }, a, b, 0); err != nil || n > c.brent {
				t.Errorf("Brent, %s: %v, %d calls", c.name, err, n)
			}
			if _, err := Newton(func(x float64) (float64, float64) { m++; return c.f(x) }, a, b, 0); err != nil || m > c.newton {
				t.Errorf("Newton, %s: %v, %d calls", c.name, err, m)
			}
		}
	}
}

// Random cubics with a root in the bracket: the sign changes across the
// result, within the tolerance.
func TestRootsBracket(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for range 2000 {
		c := [4]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		f := func(x float64) (float64, float64) {
			return ((c[3]*x+c[2])*x+c[1])*x + c[0], (3*c[3]*x+2*c[2])*x + c[1]
		}
		a, b := 4*r.NormFloat64(), 4*r.NormFloat64()
		fa, _ := f(a)
		fb, _ := f(b)
		g := func(x float64) float64 { y, _ := f(x); return y }
		const tol = 1e-9
		for k, solve := range []func() (float64, error){
			func() (float64, error) { return Brent(g, a, b, tol) },
			func() (float64, error) { return Newton(f, a, b, tol) },
		} {
			x, err := solve()
			if fa*fb > 0 {
				var be *BracketError
				if !errors.As(err, &be) {
					t.Fatalf("solver %d: no sign change, but %v", k, err)
				}
				continue
			}
			w := 2 * tol * (1 + math.Abs(x))
			if err != nil || x < math.Min(a, b) || x > math.Max(a, b) || g(x-w)*g(x+w) > 0 {
				t.Fatalf("solver %d: %v, x = %g in %g…%g, f about it %g %g", k, err, x, a, b, g(x-w), g(x+w))
			}
		}
	}
}

func TestRootErrors(t *testing.T) {
	line := func(x float64) float64 { return x }
	slope := func(x float64) (float64, float64) { return x, 1 }
	hole := func(x float64) float64 {
		if math.Abs(x) < 0.5 {
			return math.NaN()
		}
		return x
	}
	nan, inf := math.NaN(), math.Inf(1)
	var re *RangeError
	for i, err := range []error{
		second(Brent(line, nan, 1, 0)), second(Brent(line, -1, inf, 0)), second(Brent(line, -1, 1, -1)), second(Brent(line, -1, 1, nan)),
		second(Brent(hole, -1, 1, 0)),
		second(Newton(slope, nan, 1, 0)), second(Newton(slope, -1, inf, 0)), second(Newton(slope, -1, 1, -1)),
		second(Newton(func(x float64) (float64, float64) { return hole(x), 1 }, -1, 1, 0)),
		third(Minimum(line, nan, 1, 0)), third(Minimum(line, 0, 1, -1)), third(Minimum(line, 1, 0, 0)), third(Minimum(hole, -1, 1, 0)),
	} {
		if !errors.As(err, &re) {
			t.Errorf("%d: %v", i, err)
		}
	}
	var be *BracketError
	for i, err := range []error{
		second(BrentFrom(line, -1, nan, 1, 1, 0)), second(BrentFrom(line, -1, -1, 1, nan, 0)), second(BrentFrom(line, -1, inf, 1, -1, 0)),
		second(Newton(func(x float64) (float64, float64) { return math.Sqrt(x - 0.5), 1 }, 0, 1, 0)),
		second(Newton(func(x float64) (float64, float64) { return -math.Log(0.5 - x), 1 }, 0, 1, 0)),
		second(Brent(line, 1, 2, 0)), second(Newton(slope, -3, -2, 0)), second(BrentFrom(line, 1, nan, 2, 1, 0)),
		second(Brent(func(x float64) float64 { return x / 0.0 }, -1, 1, 0)),
	} {
		if !errors.As(err, &be) || len(be.Error()) < 20 {
			t.Errorf("%d: %v", i, err)
		}
	}
}

func second(_ float64, err error) error   { return err }
func third(_, _ float64, err error) error { return err }

func TestMinimum(t *testing.T) {
	for _, c := range []struct {
		name    string
		f       func(float64) float64
		a, b, x float64
		calls   int
	}{
		{"parabola", func(x float64) float64 { return (x - 1.7) * (x - 1.7) }, -10, 10, 1.7, 9},
		{"quartic", func(x float64) float64 { return math.Pow(x-0.3, 4) }, -1, 2, 0.3, 60},
		{"vee", func(x float64) float64 { return math.Abs(x - 0.3) }, -1, 2, 0.3, 60},
		{"cosine", math.Cos, 2, 5, math.Pi, 14},
		{"rising", math.Exp, 1, 3, 1, 50},
		{"far", func(x float64) float64 { return (x - 1e6) * (x - 1e6) }, 0, 3e6, 1e6, 12},
	} {
		n := 0
		x, fx, err := Minimum(counted(inside(t, c.f, c.a, c.b), &n), c.a, c.b, 1e-9)
		off := 3 * (1e-9 + 2e-8*math.Abs(c.x))
		if c.name == "quartic" {
			off = 1e-3 // flat to the fourth root of the precision
		}
		if err != nil || !(math.Abs(x-c.x) <= off) || fx != c.f(x) || n > c.calls {
			t.Errorf("%s: %v, x off by %g after %d calls", c.name, err, x-c.x, n)
		}
	}
}

// inside complains if f is called outside of a…b.
func inside(t *testing.T, f func(float64) float64, a, b float64) func(float64) float64 {
	return func(x float64) float64 {
		if !(x >= math.Min(a, b) && x <= math.Max(a, b)) {
			t.Errorf("called at %g, outside of %g…%g", x, a, b)
		}
		return f(x)
	}
}

// Random smooth valleys in random brackets: found in few calls, without
// leaving the bracket.
func TestMinimumRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	calls := 0
	const runs = 500
	for range runs {
		at, k := r.NormFloat64(), math.Exp(r.NormFloat64())
		a, b := at-0.01-3*r.Float64(), at+0.01+3*r.Float64()
		f := func(x float64) float64 { d := x - at; return math.Cosh(k*d) + 0.3*k*d*d*d*math.Exp(-d*d) }
		x, _, err := Minimum(counted(inside(t, f, a, b), &calls), a, b, 1e-8)
		if err != nil || math.Abs(x-at) > 1e-6 && f(x) > f(at) {
			t.Errorf("%v: %g, want %g", err, x, at)
		}
	}
	// Golden sections alone need 40 calls for eight digits.
	if mean := float64(calls) / runs; mean > 17 {
		t.Errorf("%.1f calls on average", mean)
	}
}
