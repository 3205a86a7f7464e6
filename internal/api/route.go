package api

import (
	"context"
	"net/http"
	"reflect"
	"strconv"

	"github.com/danielgtaylor/huma/v2"
)

// spec is what an operation has beyond what its types say.
type spec struct {
	body   any      // of JSON that comes in: a value of its type
	raw    []string // types of another body that comes in
	found  bool     // it names something that may not be there
	cond   bool     // it answers 304
	match  bool     // it answers 412
	must   bool     // it answers 428
	answer string   // type of an answer that is not JSON
}

// route registers an operation. The body that comes in is read by the operation itself (see body), so that all of it is told in the same
// words; the document says what it is.
func route[I, O any](a *API, op huma.Operation, s spec, fn func(context.Context, *I) (*O, error)) {
	registry := a.api.OpenAPI().Components.Schemas
	op.Responses = map[string]*huma.Response{}
	if s.cond {
		op.Responses["304"] = &huma.Response{Description: "What the reader has is still so.", Headers: map[string]*huma.Param{
			"ETag":          {Schema: &huma.Schema{Type: "string"}},
			"Cache-Control": {Schema: &huma.Schema{Type: "string"}},
		}}
	}
	if s.answer != "" {
		op.Responses["200"] = &huma.Response{Description: "OK", Content: map[string]*huma.MediaType{s.answer: {Schema: &huma.Schema{Type: "string", Format: "binary"}}}}
	}
	problem := registry.Schema(reflect.TypeFor[Problem](), true, "Problem")
	for code := range s.errors() {
		op.Responses[strconv.Itoa(code)] = &huma.Response{Description: http.StatusText(code), Content: map[string]*huma.MediaType{"application/problem+json": {Schema: problem}}}
	}
	huma.Register(a.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := fn(ctx, in)
		if err != nil {
			return nil, a.fail(ctx, err)
		}
		return out, nil
	})
	item := a.api.OpenAPI().Paths[op.Path]
	in := map[string]*huma.Operation{http.MethodGet: item.Get, http.MethodPost: item.Post, http.MethodPut: item.Put, http.MethodDelete: item.Delete}[op.Method]
	in.RequestBody = s.request(registry)
}

func (s spec) request(registry huma.Registry) *huma.RequestBody {
	if s.body == nil && s.raw == nil {
		return nil
	}
	b := &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{}}
	if s.body != nil {
		b.Content["application/json"] = &huma.MediaType{Schema: registry.Schema(reflect.TypeOf(s.body), true, "")}
	}
	for _, t := range s.raw {
		b.Content[t] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
	}
	return b
}

// errors are the statuses of the problems that an operation may answer.
func (s spec) errors() map[int]bool {
	out := map[int]bool{http.StatusUnauthorized: true, http.StatusForbidden: true, http.StatusUnprocessableEntity: true, http.StatusTooManyRequests: true,
		http.StatusInternalServerError: true, http.StatusServiceUnavailable: true}
	if s.found {
		out[http.StatusNotFound] = true
	}
	if s.body != nil || s.raw != nil {
		for _, code := range []int{http.StatusBadRequest, http.StatusNotFound, http.StatusConflict, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType, http.StatusInsufficientStorage} {
			out[code] = true
		}
	}
	if s.match {
		out[http.StatusPreconditionFailed], out[http.StatusInsufficientStorage] = true, true
	}
	if s.must {
		out[http.StatusPreconditionRequired] = true
	}
	return out
}

// describe finishes the document: what stands for all operations.
func describe(doc *huma.OpenAPI) {
	doc.Tags = []*huma.Tag{
		{Name: "jobs", Description: "Jobs and what was written about them."},
		{Name: "holds", Description: "What the readings of a hold say, and the order of work."},
		{Name: "files", Description: "Photos, and whole jobs as archives."},
		{Name: "catalogue", Description: "The shop, people, devices, customers, pumps, tools, pump sheets, fluids, prices."},
		{Name: "shop", Description: "Who asks, and what is new."},
	}
	in := doc.Paths["/archives"].Post
	in.Responses["200"] = &huma.Response{Description: "Nothing new, or entries added to a job that is here", Headers: in.Responses["201"].Headers, Content: in.Responses["201"].Content}
	delete(doc.Components.Schemas.Map(), "ErrorModel") // of the library: all errors go out as Problem
	delete(doc.Components.Schemas.Map(), "ErrorDetail")
}
