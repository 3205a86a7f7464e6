package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/internal/plain"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// inputError is an error that the person can mend: exit code 2.
type inputError struct{ err error }

func (e inputError) Error() string { return e.err.Error() }
func (e inputError) Unwrap() error { return e.err }

func badInput(format string, args ...any) error { return inputError{fmt.Errorf(format, args...)} }

// asInput marks an error as one of the input.
func asInput(err error) error {
	if err == nil {
		return nil
	}
	return inputError{err}
}

// named puts the name of the file that an error is about before each of its lines, where it does not stand yet. An error of a sheet has it; "" names none.
func named(file string, err error) error {
	if err == nil || file == "" || sheet.List(err) != nil || strings.HasPrefix(err.Error(), file+":") {
		return err
	}
	return inFile{file, err}
}

// inFile is an error with the file that it is about.
type inFile struct {
	file string
	err  error
}

func (e inFile) Error() string {
	return e.file + ": " + strings.ReplaceAll(e.err.Error(), "\n", "\n"+e.file+": ")
}
func (e inFile) Unwrap() error { return e.err }

// isInput says whether an error is one that the person can mend.
func isInput(err error) bool {
	var in inputError
	var refusal *hold.Refusal
	var place *outfile.Refusal
	return errors.As(err, &in) || errors.As(err, &refusal) || errors.As(err, &place) || sheet.List(err) != nil || plain.Input(err)
}

// flagged is an error of a computation with the flags or keys from which its quantities came.
type flagged struct {
	error
	places map[string]string // by the name of the quantity
}

func (f flagged) Unwrap() error { return f.error }

// from names where the quantities of a computation came from, in case it refuses one.
func from(err error, places map[string]string) error {
	if err == nil {
		return nil
	}
	return flagged{err, places}
}

// text is the message of an error as a person reads it.
func (a *app) text(err error) string {
	var f flagged
	if errors.As(err, &f) {
		return plain.Text(err, a.sys, f.places)
	}
	return plain.Text(err, a.sys, nil)
}

// errorDoc is how an error looks with --json.
type errorDoc struct {
	Error  string             `json:"error"`
	Sheet  sheet.Errors       `json:"in_file,omitempty"`
	Refuse []hold.RefusalItem `json:"refused,omitempty"`
	Doubts []doubtDoc         `json:"doubts,omitempty"`
}

func (a *app) describeError(err error) errorDoc {
	doc := errorDoc{Error: a.text(err), Sheet: sheet.List(err)}
	var refusal *hold.Refusal
	if errors.As(err, &refusal) {
		doc.Refuse = refusal.Items
	}
	var over overloadError
	if errors.As(err, &over) {
		doc.Doubts = over.doubts
	}
	return doc
}

func (a *app) jsonError(err error) {
	data, merr := json.Marshal(a.describeError(err))
	if merr != nil {
		fmt.Fprintln(a.err, "evenstroke: "+a.text(err))
		return
	}
	fmt.Fprintln(a.err, string(data))
}

// quantity reads what a flag was given, with its unit; it must lie in r, whose ends are told in that unit.
func quantity(flag, text string, d unit.Dim, r sheet.Range) (unit.Value, error) {
	v, err := unit.Parse(text, d)
	if err == nil {
		err = unit.Doubt(text, d)
	}
	if err != nil {
		return v, badInput("%s: %w", flag, err)
	}
	if !r.Holds(v.SI) {
		sys, err := unit.Metric().With(d, v.Unit)
		if err != nil {
			return v, err
		}
		return v, badInput("%s: found %q; expected a %s %s", flag, text, d, r.In(d, sys))
	}
	return v, nil
}
