package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

func (a *API) jobRoutes() {
	route(a, huma.Operation{OperationID: "listJobs", Method: http.MethodGet, Path: "/jobs", Tags: []string{"jobs"}, Summary: "Jobs, the newest first",
		Description: "There are more as long as Link has rel=\"next\"."}, spec{}, a.listJobs)
	route(a, huma.Operation{OperationID: "bookIn", Method: http.MethodPost, Path: "/jobs", Tags: []string{"jobs"}, Summary: "Book a pump in", DefaultStatus: http.StatusCreated,
		Description: "Customer and pump are found by name and serial, or added to the catalogue."}, spec{body: Booking{}}, a.bookIn)
	route(a, huma.Operation{OperationID: "getJob", Method: http.MethodGet, Path: "/jobs/{job}", Tags: []string{"jobs"}, Summary: "A job as it stands"}, spec{found: true, cond: true}, a.getJob)
	route(a, huma.Operation{OperationID: "listEntries", Method: http.MethodGet, Path: "/jobs/{job}/entries", Tags: []string{"jobs"}, Summary: "What was written about a job"}, spec{found: true}, a.listEntries)
	route(a, huma.Operation{OperationID: "addEntry", Method: http.MethodPost, Path: "/jobs/{job}/entries", Tags: []string{"jobs"}, Summary: "Write something about a job", DefaultStatus: http.StatusCreated,
		Description: "Where an entry takes the job to a later stage, the move is written down with it. The same key again gives the entry that was taken first."},
		spec{body: Draft{}, found: true, match: true}, a.addEntry)
}

// JobIn names a job.
type JobIn struct {
	Job int64 `path:"job" minimum:"1" doc:"number of the job, as on its tag"`
}

// ListIn says which jobs to list.
type ListIn struct {
	Before   int64  `query:"before" minimum:"1" doc:"jobs before this number"`
	Limit    int    `query:"limit" minimum:"1" maximum:"200" default:"50"`
	Stage    string `query:"stage" enum:"booked in,as found,strip,choose,build,prove,hand over,closed"`
	Open     string `query:"open" enum:"true,false" doc:"only jobs that are in the shop, or only closed ones"`
	Pump     int64  `query:"pump" minimum:"1"`
	Customer int64  `query:"customer" minimum:"1"`
	Q        string `query:"q" maxLength:"200" doc:"words: number, serial, customer, model, complaint; the last may be unfinished. Words that are all common are looked for in the newest jobs"`
}

// ListOut is a page of jobs.
type ListOut struct {
	Link string `header:"Link" doc:"the next page (RFC 8288), rel=\"next\"; none on the last"`
	Body struct {
		Jobs []record.Summary `json:"jobs" nullable:"false"`
	}
}

func (a *API) listJobs(ctx context.Context, in *ListIn) (*ListOut, error) {
	f := store.Filter{Stage: record.Stage(in.Stage), Open: in.Open == "true", Closed: in.Open == "false", Pump: in.Pump, Customer: in.Customer, Words: in.Q}
	jobs, err := a.st.List(ctx, f, in.Before, in.Limit+1)
	if err != nil {
		return nil, err
	}
	out := &ListOut{}
	out.Body.Jobs = nonNil(jobs)
	if len(jobs) > in.Limit {
		out.Body.Jobs = jobs[:in.Limit]
		out.Link = next(ctx, "before", jobs[in.Limit-1].Number)
	}
	return out, nil
}

// next is the Link to the same list from a place on.
func next(ctx context.Context, name string, place int64) string {
	u := at(ctx).r.URL
	q := u.Query()
	q.Set(name, strconv.FormatInt(place, 10))
	return "<" + (&url.URL{Path: u.Path, RawQuery: q.Encode()}).String() + `>; rel="next"`
}

// Booking is what is said when a pump is booked in.
type Booking struct {
	CustomerName string    `json:"customer_name" minLength:"1"`
	Serial       string    `json:"serial" minLength:"1"`
	Model        string    `json:"model" minLength:"1" doc:"name of the pump sheet"`
	Sheet        int64     `json:"sheet,omitempty" minimum:"0" doc:"pump sheet of the catalogue; 0 is one that comes with the program"`
	Complaint    string    `json:"complaint" minLength:"1"`
	Fluid        string    `json:"fluid,omitempty"`
	Hours        string    `json:"hours,omitempty" doc:"since last time, with its unit"`
	Litres       string    `json:"litres,omitempty" doc:"since last time, with its unit"`
	Drive        string    `json:"drive,omitempty"`
	With         string    `json:"with,omitempty"`
	At           time.Time `json:"at,omitzero" doc:"when it came; now when it is left out"`
	Key          string    `json:"key,omitempty" maxLength:"64"`
}

