package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// document gathers what goes into the report of a job.
func (s *Server) document(r *http.Request) (report.Document, *JobView, error) {
	v, err := s.jobView(r, &Form{}, "job.report")
	if err != nil {
		return report.Document{}, nil, err
	}
	f, j := v.F, v.J
	d := report.Document{Title: f.T("paper.title", strconv.FormatInt(j.Number, 10)), Units: f.Units, Lang: f.Lang, Words: f.words(), Say: f.telling(), Version: s.Shop.Version(),
		Made: f.When(s.Shop.Now()), At: s.Shop.Now(), Pump: j.Model.Pump, RecordMark: j.Hash.Mark(), QR: s.URL() + "/t/" + strconv.FormatInt(j.Number, 10)}
	d.Shop, d.ShopLines, d.Paper = f.shopLines()
	if f.Shop != nil {
		d.Currency = f.Shop.Currency
	}
	if err := v.overview(); err != nil {
		return d, nil, err
	}
	d.Job = append(d.Job, report.Fact{Name: f.T("job.word"), Value: strconv.FormatInt(j.Number, 10)})
	for _, q := range v.Facts {
		d.Job = append(d.Job, report.Fact{Name: q.Word, Value: q.Value})
	}
	d.Job = append(d.Job, report.Fact{Name: f.T("book.complaint"), Value: j.Booked.Complaint})
	if err := v.paperHolds(&d); err != nil {
		return d, nil, err
	}
	v.paperWork(&d)
	v.paperBill(&d)
	return d, v, s.paperPhotos(r, v, &d)
}

func (f *Frame) shopLines() (name string, lines []string, paper string) {
	if f.Shop == nil {
		return "evenstroke", nil, report.A4
	}
	if f.Shop.Address != "" {
		lines = append(lines, f.Shop.Address)
	}
	if f.Shop.Phone != "" {
		lines = append(lines, f.Shop.Phone)
	}
	if f.Shop.Demo {
		lines = append(lines, f.T("frame.demo"))
	}
	return f.Shop.Name, lines, f.Shop.Paper
}

// paperHolds puts the last verdict of each hold into a report.
func (v *JobView) paperHolds(d *report.Document) error {
	for _, h := range []record.HoldStage{record.AsFound, record.AsLeft} {
		l := v.J.Verdict(h)
		if l == nil {
			continue
		}
		res, sheet, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		d.Holds = append(d.Holds, report.Hold{Heading: v.F.T("hold."+holdKey(h)) + ", " + v.F.When(l.Entry.At), Result: res, Sheet: sheet})
	}
	return nil
}

// paperWork puts the work that was done into a report: who signed what, the torques, the departures.
func (v *JobView) paperWork(d *report.Document) {
	any := false
	for _, st := range v.Work.Steps {
		if st.State != assess.Done && st.State != assess.Skipped {
			continue
		}
		any = true
		what := v.F.Told(st.Title)
		if st.State == assess.Skipped {
			what = v.F.T("paper.skipped", what)
			if st.Did != nil {
				what += ": " + st.Did.Note
			}
		}
		if st.Signed != nil {
			d.SignOffs = append(d.SignOffs, report.SignOff{What: what, Who: v.F.Person(st.Signed.By), When: v.F.When(st.Signed.At)})
		}
		if st.Wrench != nil {
			if joint, ok := v.J.Model.Joint(st.Wrench.Joint); ok {
				d.Torques = append(d.Torques, report.Torque{Joint: joint, Read: st.Wrench.Read})
			}
		}
	}
	if !any {
		return
	}
	d.Audited = true
	for _, q := range v.Work.Departures {
		d.Departures = append(d.Departures, q.Departure)
	}
	for _, l := range v.J.Findings {
		text := l.Body.Text
		if l.Body.Value != "" {
			text = joinText(text, v.F.Told(l.Body.Size)+" "+l.Body.Value)
		}
		d.Job = append(d.Job, report.Fact{Name: v.F.T("paper.finding", l.Body.Part), Value: text})
	}
}

