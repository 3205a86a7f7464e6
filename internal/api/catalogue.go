package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

func (a *API) catalogueRoutes() {
	op := func(id, method, path, summary string) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: "/catalogue/{kind}" + path, Tags: []string{"catalogue"}, Summary: summary}
	}
	route(a, op("listItems", http.MethodGet, "", "Values of a kind, by label"), spec{found: true}, a.listItems)
	add := op("addItem", http.MethodPost, "", "Add a value")
	add.DefaultStatus = http.StatusCreated
	route(a, add, spec{body: Value{}}, a.addItem)
	route(a, op("getItem", http.MethodGet, "/{id}", "A value as it is now"), spec{found: true, cond: true}, a.getItem)
	put := op("keepItem", http.MethodPut, "/{id}", "Keep another value of it")
	put.Description = "What it was stays in its history. If-Match says what the writer has seen."
	route(a, put, spec{body: Value{}, found: true, match: true, must: true}, a.keepItem)
	route(a, op("retireItem", http.MethodDelete, "/{id}", "Take a value out of the lists"), spec{found: true, match: true}, a.retireItem)
	route(a, op("itemHistory", http.MethodGet, "/{id}/history", "Every value that it had"), spec{found: true}, a.itemHistory)
}

// KindIn names a kind of the catalogue.
type KindIn struct {
	Kind string `path:"kind" enum:"shop,person,device,customer,pump,tool,sheet,fluid,price"`
}

// ItemIn names a value of the catalogue.
type ItemIn struct {
	KindIn
	ID int64 `path:"id" minimum:"1"`
}

func (in *ItemIn) subject() record.Subject {
	return record.Subject{Kind: record.SubjectKind(in.Kind), ID: in.ID}
}

// Item is a value of the catalogue.
type Item struct {
	Kind    string `json:"kind"`
	ID      int64  `json:"id"`
	Label   string `json:"label" doc:"one line that names it"`
	Retired bool   `json:"retired" doc:"no longer offered"`
	Seq     int64  `json:"seq" doc:"of its last entry"`
	Value   Value  `json:"value"`
}

func item(i *store.Item) (Item, error) {
	data, err := json.Marshal(i.Value)
	if err != nil {
		return Item{}, fmt.Errorf("api: a value: %w", err)
	}
	return Item{string(i.Subject.Kind), i.Subject.ID, i.Label, i.Retired, i.Seq, data}, nil
}

// ItemsIn says which values to list.
type ItemsIn struct {
	KindIn
	Q       string `query:"q" maxLength:"200" doc:"words; the last may be unfinished"`
	After   int64  `query:"after" minimum:"1" doc:"values after this one"`
	Limit   int    `query:"limit" minimum:"1" maximum:"200" default:"50"`
	Retired bool   `query:"retired" doc:"list what was retired instead"`
}

// ItemsOut is a page of values.
type ItemsOut struct {
	Link string `header:"Link" doc:"the next page (RFC 8288), rel=\"next\"; none on the last, nor with q"`
	Body struct {
		Items []Item `json:"items" nullable:"false"`
	}
}

func (a *API) listItems(ctx context.Context, in *ItemsIn) (*ItemsOut, error) {
	k := record.SubjectKind(in.Kind)
	out := &ItemsOut{}
	out.Body.Items = []Item{}
	var items []store.Item
	var err error
	if in.Q != "" {
		items, err = a.st.FindItems(ctx, k, in.Q, in.Limit)
	} else {
		items, err = a.page(ctx, k, in)
	}
	if err != nil {
		return nil, err
	}
	for i := range items {
		if i == in.Limit {
			out.Link = next(ctx, "after", items[i-1].Subject.ID)
			break
		}
		x, err := item(&items[i])
		if err != nil {
			return nil, err
		}
		out.Body.Items = append(out.Body.Items, x)
	}
	return out, nil
}

// page reads one value more than asked for, which says that there is a next page.
func (a *API) page(ctx context.Context, k record.SubjectKind, in *ItemsIn) ([]store.Item, error) {
	p := store.Page{Limit: in.Limit + 1, Retired: in.Retired}
	if in.After > 0 {
		last, err := a.st.Item(ctx, record.Subject{Kind: k, ID: in.After})
		if err != nil {
			return nil, err
		}
		p.Label, p.ID = last.Label, in.After
	}
	return a.st.Items(ctx, k, p)
}

// GetItemIn is a value and what the reader has of it.
type GetItemIn struct {
	ItemIn
	IfNoneMatch string `header:"If-None-Match" doc:"entity tags that the reader has"`
}

// ItemOut is a value; with status 304 it has no body.
type ItemOut struct {
	Status   int
	ETag     string `header:"ETag" doc:"strong: number and digest of its last entry"`
	Cache    string `header:"Cache-Control"`
	Location string `header:"Location"`
	Body     *Item
}

func (a *API) getItem(ctx context.Context, in *GetItemIn) (*ItemOut, error) {
	i, etag, err := a.item(ctx, in.subject())
	if err != nil {
		return nil, err
	}
	out := &ItemOut{Status: http.StatusOK, ETag: etag, Cache: asking}
	same, err := fresh(in.IfNoneMatch, etag)
	if err != nil {
		return nil, err
	}
	if same {
		out.Status = http.StatusNotModified
		return out, nil
	}
	x, err := item(i)
	out.Body = &x
	return out, err
}

