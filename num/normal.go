package num

import "math"

// NormalPDF returns the density of the standard normal distribution,
//
//	φ(x) = exp(-x²/2)/√(2π)
//
// For all x; NaN gives NaN. The relative error is below 4ε.
func NormalPDF(x float64) float64 {
	// x² with its round-off, which exp would magnify.
	h := x * x
	if h > 1500 { // underflow; and the round-off of infinity is not a number
		return 0
	}
	low := math.FMA(x, x, -h)
	return math.Exp(-0.5*h) * (1 - 0.5*low) / (math.Sqrt2 * math.SqrtPi)
}

// NormalCDF returns the standard normal distribution function
//
//	Φ(x) = erfc(-x/√2)/2
//
// For all x; NaN gives NaN. The relative error in the lower tail is below
// (4 + x²)·ε; for the upper tail use Φ(-x). Below x = -37.5 it loses digits
// and below -38.5 it is 0: use NormalLogCDF.
func NormalCDF(x float64) float64 {
	return 0.5 * math.Erfc(-x/math.Sqrt2)
}

// NormalLogCDF returns ln Φ(x), in the lower tail without underflow. For all
// x; NaN gives NaN.
//
//	ln Φ(x) = -x²/2 + ln(erfcx(-x/√2)/2)
func NormalLogCDF(x float64) float64 {
	switch {
	case x > 0:
		return math.Log1p(-0.5 * math.Erfc(x/math.Sqrt2))
	case x > -1:
		return math.Log(NormalCDF(x))
	}
	return -0.5*x*x + math.Log(0.5*Erfcx(-x/math.Sqrt2))
}

// Erfcx returns the scaled complementary error function
//
//	erfcx(x) = exp(x²)·erfc(x)
//
// For all x; +Inf below about -26.6, NaN for NaN. The relative error is below
// 8ε. For large x: Abramowitz & Stegun, Handbook of Mathematical Functions,
// 7.1.23.
func Erfcx(x float64) float64 {
	if x > 25 {
		// The terms fall below ε before they begin to grow, at k = x².
		q := 1 / (2 * x * x)
		s := 1.0
		for k := 13.0; k > 0; k -= 2 {
			s = 1 - k*q*s
		}
		return s / (x * math.SqrtPi)
	}
	// x² with its round-off, which exp would magnify.
	h := x * x
	low := math.FMA(x, x, -h)
	if math.IsInf(h, 1) {
		return math.Inf(1)
	}
	return math.Exp(h) * (1 + low) * math.Erfc(x)
}

// NormalQuantile returns the x at which Φ(x) = p, for 0 < p < 1, otherwise a
// *RangeError. For a probability q close to one take -NormalQuantile(1-q)
// with 1-q as it is known.
//
// Source: M. J. Wichura, Algorithm AS 241: The percentage points of the
// normal distribution, Applied Statistics 37 (1988) 477 (PPND16, relative
// error about 1e-16).
func NormalQuantile(p float64) (float64, error) {
	if !(p > 0 && p < 1) {
		return 0, &RangeError{Func: "num.NormalQuantile", Name: "p", Value: p, Want: "> 0 and < 1"}
	}
	q := p - 0.5
	if math.Abs(q) <= 0.425 {
		r := 0.180625 - q*q
		return q * horner(r, &ppndA) / horner(r, &ppndB), nil
	}
	r := math.Sqrt(-math.Log(math.Min(p, 1-p)))
	var x float64
	if r <= 5 {
		r -= 1.6
		x = horner(r, &ppndC) / horner(r, &ppndD)
	} else {
		r -= 5
		x = horner(r, &ppndE) / horner(r, &ppndF)
	}
	return math.Copysign(x, q), nil
}

func horner(x float64, c *[8]float64) float64 {
	s := c[7]
	for i := 6; i >= 0; i-- {
		s = s*x + c[i]
	}
	return s
}

// Coefficients of PPND16: near the middle, in the tail, far in the tail.
var (
	ppndA = [8]float64{3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3, 1.3731693765509461125e4,
		4.5921953931549871457e4, 6.7265770927008700853e4, 3.3430575583588128105e4, 2.5090809287301226727e3}
	ppndB = [8]float64{1, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
		2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4, 5.2264952788528545610e3}
	ppndC = [8]float64{1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0, 3.64784832476320460504e0,
		1.27045825245236838258e0, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4}
	ppndD = [8]float64{1, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
		1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4, 1.05075007164441684324e-9}
	ppndE = [8]float64{6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0, 2.96560571828504891230e-1,
		2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7}
	ppndF = [8]float64{1, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
		7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7, 2.04426310338993978564e-15}
)
