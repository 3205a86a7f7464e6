package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/picture"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// maxUpload is the size of the largest photo that is taken.
const maxUpload = 25 << 20

// maxText is the size of the largest text beside a photo.
const maxText = 16 << 10

// addPhoto takes a photo: the fields of the form first, then the picture, which is checked by what it holds and encoded anew.
func (s *Server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	n, err := mustNumber(r, "job")
	if err != nil {
		return err
	}
	if who, _ := gate.From(r.Context()); gate.May(who, gate.WriteJob) != nil {
		return gate.May(who, gate.WriteJob)
	}
	if _, err := s.Shop.Store().Summary(r.Context(), n); err != nil { // no picture is kept for a job that is not there
		return err
	}
	done, err := s.takeIn(w, r, maxUpload+maxForm)
	if err != nil {
		return err
	}
	defer done()
	mr, err := r.MultipartReader()
	if err != nil {
		return record.Faultf(record.Invalid, "photo", "a form without a picture", "a picture (multipart/form-data)", "")
	}
	form := &Form{Values: map[string][]string{}}
	hash := record.Digest{}
	for {
		part, err := mr.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return uploadFault(err)
		}
		if err := s.photoPart(r, part, form, &hash); err != nil {
			return err
		}
	}
	if hash == (record.Digest{}) {
		return record.Faultf(record.Invalid, "photo", "no picture", "a picture", "take a photo or choose one")
	}
	b := &record.Pictured{Photo: hash, Caption: form.Text("caption"), Stage: record.Stage(form.Get("stage")), Part: form.Get("part")}
	got, err := s.Shop.Add(r.Context(), by(r, form), n, b)
	if err != nil {
		return err
	}
	if wantsScript(r) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusCreated)
		return wrote(json.NewEncoder(w).Encode(map[string]any{"seq": got.Entry.Seq, "photo": hash}))
	}
	to := jobPath(n, "")
	if back := form.Get("back"); back != "" && local(back) {
		to = back
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// takeIn bounds the body of an upload, which is read as there is room for it; done gives the room back.
func (s *Server) takeIn(w http.ResponseWriter, r *http.Request, most int64) (done func(), err error) {
	who, _ := gate.From(r.Context())
	ctx, cancel := context.WithTimeout(r.Context(), uploadFor)
	in, err := s.Shop.Intake(ctx, who.Person, r.ContentLength, most)
	if err != nil {
		cancel()
		return nil, &record.Fault{Code: record.TooMany, Where: "upload", Found: "many others at the same time", Want: "an upload when there is room", Mend: "try again in a moment; nothing was kept", Err: err}
	}
	bounded := http.MaxBytesReader(w, r.Body, most)
	r.Body = struct {
		io.Reader
		io.Closer
	}{in.Reader(ctx, bounded, http.NewResponseController(w).SetReadDeadline), bounded}
	return func() { cancel(); in.Done() }, nil
}

// uploadFor is for how long an upload may wait for others and come in.
const uploadFor = 110 * time.Second

func uploadFault(err error) error {
	var big *http.MaxBytesError
	var f *record.Fault
	if errors.As(err, &f) {
		return f
	}
	if errors.As(err, &big) {
		return record.Faultf(record.TooLarge, "photo", "more than 25 MB", "a picture of at most 25 MB", "set the camera to a smaller picture; nothing was kept")
	}
	return &record.Fault{Code: record.Invalid, Where: "photo", Found: "an upload that was cut off or is damaged", Want: "a whole picture", Mend: "send it again; nothing was kept", Err: err}
}

func (s *Server) photoPart(r *http.Request, part *multipart.Part, form *Form, hash *record.Digest) error {
	if part.FormName() != "photo" {
		text, err := io.ReadAll(io.LimitReader(part, maxText+1))
		if err != nil {
			return uploadFault(err)
		}
		if len(text) > maxText {
			return record.Faultf(record.TooLarge, part.FormName(), "more than 16 kB", "at most 16 kB", "shorten it")
		}
		form.Values.Set(part.FormName(), string(text))
		return record.Typed(part.FormName(), string(text))
	}
	if *hash != (record.Digest{}) {
		return record.Faultf(record.Invalid, "photo", "more than one picture", "one picture", "send them one by one")
	}
	p, err := picture.Read(part, maxUpload)
	if err != nil {
		var big *http.MaxBytesError
		var slow *record.Fault
		if f := new(record.Fault); errors.As(err, &f) && errors.As(f.Err, &slow) { // why the upload broke off
			return slow
		}
		if errors.As(err, &big) {
			return uploadFault(err)
		}
		return err
	}
	*hash, err = s.Shop.Store().PutPhoto(r.Context(), store.Photo{Width: p.Width, Height: p.Height, Data: p.Data, Thumb: p.Thumb})
	return err
}

// photo answers a picture by its digest. What a digest names never changes.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	var hash record.Digest
	if err := hash.UnmarshalText([]byte(r.PathValue("hash"))); err != nil {
		return notFound(r.URL.Path)
	}
	small := strings.HasSuffix(r.URL.Path, "/small")
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Header().Set("ETag", `"`+hash.String()+`"`)
	if r.Header.Get("If-None-Match") == `"`+hash.String()+`"` {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	p, err := s.Shop.Store().GetPhoto(r.Context(), hash, small)
	if err != nil {
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Del("ETag")
		return err
	}
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", "photo-"+hash.String()[:12]+".jpg"))
	data := p.Data
	if small {
		data = p.Thumb
	}
	_, err = w.Write(data)
	return wrote(err)
}
