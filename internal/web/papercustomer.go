package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// customerPaper gathers the page for the one who brought the pump.
func (s *Server) customerPaper(r *http.Request) (report.Customer, error) {
	v, err := s.jobView(r, &Form{}, "job.report")
	if err != nil {
		return report.Customer{}, err
	}
	f, j := v.F, v.J
	c := report.Customer{For: j.Booked.CustomerName, Lang: f.Lang, Words: f.words(), Version: s.Shop.Version(), Made: f.Stamp(s.Shop.Now()), At: s.Shop.Now(),
		RecordMark: j.Hash.Mark(), Draft: v.Open, Leave: f.T("door.leave"), Facts: []report.Fact{{Name: f.T("job.word"), Value: strconv.FormatInt(j.Number, 10)}, {Name: f.T("book.model"), Value: j.Booked.Model},
			{Name: f.T("book.serial"), Value: j.Booked.Serial}, {Name: f.T("job.opened"), Value: f.Day(j.Opened)}}}
	if h := j.Handed; h != nil {
		c.Facts = append(c.Facts, report.Fact{Name: f.T("hand.handed"), Value: f.Day(h.Entry.At)})
	}
	if c.ForLines, err = s.customerAddress(r, j.Booked.Customer); err != nil {
		return c, err
	}
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
	build := v.Work.Progress[assess.PhaseBuild]
	c.Planned = build.Done < build.Of
	c.Prices, c.Total = v.priceLines()
	for _, o := range v.J.Overrides {
		if !o.Body.Answers(record.PointProof) {
			continue // it answers for a step of the work
		}
		c.Overrides = append(c.Overrides, v.overrideWords(o))
	}
	c.Signature = v.signature()
	return c, nil
}

// customerAddress is the address of a customer, a line each.
func (s *Server) customerAddress(r *http.Request, id int64) ([]string, error) {
	if id == 0 {
		return nil, nil
	}
	item, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: record.OfCustomer, ID: id})
	if err != nil {
		return nil, err
	}
	if c, ok := item.Value.(*record.Customer); ok {
		return addressLines(c.Address), nil
	}
	return nil, nil
}

// worthNaming is the chance from which a path is named to the customer: what is less likely than one in ten only worries.
const worthNaming = 0.1

// customerFound says in plain words what was found and what was proved.
func (v *JobView) customerFound(c *report.Customer) error {
	f := v.F
	if l := v.J.Verdict(record.AsFound); l != nil {
		res, _, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		c.Found = append(c.Found, v.customerLeaks(res)...)
	}
	for _, l := range v.J.Findings {
		c.Found = append(c.Found, f.Told(l.Body.Part)+": "+v.finding(l.Body))
	}
	if l := v.J.Verdict(record.AsLeft); l != nil {
		res, _, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		c.Verdict = l.Body.Word
		c.Proof = f.T("paper.proof", f.Units.Show(v.J.Model.Limits.Hold, unit.Pressure), f.Units.Show(res.Verdict.Limit, unit.Time))
		if res.Verdict.Lost != nil {
			c.Proof = f.T("paper.proofcrank", f.Units.Show(v.J.Model.Limits.Hold, unit.Pressure), f.Units.Show(res.Verdict.Lost.Limit*1e5, unit.Pressure))
		}
	}
	return nil
}

// customerLeaks names every path that may well leak, the likeliest first, and which of them one measurement cannot tell apart.
func (v *JobView) customerLeaks(res *hold.Result) (out []string) {
	f := v.F
	paths := slices.Clone(res.Paths)
	slices.SortStableFunc(paths, func(a, b hold.PathShare) int {
		if a.P > b.P {
			return -1
		}
		if a.P < b.P {
			return 1
		}
		return 0
	})
	var names []string
	named := map[string]bool{}
	for _, p := range paths {
		if p.P >= worthNaming {
			named[p.Path] = true
			names = append(names, f.Told(p.Path)+" "+f.Told(draw.Chance(p.P)))
		}
	}
	if len(names) == 0 {
		return []string{f.T("paper.sound")}
	}
	out = []string{f.T("paper.leaks", strings.Join(names, ", "))}
	for _, g := range res.Groups {
		var both []string
		for _, p := range g {
			if named[p] {
				both = append(both, f.Told(p))
			}
		}
		if len(both) > 1 {
			out = append(out, f.T("paper.apart", strings.Join(both, ", ")))
		}
	}
	return out
}

// customerDone lists what becomes of the parts, a line for each kind of work; a kit of which every part is new is named as one.
func (v *JobView) customerDone() (out []string) {
	if v.J.Chosen == nil {
		return nil
	}
	chosen := func(name string) pump.Action { return pump.Action(v.J.Chosen.Body.Parts[name]) }
	whole := map[string]bool{}
	for _, p := range v.J.Model.Parts {
		if p.Kit != "" {
			before, seen := whole[p.Kit]
			whole[p.Kit] = (before || !seen) && chosen(p.Name) == pump.Replace
		}
	}
	for _, a := range pump.Actions() {
		if a == pump.Keep {
			continue
		}
		var names []string
		for _, p := range v.J.Model.Parts {
			name := v.F.Told(p.Name)
			if a == pump.Replace && whole[p.Kit] {
				name = v.F.T("paper.kit", p.Kit)
			}
			if chosen(p.Name) == a && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		if len(names) > 0 {
			out = append(out, v.F.T("paper.did."+actionKey(a), strings.Join(names, ", ")))
		}
	}
	return out
}
