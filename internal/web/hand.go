package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

type priceRow struct {
	Seq                          int64
	Text, Quantity, Each, Amount string
	Who                          string
	May                          bool // be removed by who reads this
}

type handPage struct {
	*JobView
	Prices   []priceRow
	Total    string
	List     []option
	Left     *verdictView
	Points   []pointView // all that has to be answered before the job is closed as good
	OpenNow  int         // how many of them are not
	Named    []string    // who may answer for them
	Over     []departureView
	Handed   bool
	HandedTo string
	HandedAt string
	Sign     string
	MayBill  bool
	MayOver  bool
	Currency string
	Closed   string
	Proof    string
}

// viewHand is the page of the hand-over: proof, bill, papers, signature, closing.
func (s *Server) viewHand(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "hand.title")
	if err != nil {
		return err
	}
	f := v.F
	d := &handPage{JobView: v, MayBill: f.May("writing a bill"), MayOver: f.May("overriding a verdict"), Total: f.Money(v.J.Total())}
	if f.Shop != nil {
		d.Currency = f.Shop.Currency
	}
	for _, l := range v.J.Prices {
		b := l.Body
		d.Prices = append(d.Prices, priceRow{l.First.Seq, b.Text, thousandths(b.Quantity), money(b.Each, b.Currency), money(b.Amount(), b.Currency), f.Person(l.Entry.By), l.Entry.By == f.Who.Person || f.May("striking the entries of others")})
	}
	if err := s.priceList(r, d); err != nil {
		return err
	}
	if l := v.J.Verdict(record.AsLeft); l != nil {
		vv, err := v.verdict(l.Body, l.Entry)
		if err != nil {
			return err
		}
		d.Left = &vv
	}
	if err := s.points(r, d); err != nil {
		return err
	}
	for _, o := range v.J.Overrides {
		if !o.Body.Answers(record.PointProof) {
			continue // it answers for a step of the work
		}
		d.Over = append(d.Over, departureView{Text: marked(o.Body.Reason, true), Reason: f.Person(o.Entry.By) + ", " + f.When(o.Entry.At)})
	}
	if h := v.J.Handed; h != nil {
		d.Handed, d.HandedTo, d.HandedAt, d.Sign = true, h.Body.To, f.When(h.Entry.At), h.Body.Signature
	}
	v.F.Data = d
	return s.render(w, statusOf(form), "hand", "frame.html", v.F)
}

// priceList lists what can be put on the bill: lines of the price list for this pump or for any.
func (s *Server) priceList(r *http.Request, d *handPage) error {
	items, err := s.Shop.Store().Items(r.Context(), record.OfPrice, store.Page{Limit: 500})
	if err != nil {
		return err
	}
	d.List = []option{{"", d.F.T("price.free"), ""}}
	for _, i := range items {
		p := i.Value.(*record.Price)
		if p.Model == "" || p.Model == d.J.Booked.Model {
			d.List = append(d.List, option{strconv.FormatInt(i.Subject.ID, 10), p.Text + " · " + d.F.Money(p.Each), ""})
		}
	}
	return nil
}

func thousandths(v int64) string {
	s := strconv.FormatFloat(float64(v)/1000, 'f', -1, 64)
	return s
}

func (s *Server) addPrice(r *http.Request, f *Form) (string, error) {
	profile, _, err := s.Shop.Profile(r.Context())
	if err != nil {
		return "", err
	}
	b := &record.Priced{Text: f.Text("text"), Currency: profile.Currency}
	if b.Quantity, err = decimal("quantity", f.Get("quantity"), 3); err != nil {
		return "", err
	}
	if b.Item, err = f.Number("item"); err != nil {
		return "", err
	}
	each := f.Get("each")
	if b.Item != 0 {
		i, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: record.OfPrice, ID: b.Item})
		if err != nil {
			return "", err
		}
		p := i.Value.(*record.Price)
		b.Each = p.Each
		if b.Text == "" {
			b.Text = p.Text
		}
	}
	if each != "" || b.Item == 0 {
		if b.Each, err = decimal("each", each, digits(profile.Currency)); err != nil {
			return "", err
		}
	}
	return s.add(r, f, b, "/hand?done=kept")
}

// removePrice takes a line off the bill: it stays in the record, struck, with the reason.
func (s *Server) removePrice(r *http.Request, f *Form) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	j, err := s.Shop.Job(r.Context(), n)
	if err != nil {
		return "", err
	}
	seq, err := f.Number("seq")
	if err != nil {
		return "", err
	}
	if !slices.ContainsFunc(j.Prices, func(l record.Line[*record.Priced]) bool { return l.First.Seq == seq }) {
		return "", record.Faultf(record.NotFound, "seq", fmt.Sprint(seq), "a line of the bill", "load the page again")
	}
	return s.add(r, f, &record.Struck{Seq: seq, Reason: f.Text("reason")}, "/hand?done=struck")
}

func (s *Server) override(r *http.Request, f *Form) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	j, err := s.Shop.Job(r.Context(), n)
	if err != nil {
		return "", err
	}
	b := &record.Overrode{Reason: f.Text("reason"), Points: f.Values["point"]}
	if step := f.Get("step"); step != "" {
		b.Points = []string{assess.OverloadPoint(step)}
		return s.add(r, f, b, "/step?id="+escape(step))
	}
	if len(b.Points) == 0 {
		return "", record.Faultf(record.Invalid, "point", "nothing", "at least one of the open points", "tick what you answer for")
	}
	if l := j.Verdict(record.AsLeft); l != nil {
		b.Verdict = l.Body.Word
	}
	return s.add(r, f, b, "/hand?done=kept")
}

func (s *Server) handOver(r *http.Request, f *Form) (string, error) {
	note := f.Text("handnote")
	if f.Is("on_paper") {
		frame, err := s.frame(r)
		if err != nil {
			return "", err
		}
		note = joinText(note, frame.T("hand.onpaper"))
	}
	return s.add(r, f, &record.Handed{To: f.Get("to"), Signature: f.Get("signature"), Note: note}, "/hand?done=handed")
}

func joinText(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

func (s *Server) closeJob(r *http.Request, f *Form) (string, error) {
	return s.add(r, f, &record.Closed{Good: f.Get("good") == "yes", Reason: f.Text("closereason")}, "?done=closed")
}
