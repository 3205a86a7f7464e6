package web

import (
	"net/http"
	"slices"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// wrongPINs are the wrong PINs in the name of who is signed in.
type wrongPINs struct {
	F     *Frame
	Rows  []string
	Until string // the last one that is told, to the microsecond
}

// WrongPINs tells who is signed in of wrong PINs since the person last said to have read of them; nil when there are none.
func (f *Frame) WrongPINs() (*wrongPINs, error) {
	if !f.In {
		return nil, nil
	}
	got, err := f.wrong()
	if err != nil || len(got) == 0 {
		return nil, err
	}
	out := &wrongPINs{F: f}
	var last time.Time
	for _, w := range got {
		out.Rows = append(out.Rows, f.T("wrong.row", w.Count, f.Device(w.Device), f.span(w)))
		if w.Last.After(last) {
			last = w.Last
		}
	}
	out.Until = f.ISO(last)
	return out, nil
}

// span says when wrong PINs were typed.
func (f *Frame) span(w gate.Wrong) string {
	first, last := f.When(w.First), f.When(w.Last)
	if first == last {
		return last
	}
	return f.T("wrong.span", first, last)
}

// wrongPINsRead is the key by which somebody says to have read of the wrong PINs.
func (s *Server) wrongPINsRead(r *http.Request, f *Form) (string, error) {
	until, err := time.Parse(time.RFC3339Nano, f.Get("until"))
	if err != nil {
		return "", record.Faultf(record.Invalid, "until", f.Get("until"), "a time of RFC 3339", "")
	}
	return "/me", s.Gate.WrongTold(r.Context(), until)
}

// guessedDevice is a device on which wrong PINs were typed, as the office and the owner see it.
type guessedDevice struct {
	F    *Frame
	ID   int64
	Name string
	Rows []string
	Link bool // to its page
	all  int
	last time.Time
}

// guessedFrom is from how many wrong PINs on a device stands on the board, for a day.
const guessedFrom = 5

// guessed lists the devices on which wrong PINs were typed within the last week, for who may take devices out.
func (s *Server) guessed(r *http.Request, f *Frame) ([]guessedDevice, error) {
	if !f.May(string(gate.KeepDevice)) {
		return nil, nil
	}
	got, err := gate.WrongLately(r.Context(), s.Shop.Store(), f.Who, f.now)
	if err != nil {
		return nil, err
	}
	var out []guessedDevice
	for _, w := range got {
		i := slices.IndexFunc(out, func(d guessedDevice) bool { return d.ID == w.Device })
		if i < 0 {
			i = len(out)
			out = append(out, guessedDevice{F: f, ID: w.Device, Name: f.Device(w.Device), last: w.Last})
		}
		out[i].all += w.Count
		out[i].Rows = append(out[i].Rows, f.T("guessed.row", w.Count, f.Person(w.Person), f.span(w)))
	}
	return out, nil
}

// guessedDevices are those that stand on the board.
func (s *Server) guessedDevices(r *http.Request, f *Frame) ([]guessedDevice, error) {
	all, err := s.guessed(r, f)
	var out []guessedDevice
	for _, d := range all {
		if d.all < guessedFrom || f.now.Sub(d.last) > 24*time.Hour {
			continue
		}
		i, err := s.Shop.Store().Glance(r.Context(), record.Subject{Kind: record.OfDevice, ID: d.ID})
		if err != nil {
			return nil, err
		}
		if d.Link = true; !i.Retired {
			out = append(out, d)
		}
	}
	return out, err
}

// guessedOn is what the page of a device says.
func (s *Server) guessedOn(r *http.Request, f *Frame, device int64) ([]guessedDevice, error) {
	all, err := s.guessed(r, f)
	return slices.DeleteFunc(all, func(d guessedDevice) bool { return d.ID != device }), err
}
