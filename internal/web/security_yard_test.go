package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

// yard is an invented workshop behind its gate, with a clock that a test sets: handlers are called without a network between.
type yard struct {
	t     testing.TB
	pages *Server
	gate  *gate.Gate
	shop  *shop.Shop
	h     http.Handler
	log   *strings.Builder
	later atomic.Int64
	owner gate.Who
	job   int64

	closed bool // the store was closed by the test
}

func (y *yard) now() time.Time { return time.Now().Add(time.Duration(y.later.Load())) }

func newYard(t testing.TB) *yard {
	t.Helper()
	y := &yard{t: t, log: &strings.Builder{}}
	ctx, stop := context.WithCancel(context.Background())
	st, err := store.Open(ctx, filepath.Join(t.TempDir(), "workshop.db"), store.Options{Now: y.now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		stop()
		if y.closed {
			return
		}
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	y.shop = shop.New(st, "test", y.now)
	y.gate = gate.New(st, gate.Options{Now: y.now, Log: slog.New(slog.NewTextHandler(y.log, nil)), Rate: 1e6, Burst: 1e6, Background: Background,
		PIN: &argon2id.Params{Memory: 1024, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32},
		Refuse: func(w http.ResponseWriter, r *http.Request, status int, f *record.Fault) {
			y.pages.Refuse(w, r, status, f)
		}})
	if y.pages, err = New(ctx, Options{Shop: y.shop, Gate: y.gate, Log: slog.New(slog.DiscardHandler), URL: func() string { return "https://192.168.7.4:7743" }}); err != nil {
		t.Fatal(err)
	}
	y.h = y.gate.Wrap(y.pages)
	_, err = y.gate.SetUp(ctx, record.Shop{Name: "Aldersay", Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4"},
		record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}, pin, record.Device{Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	y.owner = gate.Who{Person: 1, Device: 1, P: record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}}
	y.job = y.book()
	return y
}

// signedIn is the owner who signed in just now.
func (y *yard) signedIn() gate.Who {
	who := y.owner
	who.Since = y.now()
	return who
}

func (y *yard) book() int64 {
	y.t.Helper()
	n, err := y.shop.BookIn(context.Background(), shop.By{Who: y.owner}, record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0417", Model: "orrin-30", Complaint: "creeps"})
	if err != nil {
		y.t.Fatal(err)
	}
	return n
}

// note writes a note of the owner and gives its number.
func (y *yard) note(n int64) int64 {
	y.t.Helper()
	got, err := y.shop.Add(context.Background(), shop.By{Who: y.owner}, n, &record.Noted{Text: "of the owner"})
	if err != nil {
		y.t.Fatal(err)
	}
	return got.Entry.Seq
}

func (y *yard) keep(k record.SubjectKind, i record.Item) int64 {
	y.t.Helper()
	got, err := y.shop.Keep(context.Background(), shop.By{Who: y.owner}, record.Subject{Kind: k}, i)
	if err != nil {
		y.t.Fatal(err)
	}
	return got.Entry.Subject.ID
}

// actor is somebody with a browser, or a program with a token.
type actor struct {
	y       *yard
	name    string
	role    record.Role // "" for nobody who is signed in
	person  int64
	token   string
	scope   string
	cookies map[string]string
}

func (y *yard) stranger() *actor { return &actor{y: y, name: "stranger", cookies: map[string]string{}} }

// device is a browser that was let in, with nobody signed in.
func (y *yard) device(name string) *actor {
	y.t.Helper()
	a := y.stranger()
	a.name = name
	code, _, err := y.gate.MakeCode(context.Background(), y.signedIn())
	if err != nil {
		y.t.Fatal(err)
	}
	if w := a.post("/let-in", url.Values{"code": {code}, "name": {name}}); w.Code != http.StatusSeeOther {
		y.t.Fatalf("letting %s in: %d", name, w.Code)
	}
	return a
}

// worker is a new person of a role, signed in at a device of their own.
func (y *yard) worker(name string, role record.Role) *actor {
	y.t.Helper()
	id := int64(1)
	if name != "owner" {
		id = y.keep(record.OfPerson, &record.Person{Name: name, Initials: "XX", Role: role})
		if err := y.gate.Recover(context.Background(), id, pin); err != nil {
			y.t.Fatal(err)
		}
	}
	a := y.device(name)
	a.role, a.person = role, id
	if w := a.post("/door", url.Values{"person": {fmt.Sprint(id)}, "pin": {pin}}); w.Code != http.StatusSeeOther {
		y.t.Fatalf("signing %s in: %d", name, w.Code)
	}
	return a
}

// program is a token of the owner.
func (y *yard) program(scope string) *actor {
	y.t.Helper()
	secret, _, err := y.gate.MakeToken(context.Background(), y.signedIn(), 1, scope, scope, y.now().Add(time.Hour))
	if err != nil {
		y.t.Fatal(err)
	}
	return &actor{y: y, name: "token to " + scope, role: record.Office, token: secret, scope: scope, cookies: map[string]string{}}
}

func (a *actor) do(r *http.Request) *httptest.ResponseRecorder {
	a.y.t.Helper()
	r.Host = "127.0.0.1:7717"
	for k, v := range a.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: v})
	}
	if a.token != "" {
		r.Header.Set("Authorization", "Bearer "+a.token)
	}
	w := httptest.NewRecorder()
	a.y.h.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(a.cookies, c.Name)
		} else {
			a.cookies[c.Name] = c.Value
		}
	}
	return w
}

func (a *actor) get(path string) *httptest.ResponseRecorder {
	a.y.t.Helper()
	return a.do(httptest.NewRequest(http.MethodGet, path, nil))
}

func formOf(path string, form url.Values) *http.Request {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return r
}

func (a *actor) post(path string, form url.Values) *httptest.ResponseRecorder {
	a.y.t.Helper()
	return a.do(formOf(path, form))
}

// last is the number of the last entry of the whole store.
func (y *yard) last() int64 {
	y.t.Helper()
	n, err := y.shop.Store().Last(context.Background())
	if err != nil {
		y.t.Fatal(err)
	}
	return n
}
