package api

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

// bench is a workshop on a real store behind a real gate, with its document, against which every answer is checked.
type bench struct {
	t       testing.TB
	api     *API
	st      *store.Store
	gate    *gate.Gate
	srv     *httptest.Server
	write   string // tokens
	read    string
	doc     map[string]any
	schemas *jsonschema.Compiler
	done    map[string]map[string]bool // operation → statuses that were answered
	under   atomic.Int64               // requests that are being answered
}

func newBench(t testing.TB) *bench {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	g := gate.New(st, gate.Options{PIN: &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}, Rate: 5000, Burst: 5000, Refuse: refuse})
	_, err = g.SetUp(t.Context(), record.Shop{Name: "Aldersay ferry yard", Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4"},
		record.Person{Name: "Ola Brand", Initials: "OB", Role: record.Owner}, "860471", record.Device{Name: "office"})
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{t: t, st: st, gate: g, done: map[string]map[string]bool{}}
	b.write, b.read = b.token("write"), b.token("read")
	if b.api, err = New(shop.New(st, "test", time.Now), nil); err != nil {
		t.Fatal(err)
	}
	b.srv = httptest.NewServer(g.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b.under.Add(1)
		defer b.under.Add(-1)
		b.api.ServeHTTP(w, r)
	})))
	t.Cleanup(func() {
		b.srv.Close()
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	b.loadDoc()
	return b
}

// refuse answers what does not get through the gate as the server does: as a problem.
func refuse(w http.ResponseWriter, _ *http.Request, status int, f *record.Fault) {
	WriteProblem(w, NewProblem(status, f))
}

func (b *bench) token(scope string) string {
	b.t.Helper()
	owner := gate.Who{Person: 1, P: record.Person{Name: "Ola Brand", Initials: "OB", Role: record.Owner}, Since: time.Now()}
	secret, _, err := b.gate.MakeToken(context.Background(), owner, 1, scope, scope, time.Now().Add(time.Hour))
	if err != nil {
		b.t.Fatal(err)
	}
	return secret
}

// call is one request; a zero Token is the one that may write.
type call struct {
	method, path string
	body         string
	kind         string // "" is application/json for a body
	token        string
	head         map[string]string
}

// answer is what came back.
type answer struct {
	t      testing.TB
	status int
	head   http.Header
	body   []byte
}

// do sends a request and checks the answer against the document.
func (b *bench) do(c call) *answer {
	b.t.Helper()
	got := b.send(c)
	b.check(c, got)
	return got
}

func (b *bench) send(c call) *answer {
	b.t.Helper()
	r, err := http.NewRequestWithContext(context.Background(), c.method, b.srv.URL+Prefix+c.path, strings.NewReader(c.body))
	if err != nil {
		b.t.Fatal(err)
	}
	if c.body != "" {
		r.Header.Set("Content-Type", "application/json")
		if c.kind != "" {
			r.Header.Set("Content-Type", c.kind)
		}
	}
	switch c.token {
	case "":
		r.Header.Set("Authorization", "Bearer "+b.write)
	case "none":
	default:
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	for k, v := range c.head {
		r.Header.Set(k, v)
	}
	res, err := b.srv.Client().Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return &answer{b.t, res.StatusCode, res.Header, data}
}

// want fails unless the answer has a status.
func (a *answer) want(status int) *answer {
	a.t.Helper()
	if a.status != status {
		a.t.Fatalf("status %d, want %d: %s", a.status, status, a.body)
	}
	return a
}

// get reads a value of the body by its path, as "entry.seq" or "jobs.0.number".
func (a *answer) get(path string) any {
	a.t.Helper()
	var v any
	dec := json.NewDecoder(bytes.NewReader(a.body))
	dec.UseNumber()
	if err := dec.Decode(&v); err != nil {
		a.t.Fatalf("%v: %s", err, a.body)
	}
	for _, p := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[p]
		case []any:
			i := int(p[0] - '0')
			if i >= len(x) {
				a.t.Fatalf("%s: only %d in %s", path, len(x), a.body)
			}
			v = x[i]
		}
	}
	return v
}

func (a *answer) text(path string) string {
	a.t.Helper()
	switch v := a.get(path).(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	default:
		a.t.Fatalf("%s: %v in %.500s", path, v, a.body)
		return ""
	}
}

const booking = `{"customer_name": "Ferry yard", "serial": "ALD-0417", "model": "orrin-30", "complaint": "surges", "hours": "300 h"}`

// book books a pump in and gives the path of its job.
func (b *bench) book() string {
	b.t.Helper()
	return strings.TrimPrefix(b.do(call{method: "POST", path: "/jobs", body: booking}).want(201).head.Get("Location"), Prefix)
}

// readings are those of a pump whose upstroke leaks.
var readings = []string{
	`{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`,
	`{"still": "down", "pressure": "2330 psi", "time": "30 s", "seen": "0.5 mm"}`,
}

func (b *bench) reads(job, hold string) {
	b.t.Helper()
	for _, r := range readings {
		b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "read", "body": {"hold": "` + hold + `", "reading": ` + r + `}}`}).want(201)
	}
}
