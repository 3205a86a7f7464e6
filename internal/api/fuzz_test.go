package api

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// desk sends requests straight to the interface, as a program that may do what the office may.
type desk struct {
	*bench
	mu   sync.Mutex
	n    int
	path string // of a job
}

func newDesk(f *testing.F) *desk {
	d := &desk{bench: newBench(f)}
	d.path = d.book()
	return d
}

// job is a job that has not grown long.
func (d *desk) job(t *testing.T) string {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.n++; d.n%100 == 0 {
		a := d.straight(t, call{method: "POST", path: "/jobs", body: booking})
		d.path = strings.TrimPrefix(a.head.Get("Location"), Prefix)
	}
	return d.path
}

// straight sends a request; an answer of 500 or above, or one that is not in the document, fails.
func (d *desk) straight(t *testing.T, c call) *answer {
	t.Helper()
	u, err := url.ParseRequestURI(Prefix + c.path)
	if err != nil {
		t.Fatal(err)
	}
	who := gate.Who{Person: 1, Token: true, Scope: "write", P: record.Person{Name: "Ola Brand", Initials: "OB", Role: record.Office}}
	r := (&http.Request{Method: c.method, URL: u, Header: http.Header{}, Body: http.NoBody, Host: "localhost"}).WithContext(gate.With(context.Background(), who))
	if c.body != "" {
		r.Body, r.ContentLength = nopCloser{strings.NewReader(c.body)}, int64(len(c.body))
		r.Header.Set("Content-Type", "application/json")
		if c.kind != "" {
			r.Header.Set("Content-Type", c.kind)
		}
	}
	for k, v := range c.head {
		r.Header.Set(k, v)
	}
	w := &taken{header: http.Header{}}
	d.api.ServeHTTP(w, r)
	a := &answer{t, w.status, w.header, w.body}
	if a.status >= 500 || a.status == 0 {
		t.Fatalf("%s %s %.300q: status %d: %s", c.method, c.path, c.body, a.status, a.body)
	}
	if path, op := d.operation(c.method, c.path); op != nil {
		if dig(op, "responses", strconv.Itoa(a.status)) == nil {
			t.Fatalf("%s %s: status %d is not in the document: %s", c.method, path, a.status, a.body)
		}
	}
	return a
}

type nopCloser struct{ *strings.Reader }

func (nopCloser) Close() error { return nil }

func FuzzBookIn(f *testing.F) {
	d := newDesk(f)
	f.Add([]byte(booking), "k")
	f.Add([]byte(`{"customer_name": "a", "serial": "b", "model": "orrin-30", "complaint": "c", "sheet": 7, "litres": "3 gal", "at": "2027-03-01T08:00:00+01:00"}`), "")
	f.Fuzz(func(t *testing.T, body []byte, key string) {
		d.straight(t, call{method: "POST", path: "/jobs", body: string(body), head: map[string]string{"Idempotency-Key": key}})
	})
}

// seeds are bodies that are taken, or nearly.
var seeds = []string{
	`{"kind": "noted", "body": {"text": "x"}, "key": "a", "corrects": 2}`,
	`{"kind": "read", "body": {"hold": "as found", "reading": {"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}}}`,
	`{"kind": "pressed", "body": {"hold": "as left", "watch": "1", "press": "start", "elapsed_ms": 0, "stroke": "up"}}`,
	`{"kind": "benched", "body": {"hold": "as found", "fluid": {"kind": "water", "temperature": "20 °C"}}}`,
	`{"kind": "found", "body": {"part": "cylinder", "size": "bore", "value": "30.1 mm", "tool": 5}}`,
	`{"kind": "chose", "body": {"parts": {"cylinder": "hone"}}}`,
	`{"kind": "stacked", "body": {"stack": "throat", "rings": [{"part": "x", "lips": "up"}]}}`,
	`{"kind": "did", "body": {"step": "hold", "pressure": "2330 psi"}}`,
	`{"kind": "soaking", "body": {"step": "soak", "ready": "2027-03-01T08:00:00Z"}}`,
	`{"kind": "moved", "body": {"to": "prove"}}`,
	`{"kind": "priced", "body": {"text": "an hour", "quantity_thousandths": 1000, "each": 100, "currency": "EUR"}}`,
	`{"kind": "handed", "body": {"to": "A"}}`,
	`{"kind": "closed", "body": {"good": true}}`,
	`{"kind": "struck", "body": {"seq": 2, "reason": "x"}}`,
	`{"kind": "pictured", "body": {"photo": "00"}}`,
	`{"kind": "overrode", "body": {"reason": "x"}}`,
	`{"kind": "minded", "body": {"caution": "x"}}`,
	`{"kind": "booked", "body": {}, "corrects": 1}`,
	booking,
	`{"name": "a", "phone": "1"}`,
	`{"serial": "a", "model": "orrin-30", "sheet": 0, "customer": 1}`,
	`{"name": "a", "sort": "gauge", "due": "2027-03-01"}`,
	`{"name": "a", "text": "pump: 1"}`,
	`{"name": "a", "test": {"kind": "oil"}}`,
	`{"text": "a", "each": 1}`,
}

