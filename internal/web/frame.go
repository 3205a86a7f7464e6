package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/language"
	"golang.org/x/text/language/display"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/internal/text"
	"github.com/evenstroke/evenstroke/unit"
)

// Frame is what every page has: whose shop, who looks, in which language, units and light.
type Frame struct {
	*text.Voice
	Shop   *record.Shop // nil before it is set up
	Who    gate.Who
	In     bool // somebody is signed in
	Units  unit.System
	System string // "metric" or "imperial"
	Look   string
	Title  string
	Path   string // of this page, for forms that come back to it
	Query  string // what was searched for
	Notice string // key of a notice to show once
	Data   any
	Live   bool   // the page swaps parts of itself
	Job    int64  // the job that the page is about; 0 for none
	Hold   string // the hold that the page is live for, "" for none
	Main   string // class of the main part: "narrow", "hold", "sheet", "tagpage"
	here   string // address of this page with its query
	langs  []string
	called map[string]string // languages in themselves, by tag
	static *assets
	names  *names
	now    time.Time
	zip    bool // the answer may be compressed
	wrong  func() ([]gate.Wrong, error)
	ails   func() []store.Trouble
}

// names looks people and devices up by number, once a page.
type names struct {
	st     *store.Store
	r      *http.Request
	people map[record.Subject]string
}

func (n *names) of(k record.SubjectKind, id int64) string {
	if id == 0 {
		return "evenstroke"
	}
	sub := record.Subject{Kind: k, ID: id}
	if s, ok := n.people[sub]; ok {
		return s
	}
	name := fmt.Sprintf("%s %d", k, id)
	if i, err := n.st.Glance(n.r.Context(), sub); err == nil {
		name = i.Label
	}
	n.people[sub] = name
	return name
}

// frame makes the frame of a page.
func (s *Server) frame(r *http.Request) (*Frame, error) {
	profile, _, err := s.Options.Shop.Profile(r.Context())
	if err != nil {
		return nil, err
	}
	f := &Frame{Shop: profile, Path: r.URL.Path, zip: zips(r), static: s.static, now: s.Options.Shop.Now(), System: "metric",
		here: r.URL.RequestURI(), langs: s.texts.Languages(), called: s.called,
		names: &names{s.Options.Shop.Store(), r, map[record.Subject]string{}}}
	f.Who, f.In = gate.From(r.Context())
	f.In = f.In && f.Who.Person != 0 && !f.Who.Locked
	lang := r.Header.Get("Accept-Language")
	if profile != nil {
		lang, f.System = profile.Lang, profile.Units
	}
	if f.In && f.Who.P.Lang != "" {
		lang = f.Who.P.Lang
	}
	if f.In && f.Who.P.Units != "" {
		f.System = f.Who.P.Units
	}
	f.wrong = func() ([]gate.Wrong, error) { return s.Gate.WrongUntold(r.Context()) }
	f.ails = func() []store.Trouble { return s.troubles(r.Context()) }
	f.Look = f.Who.P.Look
	f.Voice = s.texts.In(lang)
	f.Units = units(f.System, f.Who.P.Unit)
	if q := r.URL.Query().Get("done"); q != "" && f.Has("done."+q) {
		f.Notice = "done." + q
	}
	return f, nil
}

var dims = map[string]unit.Dim{"pressure": unit.Pressure, "torque": unit.Torque, "length": unit.Length, "volume": unit.Volume, "flow": unit.Flow, "temperature": unit.Temperature}

// units makes the units of a person; a wish that cannot be met is passed over, since it was checked when it was kept.
func units(system string, wishes map[string]string) unit.System {
	sys := unit.Metric()
	if system == "imperial" {
		sys = unit.Imperial()
	}
	for name, u := range wishes {
		if d, ok := dims[name]; ok {
			if with, err := sys.With(d, u); err == nil {
				sys = with
			}
		}
	}
	return sys
}

// T says a text.
func (f *Frame) T(key string, args ...any) string { return f.Say(key, args...) }

// When writes a time of day in the time of the server.
func (f *Frame) When(t time.Time) string {
	t = t.Local()
	if t.Year() == f.now.Local().Year() && t.YearDay() == f.now.Local().YearDay() {
		return f.Say("time.today", t.Format("15:04"))
	}
	return t.Format("2006-01-02 15:04")
}

