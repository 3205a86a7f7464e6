package web

import (
	"errors"
	"net/http"
	"slices"
	"sort"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// pinAnew is the field of the PIN that a page asks for in place.
const pinAnew = "pin.anew"

// secrets are the fields that no page repeats.
var secrets = []string{"pin", "old", "own", pinAnew}

type anewPage struct {
	F    *Frame
	Form *Form
	To   string // where the form is sent again
	Kept []sent // what it said
	Door string // another way to sign in
}

type sent struct{ Name, Value string }

// anew runs an action. When it asks for somebody who signed in a short while ago, the page asks for the PIN in place and sends the form
// again with it: nothing that was typed is lost.
func (s *Server) anew(w http.ResponseWriter, r *http.Request, a action) error {
	if r.Method != http.MethodPost || wantsScript(r) {
		return a(w, r)
	}
	if r.URL.Query().Has("anew") {
		f, err := readForm(w, r)
		if err != nil {
			return err
		}
		pin := f.Get(pinAnew)
		r.PostForm.Del(pinAnew)
		again, err := s.Gate.Again(w, r, pin)
		if err != nil {
			return s.askAnew(w, r, f, err)
		}
		r = again
	}
	err := a(w, r)
	if !errors.Is(err, gate.ErrStale) {
		return err
	}
	return s.askAnew(w, r, &Form{Values: r.PostForm}, nil)
}

// askAnew asks for the PIN of who is signed in. wrong is why the one that was typed did not do, nil when none was.
func (s *Server) askAnew(w http.ResponseWriter, r *http.Request, f *Form, wrong error) error {
	if wrong != nil {
		fault := faultOf(wrong)
		if status(fault.Code) >= 500 {
			return wrong
		}
		f.Faults = []*record.Fault{fault}
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := &anewPage{F: frame, Form: f, To: r.URL.Path + "?anew=1", Door: "/door?to=" + escape(r.URL.Path)}
	for name, values := range f.Values {
		if slices.Contains(secrets, name) {
			continue
		}
		for _, v := range values {
			d.Kept = append(d.Kept, sent{name, v})
		}
	}
	sort.SliceStable(d.Kept, func(a, b int) bool { return d.Kept[a].Name < d.Kept[b].Name })
	code := http.StatusForbidden
	if f.Wrong() {
		code = statusOf(f)
	}
	frame.Title, frame.Data, frame.Main = frame.T("anew.title"), d, "narrow"
	return s.render(w, code, "anew", "frame.html", frame)
}