func FuzzAddEntry(f *testing.F) {
	d := newDesk(f)
	for _, s := range seeds {
		f.Add([]byte(s), `"1-00"`, "k")
	}
	f.Fuzz(func(t *testing.T, body []byte, match, key string) {
		d.straight(t, call{method: "POST", path: d.job(t) + "/entries", body: string(body), head: map[string]string{"If-Match": match, "Idempotency-Key": key}})
	})
}

func FuzzJudge(f *testing.F) {
	d := newDesk(f)
	f.Add([]byte(`{"hold": "as found"}`), []byte(`{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`))
	f.Add([]byte(`{"hold": "as left", "at": "2027-03-01T08:00:00Z", "key": "a"}`), []byte(`{"locked": "down", "pressures": [{"at": "0 s", "pressure": "200 bar"}, {"at": "5 s", "pressure": "175 bar"}]}`))
	f.Fuzz(func(t *testing.T, body, reading []byte) {
		job := d.job(t)
		if json.Valid(reading) {
			d.straight(t, call{method: "POST", path: job + "/entries", body: `{"kind": "read", "body": {"hold": "as found", "reading": ` + string(reading) + `}}`})
		}
		d.straight(t, call{method: "POST", path: job + "/verdicts", body: string(body)})
	})
}

func FuzzAddPhoto(f *testing.F) {
	d := newDesk(f)
	f.Add([]byte(picturePNG(f)), "throat", "image/png")
	f.Add([]byte("\xff\xd8\xff\xe0"), "", "image/jpeg")
	f.Add([]byte("GIF89a"), "a", "image/gif")
	f.Fuzz(func(t *testing.T, body []byte, caption, kind string) {
		d.straight(t, call{method: "POST", path: d.job(t) + "/photos?caption=" + url.QueryEscape(caption), body: string(body), kind: kind})
	})
}

func FuzzImportJob(f *testing.F) {
	d := newDesk(f)
	z := d.do(call{method: "GET", path: d.path + "/archive"}).want(200)
	f.Add(z.body)
	f.Add(bytes.Replace(z.body, []byte("manifest.json"), []byte("../../x.json."), 1))
	f.Fuzz(func(t *testing.T, body []byte) {
		d.straight(t, call{method: "POST", path: "/archives", body: string(body), kind: "application/zip"})
	})
}

func FuzzKeepItem(f *testing.F) {
	d := newDesk(f)
	for _, s := range [][2]string{{"customer", `{"name": "a"}`}, {"pump", `{"serial": "a", "model": "b", "sheet": 1}`}, {"tool", `{"name": "a", "sort": "gauge", "due": "2027-03-01"}`}, {"sheet", `{"name": "a", "text": "pump: 1"}`},
		{"fluid", `{"name": "a", "test": {"kind": "oil"}}`}, {"price", `{"text": "a", "each": 1}`}, {"person", `{"name": "a", "initials": "b", "role": "owner"}`}, {"shop", `{"name": "a"}`}, {"device", `{"name": "a"}`}} {
		f.Add(s[0], []byte(s[1]), "*")
	}
	f.Fuzz(func(t *testing.T, kind string, body []byte, match string) {
		kind = url.PathEscape(kind)
		d.straight(t, call{method: "POST", path: "/catalogue/" + kind, body: string(body)})
		d.straight(t, call{method: "PUT", path: "/catalogue/" + kind + "/1", body: string(body), head: map[string]string{"If-Match": match}})
	})
}

