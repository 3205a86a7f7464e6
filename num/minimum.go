package num

import (
	"fmt"
	"math"
)

// Minimum returns a point x between a and b at which f has a minimum, and
// f(x). If f has one minimum there, x is within about 3·(tol + √ε|x|) of it; no
// method that compares values of f can do better than √ε. If f falls towards
// an end, x comes close to that end.
//
// Parabolic interpolation with golden sections. Source: R. P. Brent,
// Algorithms for Minimization Without Derivatives, 1973, chapter 5. Blind
// spot: of several minima one is found, not always the lowest.
//
// Errors: *RangeError if an end is not finite, a >= b, tol negative, or f
// gives NaN.
func Minimum(f func(float64) float64, a, b, tol float64) (x, fx float64, err error) {
	const fn = "num.Minimum"
	if err := checkBracket(fn, a, b, tol); err != nil {
		return 0, 0, err
	}
	if a >= b {
		return 0, 0, &RangeError{Func: fn, Name: "b", Value: b, Want: "> a"}
	}
	golden := 0.5 * (3 - math.Sqrt(5))
	x = a + golden*(b-a)
	fx = f(x)
	w, v, fw, fv := x, x, fx, fx
	var d, e float64
	for fx == fx {
		m := 0.5 * (a + b)
		near := 0x1p-26*math.Abs(x) + tol/3 + math.SmallestNonzeroFloat64
		if math.Abs(x-m) <= 2*near-0.5*(b-a) {
			return x, fx, nil
		}
		old := e
		e = d
		if p, q := parabola(x, fx, w, fw, v, fv); math.Abs(p) < math.Abs(0.5*q*old) && p > q*(a-x) && p < q*(b-x) {
			d = p / q
			if u := x + d; u-a < 2*near || b-u < 2*near {
				d = math.Copysign(near, m-x)
			}
		} else {
			e = b - x
			if x >= m {
				e = a - x
			}
			d = golden * e
		}
		u := x + d
		if math.Abs(d) < near {
			u = x + math.Copysign(near, d)
		}
		fu := f(u)
		if fu != fu {
			x, fx = u, fu
			break
		}
		if fu <= fx {
			if u < x {
				b = x
			} else {
				a = x
			}
			v, fv, w, fw, x, fx = w, fw, x, fx, u, fu
			continue
		}
		if u < x {
			a = u
		} else {
			b = u
		}
		if fu <= fw || w == x {
			v, fv, w, fw = w, fw, u, fu
		} else if fu <= fv || v == x || v == w {
			v, fv = u, fu
		}
	}
	return 0, 0, &RangeError{Func: fn, Name: fmt.Sprintf("f(%g)", x), Value: fx, Want: "a number"}
}

// parabola returns the step p/q, q >= 0, from x to the vertex of the parabola
// through three points.
func parabola(x, fx, w, fw, v, fv float64) (p, q float64) {
	r := (x - w) * (fx - fv)
	q = (x - v) * (fx - fw)
	p = (x-v)*q - (x-w)*r
	q = 2 * (q - r)
	if q > 0 {
		return -p, q
	}
	return p, -q
}
