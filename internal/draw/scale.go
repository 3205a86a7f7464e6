package draw

import (
	"math"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/unit"
)

// tick is one number at an axis.
type tick struct {
	si   float64
	text string
}

// scale maps SI values to shares of an axis that ends at round numbers of the person's unit.
type scale struct {
	lo, hi float64 // SI
	unit   string
	ticks  []tick
}

// newScale rounds an extent outward to steps of 1, 2 or 5 times a power of ten in the unit of the axis, with about n steps.
func newScale(a Axis, sys unit.System, n float64, e [2]float64) scale {
	if a.Reach != 0 && finite(a.Reach) {
		e = [2]float64{math.Min(e[0], a.Reach), math.Max(e[1], a.Reach)}
	}
	u := sys.UnitFor(math.Max(math.Abs(e[0]), math.Abs(e[1])), a.Dim)
	zero, err0 := unit.FromSI(0, u, a.Dim)
	one, err1 := unit.FromSI(1, u, a.Dim)
	if err0 != nil || err1 != nil {
		u, zero, one = a.Dim.SI(), 0, 1
	}
	per := one - zero // unit per SI
	lo, hi := zero+per*e[0], zero+per*e[1]
	if a.From0 {
		lo, hi = math.Min(0, lo), math.Max(0, hi)
	}
	if lo < 0 && -lo < 0.02*hi { // a trace that dips a hair below zero needs no negative step
		lo = 0
	}
	if hi-lo < 1e-9*math.Max(math.Abs(lo), math.Abs(hi)) || hi == lo {
		pad := math.Max(math.Abs(hi)*0.1, 1e-6)
		lo, hi = lo-pad, hi+pad
	}
	step := niceStep((hi - lo) / n)
	first, last := math.Floor(lo/step+1e-9), math.Ceil(hi/step-1e-9)
	s := scale{lo: (first*step - zero) / per, hi: (last*step - zero) / per, unit: u}
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for k := first; k <= last; k++ {
		s.ticks = append(s.ticks, tick{(k*step - zero) / per, tickText(k*step, decimals)})
	}
	return s
}

// niceStep returns the least of 1, 2, 5 times a power of ten that is not below x.
func niceStep(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*ten >= x*(1-1e-9) {
			return m * ten
		}
	}
	return 10 * ten
}

// tickText writes the number at a tick, with no more decimals than the step needs.
func tickText(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// share is where a value lies between the ends of the axis, 0 to 1.
func (s scale) share(v float64) float64 {
	switch {
	case math.IsInf(v, 1):
		return math.Inf(1)
	case math.IsInf(v, -1):
		return math.Inf(-1)
	}
	return (v - s.lo) / (s.hi - s.lo)
}

// name is the label of an axis with its unit.
func (s scale) name(label said) said {
	if s.unit == "" || s.unit == "1" {
		return label
	}
	return label + said(" ["+s.unit+"]")
}