func FuzzQuery(f *testing.F) {
	d := newDesk(f)
	d.reads(d.path, "as found")
	for _, s := range []string{"/jobs?q=a&limit=1", "/jobs?before=9&stage=closed&open=false&pump=1&customer=1", "/jobs/1", "/jobs/1/entries?after=1", "/jobs/1/look?hold=as+left&watch=1&elapsed_ms=5", "/jobs/1/work", "/jobs/1/archive",
		"/photos/00", "/catalogue/customer?q=a&after=1", "/catalogue/pump/1/history?after=1", "/changes?after=1&limit=2", "/me", "/openapi.json", "/%2e%2e/", "/jobs/99999999999999999999"} {
		f.Add(s, `W/"1-0", "x"`)
	}
	f.Fuzz(func(t *testing.T, path, tags string) {
		_, err := url.ParseRequestURI(Prefix + path)
		if err != nil || strings.Contains(path, "/events") || strings.Contains(path, "next=") || !strings.HasPrefix(path, "/") {
			return // no address, or one that waits for what comes
		}
		d.straight(t, call{method: "GET", path: path, head: map[string]string{"If-None-Match": tags}})
	})
}

// TestMutated sends bodies in which one thing was changed for another: each is answered, none with 500.
func TestMutated(t *testing.T) {
	d := &desk{bench: newBench(t)}
	d.path = d.book()
	r := rand.New(rand.NewPCG(5, 6))
	odd := []any{nil, true, 0, -1, 1.5, 1e300, int64(math.MaxInt64), "", "x", "2330 psi", "1e999 bar", "-5 °C", "NaN s", strings.Repeat("é", 5000), "\u202e", "00", []any{}, []any{nil}, map[string]any{}, map[string]any{"a": 1}, "2027-03-01T08:00:00Z", "0000-00-00T00:00:00Z"}
	for i, s := range seeds {
		for range 12 {
			var v any
			if err := json.Unmarshal([]byte(s), &v); err != nil {
				t.Fatal(err)
			}
			v = odder(r, v, odd)
			text, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			path, method := d.path+"/entries", "POST"
			switch {
			case strings.Contains(s, "customer_name"):
				path = "/jobs"
			case !strings.Contains(s, `"body"`):
				path = "/catalogue/" + []string{"customer", "pump", "tool", "sheet", "fluid", "price"}[(i+r.IntN(6))%6]
				if r.IntN(2) == 0 {
					path, method = path+"/1", "PUT"
				}
			}
			d.straight(t, call{method: method, path: path, body: string(text), head: map[string]string{"If-Match": "*"}})
		}
		for _, p := range []string{"", "/work", "/look", "/entries"} { // what was taken can be read
			d.straight(t, call{method: "GET", path: d.path + p})
		}
	}
	rep, err := d.st.Verify(t.Context())
	if err != nil || !rep.Sound() {
		t.Errorf("%v %+v", err, rep)
	}
}

// odder puts something odd in the place of one value of a tree.
func odder(r *rand.Rand, v any, odd []any) any {
	switch x := v.(type) {
	case map[string]any:
		keys := slices.Sorted(maps.Keys(x))
		if len(keys) > 0 && r.IntN(8) > 0 {
			k := keys[r.IntN(len(keys))]
			x[k] = odder(r, x[k], odd)
			return x
		}
	case []any:
		if len(x) > 0 && r.IntN(8) > 0 {
			i := r.IntN(len(x))
			x[i] = odder(r, x[i], odd)
			return x
		}
	}
	return odd[r.IntN(len(odd))]
}
