package unit

import (
	"math"
	"strconv"
)

// Value is a quantity that was read: SI number, standard uncertainty, kind, and the unit in which it was written.
type Value struct {
	SI   float64 // in the coherent SI unit of Dim
	U    float64 // standard uncertainty in the same unit (a difference for a temperature); 0 if none was given
	Dim  Dim     // kind of quantity
	Unit string  // canonical symbol of the unit as written: "lbf·ft" for "38 ft-lb"
	HasU bool    // an uncertainty was written
}

// In returns v in the unit u: 52 N·m In("lbf·ft") is 38.353…. The error is an *[Error]: unknown unit or wrong dimension.
func (v Value) In(u string) (float64, error) { return FromSI(v.SI, u, v.Dim) }

// String prints the value in its own unit, with its uncertainty if it has one, else with six significant digits at most.
func (v Value) String() string {
	if v.HasU && v.U > 0 {
		return FormatU(v.SI, v.U, v.Dim, v.Unit)
	}
	return formatShort(v.SI, v.Dim, v.Unit)
}

// toSI returns (x + off)·num/den.
func (u *def) toSI(x float64) float64 { return (x + u.off) * u.num / u.den }

// fromSI is the inverse of toSI.
func (u *def) fromSI(si float64) float64 { return si*u.den/u.num - u.off }

// ToSI returns x of the unit u as SI value of the kind d.
//
//	SI = (x + x₀)·f
//
// f is the size of the unit in SI, x₀ the zero of a temperature scale (273.15 for °C, 459.67 for °F), 0 otherwise. Source:
// NIST SP 811:2008, App. B. Valid for every finite x whose result is finite, and for temperatures from absolute zero on;
// otherwise, and for a unit that is unknown or of another kind, an *[Error].
func ToSI(x float64, u string, d Dim) (float64, error) {
	row, err := resolve(u, d, "", 0)
	if err != nil {
		return 0, err
	}
	si := row.toSI(x)
	return usable(si, si, x, row, d)
}

// FromSI returns the SI value si of the kind d in the unit u, the inverse of [ToSI]:
//
//	x = SI/f − x₀
//
// Same symbols, validity, errors and source.
func FromSI(si float64, u string, d Dim) (float64, error) {
	row, err := resolve(u, d, "", 0)
	if err != nil {
		return 0, err
	}
	x := row.fromSI(si)
	return usable(x, si, si, row, d)
}

// Convert returns x of the unit from in the unit to. The kind of quantity is the first one (in the order of the constants)
// that has both units, so "lb" to "kg" is a mass, "lb" to "N" a force, and "°C" to "°F" a temperature, not a difference (for a
// difference use [ToSI] and [FromSI] with [TempDiff]). There and back agrees within 1e-15 relative (of the absolute
// temperature). Source and errors as [ToSI].
func Convert(x float64, from, to string) (float64, error) {
	for d := Length; d < dimEnd; d++ {
		a, ok := find(from, d)
		if !ok {
			continue
		}
		if b, ok := find(to, d); ok {
			si := a.toSI(x)
			y := b.fromSI(si)
			if a == b {
				y = x
			}
			return usable(y, si, x, a, d)
		}
	}
	d, ok := dimOf(from, 0)
	if !ok {
		return 0, unknownAnywhere(from)
	}
	other, ok := dimOf(to, 0)
	if !ok {
		return 0, unknownAnywhere(to)
	}
	return 0, fail(WrongDimension, d, usual(d), "%s is %s", quote(to), other.article())
}

// unknownAnywhere is the error of a unit of no kind at all.
func unknownAnywhere(u string) *Error {
	e := &Error{Kind: UnknownUnit, Found: "unknown unit " + quote(u), Want: "a known unit is needed",
		Fix: "write a usual symbol such as psi, bar, N·m, mm, in, mL/min or °C"}
	best := 0
	for d := Length; d < dimEnd; d++ {
		if special := unclear(u, d, ""); special != nil {
			special.Want = "a unit of one meaning is needed"
			return special
		}
		if near, n := nearest(u, d); near != "" && (best == 0 || n < best) {
			e.Fix, best = "did you mean "+near+"?", n
		}
	}
	return e
}

// usable returns result, or an error if it is no finite number or stands for a temperature below absolute zero. result and si
// were made from x; u is the unit of the message.
func usable(result, si, x float64, u *def, d Dim) (float64, error) {
	switch {
	case math.IsNaN(result) || math.IsInf(result, 0) || math.IsNaN(si) || math.IsInf(si, 0):
		return 0, fail(NotFinite, d, example("", 0, d), "%g gives no finite number", x)
	case d == Temperature && si < 0:
		return 0, belowZero(strconv.FormatFloat(u.fromSI(si), 'g', 6, 64) + " " + u.sym)
	}
	return result, nil
}

// belowZero is the error of a temperature that cannot be.
func belowZero(text string) *Error {
	return fail(OutOfRange, Temperature, example("", 0, Temperature), "%s is below absolute zero", quote(text))
}

// Units returns the canonical symbols accepted for d, the usual ones first; nil for an unknown d.
func Units(d Dim) []string {
	if d >= dimEnd {
		return nil
	}
	var all []string
	for _, u := range table[d] {
		all = append(all, u.sym)
	}
	return all
}

// Canonical returns the symbol under which the unit written u is printed in d: "lbf·ft" for "ft-lb".
func Canonical(u string, d Dim) (string, error) {
	row, err := resolve(u, d, "", 0)
	if err != nil {
		return "", err
	}
	return row.sym, nil
}
