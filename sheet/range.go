package sheet

import (
	"fmt"
	"math"
	"strconv"

	"github.com/evenstroke/evenstroke/unit"
)

// Range is the interval a value must lie in, in SI. Low is excluded when Open is set.
type Range struct {
	Low, High float64
	Open      bool
}

// Any takes every finite value.
func Any() Range { return Range{math.Inf(-1), math.Inf(1), false} }

// Positive takes values above zero, up to and with high.
func Positive(high float64) Range { return Range{0, high, true} }

// NotNegative takes zero and up, to and with high.
func NotNegative(high float64) Range { return Range{0, high, false} }

// Between takes low to high, both included.
func Between(low, high float64) Range { return Range{low, high, false} }

// Holds says whether a value lies in the range.
func (r Range) Holds(x float64) bool {
	if math.IsNaN(x) || math.IsInf(x, 0) || x > r.High {
		return false
	}
	return x > r.Low || x == r.Low && !r.Open
}

// text says the range in words, its ends as quantities of dimension d.
func (r Range) text(d unit.Dim) string { return r.In(d, unit.Metric()) }

// In says the range in words, its ends as quantities of dimension d in the units of sys.
func (r Range) In(d unit.Dim, sys unit.System) string {
	return r.words(func(x float64) string { return sys.Show(x, d) })
}

// Plain says the range of a number without unit.
func (r Range) Plain() string {
	return r.words(func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) })
}

func (r Range) words(show func(float64) string) string {
	end := func(x float64) string {
		if x == 0 {
			return "0"
		}
		return show(x)
	}
	low := "from " + end(r.Low)
	if r.Open {
		low = "above " + end(r.Low)
	}
	switch {
	case math.IsInf(r.High, 1) && math.IsInf(r.Low, -1):
		return "that is finite"
	case math.IsInf(r.High, 1):
		return low
	case math.IsInf(r.Low, -1):
		return "up to " + end(r.High)
	default:
		return fmt.Sprintf("%s, up to %s", low, end(r.High))
	}
}

// example shows how a quantity is written.
func example(d unit.Dim) string {
	examples := map[unit.Dim]string{
		unit.Length: "30 mm", unit.Pressure: "2380 psi", unit.Torque: "52 N·m", unit.Time: "90 s", unit.Flow: "18 mL/min",
		unit.Volume: "12 mL", unit.Force: "8 kN", unit.Velocity: "0.5 m/s", unit.Temperature: "21 °C", unit.Frequency: "60 /min",
		unit.KinViscosity: "35 cSt", unit.DynViscosity: "120 mPa·s", unit.Density: "1350 kg/m³", unit.Compliance: "0.05 mL/bar",
		unit.Ratio: "5 %", unit.TempDiff: "5 K", unit.Angle: "60 °",
	}
	if e, ok := examples[d]; ok {
		return e
	}
	return "1 " + d.SI()
}
