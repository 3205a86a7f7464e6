package api

import (
	"encoding/json"
	"reflect"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Entry is one thing that was written down.
type Entry struct {
	Seq      int64         `json:"seq" doc:"1, 2, 3 … within the job or the value"`
	Kind     string        `json:"kind"`
	At       time.Time     `json:"at" doc:"when it happened, by the clock of the device"`
	Stored   time.Time     `json:"stored" doc:"when the store took it"`
	By       int64         `json:"by" doc:"person; 0 is the program itself"`
	Device   int64         `json:"device" doc:"0 for a program"`
	Key      string        `json:"key" doc:"under which it was taken once"`
	Corrects int64         `json:"corrects,omitempty" doc:"entry that it replaces"`
	Body     Body          `json:"body"`
	Prev     record.Digest `json:"prev" doc:"digest of the entry before it"`
	Hash     record.Digest `json:"hash" doc:"its own digest"`
	From     *From         `json:"from,omitempty" doc:"of an entry of another shop; its digest is over what was written there"`
}

// From says which other shop an entry comes from.
type From struct {
	Shop  string    `json:"shop"`
	Taken time.Time `json:"taken"`
}

// Body is what an entry says: one of the bodies, by its kind.
type Body json.RawMessage

// MarshalJSON gives the JSON as it is.
func (b Body) MarshalJSON() ([]byte, error) { return json.RawMessage(b).MarshalJSON() }

// UnmarshalJSON keeps the JSON as it is.
func (b *Body) UnmarshalJSON(data []byte) error { return (*json.RawMessage)(b).UnmarshalJSON(data) }

// bodies are the kinds of entries with what they say.
var bodies = []struct {
	kind record.Kind
	body any
}{
	{record.KindBooked, record.Booked{}}, {record.KindNoted, record.Noted{}}, {record.KindPictured, record.Pictured{}}, {record.KindBenched, record.Benched{}},
	{record.KindPressed, record.Pressed{}}, {record.KindRead, record.Read{}}, {record.KindJudged, record.Judged{}}, {record.KindFound, record.Found{}},
	{record.KindChose, record.Chose{}}, {record.KindMinded, record.Minded{}}, {record.KindSoaking, record.Soaking{}}, {record.KindDid, record.Did{}},
	{record.KindStacked, record.Stacked{}}, {record.KindMoved, record.Moved{}}, {record.KindOverrode, record.Overrode{}}, {record.KindPriced, record.Priced{}},
	{record.KindHanded, record.Handed{}}, {record.KindClosed, record.Closed{}}, {record.KindStruck, record.Struck{}},
	{record.KindKept, record.Kept{}}, {record.KindRetired, record.Retired{}},
}

// Schema is any of the bodies.
func (Body) Schema(r huma.Registry) *huma.Schema {
	s := &huma.Schema{Description: "by the kind of the entry"}
	for _, b := range bodies {
		s.AnyOf = append(s.AnyOf, r.Schema(reflect.TypeOf(b.body), true, ""))
	}
	return s
}

// Result is what a hold says: the same JSON as the terminal prints with --json.
type Result json.RawMessage

// MarshalJSON gives the JSON as it is.
func (b Result) MarshalJSON() ([]byte, error) { return json.RawMessage(b).MarshalJSON() }

// Schema is that of hold.Result.
func (Result) Schema(r huma.Registry) *huma.Schema {
	return r.Schema(reflect.TypeOf(hold.Result{}), true, "HoldResult")
}

// Value is a value of the catalogue, by its kind.
type Value json.RawMessage

// MarshalJSON gives the JSON as it is.
func (b Value) MarshalJSON() ([]byte, error) { return json.RawMessage(b).MarshalJSON() }

// Schema is any of the values.
func (Value) Schema(r huma.Registry) *huma.Schema {
	s := &huma.Schema{Description: "by the kind of the value"}
	for _, k := range record.Catalogue() {
		s.AnyOf = append(s.AnyOf, r.Schema(reflect.TypeOf(record.NewItem(k)).Elem(), true, ""))
	}
	return s
}

func entry(w store.Written) Entry {
	e := w.Here
	out := Entry{Seq: e.Seq, Kind: string(e.Kind), At: e.At, Stored: e.Stored, By: e.By, Device: e.Device, Key: e.Key, Corrects: e.Corrects, Body: Body(e.Body), Prev: e.Prev, Hash: e.Hash}
	if w.Origin != nil {
		out.From = &From{w.Origin.Shop, w.Origin.Taken}
	}
	return out
}

// Line is an entry of the present state: the last correction of what was not struck.
type Line struct {
	Entry
	First int64 `json:"first" doc:"seq of what was written first"`
}

// Job is the present state of a job.
type Job struct {
	record.Summary
	Total  int64   `json:"total" doc:"of the bill, in the smallest unit of the currency of the shop"`
	Lines  []Line  `json:"lines" nullable:"false" doc:"what stands, in the order in which it was first written"`
	Struck []int64 `json:"struck" nullable:"false" doc:"seq of what was struck"`
}

// state makes the present state of a job from its entries.
func state(all []store.Written, uid string) (*Job, error) {
	entries := make([]record.Entry, len(all))
	for i := range all {
		entries[i] = all[i].Here
	}
	j, err := record.Fold(entries)
	if err != nil {
		return nil, err
	}
	out := &Job{Summary: j.Summary, Total: j.Total(), Lines: []Line{}, Struck: []int64{}}
	out.UID = uid
	root := make([]int64, len(all)+1)
	last := make([]int, len(all)+1)
	for i, e := range entries {
		root[e.Seq] = e.Seq
		if e.Corrects != 0 {
			root[e.Seq] = root[e.Corrects]
		}
		last[root[e.Seq]] = i
	}
	for _, e := range entries {
		switch {
		case j.Struck[e.Seq] != nil:
			out.Struck = append(out.Struck, e.Seq)
		case e.Corrects == 0 && e.Kind != record.KindStruck:
			out.Lines = append(out.Lines, Line{entry(all[last[e.Seq]]), e.Seq})
		}
	}
	return out, nil
}
