package web

import (
	"errors"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

type personKey struct {
	ID             int64
	Name, Initials string
	Role           string
	Picked         bool
}

type doorPage struct {
	F      *Frame
	Form   *Form
	People []personKey
	Picked *personKey
	To     string
	Known  bool // this device is known to the shop
	Now    string
}

// viewDoor is where somebody signs in, or another person takes over a tablet.
func (s *Server) viewDoor(w http.ResponseWriter, r *http.Request) error {
	return s.showDoor(w, r, &Form{})
}

func (s *Server) showDoor(w http.ResponseWriter, r *http.Request, form *Form) error {
	up, err := s.Gate.IsSetUp(r.Context())
	if err != nil {
		return err
	}
	if !up {
		http.Redirect(w, r, "/set-up", http.StatusSeeOther)
		return nil
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	d := &doorPage{F: f, Form: form, Known: f.Who.Device != 0, To: form.Value("to", r.URL.Query().Get("to"))}
	if !local(d.To) {
		d.To = "/"
	}
	if d.Known {
		if err := s.doorPeople(r, d); err != nil {
			return err
		}
	}
	f.Title, f.Data, f.Main = f.T("door.title"), d, "narrow"
	return s.render(w, statusOf(form), "door", "frame.html", f)
}

// doorPeople lists the people of the shop on a device that is known.
func (s *Server) doorPeople(r *http.Request, d *doorPage) error {
	people, err := s.Shop.All(r.Context(), record.OfPerson)
	if err != nil {
		return err
	}
	picked := d.Form.Value("person", r.URL.Query().Get("person"))
	if picked == "" && len(people) == 1 {
		picked = strconv.FormatInt(people[0].Subject.ID, 10)
	}
	for _, i := range people {
		p := i.Value.(*record.Person)
		k := personKey{ID: i.Subject.ID, Name: p.Name, Initials: p.Initials, Role: d.F.T("role." + string(p.Role)), Picked: strconv.FormatInt(i.Subject.ID, 10) == picked}
		d.People = append(d.People, k)
		if k.Picked {
			d.Picked = &k
		}
	}
	return nil
}

func (s *Server) enter(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	person, err := f.Number("person")
	own := f.Secret("own")
	switch {
	case err != nil:
	case own != "":
		err = s.Gate.SignInAnew(w, r, person, f.Secret("pin"), own)
	default:
		err = s.Gate.SignIn(w, r, person, f.Secret("pin"))
	}
	f.Values.Del("pin")
	f.Values.Del("own")
	if err != nil {
		fault := faultOf(err)
		if status(fault.Code) >= 500 {
			return err
		}
		given := errors.Is(err, gate.ErrGivenPIN)
		if own != "" || given {
			f.Values.Set("anew", "yes")
		}
		if own != "" || !given { // a PIN that somebody else typed was right: what comes now is the next step, no mistake
			f.Faults = append(f.Faults, fault)
		}
		return s.showDoor(w, r, f)
	}
	to := f.Get("to")
	if !local(to) {
		to = "/"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func (s *Server) leave(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if f.Is("everywhere") {
		err = s.Gate.SignOutEverywhere(w, r)
	} else {
		err = s.Gate.SignOut(w, r)
	}
	if err != nil {
		return err
	}
	w.Header().Set("Clear-Site-Data", `"cache"`) // photos that the browser kept
	http.Redirect(w, r, "/door", http.StatusSeeOther)
	return nil
}

type letInPage struct {
	F    *Frame
	Form *Form
}

// viewLetIn is where a new device gives its code.
func (s *Server) viewLetIn(w http.ResponseWriter, r *http.Request) error {
	return s.showLetIn(w, r, &Form{})
}

func (s *Server) showLetIn(w http.ResponseWriter, r *http.Request, form *Form) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	f.Title, f.Data, f.Main = f.T("letin.title"), &letInPage{f, form}, "narrow"
	return s.render(w, statusOf(form), "letin", "frame.html", f)
}

func (s *Server) letIn(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if err := s.Gate.LetIn(w, r, f.Get("code"), f.Get("name")); err != nil {
		fault := faultOf(err)
		if status(fault.Code) >= 500 {
			return err
		}
		f.Faults = append(f.Faults, fault)
		return s.showLetIn(w, r, f)
	}
	http.Redirect(w, r, "/door", http.StatusSeeOther)
	return nil
}

// Field makes a field of the page.
func (d *letInPage) Field(name, word, value string, more ...any) (Field, error) {
	return field(d.F, d.Form, name, word, value, more...)
}

type setUpPage struct {
	F    *Frame
	Form *Form
	Here bool // from the machine itself
	Seed bool
}

// viewSetUp is the first page of a new shop.
func (s *Server) viewSetUp(w http.ResponseWriter, r *http.Request) error {
	return s.showSetUp(w, r, &Form{})
}

func (s *Server) showSetUp(w http.ResponseWriter, r *http.Request, form *Form) error {
	up, err := s.Gate.IsSetUp(r.Context())
	if err != nil {
		return err
	}
	if up {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	f.Title, f.Data, f.Main = f.T("setup.title"), &setUpPage{f, form, s.Gate.FromHere(r), s.Seed != nil}, "narrow"
	return s.render(w, statusOf(form), "setup", "frame.html", f)
}

// Field makes a field of the page.
func (d *setUpPage) Field(name, word, value string, more ...any) (Field, error) {
	return field(d.F, d.Form, name, word, value, more...)
}

// setUp keeps the shop, its first person and this device. It works from the machine itself only, and once.
func (s *Server) setUp(w http.ResponseWriter, r *http.Request) error {
	if !s.Gate.FromHere(r) {
		return record.Faultf(record.NotAllowed, "set-up", "another machine", "the machine on which the program runs", "open the page there")
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	demo := f.Is("demo") && s.Seed != nil
	profile := record.Shop{Name: f.Get("name"), Currency: f.Get("currency"), Units: f.Get("units"), Lang: s.texts.Match(r.Header.Get("Accept-Language")), Paper: f.Get("paper"), Demo: demo}
	if l := f.Get("lang"); l != "" {
		profile.Lang = s.texts.Match(l)
	}
	person := record.Person{Name: f.Get("person"), Initials: initials(f.Get("person")), Role: record.Owner}
	device := record.Device{Name: f.Get("device")}
	if device.Name == "" {
		device.Name = "first screen"
	}
	secret, err := s.Gate.SetUp(r.Context(), profile, person, f.Secret("pin"), device)
	f.Values.Del("pin")
	if err != nil {
		fault := faultOf(err)
		if status(fault.Code) >= 500 {
			return err
		}
		f.Faults = append(f.Faults, fault)
		return s.showSetUp(w, r, f)
	}
	if demo {
		if err := s.Seed(r.Context()); err != nil {
			return err
		}
	}
	s.Gate.Remember(w, secret)
	http.Redirect(w, r, "/door", http.StatusSeeOther)
	return nil
}

// initials of a name: the first letters of its first and last word.
func initials(name string) string {
	var out []rune
	first := true
	for _, c := range name {
		if c == ' ' {
			first = true
			continue
		}
		if first {
			out = append(out, c)
			first = false
		}
	}
	if len(out) > 2 {
		out = []rune{out[0], out[len(out)-1]}
	}
	if len(out) == 0 {
		return "?"
	}
	return string(out)
}

func (s *Server) passkeyInBegin(w http.ResponseWriter, r *http.Request) error {
	return s.Gate.BeginSignIn(w, r)
}

func (s *Server) passkeyInFinish(w http.ResponseWriter, r *http.Request) error {
	return s.Gate.FinishSignIn(w, r, r.URL.Query().Get("name"))
}

func (s *Server) passkeyNewBegin(w http.ResponseWriter, r *http.Request) error {
	return s.Gate.BeginRegister(w, r)
}

func (s *Server) passkeyNewFinish(w http.ResponseWriter, r *http.Request) error {
	return s.Gate.FinishRegister(w, r, r.URL.Query().Get("name"))
}

type codePage struct {
	F       *Frame
	Code    string
	Expires string
	Address string
	Trust   string // where the tablet learns to trust the shop first; "" when it need not
	TrustQR string
	QR      string
}

func (s *Server) viewCode(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, http.StatusOK, "code", "", &codePage{})
}

func (s *Server) makeCode(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	code, expires, err := s.Gate.MakeCode(r.Context(), f.Who)
	if err != nil {
		return err
	}
	d := &codePage{F: f, Code: code, Expires: f.When(expires), Address: s.URL() + "/let-in"}
	if d.QR, err = qrSVG(d.Address+"#"+code, f.T("code.qr")); err != nil {
		return err
	}
	if d.Trust = s.plain(); d.Trust != "" && s.CA != nil {
		if d.TrustQR, err = qrSVG(d.Trust, f.T("trust.qr")); err != nil {
			return err
		}
	}
	f.Title, f.Data, f.Main = f.T("code.title"), d, "narrow"
	return s.render(w, http.StatusOK, "code", "frame.html", f)
}
