package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/unit"
)

type mePage struct {
	F        *Frame
	Form     *Form
	Units    []unitRow
	Passkeys []gate.Passkey
	Sessions []gate.Session
}

type unitRow struct {
	Name, Word, Now string
	Options         []option
}

// Field makes a field of the page.
func (d *mePage) Field(name, word, value string, more ...any) (Field, error) {
	return field(d.F, d.Form, name, word, value, more...)
}

// viewMe is the page of the person who is signed in: units, PIN, passkeys, leaving.
func (s *Server) viewMe(w http.ResponseWriter, r *http.Request, form *Form) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	f.here = "/me" // also after a form of it was refused
	d := &mePage{F: f, Form: form}
	names := []string{"pressure", "torque", "length", "volume", "flow", "temperature"}
	for _, n := range names {
		row := unitRow{Name: n, Word: f.T("unit." + n), Now: f.Who.P.Unit[n], Options: []option{{"", f.T("unit.asusual"), ""}}}
		for _, u := range unit.Units(dims[n]) {
			row.Options = append(row.Options, option{u, u, ""})
		}
		d.Units = append(d.Units, row)
	}
	if d.Passkeys, err = s.Gate.Passkeys(r.Context()); err != nil {
		return err
	}
	if d.Sessions, err = s.Gate.Sessions(r); err != nil {
		return err
	}
	f.Title, f.Data, f.Main = f.T("me.title"), d, "narrow"
	return s.render(w, statusOf(form), "me", "frame.html", f)
}

// mine changes the record of the person who is signed in.
func (s *Server) mine(r *http.Request, f *Form, change func(*record.Person) error) error {
	who, _ := gate.From(r.Context())
	sub := record.Subject{Kind: record.OfPerson, ID: who.Person}
	for range 3 { // another tablet of the same person may write at the same moment
		i, err := s.Shop.Store().Item(r.Context(), sub)
		if err != nil {
			return err
		}
		p := *i.Value.(*record.Person)
		if err := change(&p); err != nil {
			return err
		}
		b := by(r, f)
		b.IfSeq = i.Seq
		_, err = s.Shop.Keep(r.Context(), b, sub, &p)
		if record.CodeOf(err) != record.Conflict {
			if err == nil {
				s.Gate.Forget(who.Person)
			}
			return err
		}
	}
	return record.Faultf(record.Conflict, "person", "a change from another device", "one at a time", "try again")
}

func (s *Server) keepMe(r *http.Request, f *Form) (string, error) {
	return "/me?done=kept", s.mine(r, f, func(p *record.Person) error {
		wishes := map[string]string{}
		for name, d := range dims {
			u := f.Get("unit:" + name)
			if u == "" {
				continue
			}
			if !slices.Contains(unit.Units(d), u) {
				return record.Faultf(record.Invalid, name, u, "a unit of the list", "")
			}
			wishes[name] = u
		}
		p.Unit = nil
		if len(wishes) > 0 {
			p.Unit = wishes
		}
		return nil
	})
}

func (s *Server) switchUnits(r *http.Request, f *Form) (string, error) {
	return "/", s.mine(r, f, func(p *record.Person) error { p.Units, p.Unit = f.Get("units"), nil; return nil })
}

func (s *Server) switchLook(r *http.Request, f *Form) (string, error) {
	return "/", s.mine(r, f, func(p *record.Person) error { p.Look = f.Get("look"); return nil })
}

func (s *Server) switchLang(r *http.Request, f *Form) (string, error) {
	return "/", s.mine(r, f, func(p *record.Person) error {
		if !slices.Contains(s.texts.Languages(), f.Get("lang")) {
			return record.Faultf(record.Invalid, "lang", f.Get("lang"), "a language of the list", "")
		}
		p.Lang = f.Get("lang")
		return nil
	})
}

// changePIN needs to write cookies, so it answers by itself.
func (s *Server) changePIN(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	err = s.Gate.ChangePIN(w, r, f.Secret("old"), f.Secret("pin"))
	f.Values.Del("old")
	f.Values.Del("pin")
	var fault *record.Fault
	if errors.As(err, &fault) && status(fault.Code) < 500 && !errors.Is(err, gate.ErrStale) {
		f.Faults = append(f.Faults, fault)
		return s.viewMe(w, r, f)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/me?done=pin", http.StatusSeeOther)
	return nil
}

func (s *Server) dropPasskey(r *http.Request, f *Form) (string, error) {
	return "/me?done=kept", s.Gate.DropPasskey(r.Context(), f.Get("id"))
}

func (s *Server) endSession(r *http.Request, f *Form) (string, error) {
	return "/me?done=ended", s.Gate.EndSession(r.Context(), f.Get("id"))
}

type tokensPage struct {
	F      *Frame
	Form   *Form
	Tokens []store.Token
	Secret string
}

// Field makes a field of the page.
func (d *tokensPage) Field(name, word, value string, more ...any) (Field, error) {
	return field(d.F, d.Form, name, word, value, more...)
}

func (s *Server) viewTokens(w http.ResponseWriter, r *http.Request, form *Form) error {
	return s.showTokens(w, r, form, "")
}

func (s *Server) showTokens(w http.ResponseWriter, r *http.Request, form *Form, secret string) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	list, err := s.Gate.Tokens(r.Context(), f.Who)
	if err != nil {
		return err
	}
	f.Title, f.Data = f.T("token.title"), &tokensPage{f, form, list, secret}
	return s.render(w, statusOf(form), "tokens", "frame.html", f)
}

// makeToken makes a token and shows its secret this once.
func (s *Server) makeToken(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	who, _ := gate.From(r.Context())
	days, err := f.Number("days")
	if err == nil && (days < 1 || days > 366) {
		err = record.Faultf(record.Invalid, "days", strconv.FormatInt(days, 10), "1 to 366", "")
	}
	var secret string
	if err == nil {
		secret, _, err = s.Gate.MakeToken(r.Context(), who, who.Person, f.Get("name"), f.Get("scope"), s.Shop.Now().Add(time.Duration(days)*24*time.Hour))
	}
	if err != nil {
		fault := faultOf(err)
		if status(fault.Code) >= 500 || errors.Is(err, gate.ErrStale) {
			return err
		}
		f.Faults = append(f.Faults, fault)
		return s.viewTokens(w, r, f)
	}
	return s.showTokens(w, r, &Form{}, secret)
}

func (s *Server) revokeToken(r *http.Request, f *Form) (string, error) {
	id, err := mustNumber(r, "id")
	if err != nil {
		return "", err
	}
	who, _ := gate.From(r.Context())
	return "/tokens?done=kept", s.Gate.RevokeToken(r.Context(), who, id)
}
