package web

import (
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
)

type tagPage struct {
	*JobView
	QR     string
	Target string
	Places []int // of a sheet of labels
}

// tag is the page of what is tied to the pump.
func (s *Server) tag(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "job.tag")
	if err != nil {
		return err
	}
	d := &tagPage{JobView: v, Target: s.target(v), Places: []int{1, 2, 3, 4, 5, 6, 7, 8}}
	if d.QR, err = qrSVG(d.Target, v.F.T("tag.qr", strconv.FormatInt(v.J.Number, 10))); err != nil {
		return err
	}
	v.F.Data, v.F.Main = d, "tagpage"
	return s.render(w, http.StatusOK, "tag", "frame.html", v.F)
}

// target is the address that the code of a tag opens.
func (s *Server) target(v *JobView) string {
	return s.URL() + "/t/" + strconv.FormatInt(v.J.Number, 10)
}

// tagPDF is the tag for a label printer, or on one of the eight places of a sheet of labels.
func (s *Server) tagPDF(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "job.tag")
	if err != nil {
		return err
	}
	place := 0
	if q := r.URL.Query().Get("place"); q != "" {
		if place, err = strconv.Atoi(q); err != nil || place < 1 || place > 8 {
			return record.Faultf(record.Invalid, "place", fmt.Sprintf("%.20q", q), "a place on the sheet from 1 to 8", "leave it out for a single label")
		}
	}
	f, j := v.F, v.J
	t := report.Tag{Number: strconv.FormatInt(j.Number, 10), Serial: j.Booked.Serial, Model: j.Booked.Model, Customer: j.Booked.CustomerName,
		Under: []string{f.Day(j.Opened)}, QR: s.target(v), Words: f.words(), Lang: f.Lang, At: s.Shop.Now()}
	if f.Shop != nil {
		t.Under = append(t.Under, f.Shop.Name)
	}
	return sendPDF(w, fmt.Sprintf("job-%d-tag.pdf", j.Number), func(w io.Writer) error { return report.TagPDF(w, t, place) })
}
