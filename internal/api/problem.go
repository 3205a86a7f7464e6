package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
)

// Problem is an error as a program reads it (RFC 9457): where it is, what was found, what is expected, how to mend it.
type Problem struct {
	Type    string    `json:"type" enum:"about:blank"`
	Title   string    `json:"title" doc:"the words of the status"`
	Status  int       `json:"status"`
	Detail  string    `json:"detail" doc:"all of it in one line"`
	Code    string    `json:"code" doc:"group of the error: invalid, not-found, conflict, not-allowed, too-large, too-many, full, read-only, newer, damaged, away, internal"`
	Where   string    `json:"where,omitempty"`
	Found   string    `json:"found,omitempty"`
	Want    string    `json:"want,omitempty"`
	Mend    string    `json:"mend,omitempty"`
	Seq     int64     `json:"seq,omitempty" doc:"of a conflict: the last entry"`
	Refused []Refused `json:"refused,omitempty" doc:"readings that cannot come from this pump"`
}

// Refused is one reading that was refused, with the entries that it was made of.
type Refused struct {
	Reading int     `json:"reading" doc:"1 for the first of the hold sheet"`
	Entries []int64 `json:"entries"`
	Found   string  `json:"found"`
	Want    string  `json:"want"`
	Mend    string  `json:"mend"`
}

// Error is the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus is the status, for huma.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of problem details, for huma.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// Status is the HTTP status of a code (RFC 9110; 507 of RFC 4918).
func Status(code record.Code) int {
	switch code {
	case record.Invalid, record.Newer:
		return http.StatusUnprocessableEntity
	case record.NotFound:
		return http.StatusNotFound
	case record.Conflict:
		return http.StatusConflict
	case record.NotAllowed:
		return http.StatusForbidden
	case record.TooLarge:
		return http.StatusRequestEntityTooLarge
	case record.TooMany:
		return http.StatusTooManyRequests
	case record.Full:
		return http.StatusInsufficientStorage
	case record.ReadOnly, record.Away:
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// NewProblem is a fault as it is answered with a status.
func NewProblem(code int, f *record.Fault) *Problem {
	return &Problem{Type: "about:blank", Title: http.StatusText(code), Status: code, Detail: f.Error(), Code: string(f.Code), Where: f.Where, Found: f.Found, Want: f.Want, Mend: f.Mend, Seq: f.Seq}
}

// fail is an error as it is answered. What is no fault is one of the program, told without its inside.
func (a *API) fail(ctx context.Context, err error) error {
	var p *Problem
	if err == nil || errors.As(err, &p) {
		return err
	}
	var f *record.Fault
	switch {
	case errors.As(err, &f):
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		f = record.Faultf(record.Away, "the server", "too much to do at once", "", "try again in a moment; nothing was taken")
	default:
		f = &record.Fault{Code: record.Internal, Where: "the program", Found: "an error of its own", Mend: "try again; what was entered before is safe", Err: err}
	}
	code := Status(f.Code)
	if code >= 500 {
		a.log.ErrorContext(ctx, "request failed", "err", err, "cause", f.Err)
	}
	p = NewProblem(code, f)
	var r *assess.Refused
	if errors.As(err, &r) {
		for _, it := range r.Items {
			p.Refused = append(p.Refused, Refused{it.Reading, it.Origin.Seqs, it.Found, it.Want, it.Fix})
		}
	}
	return p
}

// precondition turns a conflict of a writer that said what it has seen into 412 (RFC 9110 section 13.1.1).
func precondition(err error) error {
	var f *record.Fault
	if errors.As(err, &f) && f.Code == record.Conflict && f.Seq > 0 {
		return NewProblem(http.StatusPreconditionFailed, f)
	}
	return err
}

// told turns the errors that huma finds in parameters into problems.
func told(_ huma.Context, _ string, v any) (any, error) {
	m, ok := v.(*huma.ErrorModel)
	if !ok {
		return v, nil
	}
	f := record.Faultf(record.Invalid, "request", m.Detail, "what the document of this interface says", "")
	if len(m.Errors) > 0 {
		e := m.Errors[0]
		f.Where, f.Want = e.Location, e.Message
		if f.Found = ""; e.Value != nil {
			f.Found = fmt.Sprintf("%.80q", strings.ToValidUTF8(fmt.Sprint(e.Value), "�"))
		}
	}
	return NewProblem(m.Status, f), nil
}

// WriteProblem answers an error.
func WriteProblem(w http.ResponseWriter, p *Problem) {
	data, err := json.Marshal(p)
	if err != nil { // a struct of texts and numbers always can be
		data = []byte(`{}`)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.Status)
	// The answer is on its way: whoever does not take it cannot be told.
	_, _ = w.Write(data)
}
