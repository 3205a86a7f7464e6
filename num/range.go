package num

import (
	"math"
	"strconv"
)

// RangeError says that an argument of a formula lies outside the range in
// which the formula holds. It is the error of every package that computes.
type RangeError struct {
	Func  string  // function that refused, as "leak.Annulus"
	Name  string  // argument at fault, as "h"
	Value float64 // value that was given, in SI
	Unit  string  // SI unit of Value, "1" or "" for none
	Want  string  // what would be accepted, as "> 0" or "0..1"
	// Low and High are the ends of what would be accepted, in the unit of Value; both are 0 when it is no interval. Above says that Low
	// itself is refused.
	Low, High float64
	Above     bool
}

// Error gives the complaint on one line, as
//
//	leak.Annulus: h = -5e-06 m, want > 0
func (e *RangeError) Error() string {
	s := e.Func + ": " + e.Name + " = " + strconv.FormatFloat(e.Value, 'g', -1, 64)
	if e.Unit != "" && e.Unit != "1" {
		s += " " + e.Unit
	}
	return s + ", want " + e.Want
}

// CheckPositive returns a *RangeError unless 0 < v < +Inf.
func CheckPositive(fn, name string, v float64, unit string) error {
	if v > 0 && v <= math.MaxFloat64 {
		return nil
	}
	return &RangeError{Func: fn, Name: name, Value: v, Unit: unit, Want: "> 0 and finite", High: math.Inf(1), Above: true}
}

// CheckRange returns a *RangeError unless lo <= v <= hi and v is finite. The
// bounds may be infinite.
func CheckRange(fn, name string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi && !math.IsInf(v, 0) {
		return nil
	}
	return &RangeError{Func: fn, Name: name, Value: v, Unit: unit, Want: interval(lo, hi), Low: lo, High: hi}
}

// CheckFinite returns a *RangeError if v is NaN or infinite.
func CheckFinite(fn, name string, v float64, unit string) error {
	if math.Abs(v) <= math.MaxFloat64 {
		return nil
	}
	return &RangeError{Func: fn, Name: name, Value: v, Unit: unit, Want: "finite", Low: math.Inf(-1), High: math.Inf(1)}
}

func interval(lo, hi float64) string {
	switch {
	case math.IsInf(hi, 1) && math.IsInf(lo, -1):
		return "finite"
	case math.IsInf(hi, 1):
		return ">= " + short(lo) + " and finite"
	case math.IsInf(lo, -1):
		return "<= " + short(hi) + " and finite"
	}
	return short(lo) + ".." + short(hi)
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
