package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

func notFound(where string) error {
	return record.Faultf(record.NotFound, where, "no such page", "an address of this shop", "go to the board and search")
}

// status is the HTTP status of a code (RFC 9110).
func status(code record.Code) int {
	switch code {
	case record.Invalid:
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

// problem is an error as a script reads it (RFC 9457).
type problem struct {
	Type   string      `json:"type"`
	Title  string      `json:"title"`
	Status int         `json:"status"`
	Detail string      `json:"detail"`
	Code   record.Code `json:"code"`
	Where  string      `json:"where,omitempty"`
	Found  string      `json:"found,omitempty"`
	Want   string      `json:"want,omitempty"`
	Mend   string      `json:"mend,omitempty"`
	Seq    int64       `json:"seq,omitempty"`
}

// faultOf is the fault in an error; what is no fault is one of the program, told without its inside.
func faultOf(err error) *record.Fault {
	var f *record.Fault
	if errors.As(err, &f) {
		return f
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return record.Faultf(record.TooMany, "the server", "too much to do at once", "", "try again in a moment; nothing was taken")
	}
	return &record.Fault{Code: record.Internal, Where: "the program", Found: "an error of its own", Mend: "try again; what was entered before is safe. The log of the server says more", Err: err}
}

func wantsScript(r *http.Request) bool {
	a := r.Header.Get("Accept")
	return strings.Contains(a, "application/json") || strings.Contains(a, "application/problem+json")
}

// answerError answers an error as a page, or to a script as a problem.
func (s *Server) answerError(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, context.Canceled) && r.Context().Err() != nil {
		return // the reader has gone away
	}
	f := faultOf(err)
	code := status(f.Code)
	if code >= 500 {
		s.logger(r).Error("request failed", "err", err, "cause", f.Err)
	}
	if wantsScript(r) {
		s.answerProblem(w, f, code)
		return
	}
	frame, ferr := s.frame(r)
	if ferr != nil { // not even the name of the shop can be read
		s.logger(r).Error("error page failed", "err", ferr)
		http.Error(w, f.Error(), code)
		return
	}
	frame.Title, frame.Data = frame.T("error.title"), f
	if err := s.render(w, code, "error", "frame.html", frame); err != nil {
		s.logger(r).Error("error page failed", "err", err)
		http.Error(w, f.Error(), code)
	}
}

func (s *Server) answerProblem(w http.ResponseWriter, f *record.Fault, code int) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(code)
	body, err := json.Marshal(problem{Type: "about:blank", Title: http.StatusText(code), Status: code, Detail: f.Error(), Code: f.Code, Where: f.Where, Found: f.Found, Want: f.Want, Mend: f.Mend, Seq: f.Seq})
	if err != nil {
		body = []byte(`{}`)
	}
	_, werr := w.Write(body)
	_ = wrote(werr)
}

// toTheDoor sends somebody who is not signed in to where that is done, and a script away.
func (s *Server) toTheDoor(w http.ResponseWriter, r *http.Request) error {
	if wantsScript(r) {
		s.answerProblem(w, record.Faultf(record.NotAllowed, "sign-in", "nobody signed in on this device", "a person", "sign in; what is kept on this device is sent then"), http.StatusUnauthorized)
		return nil
	}
	up, err := s.Gate.IsSetUp(r.Context())
	if err != nil {
		return err
	}
	to := "/door"
	if !up {
		to = "/set-up"
	} else if r.Method == http.MethodGet && r.URL.Path != "/" {
		to += "?to=" + escape(r.URL.RequestURI())
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

var _ = gate.From
