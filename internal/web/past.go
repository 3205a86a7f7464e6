package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/record"
)

type jobsOf func(ctx context.Context, id, before int64, limit int) ([]record.Summary, error)

func (s *Server) past(w http.ResponseWriter, r *http.Request, k record.SubjectKind, path string, of jobsOf) error {
	id, err := mustNumber(r, "id")
	if err != nil {
		return err
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	i, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: k, ID: id})
	if err != nil {
		return err
	}
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // what is no number starts at the newest
	jobs, err := of(r.Context(), id, before, perPage+1)
	if err != nil {
		return err
	}
	edit := "/catalogue/" + path + "/" + strconv.FormatInt(id, 10)
	d := &pastPage{F: f, Title: i.Label, Edit: edit, Hist: edit + "/history"}
	if len(jobs) > perPage {
		jobs = jobs[:perPage]
		d.Older = r.URL.Path + "?before=" + strconv.FormatInt(jobs[perPage-1].Number, 10)
	}
	if d.Cards, err = s.cardsOf(f, "jobrow", jobs); err != nil {
		return err
	}
	switch v := i.Value.(type) {
	case *record.Pump:
		d.Facts = []fact{{f.fieldWord("model"), v.Model}, {f.fieldWord("drive"), v.Drive}, {f.T("book.customer"), f.names.of(record.OfCustomer, v.Customer)}, {f.fieldWord("note"), v.Note}}
		d.Book = "/jobs/new?serial=" + escape(v.Serial)
	case *record.Customer:
		d.Facts = []fact{{f.fieldWord("contact"), v.Contact}, {f.fieldWord("phone"), v.Phone}, {f.fieldWord("mail"), v.Mail}, {f.fieldWord("address"), v.Address}, {f.fieldWord("note"), v.Note}}
	}
	f.Title, f.Data = i.Label, d
	return s.render(w, http.StatusOK, "past", "frame.html", f)
}
