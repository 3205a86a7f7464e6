package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/internal/archive"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/picture"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

func (a *API) fileRoutes() {
	route(a, huma.Operation{OperationID: "addPhoto", Method: http.MethodPost, Path: "/jobs/{job}/photos", Tags: []string{"files"}, Summary: "Add a photo to a job", DefaultStatus: http.StatusCreated,
		Description: "The picture is decoded and encoded anew; nothing else of the file is kept."}, spec{raw: []string{"image/jpeg", "image/png", "image/webp", "image/gif"}, found: true}, a.addPhoto)
	route(a, huma.Operation{OperationID: "getPhoto", Method: http.MethodGet, Path: "/photos/{photo}", Tags: []string{"files"}, Summary: "A photo by its digest"},
		spec{found: true, cond: true, answer: "image/jpeg"}, a.getPhoto)
	route(a, huma.Operation{OperationID: "exportJob", Method: http.MethodGet, Path: "/jobs/{job}/archive", Tags: []string{"files"}, Summary: "A whole job as an archive"},
		spec{found: true, answer: "application/zip"}, a.exportJob)
	route(a, huma.Operation{OperationID: "importJob", Method: http.MethodPost, Path: "/archives", Tags: []string{"files"}, Summary: "Take a job of another shop in", DefaultStatus: http.StatusCreated,
		Description: "It takes a token of an owner that may write. An archive that has no more than what is here changes nothing and is answered 200; so is one that adds to a job that is here."}, spec{raw: []string{"application/zip"}}, a.importJob)
}

// PhotoIn says what a photo shows.
type PhotoIn struct {
	JobIn
	Key     string `header:"Idempotency-Key" doc:"the same key is the same entry"`
	Caption string `query:"caption" maxLength:"4000"`
	Stage   string `query:"stage" enum:"booked in,as found,strip,choose,build,prove,hand over,closed"`
	Part    string `query:"part" maxLength:"120"`
}

// PhotoOut is the entry of a photo.
type PhotoOut struct {
	Location string `header:"Location" doc:"of the picture"`
	Body     Entry
}

