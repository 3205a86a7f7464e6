package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// maxForm is the size of the largest form: a pump sheet.
const maxForm = 1 << 20

// Form is what was posted, with what is wrong with it. The zero Form is one not yet filled in.
type Form struct {
	Values url.Values
	Faults []*record.Fault
}

// readForm reads a posted form of bounded size.
func readForm(w http.ResponseWriter, r *http.Request) (*Form, error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			return nil, record.Faultf(record.TooLarge, "form", "more than 1 MB", "at most 1 MB", "shorten it")
		}
		return nil, record.Faultf(record.Invalid, "form", "a form that cannot be read", "the fields of the page", "load the page again")
	}
	for name, values := range r.PostForm {
		for _, v := range values {
			if err := record.Typed(name, v); err != nil {
				return nil, err
			}
		}
	}
	return &Form{Values: r.PostForm}, nil
}

// Get is the trimmed text of a field.
func (f *Form) Get(name string) string { return strings.TrimSpace(f.Values.Get(name)) }

// Secret is a field as it was typed: of what lets somebody in nothing is changed.
func (f *Form) Secret(name string) string { return f.Values.Get(name) }

// Text is the text of a field with line ends as in files.
func (f *Form) Text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.Values.Get(name), "\r\n", "\n"))
}

// Quantity is the text of a field with its unit: a bare number takes the unit of the page on which it was typed.
func (f *Form) Quantity(name string) string {
	v := f.Get(name)
	if v == "" {
		return ""
	}
	if last := v[len(v)-1]; last >= '0' && last <= '9' || last == '.' || last == ',' {
		if u := f.Get(name + ".unit"); u != "" {
			return v + " " + u
		}
	}
	return v
}

// Number is a field as a whole number; 0 when empty.
func (f *Form) Number(name string) (int64, error) {
	v := f.Get(name)
	if v == "" {
		return 0, nil
	}
	n, err := strconv.ParseInt(v, 10, 64)
	if err != nil {
		return 0, record.Faultf(record.Invalid, name, fmt.Sprintf("%.40q", v), "a whole number", "")
	}
	return n, nil
}

// Is says whether a box is checked.
func (f *Form) Is(name string) bool { return f.Get(name) != "" }

// fault is the fault of a field, or nil.
func (f *Form) fault(name string) *record.Fault {
	if f == nil {
		return nil
	}
	for _, e := range f.Faults {
		if strings.EqualFold(e.Where, name) { // the gate says "PIN"
			return e
		}
	}
	return nil
}

// Error is what is wrong with a field, in English, "" when nothing is. A page says it by Frame.Wrong.
func (f *Form) Error(name string) string {
	e := f.fault(name)
	if e == nil {
		return ""
	}
	return e.Error()[len(e.Where)+2:]
}

// Wrong says whether anything is wrong.
func (f *Form) Wrong() bool { return f != nil && len(f.Faults) > 0 }

// Value is what stands in a field: what was posted, else what was there before.
func (f *Form) Value(name, before string) string {
	if f == nil || f.Values == nil {
		return before
	}
	if _, ok := f.Values[name]; !ok {
		return before
	}
	return f.Values.Get(name)
}

// Picked says whether an option is chosen.
func (f *Form) Picked(name, option, before string) bool { return f.Value(name, before) == option }

// by says who writes a form: its key was made with the page, so that a form sent twice is taken once.
func by(r *http.Request, f *Form) shop.By {
	who, _ := gate.From(r.Context())
	b := shop.By{Who: who}
	if f == nil {
		return b
	}
	b.Key = f.Get("key")
	if n, err := f.Number("corrects"); err == nil {
		b.Corrects = n
	}
	if n, err := f.Number("seen"); err == nil {
		b.IfSeq = n
	}
	if at, err := time.Parse(time.RFC3339, f.Get("at")); err == nil {
		b.At = at
	}
	return b
}

// post reads a form, acts, and goes on; when it was refused the view shows the form again with what is wrong.
func (s *Server) post(act func(r *http.Request, f *Form) (to string, err error), view func(w http.ResponseWriter, r *http.Request, f *Form) error) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(w, r)
		if err != nil {
			return err
		}
		to, err := act(r, f)
		if err == nil {
			if back := f.Get("back"); back != "" && local(back) {
				to = back
			}
			http.Redirect(w, r, to, http.StatusSeeOther)
			return nil
		}
		var fault *record.Fault
		if !errors.As(err, &fault) || status(fault.Code) >= 500 || fault.Code == record.NotFound && view == nil {
			return err
		}
		f.Faults = append(f.Faults, faultsOf(err)...)
		if wantsScript(r) || view == nil || errors.Is(err, gate.ErrStale) {
			return err
		}
		return view(w, r, f)
	}
}

// faultsOf lists the faults of a joined error.
func faultsOf(err error) []*record.Fault {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		var out []*record.Fault
		for _, e := range j.Unwrap() {
			out = append(out, faultsOf(e)...)
		}
		return out
	}
	return []*record.Fault{faultOf(err)}
}

// statusOf is the status of a page that shows a form.
func statusOf(f *Form) int {
	if !f.Wrong() {
		return http.StatusOK
	}
	return status(f.Faults[0].Code)
}

// local says whether an address is a page of this shop, so that a form cannot send anybody elsewhere.
func local(to string) bool {
	u, err := url.Parse(to)
	return err == nil && u.Scheme == "" && u.Host == "" && strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//") && !strings.ContainsAny(to, "\\\r\n\t")
}

// option is one choice of a list.
type option struct {
	Value, Word string
	Small       string
}

func options(words ...string) []option {
	out := make([]option, len(words))
	for i, w := range words {
		out[i] = option{Value: w, Word: w}
	}
	return out
}

func has(list []option, v string) bool {
	return slices.ContainsFunc(list, func(o option) bool { return o.Value == v })
}
