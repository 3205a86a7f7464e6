package web

import (
	"encoding/json"
	"html/template"
	"net/http"
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
)

type historyPage struct {
	*JobView
	Rows []historyRow
	Mark string
}

// viewHistory shows every entry of a job: what it says, what it corrected, who wrote it, when and where.
func (s *Server) viewHistory(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "job.history")
	if err != nil {
		return err
	}
	entries, err := s.Shop.Store().Entries(r.Context(), record.JobSubject(v.J.Number), 0, 0)
	if err != nil {
		return err
	}
	d := &historyPage{JobView: v, Mark: v.J.Hash.String()}
	for i := range entries {
		row, err := v.historyRow(entries, i)
		if err != nil {
			return err
		}
		d.Rows = append(d.Rows, row)
	}
	slices.Reverse(d.Rows)
	v.F.Data = d
	return s.render(w, statusOf(form), "history", "frame.html", v.F)
}

func (v *JobView) historyRow(entries []record.Entry, i int) (historyRow, error) {
	e := &entries[i]
	row := v.F.historyRow(e)
	was, now := map[string]any{}, map[string]any{}
	if e.Corrects != 0 {
		if err := json.Unmarshal(entries[e.Corrects-1].Body, &was); err != nil {
			return row, err
		}
	}
	if err := json.Unmarshal(e.Body, &now); err != nil {
		return row, err
	}
	if e.Kind == record.KindJudged { // its inputs and its result are shown on the page of the verdict
		for _, k := range []string{"sheet", "result", "pump", "seqs"} {
			delete(now, k)
		}
	}
	row.Changes = v.F.changes(was, now)
	if e.Kind == record.KindBooked {
		row.Changes = onceNamed(row.Changes)
	}
	if by := v.J.Struck[e.Seq]; by != nil {
		var st record.Struck
		if err := json.Unmarshal(by.Body, &st); err != nil {
			return row, err
		}
		row.Struck = v.F.Person(by.By) + ", " + v.F.When(by.At) + ": " + st.Reason
	}
	switch e.Kind {
	case record.KindBooked, record.KindClosed, record.KindStruck, record.KindMoved:
	default:
		row.May = v.Open && row.Struck == "" && (e.By == v.F.Who.Person || v.F.May("striking the entries of others"))
	}
	return row, nil
}

// onceNamed leaves out the name of the customer where the number beside it is written as the same name.
func onceNamed(changes []change) []change {
	i := slices.IndexFunc(changes, func(c change) bool { return c.key == "customer" })
	return slices.DeleteFunc(changes, func(c change) bool {
		return i >= 0 && c.key == "customer_name" && c.Now == changes[i].Now && c.Was == changes[i].Was
	})
}

type pastPage struct {
	F     *Frame
	Title string
	Facts []fact
	Cards []template.HTML
	Older string
	Edit  string
	Hist  string
	Book  string
}

// pumpHistory shows one pump with all its jobs.
func (s *Server) pumpHistory(w http.ResponseWriter, r *http.Request) error {
	return s.past(w, r, record.OfPump, "pump", s.Shop.Store().OfPump)
}

// customerHistory shows one customer with all jobs.
func (s *Server) customerHistory(w http.ResponseWriter, r *http.Request) error {
	return s.past(w, r, record.OfCustomer, "customer", s.Shop.Store().OfCustomer)
}