// item reads a value with its entity tag.
func (a *API) item(ctx context.Context, sub record.Subject) (*store.Item, string, error) {
	for {
		i, err := a.st.Item(ctx, sub)
		if err != nil {
			return nil, "", err
		}
		entries, err := a.st.Entries(ctx, sub, i.Seq-1, 2)
		if err != nil {
			return nil, "", err
		}
		if len(entries) == 1 && entries[0].Seq == i.Seq { // else somebody wrote in between
			return i, tag(i.Seq, entries[0].Hash), nil
		}
		if len(entries) == 0 {
			return nil, "", record.Faultf(record.Damaged, sub.String(), "no entry", "its entries", "restore a backup")
		}
	}
}

// AddItemIn is the head of a new value.
type AddItemIn struct {
	KindIn
	Key string `header:"Idempotency-Key" doc:"the same key is the same value"`
}

func (a *API) addItem(ctx context.Context, in *AddItemIn) (*ItemOut, error) {
	k := record.SubjectKind(in.Kind)
	value, err := a.value(ctx, k)
	if err != nil {
		return nil, err
	}
	by := shop.By{Who: at(ctx).who}
	if by.Key, err = key(in.Key, ""); err != nil {
		return nil, err
	}
	got, err := a.sh.Keep(ctx, by, record.Subject{Kind: k}, value)
	if err != nil {
		return nil, err
	}
	return kept(got.Entry, value, http.StatusCreated)
}

// kept is a value as an entry left it, whatever was written since.
func kept(e record.Entry, value record.Item, status int) (*ItemOut, error) {
	data, err := json.Marshal(value)
	if err != nil {
		return nil, fmt.Errorf("api: a value: %w", err)
	}
	out := &ItemOut{Status: status, ETag: tag(e.Seq, e.Hash), Body: &Item{string(e.Subject.Kind), e.Subject.ID, value.Label(), false, e.Seq, data}}
	if status == http.StatusCreated {
		out.Location = fmt.Sprintf("%s/catalogue/%s/%d", Prefix, e.Subject.Kind, e.Subject.ID)
	}
	return out, nil
}

func (a *API) value(ctx context.Context, k record.SubjectKind) (record.Item, error) {
	data, err := body(ctx, maxSheet, "application/json")
	if err != nil {
		return nil, err
	}
	if !json.Valid(data) {
		return nil, badRequest("no JSON", "one JSON object", "")
	}
	return record.DecodeItem(k, data)
}

// KeepItemIn is the head of another value.
type KeepItemIn struct {
	ItemIn
	IfMatch string `header:"If-Match" doc:"entity tag of the value that it replaces, or *"`
}

func (a *API) keepItem(ctx context.Context, in *KeepItemIn) (*ItemOut, error) {
	sub := in.subject()
	value, err := a.value(ctx, sub.Kind)
	if err != nil {
		return nil, err
	}
	if in.IfMatch == "" {
		return nil, NewProblem(http.StatusPreconditionRequired, record.Faultf(record.Invalid, "If-Match", "nothing", "the ETag of the value that it replaces, or *", "read it first"))
	}
	_, etag, err := a.item(ctx, sub)
	if err != nil {
		return nil, err
	}
	by := shop.By{Who: at(ctx).who}
	if by.IfSeq, err = seen(in.IfMatch, etag); err != nil {
		return nil, err
	}
	got, err := a.sh.Keep(ctx, by, sub, value)
	if err != nil {
		return nil, precondition(err)
	}
	return kept(got.Entry, value, http.StatusOK)
}

// RetireIn is the head of a retirement.
type RetireIn struct {
	ItemIn
	Reason  string `query:"reason" maxLength:"4000"`
	IfMatch string `header:"If-Match" doc:"entity tag of the value"`
}

// NoOut has no body.
type NoOut struct{}

func (a *API) retireItem(ctx context.Context, in *RetireIn) (*NoOut, error) {
	sub := in.subject()
	i, etag, err := a.item(ctx, sub)
	if err != nil {
		return nil, err
	}
	by := shop.By{Who: at(ctx).who}
	if by.IfSeq, err = seen(in.IfMatch, etag); err != nil {
		return nil, err
	}
	if i.Retired { // it is gone: nothing to do again
		return &NoOut{}, nil
	}
	if _, err := a.sh.Retire(ctx, by, sub, in.Reason); err != nil {
		return nil, precondition(err)
	}
	return &NoOut{}, nil
}

// HistoryIn says which entries of a value to list.
type HistoryIn struct {
	ItemIn
	After int64 `query:"after" minimum:"0" doc:"entries after this seq"`
	Limit int   `query:"limit" minimum:"1" maximum:"200" default:"50"`
}

func (a *API) itemHistory(ctx context.Context, in *HistoryIn) (*EntriesOut, error) {
	sub := in.subject()
	_, etag, err := a.item(ctx, sub)
	if err != nil {
		return nil, err
	}
	entries, err := a.st.Entries(ctx, sub, in.After, in.Limit+1)
	if err != nil {
		return nil, err
	}
	out := &EntriesOut{ETag: etag}
	out.Body.Entries = []Entry{}
	if len(entries) > in.Limit {
		out.Link = next(ctx, "after", entries[in.Limit-1].Seq)
	}
	for _, e := range entries[:min(in.Limit, len(entries))] {
		out.Body.Entries = append(out.Body.Entries, entry(store.Written{Here: e}))
	}
	return out, nil
}
