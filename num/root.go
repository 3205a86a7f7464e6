package num

import (
	"fmt"
	"math"
)

const eps = 0x1p-52

// BracketError says that a function has no change of sign between two points.
type BracketError struct {
	Func         string
	A, B, FA, FB float64
}

func (e *BracketError) Error() string {
	return fmt.Sprintf("%s: no change of sign between f(%g) = %g and f(%g) = %g", e.Func, e.A, e.FA, e.B, e.FB)
}

// Brent returns a root of f between a and b, where f(a) and f(b) must differ
// in sign (either may be zero). The root is within tol + 4ε|x| of a change of
// sign; tol >= 0.
//
// Inverse quadratic interpolation, secant and bisection, whichever is safe.
// Source: R. P. Brent, Algorithms for Minimization Without Derivatives, 1973,
// chapter 4. Blind spots: of several roots one is found; a pole with a change
// of sign passes for a root.
//
// Errors: *BracketError; *RangeError if an end, tol or a value of f is not
// finite or tol negative.
func Brent(f func(float64) float64, a, b, tol float64) (float64, error) {
	return BrentFrom(f, a, f(a), b, f(b), tol)
}

func checkBracket(fn string, a, b, tol float64) error {
	if err := CheckFinite(fn, "a", a, ""); err != nil {
		return err
	}
	if err := CheckFinite(fn, "b", b, ""); err != nil {
		return err
	}
	return CheckRange(fn, "tol", tol, 0, math.Inf(1), "")
}

// BrentFrom is Brent for a caller who knows fa = f(a) and fb = f(b).
func BrentFrom(f func(float64) float64, a, fa, b, fb, tol float64) (float64, error) {
	if err := checkBracket("num.Brent", a, b, tol); err != nil {
		return 0, err
	}
	if fa-fa != 0 || fb-fb != 0 || math.Signbit(fa) == math.Signbit(fb) && fa != 0 && fb != 0 {
		return 0, &BracketError{"num.Brent", a, b, fa, fb}
	}
	c, fc := a, fa
	d := b - a
	e := d
	for {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		near := 0.5*tol + 2*eps*math.Abs(b) + math.SmallestNonzeroFloat64
		m := 0.5 * (c - b)
		if math.Abs(m) <= near || fb == 0 {
			return b, nil
		}
		if math.Abs(e) < near || math.Abs(fa) <= math.Abs(fb) {
			d, e = m, m
		} else {
			d, e = brentStep(a, fa, b, fb, c, fc, m, near, d, e)
		}
		a, fa = b, fb
		if math.Abs(d) > near {
			b += d
		} else {
			b += math.Copysign(near, m)
		}
		fb = f(b)
		if fb-fb != 0 {
			return 0, &RangeError{Func: "num.Brent", Name: fmt.Sprintf("f(%g)", b), Value: fb, Want: "finite"}
		}
		if fb > 0 == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
	}
}

// brentStep interpolates; it falls back on the bisection step m.
func brentStep(a, fa, b, fb, c, fc, m, near, d, e float64) (float64, float64) {
	var p, q float64
	s := fb / fa
	if a == c {
		p, q = 2*m*s, 1-s
	} else {
		t, r := fa/fc, fb/fc
		p = s * (2*m*t*(t-r) - (b-a)*(r-1))
		q = (t - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p < math.Min(3*m*q-math.Abs(near*q), math.Abs(e*q)) {
		return p / q, d
	}
	return m, m
}

// Newton returns a root of a function between a and b, where its values must
// differ in sign. f returns the value and the derivative; a Newton step that
// would leave the bracket, or that shrinks too slowly, is replaced by a
// bisection, so that a wrong or zero derivative costs time only. The result
// is within tol + 4ε|x| of a change of sign, or has f(x) = 0.
//
// Source: Press et al., Numerical Recipes, 3rd ed. 2007, section 9.4 (the
// method). Errors as for Brent.
func Newton(f func(x float64) (y, dy float64), a, b, tol float64) (float64, error) {
	const fn = "num.Newton"
	if err := checkBracket(fn, a, b, tol); err != nil {
		return 0, err
	}
	fa, _ := f(a)
	fb, _ := f(b)
	if fa == 0 {
		return a, nil
	}
	if fb == 0 {
		return b, nil
	}
	if fa-fa != 0 || fb-fb != 0 || (fa > 0) == (fb > 0) {
		return 0, &BracketError{fn, a, b, fa, fb}
	}
	lo, hi := a, b // f(lo) < 0 < f(hi)
	if fa > 0 {
		lo, hi = b, a
	}
	x := a + 0.5*(b-a)
	old := math.Abs(b - a)
	crept := false
	for {
		y, dy := f(x)
		switch {
		case y-y != 0:
			return 0, &RangeError{Func: fn, Name: fmt.Sprintf("f(%g)", x), Value: y, Want: "finite"}
		case y == 0:
			return x, nil
		case y < 0:
			lo = x
		default:
			hi = x
		}
		near := 0.5*tol + 2*eps*math.Abs(x) + math.SmallestNonzeroFloat64
		if math.Abs(hi-lo) <= 2*near {
			return x, nil
		}
		d := -y / dy
		small := math.Abs(d) < near
		step := d
		if small { // step over the root, so that the bracket closes from both sides
			step = math.Copysign(near, d)
		}
		next := x + step
		within := next > math.Min(lo, hi) && next < math.Max(lo, hi)
		// Small steps in a row creep: the derivative is much too large.
		if within && math.Abs(d) <= 0.5*old && !(small && crept) {
			crept = small
		} else {
			next, crept = lo+0.5*(hi-lo), false
		}
		old = math.Abs(next - x)
		x = next
	}
}
