//go:build !small

package cli

import (
	"errors"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
)

// byFault marks what a person can mend as an error of the input.
func byFault(err error) error {
	var f *record.Fault
	if !errors.As(err, &f) {
		return err
	}
	switch f.Code {
	case record.Invalid, record.NotFound, record.NotAllowed, record.Newer, record.Conflict, record.TooLarge:
		return asInput(err)
	}
	if f.Err != nil {
		return fmt.Errorf("%w (%w)", err, f.Err)
	}
	return err
}

// ofFile marks what is wrong with a file that the person named, and names it: there a damaged record is the file's, not the shop's.
func ofFile(file string, err error) error {
	var f *record.Fault
	if !errors.As(err, &f) {
		return err
	}
	switch f.Code {
	case record.Damaged:
		here := *f
		here.Mend = "take another copy of the file"
		return named(file, asInput(&here))
	case record.Invalid, record.NotFound, record.Newer, record.TooLarge:
		return named(file, asInput(f))
	}
	return byFault(err)
}
