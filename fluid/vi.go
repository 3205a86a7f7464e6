package fluid

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// viBand is one row of the fit of ASTM D2270's basic values: up to kinematic viscosity y [mm²/s] at 100 °C,
// L = aY² + bY + c and H = dY² + eY + f, both in mm²/s at 40 °C.
type viBand struct{ y, a, b, c, d, e, f float64 }

// Fit coefficients of ASTM D2270, appendix; from memory. Checked by their continuity at the joins and by the worked
// examples of the standard.
var viBands = [...]viBand{
	{3.8, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077},
	{4.4, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183},
	{5.0, 2.5, -7.2143, 13.812, 0.82143, 1.5679, 0.119},
	{6.4, 0.101, 16.635, -45.469, 0.04985, 9.1613, -18.557},
	{7.0, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656},
	{7.7, 0.01191, 21.475, -72.87, 0.79762, -0.7321, 14.61},
	{9.0, 0.41858, 16.1558, -56.04, 0.05794, 10.5156, -28.24},
	{12, 0.88779, 7.5527, -16.6, 0.26665, 6.7015, -10.81},
	{15, 0.7672, 10.7972, -38.18, 0.20073, 8.4658, -22.49},
	{18, 0.97305, 5.3135, -2.2, 0.28889, 5.9741, -4.93},
	{22, 0.97256, 5.25, -0.98, 0.24504, 7.416, -16.73},
	{28, 0.91413, 7.4759, -21.82, 0.20323, 9.1267, -34.23},
	{40, 0.87031, 9.7157, -50.77, 0.18411, 10.1015, -46.75},
	{55, 0.84703, 12.6752, -133.31, 0.17029, 11.4866, -80.62},
	{70, 0.85921, 11.1009, -83.19, 0.1713, 11.368, -76.94},
	{math.Inf(1), 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947},
}

func viBasics(y float64) (l, h float64) {
	k := 0
	for y > viBands[k].y {
		k++
	}
	r := viBands[k]
	return (r.a*y+r.b)*y + r.c, (r.d*y+r.e)*y + r.f
}

// ViscosityIndex returns the viscosity index [1] of an oil from its kinematic viscosities [m²/s] at 40 °C and 100 °C.
//
//	VI = 100(L-U)/(L-H) up to 100;  above: VI = 100 + (10^N - 1)/0.00715,  N = log(H/U)/log(Y)
//
// U = ν40, Y = ν100 in mm²/s; L, H the basic values of the standard for Y. Valid for Y of 2..500 mm²/s and U > Y;
// otherwise a *num.RangeError. Source: ASTM D2270 procedures A and B (equal to ISO 2909); the fit of L and H is within
// 0.3 % of its table.
func ViscosityIndex(nu40, nu100 float64) (float64, error) {
	const fn = "fluid.ViscosityIndex"
	if err := num.CheckRange(fn, "nu100", nu100, 2*mm2, 500*mm2, "m²/s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "nu40", nu40, nu100, 1e5*mm2, "m²/s"); err != nil {
		return 0, err
	}
	return viscosityIndex(nu40/mm2, nu100/mm2), nil
}

func viscosityIndex(u, y float64) float64 {
	l, h := viBasics(y)
	if u >= h {
		return 100 * (l - u) / (l - h)
	}
	n := math.Log10(h/u) / math.Log10(y)
	return 100 + (math.Pow(10, n)-1)/0.00715
}

// IndexViscosity returns the kinematic viscosity [m²/s] at 100 °C of an oil with nu40 [m²/s] at 40 °C and viscosity
// index vi: the inverse of [ViscosityIndex]. Valid for vi of 0..400 and a result of at least 2 mm²/s; otherwise a
// *num.RangeError. Source: ASTM D2270.
func IndexViscosity(nu40, vi float64) (float64, error) {
	const fn = "fluid.IndexViscosity"
	if err := num.CheckRange(fn, "nu40", nu40, 2*mm2, 1e5*mm2, "m²/s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "vi", vi, 0, 400, "1"); err != nil {
		return 0, err
	}
	u := nu40 / mm2
	lo, hi := 2.0, min(u, 500)
	if viscosityIndex(u, lo) > vi || viscosityIndex(u, hi) < vi {
		return 0, &num.RangeError{Func: fn, Name: "vi", Value: vi, Unit: "1", Want: "a viscosity of 2..500 mm²/s at 100 °C"}
	}
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi {
			break
		}
		if viscosityIndex(u, mid) < vi {
			lo = mid
		} else {
			hi = mid
		}
	}
	return mm2 * (lo + hi) / 2, nil
}
