package web

import (
	"html/template"
	"net/http"
	"regexp"
	"strings"

	"github.com/evenstroke/evenstroke/internal/api"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
)

// E writes a sentence of the engine in the language of the page; one that has no translation is marked as English.
func (f *Frame) E(english string) template.HTML {
	said, ok := f.Engine(english)
	return marked(said, ok)
}

// marked writes a text, marked as English unless it is in the language of the page.
func marked(s string, ok bool) template.HTML {
	s = template.HTMLEscapeString(s)
	if !ok {
		s = `<span lang="en">` + s + `</span>`
	}
	return template.HTML(s) //nolint:gosec // escaped above
}

// Told is E where no mark can stand: in a title, an attribute, a paper.
func (f *Frame) Told(english string) string {
	said, _ := f.Engine(english)
	return said
}

// telling is Told for the reports.
func (f *Frame) telling() report.Say { return f.Told }

// Fault says what is wrong: where, what was found, what is expected, how to mend it.
func (f *Frame) Fault(x *record.Fault) template.HTML {
	said, ok := f.faultText(x)
	if at := f.where(x.Where); ok && at != "" {
		said = joinFault(at, said)
	}
	if !ok {
		said = x.Error()
	}
	return marked(said, ok)
}

// Wrong says what is wrong with a field, beside which it stands; "" when nothing is.
func (f *Frame) Wrong(form *Form, name string) template.HTML {
	x := form.fault(name)
	if x == nil {
		return ""
	}
	said, ok := f.faultText(x)
	if !ok {
		said = form.Error(name)
	}
	return marked(said, ok)
}

func joinFault(at, said string) string {
	if said == "" {
		return at
	}
	return at + ": " + said
}

// faultText is a fault without its place; ok is false when a part of it has no translation.
func (f *Frame) faultText(x *record.Fault) (string, bool) {
	var parts []string
	ok := true
	add := func(key, english string) {
		if english == "" {
			return
		}
		said, known := f.Engine(english)
		known = known || key == "fault.found" && !strings.Contains(english, " ") // one word, as somebody typed it
		if ok = ok && known; key != "" {
			said = f.T(key, said)
		}
		parts = append(parts, said)
	}
	add("fault.found", x.Found)
	if want := f.onPage(x.Want); want != "" {
		parts = append(parts, f.T("fault.want", want))
	} else {
		add("fault.want", x.Want)
	}
	if mend := f.onPage(x.Mend); mend != "" {
		parts = append(parts, mend)
	} else {
		add("", x.Mend)
	}
	return strings.Join(parts, "; "), ok
}

var addLine = regexp.MustCompile("^add a line `([a-z_]+): [^`]*`")

// onPage says on a page what to do there, where a message speaks of the lines of a file; "" when it does not.
func (f *Frame) onPage(advice string) string {
	if m := addLine.FindStringSubmatch(advice); m != nil {
		return f.T("mend.fill", f.fieldWord(m[1]))
	}
	if strings.HasPrefix(advice, "`volume` and `time`") {
		return f.T("mend.run")
	}
	return ""
}

// where names the place of a fault: a field by its word, else a thing that the engine names.
func (f *Frame) where(at string) string {
	if f.Has("field."+at) || at == "step" {
		return f.fieldWord(at)
	}
	return f.Told(at)
}

// tongue is the frame of an answer to a script, or nil when not even the shop can be read.
func (s *Server) tongue(r *http.Request) *Frame {
	f, err := s.frame(r)
	if err != nil {
		s.logger(r).Error("frame failed", "err", err)
		return nil
	}
	return f
}

// problemIn is a fault as a script shows it, in the language of the person; where stays the name of the field.
func problemIn(f *Frame, code int, x *record.Fault) *api.Problem {
	p := api.NewProblem(code, x)
	if f == nil || f.Lang == "en" {
		return p
	}
	said, ok := f.faultText(x)
	if !ok {
		return p
	}
	p.Detail = joinFault(f.where(x.Where), said)
	p.Found, p.Want, p.Mend = f.Told(x.Found), f.told(x.Want), f.told(x.Mend)
	return p
}

// told is Told with the advice for a page.
func (f *Frame) told(english string) string {
	if said := f.onPage(english); said != "" {
		return said
	}
	return f.Told(english)
}
