package localca

import (
	"fmt"
	"time"
)

// FileError says that a file of the authority, or a given certificate file, cannot be used, and how to mend it.
type FileError struct {
	File  string // the file or directory at fault
	Found string // what is wrong with it
	Mend  string // what to do
	Err   error  // the cause, or nil
}

// Error names the file, what is wrong and how to mend it.
func (e *FileError) Error() string {
	s := e.File + ": " + e.Found
	if e.Err != nil {
		s += " (" + e.Err.Error() + ")"
	}
	return s + "; to mend: " + e.Mend
}

// Unwrap gives the cause.
func (e *FileError) Unwrap() error { return e.Err }

// ClockError says that a certificate does not hold at the time that the machine's clock shows (RFC 5280 section 4.1.2.5).
type ClockError struct {
	File      string    // where the certificate is
	Now       time.Time // what the clock shows
	NotBefore time.Time // first moment at which the certificate holds
	NotAfter  time.Time // last moment
	Mend      string    // what to do if the clock is right
}

// TooEarly says whether the clock is before the certificate's first moment, as after a set-back or with a dead battery.
func (e *ClockError) TooEarly() bool { return e.Now.Before(e.NotBefore) }

// Error gives both dates and the clock.
func (e *ClockError) Error() string {
	state := "has expired"
	if e.TooEarly() {
		state = "is not valid yet"
	}
	return fmt.Sprintf("%s: the certificate %s: it holds from %s to %s and this machine's clock shows %s; to mend: set the clock if it is wrong; if it is right, %s",
		e.File, state, stamp(e.NotBefore), stamp(e.NotAfter), stamp(e.Now), e.Mend)
}

// NameError says that no certificate is given for a name or address.
type NameError struct {
	Name string // the name or address that was asked for
	Why  string // why it is refused
}

// Error gives the name and the reason.
func (e *NameError) Error() string { return fmt.Sprintf("no certificate for %q: %s", e.Name, e.Why) }

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 UTC") }

// holds returns a *ClockError unless the moment now lies within the certificate's validity, both ends included.
func holds(file string, notBefore, notAfter, now time.Time, mend string) error {
	if now.Before(notBefore) || now.After(notAfter) {
		return &ClockError{File: file, Now: now, NotBefore: notBefore, NotAfter: notAfter, Mend: mend}
	}
	return nil
}