func (a *API) addPhoto(ctx context.Context, in *PhotoIn) (*PhotoOut, error) {
	who := at(ctx).who
	if err := gate.May(who, gate.WriteJob); err != nil {
		return nil, err
	}
	k, err := key(in.Key, "")
	if err != nil {
		return nil, err
	}
	data, done, err := a.large(ctx, maxPicture, "image/jpeg", "image/png", "image/webp", "image/gif")
	if err != nil {
		return nil, err
	}
	defer done()
	all, err := a.written(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	p, err := picture.Read(bytes.NewReader(data), maxPicture)
	if err != nil {
		return nil, err
	}
	hash, err := a.st.PutPhoto(ctx, store.Photo{Width: p.Width, Height: p.Height, Data: p.Data, Thumb: p.Thumb})
	if err != nil {
		return nil, err
	}
	b := &record.Pictured{Photo: hash, Caption: in.Caption, Stage: record.Stage(in.Stage), Part: in.Part}
	w, err := stored(all, k, who.Person, 0, b)
	if err != nil {
		return nil, err
	}
	if w == nil {
		got, err := a.sh.Add(ctx, shop.By{Who: who, Key: k}, in.Job, b)
		if err != nil {
			return nil, err
		}
		w = &store.Written{Here: got.Entry}
	}
	return &PhotoOut{Location: Prefix + "/photos/" + hash.String(), Body: entry(*w)}, nil
}

// GetPhotoIn names a photo.
type GetPhotoIn struct {
	Photo       string `path:"photo" pattern:"^[0-9a-f]{64}$" doc:"its SHA-256 digest"`
	Small       bool   `query:"small" doc:"the small one, for lists"`
	IfNoneMatch string `header:"If-None-Match"`
}

// FileOut is an answer that is not JSON.
type FileOut struct {
	Status      int
	Type        string `header:"Content-Type"`
	ETag        string `header:"ETag"`
	Cache       string `header:"Cache-Control"`
	Disposition string `header:"Content-Disposition"`
	Body        func(huma.Context)
}

// forEver is how what its digest names may be kept.
const forEver = "private, max-age=31536000, immutable"

func (a *API) getPhoto(ctx context.Context, in *GetPhotoIn) (*FileOut, error) {
	var hash record.Digest
	if err := hash.UnmarshalText([]byte(in.Photo)); err != nil {
		return nil, err
	}
	p, err := a.st.GetPhoto(ctx, hash, in.Small)
	if err != nil {
		return nil, err
	}
	data, etag := p.Data, `"`+hash.String()+`"`
	if in.Small { // made anew by each version of the program: no digest of it stands anywhere
		data, etag = p.Thumb, tag(int64(len(p.Thumb)), sha256.Sum256(p.Thumb))
	}
	same, err := fresh(in.IfNoneMatch, etag)
	if err != nil {
		return nil, err
	}
	out := &FileOut{Status: http.StatusOK, Type: "image/jpeg", ETag: etag, Cache: forEver, Disposition: fmt.Sprintf("inline; filename=%q", "photo-"+in.Photo[:12]+".jpg")}
	if in.Small {
		out.Cache = asking
	}
	if same {
		out.Disposition = ""
	}
	out.Body = func(c huma.Context) {
		if same {
			c.SetStatus(http.StatusNotModified)
			return
		}
		c.SetStatus(http.StatusOK)
		// Whoever does not take the answer cannot be told.
		_, _ = c.BodyWriter().Write(data)
	}
	return out, nil
}

func (a *API) exportJob(ctx context.Context, in *JobIn) (*FileOut, error) {
	if _, err := a.st.Summary(ctx, in.Job); err != nil {
		return nil, err
	}
	x := at(ctx)
	out := &FileOut{Status: http.StatusOK}
	out.Body = func(c huma.Context) {
		w := &late{c: c, head: func() {
			c.SetHeader("Content-Type", "application/zip")
			c.SetHeader("Content-Disposition", fmt.Sprintf("attachment; filename=%q", fmt.Sprintf("job-%d.zip", in.Job)))
			c.SetStatus(http.StatusOK)
		}}
		err := archive.Export(ctx, a.st, a.sh.Version(), in.Job, w)
		switch {
		case err == nil:
		case !w.begun:
			var p *Problem
			if errors.As(a.fail(ctx, err), &p) {
				c.SetHeader("Content-Type", p.ContentType(""))
				c.SetStatus(p.Status)
				_ = marshal(c.BodyWriter(), p)
			}
		default: // the reader must not take half an archive for a whole one
			a.log.ErrorContext(ctx, "an archive broke off", "err", err, "path", x.r.URL.Path)
			panic(http.ErrAbortHandler)
		}
	}
	return out, nil
}

// late writes the head of an answer with its first bytes.
type late struct {
	c     huma.Context
	head  func()
	begun bool
}

// Write writes.
func (l *late) Write(p []byte) (int, error) {
	if !l.begun {
		l.begun = true
		l.head()
	}
	return l.c.BodyWriter().Write(p)
}

// ImportIn has nothing beyond the archive.
type ImportIn struct{}

// ImportOut says what became of an archive.
type ImportOut struct {
	Status   int
	Location string `header:"Location"`
	Body     struct {
		Number int64 `json:"number" doc:"of the job here"`
		Added  int   `json:"added" doc:"entries; 0 when all were here already"`
		New    bool  `json:"new" doc:"the job was not here before"`
	}
}

func (a *API) importJob(ctx context.Context, _ *ImportIn) (*ImportOut, error) {
	who := at(ctx).who
	if err := gate.May(who, gate.Import); err != nil {
		return nil, err
	}
	data, done, err := a.large(ctx, maxArchive, "application/zip")
	if err != nil {
		return nil, err
	}
	defer done()
	got, err := archive.Import(ctx, a.st, bytes.NewReader(data), int64(len(data)), who.Person, who.Device)
	var f *record.Fault
	if errors.As(err, &f) && f.Code == record.Damaged { // the archive, not the store
		return nil, NewProblem(http.StatusUnprocessableEntity, f)
	}
	if err != nil {
		return nil, err
	}
	out := &ImportOut{Status: http.StatusOK, Location: fmt.Sprintf("%s/jobs/%d", Prefix, got.Number)}
	if got.New {
		out.Status = http.StatusCreated
	}
	out.Body.Number, out.Body.Added, out.Body.New = got.Number, got.Added, got.New
	return out, nil
}
