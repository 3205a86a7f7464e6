package record

import (
	"errors"
	"fmt"
)

// Code groups the errors of the shop's records; the web and the terminal turn it into an answer once.
type Code string

// The codes.
const (
	Invalid    Code = "invalid"     // what came in is not what is expected
	NotFound   Code = "not-found"   // there is no such thing
	Conflict   Code = "conflict"    // somebody else wrote in between
	NotAllowed Code = "not-allowed" // this person may not, or not now
	TooLarge   Code = "too-large"
	TooMany    Code = "too-many" // try again later
	Full       Code = "full"     // no space left on the disk
	ReadOnly   Code = "read-only"
	Newer      Code = "newer"    // written by a newer version
	Damaged    Code = "damaged"  // a digest or a stored value does not fit
	Away       Code = "away"     // the database server does not answer; try again
	Internal   Code = "internal" // none of these: see the log
)

// Fault is an error with where it is, what was found, what is expected and how to mend it.
type Fault struct {
	Code         Code
	Where, Found string
	Want, Mend   string
	Err          error // what caused it, for the log; never shown to a person
	Seq          int64 // of Conflict: the entry that came in between
}

// Faultf makes a Fault.
func Faultf(code Code, where, found, want, mend string) *Fault {
	return &Fault{Code: code, Where: where, Found: found, Want: want, Mend: mend}
}

// Error writes a fault as "where: found …; expected …; mend".
func (f *Fault) Error() string {
	s := f.Where
	if f.Found != "" {
		s += ": found " + f.Found
	}
	if f.Want != "" {
		s += fmt.Sprintf("; expected %s", f.Want)
	}
	if f.Mend != "" {
		s += "; " + f.Mend
	}
	return s
}

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.Err }

// CodeOf is the code of an error, or "" when it has none.
func CodeOf(err error) Code {
	var f *Fault
	if errors.As(err, &f) {
		return f.Code
	}
	return ""
}