// Stamp writes a time of day with its date, as papers need it: they are read on another day.
func (f *Frame) Stamp(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

// Day writes a date.
func (f *Frame) Day(t time.Time) string { return t.Local().Format(time.DateOnly) }

// ISO writes a time for scripts.
func (f *Frame) ISO(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }

// Person names a person by number.
func (f *Frame) Person(id int64) string { return f.names.of(record.OfPerson, id) }

// Device names a device by number.
func (f *Frame) Device(id int64) string { return f.names.of(record.OfDevice, id) }

// Static is the address of a static file, with its digest.
func (f *Frame) Static(name string) string { return f.static.url(name) }

// May says whether the person who looks may do something, so that keys that lead nowhere are not shown.
func (f *Frame) May(what string) bool { return f.In && gate.May(f.Who, gate.Action(what)) == nil }

// Money writes an amount in the currency of the shop.
func (f *Frame) Money(v int64) string {
	if f.Shop == nil {
		return strconv.FormatInt(v, 10)
	}
	return money(v, f.Shop.Currency)
}

// HTMLClass is the class of the root element: the light of the page and of its pictures.
func (f *Frame) HTMLClass() string {
	switch f.Look {
	case "dark":
		return "look-dark " + draw.Dark
	case "light":
		return "look-light " + draw.Light
	case "contrast":
		return "look-contrast " + draw.Light
	}
	return ""
}

// BodyClass is the class of the body.
func (f *Frame) BodyClass() string {
	if f.Hold != "" {
		return "page-hold"
	}
	return ""
}

// MainClass is the class of the main part.
func (f *Frame) MainClass() string { return f.Main }

// Version is that of the static files.
func (f *Frame) Version() string { return f.static.version }

// Icon is the address of a sign.
func (f *Frame) Icon(name string) string { return f.static.icon(name) }

// Demo says that all data is invented.
func (f *Frame) Demo() bool { return f.Shop != nil && f.Shop.Demo }

// UnitWords names the units of a person in a few words.
func (f *Frame) UnitWords() string {
	return f.Units.Unit(unit.Pressure) + ", " + f.Units.Unit(unit.Torque) + ", " + f.Units.Unit(unit.Length)
}

// Here is the address to come back to: that of a page, not of a form that was refused.
func (f *Frame) Here() string { return f.here }

// Languages lists the languages there are.
func (f *Frame) Languages() []string { return f.langs }

// LanguageName names a language in itself.
func (f *Frame) LanguageName(tag string) string { return f.called[tag] }

// inThemselves names each language in itself.
func inThemselves(tags []string) (map[string]string, error) {
	out := map[string]string{}
	for _, tag := range tags {
		t, err := language.Parse(tag)
		if err != nil {
			return nil, fmt.Errorf("web: language %s: %w", tag, err)
		}
		out[tag] = display.Self.Name(t)
	}
	return out, nil
}

// Key makes the key of a form.
func (f *Frame) Key() string { return shop.NewKey() }

// raw passes a picture that this program made.
func raw(svg string) template.HTML { return template.HTML(svg) } //nolint:gosec // made by package draw, which escapes

var funcs = template.FuncMap{
	"raw":   raw,
	"lower": strings.ToLower,
	"dict": func(pairs ...any) (map[string]any, error) {
		if len(pairs)%2 != 0 {
			return nil, fmt.Errorf("dict: found %d values; expected pairs", len(pairs))
		}
		m := map[string]any{}
		for i := 0; i < len(pairs); i += 2 {
			key, ok := pairs[i].(string)
			if !ok {
				return nil, fmt.Errorf("dict: found a key of type %T; expected a string", pairs[i])
			}
			m[key] = pairs[i+1]
		}
		return m, nil
	},
	"list": func(v ...string) []string { return v },
	"add":  func(a, b int) int { return a + b },
	"add1": func(row string) (string, error) {
		n, err := strconv.Atoi(row)
		return strconv.Itoa(n + 1), err
	},
}

// show answers with a page.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, page, title string, data any) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	f.Title, f.Data = title, data
	return s.render(w, status, page, "frame.html", f)
}

// render writes one template of a page, whole or not at all.
func (s *Server) render(w http.ResponseWriter, status int, page, name string, f *Frame) error {
	t, ok := s.pages[pageKey{f.Lang, page}]
	if !ok {
		return fmt.Errorf("web: no page %q in %s", page, f.Lang)
	}
	buf := buffers.Get().(*bytes.Buffer)
	defer giveBack(buf)
	if err := t.ExecuteTemplate(buf, name, f); err != nil {
		return fmt.Errorf("web: page %s: %w", page, err)
	}
	return send(w, status, f.zip, buf)
}

// wrote takes the error of an answer whose reader has gone away: there is nobody left to tell.
func wrote(error) error { return nil }