func (v *JobView) paperBill(d *report.Document) {
	d.Prices, d.Total = v.priceLines()
	for _, o := range v.J.Overrides {
		d.Overrides = append(d.Overrides, v.overrideWords(o))
	}
	d.Signature = v.signature()
}

func (v *JobView) overrideWords(o record.Line[*record.Overrode]) string {
	word := o.Body.Verdict
	if c := v.F.verdictChip(word); c.Word != "" {
		word = c.Word
	}
	return v.F.T("paper.override", v.F.Person(o.Entry.By), v.F.When(o.Entry.At), word, o.Body.Reason)
}

func (v *JobView) priceLines() ([]report.PriceLine, string) {
	var out []report.PriceLine
	for _, l := range v.J.Prices {
		out = append(out, report.PriceLine{Text: l.Body.Text, Quantity: thousandths(l.Body.Quantity), Amount: bareAmount(l.Body.Amount(), l.Body.Currency)})
	}
	if len(out) == 0 || v.F.Shop == nil {
		return out, ""
	}
	return out, bareAmount(v.J.Total(), v.F.Shop.Currency)
}

// bareAmount is an amount without its currency.
func bareAmount(v int64, code string) string {
	s := money(v, code)
	return s[:len(s)-len(code)-1]
}

func (v *JobView) signature() *report.Signature {
	h := v.J.Handed
	if h == nil {
		return nil
	}
	g := &report.Signature{Name: h.Body.To, When: v.F.When(h.Entry.At), Role: v.F.T("paper.customer"), SVGPath: h.Body.Signature}
	if g.SVGPath != "" {
		g.ViewBox = [4]float64{0, 0, 1000, 300}
	}
	return g
}

// maxPaperPhotos keeps a report of many photos printable.
const maxPaperPhotos = 24

func (s *Server) paperPhotos(r *http.Request, v *JobView, d *report.Document) error {
	for i, l := range v.J.Pictures {
		if i == maxPaperPhotos {
			d.Unknown = append(d.Unknown, v.F.T("paper.morephotos", len(v.J.Pictures)-maxPaperPhotos))
			break
		}
		p, err := s.Shop.Store().GetPhoto(r.Context(), l.Body.Photo, false)
		if err != nil {
			return err
		}
		d.Photos = append(d.Photos, report.Photo{Caption: l.Body.Caption, JPEG: p.Data, When: v.F.When(l.First.At), Who: v.F.Person(l.First.By)})
	}
	return nil
}

// customerPaper gathers the page for the one who brought the pump.
func (s *Server) customerPaper(r *http.Request) (report.Customer, error) {
	v, err := s.jobView(r, &Form{}, "job.report")
	if err != nil {
		return report.Customer{}, err
	}
	f, j := v.F, v.J
	c := report.Customer{For: j.Booked.CustomerName, Lang: f.Lang, Words: f.words(), Version: s.Shop.Version(), Made: f.When(s.Shop.Now()), At: s.Shop.Now(),
		RecordMark: j.Hash.Mark(), Facts: []report.Fact{{Name: f.T("job.word"), Value: strconv.FormatInt(j.Number, 10)}, {Name: f.T("book.model"), Value: j.Booked.Model},
			{Name: f.T("book.serial"), Value: j.Booked.Serial}, {Name: f.T("job.opened"), Value: f.Day(j.Opened)}}}
	c.Shop, c.ShopLines, c.Paper = f.shopLines()
	if f.Shop != nil {
		c.Currency = f.Shop.Currency
		if f.Shop.Demo {
			c.Note = f.T("frame.demo")
		}
		if f.Shop.Phone != "" {
			c.Ask = []string{f.Shop.Name + ", " + f.Shop.Phone}
		}
	}
	c.Brought = []string{j.Booked.Complaint}
	if j.Booked.With != "" {
		c.Brought = append(c.Brought, f.T("paper.with", j.Booked.With))
	}
	if err := v.customerFound(&c); err != nil {
		return c, err
	}
	c.Done = v.customerDone()
	c.Prices, c.Total = v.priceLines()
	for _, o := range v.J.Overrides {
		c.Overrides = append(c.Overrides, v.overrideWords(o))
	}
	c.Signature = v.signature()
	return c, nil
}

