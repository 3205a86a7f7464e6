package num

import "math"

// Sum returns the sum of x with the round-off carried along, so that its
// error is about ε·|sum| + n·ε²·Σ|x| instead of n·ε·Σ|x|. The empty sum is 0; NaN and infinities pass as in a plain sum.
//
// Source: A. Neumaier, Rundungsfehleranalyse einiger Verfahren zur Summation
// endlicher Summen, ZAMM 54 (1974) 39 (Kahan's sum, safe for any order).
func Sum(x []float64) float64 {
	var s, c float64
	for _, v := range x {
		t := s + v
		if math.Abs(s) >= math.Abs(v) {
			c += (s - t) + v
		} else {
			c += (v - t) + s
		}
		s = t
	}
	if s-s != 0 {
		return s // the compensation of an infinity is NaN
	}
	return s + c
}

// LogSumExp returns ln Σ exp(x_i) without overflow: m + ln Σ exp(x_i - m) with
// m the largest x_i. It is -Inf for no terms or terms that are all -Inf, +Inf
// if one is; NaN gives NaN.
func LogSumExp(x []float64) float64 {
	m := math.Inf(-1)
	for _, v := range x {
		if v != v {
			return v
		}
		m = math.Max(m, v)
	}
	if math.IsInf(m, 0) {
		return m
	}
	var s float64
	for _, v := range x {
		s += math.Exp(v - m)
	}
	return m + math.Log(s)
}
