package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/unit"
)

// document gathers what goes into the report of a job.
func (s *Server) document(r *http.Request) (report.Document, *JobView, error) {
	v, err := s.jobView(r, &Form{}, "job.report")
	if err != nil {
		return report.Document{}, nil, err
	}
	f, j := v.F, v.J
	number := strconv.FormatInt(j.Number, 10)
	d := report.Document{Title: f.T("paper.title", number), Units: f.Units, Lang: f.Lang, Words: f.words(), Say: f.telling(), Version: s.Shop.Version(),
		Made: f.Stamp(s.Shop.Now()), At: s.Shop.Now(), Pump: j.Model.Pump, RecordMark: j.Hash.Mark(), QR: s.URL() + "/t/" + number,
		Drive: j.Booked.Drive, Draft: v.Open, Running: f.T("paper.running", j.Model.Pump.Name, j.Booked.Serial, number)}
	d.Shop, d.ShopLines, d.Paper = f.shopLines()
	if f.Shop != nil {
		d.Currency = f.Shop.Currency
	}
	v.paperFacts(&d)
	if err := v.paperHolds(&d); err != nil {
		return d, nil, err
	}
	if err := s.paperWork(r, v, &d); err != nil {
		return d, nil, err
	}
	v.paperBill(&d)
	return d, v, s.paperPhotos(r, v, &d)
}

// paperFacts says whose pump it is and what was said of it. Model and drive come from the report itself.
func (v *JobView) paperFacts(d *report.Document) {
	f, b := v.F, v.J.Booked
	add := func(key, value string) {
		if value != "" {
			d.Job = append(d.Job, report.Fact{Name: f.T(key), Value: value})
		}
	}
	add("book.customer", b.CustomerName)
	add("book.serial", b.Serial)
	add("job.word", strconv.FormatInt(v.J.Number, 10))
	add("book.fluid", b.Fluid)
	add("book.hours", b.Hours)
	add("book.litres", b.Litres)
	add("book.with", b.With)
	add("job.opened", f.Stamp(v.J.Opened))
	add("job.changed", f.Stamp(v.J.Changed))
	add("book.complaint", b.Complaint)
}

func (f *Frame) shopLines() (name string, lines []string, paper string) {
	if f.Shop == nil {
		return "evenstroke", nil, report.A4
	}
	lines = addressLines(f.Shop.Address)
	if f.Shop.Phone != "" {
		lines = append(lines, f.Shop.Phone)
	}
	if f.Shop.Demo {
		lines = append(lines, f.T("frame.demo"))
	}
	return f.Shop.Name, lines, f.Shop.Paper
}

// addressLines is an address as it was typed, a line each.
func addressLines(text string) (lines []string) {
	for _, l := range strings.FieldsFunc(text, func(c rune) bool { return c == '\n' || c == '\r' }) {
		if l = strings.TrimSpace(l); l != "" {
			lines = append(lines, l)
		}
	}
	return lines
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
		d.Holds = append(d.Holds, report.Hold{Heading: v.F.T("hold."+holdKey(h)) + ", " + v.F.Stamp(l.Entry.At), Result: res, Sheet: sheet})
	}
	return nil
}

// paperWork puts the work that was done into a report: who signed what, the torques with their tools, the departures.
func (s *Server) paperWork(r *http.Request, v *JobView, d *report.Document) error {
	d.SignOffs = v.signOffs()
	d.Audited = len(d.SignOffs) > 0
	if !d.Audited {
		return nil
	}
	for _, st := range v.Work.Steps {
		if st.Wrench == nil || st.State != assess.Done && st.State != assess.Skipped {
			continue
		}
		joint, ok := v.J.Model.Joint(st.Wrench.Joint)
		if !ok {
			continue
		}
		q := report.Torque{Joint: joint, Read: st.Wrench.Read, Outside: st.Wrench.Got > 0 && !st.Wrench.Within}
		if st.Did != nil && st.Did.Tool != 0 {
			item, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: record.OfTool, ID: st.Did.Tool})
			if err != nil {
				return err
			}
			if tool, ok := item.Value.(*record.Tool); ok {
				q.With = tool.Name
				if tool.Serial != "" {
					q.With += ", " + tool.Serial
				}
				if tool.Due != "" {
					q.With += ", " + v.F.T("paper.due", tool.Due)
				}
			}
		}
		d.Torques = append(d.Torques, q)
	}
	for _, q := range v.Work.Departures {
		d.Departures = append(d.Departures, q.Departure)
	}
	for _, l := range v.J.Findings {
		d.Job = append(d.Job, report.Fact{Name: v.F.T("paper.finding", v.F.Told(l.Body.Part)), Value: v.finding(l.Body)})
	}
	return nil
}