// customerFound says in plain words what was found and what was proved.
func (v *JobView) customerFound(c *report.Customer) error {
	f := v.F
	if l := v.J.Verdict(record.AsFound); l != nil {
		res, _, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		if len(res.Sets) > 0 && len(res.Sets[0].Paths) > 0 {
			for _, p := range res.Sets[0].Paths {
				c.Found = append(c.Found, f.T("paper.leaks", p))
			}
		} else {
			c.Found = append(c.Found, f.T("paper.sound"))
		}
	}
	for _, l := range v.J.Findings {
		if l.Body.Text != "" {
			c.Found = append(c.Found, l.Body.Part+": "+l.Body.Text)
		}
	}
	if l := v.J.Verdict(record.AsLeft); l != nil {
		res, _, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		c.Verdict = l.Body.Word
		c.Proof = f.T("paper.proof", f.Units.Show(v.J.Model.Limits.Rated, unit.Pressure), f.Units.Show(res.Verdict.Limit, unit.Time))
	}
	return nil
}

// customerDone lists what became of the parts.
func (v *JobView) customerDone() []string {
	var out []string
	if v.J.Chosen == nil {
		return nil
	}
	for _, part := range v.J.Model.Parts {
		a, ok := v.J.Chosen.Body.Parts[part.Name]
		if !ok || pump.Action(a) == pump.Keep {
			continue
		}
		out = append(out, part.Name+": "+v.F.action(pump.Action(a)))
	}
	return out
}

// sendPDF answers with a PDF made whole before anything is sent.
func sendPDF(w http.ResponseWriter, name string, write func(io.Writer) error) error {
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", name))
	_, err := buf.WriteTo(w)
	return wrote(err)
}

func (s *Server) reportPDF(w http.ResponseWriter, r *http.Request) error {
	d, v, err := s.document(r)
	if err != nil {
		return err
	}
	return sendPDF(w, fmt.Sprintf("job-%d.pdf", v.J.Number), func(w io.Writer) error { return report.PDF(w, d) })
}

func (s *Server) customerPDF(w http.ResponseWriter, r *http.Request) error {
	c, err := s.customerPaper(r)
	if err != nil {
		return err
	}
	return sendPDF(w, "job-"+r.PathValue("job")+"-customer.pdf", func(w io.Writer) error { return report.CustomerPDF(w, c) })
}

type paperPage struct {
	*JobView
	Empty bool
}

// reportPage is the page of the papers of a job.
func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) error {
	if r.URL.Query().Get("as") == "html" {
		d, _, err := s.document(r)
		if err != nil {
			return err
		}
		return sendHTML(w, func(w io.Writer) error { return report.HTML(w, d) })
	}
	v, err := s.jobView(r, &Form{}, "job.report")
	if err != nil {
		return err
	}
	v.F.Data = &paperPage{JobView: v}
	return s.render(w, http.StatusOK, "paper", "frame.html", v.F)
}

func (s *Server) customerPage(w http.ResponseWriter, r *http.Request) error {
	c, err := s.customerPaper(r)
	if err != nil {
		return err
	}
	return sendHTML(w, func(w io.Writer) error { return report.CustomerHTML(w, c) })
}

// sendHTML answers with a page for print, which carries its own style.
func sendHTML(w http.ResponseWriter, write func(io.Writer) error) error {
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'")
	_, err := buf.WriteTo(w)
	return wrote(err)
}

type tagPage struct {
	*JobView
	QR     string
	Target string
}

// tag is the page that is printed and tied to the pump.
func (s *Server) tag(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "job.tag")
	if err != nil {
		return err
	}
	d := &tagPage{JobView: v, Target: s.URL() + "/t/" + strconv.FormatInt(v.J.Number, 10)}
	if d.QR, err = qrSVG(d.Target, v.F.T("tag.qr", strconv.FormatInt(v.J.Number, 10))); err != nil {
		return err
	}
	v.F.Data, v.F.Main = d, "tagpage"
	return s.render(w, http.StatusOK, "tag", "frame.html", v.F)
}
