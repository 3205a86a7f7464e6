package unit

import (
	"math"
	"strconv"
)

// finest is the length [m] that a limit of a part is told by at least: a hundredth of a millimetre, as on the thimble of a workshop's
// micrometer, which takes four decimals of an inch.
const finest = 1e-5

// maxPlaces is the number of decimals after which values that still print alike are taken for the same.
const maxPlaces = 12

// Apart prints values of one kind that stand beside each other (a new size, its limits, what was measured), all in the unit of the largest
// and to the same decimal place, so that no two different ones look alike: "21.20 mm", "21.15 mm"; "0.8346 in", "0.8327 in". A limit that
// is rounded until it looks like the new size cannot be worked to. The place is that of the smallest difference between two of them, of
// three digits of the largest, and for a length of a hundredth of a millimetre, whichever is finest. NaN and infinities print as "no value".
func (s System) Apart(d Dim, values ...float64) []string {
	largest := 0.0
	for _, v := range values {
		if a := math.Abs(v); a > largest && !math.IsInf(v, 0) {
			largest = a
		}
	}
	u := s.UnitFor(largest, d)
	x, sym := make([]float64, len(values)), d.SI()
	for i, v := range values {
		x[i], sym = inUnit(v, d, u)
	}
	places := leastPlaces(x, d, u)
	for ; places < maxPlaces && alike(x, places); places++ {
	}
	out := make([]string, len(x))
	for i := range x {
		if out[i] = noValue; finite(x[i]) {
			out[i] = grouped(strconv.FormatFloat(x[i], 'f', places, 64))
		}
		out[i] = join(out[i], sym)
	}
	return out
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// leastPlaces is the number of decimals that size and kind of the values ask for.
func leastPlaces(x []float64, d Dim, u string) int {
	largest := 0.0
	for _, v := range x {
		if finite(v) {
			largest = max(largest, math.Abs(v))
		}
	}
	places := 0
	if largest > 0 {
		places = 2 - int(math.Floor(math.Log10(largest)))
	}
	if row, ok := find(u, d); ok && d == Length {
		places = max(places, placesOf(row.fromSI(finest)))
	}
	return min(max(places, 0), maxPlaces)
}

// placesOf is the number of decimals with which a step is written; a rounding error of the conversion takes no further place.
func placesOf(step float64) int { return int(math.Ceil(-math.Log10(step) - 1e-9)) }

// alike says whether two different values print the same with so many decimals.
func alike(x []float64, places int) bool {
	seen := map[string]float64{}
	for _, v := range x {
		text := strconv.FormatFloat(v, 'f', places, 64)
		if other, ok := seen[text]; ok && math.Abs(other-v) > 1e-9*math.Abs(v) {
			return true
		}
		seen[text] = v
	}
	return false
}
