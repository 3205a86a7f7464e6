package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Sizes of the largest bodies.
const (
	maxJSON    = 1 << 20
	maxSheet   = 3 << 20 // a pump sheet of 400,000 characters
	maxPicture = 25 << 20
	maxArchive = 200 << 20
)

// large reads a body that takes much memory, as there is room for it; done gives the room back.
func (a *API) large(ctx context.Context, most int64, types ...string) (data []byte, done func(), err error) {
	x := at(ctx)
	in, err := a.sh.Intake(ctx, x.who.Person, x.r.ContentLength, most)
	if err != nil {
		return nil, nil, err
	}
	if data, err = bodyFrom(x.r, in.Reader(ctx, x.r.Body, http.NewResponseController(x.w).SetReadDeadline), most, types...); err != nil {
		in.Done()
		return nil, nil, err
	}
	return data, in.Done, nil
}

func badRequest(found, want, mend string) error {
	return NewProblem(http.StatusBadRequest, record.Faultf(record.Invalid, "body", found, want, mend))
}

// body reads the body of a request, at most so many bytes of one of some types.
func body(ctx context.Context, most int64, types ...string) ([]byte, error) {
	return bodyFrom(at(ctx).r, at(ctx).r.Body, most, types...)
}

func bodyFrom(r *http.Request, from io.Reader, most int64, types ...string) ([]byte, error) {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || !slices.Contains(types, kind) {
		return nil, NewProblem(http.StatusUnsupportedMediaType, record.Faultf(record.Invalid, "Content-Type", short(r.Header.Get("Content-Type")), strings.Join(types, " or "), ""))
	}
	if r.ContentLength > most {
		return nil, tooLong(most)
	}
	var buf bytes.Buffer
	_, err = buf.ReadFrom(io.LimitReader(from, most+1))
	var big *http.MaxBytesError
	var f *record.Fault
	switch {
	case errors.Is(err, context.DeadlineExceeded): // there was no room for as long as a request may take
		return nil, context.DeadlineExceeded
	case errors.As(err, &f): // it came too slowly
		return nil, f
	case errors.As(err, &big):
		return nil, tooLong(big.Limit)
	case err != nil:
		return nil, badRequest("one that breaks off", "a whole body", "send it again")
	case int64(buf.Len()) > most:
		return nil, tooLong(most)
	case buf.Len() == 0:
		return nil, badRequest("nothing", "what the document of this interface says", "")
	case kind == "application/json":
		return buf.Bytes(), record.TypedJSON("body", buf.Bytes())
	}
	return buf.Bytes(), nil
}

func tooLong(most int64) error {
	return record.Faultf(record.TooLarge, "body", "more than is taken", fmt.Sprintf("at most %d bytes", most), "")
}

// read reads a body of JSON strictly: one object with no unknown field and nothing behind it.
func read(ctx context.Context, most int64, v any) error {
	data, err := body(ctx, most, "application/json")
	if err != nil {
		return err
	}
	if !json.Valid(data) {
		return badRequest("no JSON", "one JSON object", "")
	}
	if t := bytes.TrimSpace(data); t[0] != '{' {
		return record.Faultf(record.Invalid, "body", "another value", "one JSON object", "")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		var f *record.Fault
		if errors.As(err, &f) {
			return f
		}
		return record.Faultf(record.Invalid, "body", short(strings.TrimPrefix(err.Error(), "json: ")), "the fields that the document of this interface names", "")
	}
	return nil
}

// maxKey is the length of the longest key of a program: the shop adds words of its own to it.
const maxKey = 64

// key is the key under which something is taken once: the header Idempotency-Key, with quotes or without, or the field key; "" for none.
func key(header, field string) (string, error) {
	if q, ok := strings.CutPrefix(header, `"`); ok {
		if q, ok = strings.CutSuffix(q, `"`); !ok || strings.ContainsAny(q, `"\`) {
			return "", record.Faultf(record.Invalid, "Idempotency-Key", short(header), "a key, as a UUID", "")
		}
		header = q
	}
	if header != "" && field != "" && header != field {
		return "", record.Faultf(record.Invalid, "Idempotency-Key", short(header), "the same as key in the body", "send one of them")
	}
	k := header + field
	if header != "" && field != "" {
		k = field
	}
	if len(k) > maxKey || strings.ContainsFunc(k, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return "", record.Faultf(record.Invalid, "key", short(k), fmt.Sprintf("at most %d printable ASCII characters without spaces", maxKey), "make one key an entry, as a UUID")
	}
	return k, nil
}
