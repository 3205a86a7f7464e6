package num

import (
	"math"
	"slices"
)

// WeightedQuantile returns the smallest x_i such that the weights of all
// values up to it make at least the share p of the whole: the inverse of the
// weighted empirical distribution, type 1 of R. J. Hyndman, Y. Fan, Sample
// quantiles in statistical packages, The American Statistician 50 (1996) 361.
// Values need not be sorted and are not changed; w = nil means equal weights.
//
// Errors: *RangeError if p is not in 0..1, there are no values, the lengths
// differ, a value is NaN, a weight is negative or not finite, or all are zero.
func WeightedQuantile(p float64, x, w []float64) (float64, error) {
	const fn = "num.WeightedQuantile"
	if err := CheckRange(fn, "p", p, 0, 1, ""); err != nil {
		return 0, err
	}
	if len(x) == 0 || w != nil && len(w) != len(x) {
		return 0, &RangeError{Func: fn, Name: "len(x)", Value: float64(len(x)), Want: "> 0 and as many weights"}
	}
	type pair struct{ x, w float64 }
	s := make([]pair, len(x))
	weights := make([]float64, len(x))
	for i, v := range x {
		if v != v {
			return 0, &RangeError{Func: fn, Name: "x", Value: v, Want: "a number"}
		}
		s[i] = pair{v, 1}
		if w != nil {
			if err := CheckRange(fn, "w", w[i], 0, math.Inf(1), ""); err != nil {
				return 0, err
			}
			s[i].w = w[i]
		}
		weights[i] = s[i].w
	}
	total := Sum(weights)
	if err := CheckPositive(fn, "sum of weights", total, ""); err != nil {
		return 0, err
	}
	slices.SortFunc(s, func(a, b pair) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	// A share that is met but for round-off counts as met.
	need := p * total * (1 - float64(len(x))*eps)
	var sum float64
	last := s[0].x
	for _, v := range s {
		if v.w == 0 {
			continue
		}
		sum += v.w
		last = v.x
		if sum >= need {
			break
		}
	}
	return last, nil
}
