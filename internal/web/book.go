package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

type bookPage struct {
	F         *Frame
	Form      *Form
	Models    []option
	Fluids    []string
	Customers []string
	Known     *record.Pump // the pump that the serial names, when it was here before
	KnownID   int64
	Owner     string
	Past      []Card
	Serial    string
	Key       string
	Number    int64 // of the job whose booking is corrected
	Seen      int64
	Old       *record.Booked
	Model     string
}

func (s *Server) bookPage(r *http.Request, form *Form) (*bookPage, error) {
	f, err := s.frame(r)
	if err != nil {
		return nil, err
	}
	d := &bookPage{F: f, Form: form, Key: form.Value("key", f.Key()), Old: &record.Booked{}}
	models, err := s.Shop.Models(r.Context())
	if err != nil {
		return nil, err
	}
	for _, m := range models {
		word := m.Name
		if m.Invented {
			word = f.T("book.invented", m.Name)
		}
		d.Models = append(d.Models, option{strconv.FormatInt(m.Sheet, 10) + ":" + m.Name, word, ""})
	}
	fluids, err := s.Shop.All(r.Context(), record.OfFluid)
	if err != nil {
		return nil, err
	}
	for _, i := range fluids {
		d.Fluids = append(d.Fluids, i.Label)
	}
	customers, err := s.Shop.Store().Items(r.Context(), record.OfCustomer, store.Page{Limit: 200})
	if err != nil {
		return nil, err
	}
	for _, i := range customers {
		d.Customers = append(d.Customers, i.Label)
	}
	f.Data, f.Main = d, ""
	return d, nil
}

// viewBook is the page on which a pump is booked in. With ?serial= it shows what this pump did last time.
func (s *Server) viewBook(w http.ResponseWriter, r *http.Request, form *Form) error {
	d, err := s.bookPage(r, form)
	if err != nil {
		return err
	}
	d.F.Title = d.F.T("book.title")
	d.Serial = strings.TrimSpace(form.Value("serial", r.URL.Query().Get("serial")))
	if d.Serial != "" && len(d.Serial) < 120 {
		if err := s.known(r, d); err != nil {
			return err
		}
	}
	return s.render(w, statusOf(form), "book", "frame.html", d.F)
}

func (s *Server) known(r *http.Request, d *bookPage) error {
	i, err := s.Shop.Store().PumpBySerial(r.Context(), d.Serial)
	if err != nil || i == nil {
		return err
	}
	d.Known, d.KnownID = i.Value.(*record.Pump), i.Subject.ID
	d.Model = strconv.FormatInt(d.Known.Sheet, 10) + ":" + d.Known.Model
	d.Old.Drive = d.Known.Drive
	if d.Known.Customer != 0 {
		c, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: record.OfCustomer, ID: d.Known.Customer})
		if err != nil {
			return err
		}
		d.Owner = c.Label
	}
	past, err := s.Shop.Store().OfPump(r.Context(), d.KnownID, 0, 5)
	d.Past = d.F.cards(past)
	return err
}

func booked(f *Form) (record.Booked, error) {
	b := record.Booked{CustomerName: f.Get("customer"), Serial: f.Get("serial"), Complaint: f.Text("complaint"), Fluid: f.Get("fluid"),
		Hours: f.Quantity("hours"), Litres: f.Quantity("litres"), Drive: f.Get("drive"), With: f.Text("with")}
	sheet, name, ok := strings.Cut(f.Get("model"), ":")
	if !ok {
		return b, record.Faultf(record.Invalid, "model", "nothing", "one of the list", "add the pump sheet first when the model is not there")
	}
	n, err := strconv.ParseInt(sheet, 10, 64)
	if err != nil || n < 0 {
		return b, record.Faultf(record.Invalid, "model", sheet, "one of the list", "")
	}
	b.Sheet, b.Model = n, name
	return b, nil
}

func (s *Server) book(r *http.Request, f *Form) (string, error) {
	b, err := booked(f)
	if err != nil {
		return "", err
	}
	n, err := s.Shop.BookIn(r.Context(), by(r, f), b)
	return jobPath(n, "?done=booked"), err
}

// viewBooked corrects a booking.
func (s *Server) viewBooked(w http.ResponseWriter, r *http.Request, form *Form) error {
	n, err := mustNumber(r, "job")
	if err != nil {
		return err
	}
	d, err := s.bookPage(r, form)
	if err != nil {
		return err
	}
	j, err := s.Shop.Job(r.Context(), n)
	if err != nil {
		return err
	}
	d.Number, d.Seen, d.Old = n, j.Seq, j.Booked
	d.Owner, d.Serial, d.Model = j.Booked.CustomerName, j.Booked.Serial, strconv.FormatInt(j.Booked.Sheet, 10)+":"+j.Booked.Model
	d.F.Title, d.F.Job = d.F.T("book.correct", strconv.FormatInt(n, 10)), n
	return s.render(w, statusOf(form), "book", "frame.html", d.F)
}

// correctBooked keeps a corrected booking; the page says which entry it had seen, so that two tablets do not undo each other.
func (s *Server) correctBooked(r *http.Request, f *Form) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	b, err := booked(f)
	if err != nil {
		return "", err
	}
	return jobPath(n, "?done=kept"), s.Shop.CorrectBooking(r.Context(), by(r, f), n, b)
}

// Field makes a field of the page.
func (d *bookPage) Field(name, word, value string, more ...any) (Field, error) {
	return field(d.F, d.Form, name, word, value, more...)
}