// finding is what was seen or measured on a part, in the units of the paper.
func (v *JobView) finding(b *record.Found) string {
	if b.Value == "" {
		return b.Text
	}
	value := b.Value
	if q, err := unit.Parse(b.Value, unit.Length); err == nil {
		value = v.F.Units.Show(q.SI, unit.Length)
	}
	return joinText(b.Text, v.F.Told(b.Size)+" "+value)
}

// signOffs says who signed the steps off, a line for each phase and person; a step that was left out has a line of its own.
func (v *JobView) signOffs() (out []report.SignOff) {
	f := v.F
	type run struct {
		phase    assess.Phase
		who      int64
		from, to time.Time
		n        int
	}
	var runs []run
	for _, st := range v.Work.Steps {
		switch {
		case st.Signed == nil:
		case st.State == assess.Skipped:
			what := f.T("paper.skipped", f.Told(st.Title))
			if st.Did != nil {
				what += ": " + st.Did.Note
			}
			out = append(out, report.SignOff{What: what, Who: f.Person(st.Signed.By), When: f.Stamp(st.Signed.At)})
		case st.State == assess.Done:
			at := slices.IndexFunc(runs, func(q run) bool { return q.phase == st.Phase && q.who == st.Signed.By })
			if at < 0 {
				runs, at = append(runs, run{st.Phase, st.Signed.By, st.Signed.At, st.Signed.At, 0}), len(runs)
			}
			q := &runs[at]
			q.n++
			if st.Signed.At.Before(q.from) {
				q.from = st.Signed.At
			}
			if st.Signed.At.After(q.to) {
				q.to = st.Signed.At
			}
		}
	}
	slices.SortStableFunc(runs, func(a, b run) int {
		return slices.Index(assess.Phases(), a.phase) - slices.Index(assess.Phases(), b.phase)
	})
	lines := make([]report.SignOff, len(runs), len(runs)+len(out))
	for i, q := range runs {
		when := f.Stamp(q.from)
		if to := f.Stamp(q.to); to != when {
			when += " – " + to
		}
		lines[i] = report.SignOff{What: f.T("phase."+string(q.phase)) + ": " + f.T("paper.steps", q.n), Who: f.Person(q.who), When: when}
	}
	return append(lines, out...)
}

func (v *JobView) paperBill(d *report.Document) {
	d.Prices, d.Total = v.priceLines()
	for _, o := range v.J.Overrides {
		if !o.Body.Answers(record.PointProof) {
			continue // it answers for a step of the work
		}
		d.Overrides = append(d.Overrides, v.overrideWords(o))
	}
	d.Signature = v.signature()
}

func (v *JobView) overrideWords(o record.Line[*record.Overrode]) string {
	word := o.Body.Verdict
	if c := v.F.verdictChip(word); c.Word != "" {
		word = c.Word
	}
	return v.F.T("paper.override", v.F.Person(o.Entry.By), v.F.Stamp(o.Entry.At), word, o.Body.Reason)
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
	g := &report.Signature{Name: h.Body.To, When: v.F.Stamp(h.Entry.At), Role: v.F.T("paper.customer"), SVGPath: h.Body.Signature}
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
		d.Photos = append(d.Photos, report.Photo{Caption: l.Body.Caption, JPEG: p.Data, When: v.F.Stamp(l.First.At), Who: v.F.Person(l.First.By)})
	}
	return nil
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
		d, v, err := s.document(r)
		if err != nil {
			return err
		}
		d.Leave = v.F.T("door.leave")
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
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; object-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'")
	_, err := buf.WriteTo(w)
	return wrote(err)
}