// BookIn is the head of a booking.
type BookIn struct {
	Key string `header:"Idempotency-Key" doc:"the same key is the same booking"`
}

// BookOut is a booking that was taken.
type BookOut struct {
	Location string `header:"Location"`
	Body     struct {
		Number int64  `json:"number" doc:"of the job, also its tag"`
		UID    string `json:"uid"`
		Entry  Entry  `json:"entry"`
	}
}

func (a *API) bookIn(ctx context.Context, in *BookIn) (*BookOut, error) {
	var b Booking
	if err := read(ctx, maxJSON, &b); err != nil {
		return nil, err
	}
	k, err := key(in.Key, b.Key)
	if err != nil {
		return nil, err
	}
	n, err := a.sh.BookIn(ctx, shop.By{Who: at(ctx).who, At: b.At, Key: k}, record.Booked{CustomerName: b.CustomerName, Serial: b.Serial, Model: b.Model, Sheet: b.Sheet,
		Complaint: b.Complaint, Fluid: b.Fluid, Hours: b.Hours, Litres: b.Litres, Drive: b.Drive, With: b.With})
	if err != nil {
		return nil, err
	}
	all, err := a.st.Written(ctx, n)
	if err != nil {
		return nil, err
	}
	sum, err := a.st.Summary(ctx, n)
	if err != nil {
		return nil, err
	}
	out := &BookOut{Location: fmt.Sprintf("%s/jobs/%d", Prefix, n)}
	out.Body.Number, out.Body.UID, out.Body.Entry = n, sum.UID, entry(all[0])
	return out, nil
}

// CondIn is a job and what the reader has of it.
type CondIn struct {
	JobIn
	IfNoneMatch string `header:"If-None-Match" doc:"entity tags that the reader has"`
}

// JobOut is the state of a job; with status 304 it has no body.
type JobOut struct {
	Status int
	ETag   string `header:"ETag" doc:"strong: number and digest of the last entry"`
	Cache  string `header:"Cache-Control"`
	Body   *Job
}

// asking is how answers with an entity tag may be kept: privately, and asked for each time.
const asking = "private, no-cache"

