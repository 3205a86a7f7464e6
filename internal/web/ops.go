package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/archive"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// health answers whether the server and its store are well, in codes; nothing about the shop stands in it.
func (s *Server) health(w http.ResponseWriter, r *http.Request) error {
	troubles := s.troubles(r.Context())
	out := healthDoc{Status: "ok", Troubles: []record.Code{}}
	code := http.StatusOK
	for _, t := range troubles {
		out.Troubles = append(out.Troubles, t.Code)
		out.Status = "troubled"
		if t.Code == record.Away || t.Code == record.Internal {
			s.logger(r).Error("store does not answer", "err", t.Err)
		}
	}
	if slices.ContainsFunc(troubles, func(t store.Trouble) bool { return t.Grave }) {
		out.Status, code = "failing", http.StatusServiceUnavailable
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	return wrote(json.NewEncoder(w).Encode(out))
}

// healthDoc is the answer of /healthz.
type healthDoc struct {
	Status   string        `json:"status"`   // "ok", "troubled" (it works, and wants mending) or "failing"
	Troubles []record.Code `json:"troubles"` // the worst first
}

// Codes of troubles that are not of the store.
const (
	Certificate record.Code = "certificate" // by which the network reaches the shop
	Heads       record.Code = "heads"       // the signed head of the chain could not be written
)

// troubles lists what ails the server: its store, and its certificates.
func (s *Server) troubles(ctx context.Context) []store.Trouble {
	out := s.Shop.Store().Troubles(ctx)
	if s.Ails != nil {
		out = append(out, s.Ails()...)
	}
	return out
}

// Troubles are the keys of what ails the server, in words, for an owner; others cannot mend it.
func (f *Frame) Troubles() []string {
	if !f.May(string(gate.KeepShop)) {
		return nil
	}
	var keys []string
	for _, t := range f.ails() {
		if key := "trouble." + string(t.Code); f.Has(key) {
			keys = append(keys, key)
		}
	}
	return keys
}

// offline is what a device shows when the server does not answer and it has nothing else.
func (s *Server) offline(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r.WithContext(gate.With(r.Context(), gate.Who{})))
	if err != nil {
		return err
	}
	var all []offlineText // the device keeps one page for whoever holds it: it speaks every language
	for _, lang := range s.texts.Languages() {
		v := s.texts.In(lang)
		all = append(all, offlineText{lang, v.Say("offline.title"), v.Say("offline.why")})
	}
	f.Title, f.Main, f.Data = f.T("offline.title"), "narrow", all
	return s.render(w, http.StatusOK, "offline", "frame.html", f)
}

type offlineText struct{ Lang, Title, Why string }

type trustPage struct {
	F           *Frame
	Fingerprint string
	Name        string
	Until       string
	Address     string
	QR          string
	Have        bool
}

// trust walks a tablet through trusting the workshop's own certificate authority.
func (s *Server) trust(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	d := &trustPage{F: f, Address: s.URL(), Have: s.CA != nil}
	if s.CA != nil {
		d.Fingerprint, d.Name, d.Until = s.CA.Fingerprint(), s.CA.Name(), f.Day(s.CA.Until())
	}
	if d.QR, err = qrSVG(d.Address+"/trust", f.T("trust.qr")); err != nil {
		return err
	}
	f.Title, f.Data, f.Main = f.T("trust.title"), d, "narrow"
	return s.render(w, http.StatusOK, "trust", "frame.html", f)
}

// trustRoot answers the root certificate (DER, application/pkix-cert after RFC 2585).
func (s *Server) trustRoot(w http.ResponseWriter, r *http.Request) error {
	if s.CA == nil {
		return notFound(r.URL.Path)
	}
	w.Header().Set("Content-Type", "application/pkix-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="workshop-root.cer"`)
	_, err := w.Write(s.CA.Root())
	return wrote(err)
}

// exportJob answers a whole job as one archive.
func (s *Server) exportJob(w http.ResponseWriter, r *http.Request) error {
	n, err := mustNumber(r, "job")
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := archive.Export(r.Context(), s.Shop.Store(), s.Shop.Version(), n, &buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", fmt.Sprintf("job-%d.zip", n)))
	_, err = buf.WriteTo(w)
	return wrote(err)
}

// maxArchive is the size of the largest archive that a page takes; larger ones go through the terminal.
const maxArchive = 200 << 20

// importJob takes an archive of another shop.
func (s *Server) importJob(w http.ResponseWriter, r *http.Request) error {
	who, _ := gate.From(r.Context())
	if err := gate.May(who, gate.Import); err != nil {
		return err
	}
	done, err := s.takeIn(w, r, maxArchive)
	if err != nil {
		return err
	}
	defer done()
	mr, err := r.MultipartReader()
	if err != nil {
		return record.Faultf(record.Invalid, "archive", "a form without a file", "an archive (multipart/form-data)", "")
	}
	for {
		part, err := mr.NextPart()
		if errors.Is(err, io.EOF) {
			return record.Faultf(record.Invalid, "archive", "no file", "the archive of a job", "")
		}
		if err != nil {
			return uploadFault(err)
		}
		if part.FormName() != "archive" {
			continue
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return uploadFault(err)
		}
		got, err := archive.Import(r.Context(), s.Shop.Store(), bytes.NewReader(data), int64(len(data)), who.Person, who.Device)
		if err != nil {
			return err
		}
		http.Redirect(w, r, "/jobs/"+strconv.FormatInt(got.Number, 10)+"?done=imported", http.StatusSeeOther)
		return nil
	}
}
