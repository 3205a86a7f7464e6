package unit

import (
	"fmt"
	"strconv"
	"strings"
)

// Kind names the sort of mistake in an [Error]; the strings are stable and may be stored or sent.
type Kind string

// The kinds of mistake.
const (
	NoUnit         Kind = "no-unit"         // a number without a unit
	NoNumber       Kind = "no-number"       // a unit or a word without a number, or nothing at all
	UnknownUnit    Kind = "unknown-unit"    // the unit is not in the table
	UnclearUnit    Kind = "unclear-unit"    // the unit has two meanings (oz), or absolute pressure
	WrongDimension Kind = "wrong-dimension" // a unit of another kind of quantity
	UnknownDim     Kind = "unknown-dim"     // the caller asked for a Dim that does not exist
	NotFinite      Kind = "not-finite"      // NaN, infinite, or beyond the range of a float64
	OutOfRange     Kind = "out-of-range"    // a temperature below absolute zero
	TooLong        Kind = "too-long"        // more than 64 characters
	BadText        Kind = "bad-text"        // invalid UTF-8 or control characters
	SeveralNumbers Kind = "several-numbers" // more than one number, or a range
	BadSeparators  Kind = "bad-separators"  // points and commas that fit no way of writing a number
	BadUncertainty Kind = "bad-uncertainty" // the part after ± cannot be read as a standard uncertainty
)

// Error says in one line what was found, what is expected and how to mend it. Found, Want and Fix are never empty.
type Error struct {
	Kind  Kind
	Found string // `"52 mm" is a length`
	Want  string // `a torque is needed`
	Fix   string // `write e.g. 52 N·m or 38.4 lbf·ft`
}

// Error returns the three parts in one line. A missing unit is said without Want: the units in Fix tell it.
func (e *Error) Error() string {
	if e.Kind == NoUnit {
		return e.Found + ": " + e.Fix
	}
	return e.Found + ", " + e.Want + ": " + e.Fix
}

// quote returns s in quotes, cut to a readable length, with spaces of any width shown as plain ones.
func quote(s string) string {
	s = strings.Map(func(r rune) rune {
		if isSpace(r) {
			return ' '
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// fail makes the error of a text in which d was wanted.
func fail(k Kind, d Dim, fix, format string, args ...any) *Error {
	return &Error{Kind: k, Found: fmt.Sprintf(format, args...), Want: d.article() + " is needed", Fix: fix}
}

// example returns "write e.g. 2380 psi or 164 bar", with the number the person wrote if there is one.
func example(num string, x float64, d Dim) string {
	i := d.info()
	if num == "" {
		x, num = i.sample, strconv.FormatFloat(i.sample, 'f', -1, 64)
	}
	a, okA := find(i.a, d)
	b, okB := find(i.b, d)
	if !okA || !okB {
		return usual(d)
	}
	return "write e.g. " + join(num, i.a) + " or " + join(plain(b.fromSI(a.toSI(x)), 3), i.b)
}

// usual lists the common units of d: "use one of psi, bar, MPa, kPa".
func usual(d Dim) string {
	u := Units(d)
	if len(u) > 5 {
		u = u[:5]
	}
	return "use one of " + strings.Join(u, ", ")
}

// noSuchDim is the error of a caller that asks for a kind of quantity that does not exist.
func noSuchDim() *Error {
	return &Error{Kind: UnknownDim, Found: "no such kind of quantity", Want: "one of the kinds of this package is needed",
		Fix: "ask for unit.Pressure, unit.Length, …"}
}