func (a *API) getJob(ctx context.Context, in *CondIn) (*JobOut, error) {
	all, err := a.written(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	end := all[len(all)-1].Here
	out := &JobOut{Status: http.StatusOK, ETag: tag(end.Seq, end.Hash), Cache: asking}
	same, err := fresh(in.IfNoneMatch, out.ETag)
	if err != nil {
		return nil, err
	}
	if same {
		out.Status = http.StatusNotModified
		return out, nil
	}
	sum, err := a.st.Summary(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	out.Body, err = state(all, sum.UID)
	return out, err
}

// written reads the entries of a job.
func (a *API) written(ctx context.Context, job int64) ([]store.Written, error) {
	all, err := a.st.Written(ctx, job)
	if err == nil && len(all) == 0 {
		_, err = a.st.Summary(ctx, job) // says that there is no such job
	}
	return all, err
}

// AfterIn says which entries to list.
type AfterIn struct {
	JobIn
	After int64 `query:"after" minimum:"0" doc:"entries after this seq"`
	Limit int   `query:"limit" minimum:"1" maximum:"500" default:"100"`
}

// EntriesOut is a page of entries.
type EntriesOut struct {
	Link string `header:"Link" doc:"the next page (RFC 8288), rel=\"next\"; none on the last"`
	ETag string `header:"ETag" doc:"of the job"`
	Body struct {
		Entries []Entry `json:"entries" nullable:"false"`
	}
}

func (a *API) listEntries(ctx context.Context, in *AfterIn) (*EntriesOut, error) {
	all, err := a.written(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	end := all[len(all)-1].Here
	out := &EntriesOut{ETag: tag(end.Seq, end.Hash)}
	out.Body.Entries = []Entry{}
	for _, w := range all[min(in.After, int64(len(all))):] {
		if len(out.Body.Entries) == in.Limit {
			out.Link = next(ctx, "after", w.Here.Seq-1)
			break
		}
		out.Body.Entries = append(out.Body.Entries, entry(w))
	}
	return out, nil
}

// Draft is an entry as a program sends it.
type Draft struct {
	Kind     string    `json:"kind" doc:"of what a person writes; a verdict is asked for under verdicts"`
	Body     Body      `json:"body"`
	At       time.Time `json:"at,omitzero" doc:"when it happened; now when it is left out"`
	Key      string    `json:"key,omitempty" maxLength:"64"`
	Corrects int64     `json:"corrects,omitempty" minimum:"0" doc:"entry that it replaces"`
}

// AddIn is the head of an entry.
type AddIn struct {
	JobIn
	Key     string `header:"Idempotency-Key" doc:"the same key is the same entry; it stands for key in the body, or is equal to it"`
	IfMatch string `header:"If-Match" doc:"the entry is taken only while the job has this entity tag"`
}

// EntryOut is an entry that was taken.
type EntryOut struct{ Body Entry }

func (a *API) addEntry(ctx context.Context, in *AddIn) (*EntryOut, error) {
	var d Draft
	if err := read(ctx, maxJSON, &d); err != nil {
		return nil, err
	}
	b, err := record.Decode(record.Kind(d.Kind), d.Body)
	if err != nil {
		return nil, err
	}
	k, err := key(in.Key, d.Key)
	if err != nil {
		return nil, err
	}
	all, err := a.written(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	if booked, ok := b.(*record.Booked); ok && d.Corrects != 0 {
		return a.correctBooking(ctx, in, &d, k, booked, all)
	}
	if had, err := stored(all, k, at(ctx).who.Person, d.Corrects, b); had != nil || err != nil {
		return entryOut(had), err
	}
	end := all[len(all)-1].Here
	by := shop.By{Who: at(ctx).who, At: d.At, Key: k, Corrects: d.Corrects}
	if by.IfSeq, err = seen(in.IfMatch, tag(end.Seq, end.Hash)); err != nil {
		return nil, err
	}
	got, err := a.sh.Add(ctx, by, in.Job, b)
	if err != nil {
		return nil, precondition(err)
	}
	return entryOut(&store.Written{Here: got.Entry}), nil
}

// correctBooking corrects a booking: customer and pump are found by name and serial, whatever their numbers in the body.
func (a *API) correctBooking(ctx context.Context, in *AddIn, d *Draft, k string, b *record.Booked, all []store.Written) (*EntryOut, error) {
	if k == "" {
		k = shop.NewKey()
	}
	had, err := stored(all, k, at(ctx).who.Person, d.Corrects, nil)
	if had == nil && err == nil {
		end := all[len(all)-1].Here
		by := shop.By{Who: at(ctx).who, At: d.At, Key: k}
		if by.IfSeq, err = seen(in.IfMatch, tag(end.Seq, end.Hash)); err != nil {
			return nil, err
		}
		if err := a.sh.CorrectBooking(ctx, by, in.Job, *b); err != nil {
			return nil, precondition(err)
		}
		if all, err = a.written(ctx, in.Job); err == nil {
			had, err = stored(all, k, at(ctx).who.Person, d.Corrects, nil)
		}
	}
	if err != nil {
		return nil, err
	}
	if had == nil || had.Here.Kind != record.KindBooked {
		return nil, usedKey()
	}
	return entryOut(had), nil
}

func entryOut(w *store.Written) *EntryOut {
	if w == nil {
		return nil
	}
	return &EntryOut{entry(*w)}
}

// stored finds the entry that a person wrote under a key: what is sent again is not checked again, for the job may have gone on. The same
// key with something else, or of somebody else, is a conflict.
func stored(all []store.Written, key string, who, corrects int64, b record.Body) (*store.Written, error) {
	if key == "" {
		return nil, nil
	}
	for i := range all {
		e := &all[i].Here
		if e.Key != key {
			continue
		}
		if e.By != who {
			return nil, usedKey()
		}
		if b != nil {
			data, err := json.Marshal(b)
			if err != nil {
				return nil, fmt.Errorf("api: a body: %w", err)
			}
			if e.Kind != b.Kind() || e.Corrects != corrects || !bytes.Equal(data, e.Body) {
				return nil, usedKey()
			}
		}
		return &all[i], nil
	}
	return nil, nil
}

func usedKey() error {
	return record.Faultf(record.Conflict, "key", "a key that another entry has", "a new key for each entry", "make a new key and send it again")
}
