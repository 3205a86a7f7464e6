package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"github.com/evenstroke/evenstroke/internal/api"
	"github.com/evenstroke/evenstroke/internal/record"
)

func notFound(where string) error {
	return record.Faultf(record.NotFound, where, "no such page", "an address of this shop", "go to the board and search")
}

func status(code record.Code) int { return api.Status(code) }

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
		s.answerProblem(w, r, f, code)
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

// answerProblem answers a script, which shows what is wrong to the person: in the language of the person.
func (s *Server) answerProblem(w http.ResponseWriter, r *http.Request, f *record.Fault, code int) {
	if strings.HasPrefix(r.URL.Path, "/api/") { // a program reads it
		api.WriteProblem(w, api.NewProblem(code, f))
		return
	}
	api.WriteProblem(w, problemIn(s.tongue(r), code, f))
}

// toTheDoor sends somebody who is not signed in to where that is done, and a script away.
func (s *Server) toTheDoor(w http.ResponseWriter, r *http.Request) error {
	if wantsScript(r) {
		s.answerProblem(w, r, record.Faultf(record.NotAllowed, "sign-in", "nobody signed in on this device", "a person", "sign in; what is kept on this device is sent then"), http.StatusUnauthorized)
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
