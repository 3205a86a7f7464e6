package gate

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// clock is a clock that a test sets.
type clock struct{ at atomic.Int64 }

func newClock() *clock {
	c := &clock{}
	c.at.Store(time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC).UnixMicro())
	return c
}

func (c *clock) now() time.Time       { return time.UnixMicro(c.at.Load()).UTC() }
func (c *clock) pass(d time.Duration) { c.at.Add(d.Microseconds()) }
func cheap() *argon2id.Params {
	return &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}
}
func background(r *http.Request) bool { return r.URL.Path == "/poll" }
func person(id int64) record.Subject  { return record.Subject{Kind: record.OfPerson, ID: id} }
func code(err error) record.Code      { return record.CodeOf(err) }
func fresh(c *clock, who Who) Who     { who.Since = c.now(); return who }
func as(role record.Role, id int64) Who {
	return Who{Person: id, Device: 1, P: record.Person{Role: role}}
}
func header(k, v string) func(*http.Request) { return func(r *http.Request) { r.Header.Set(k, v) } }

// The people of the invented workshop of the Aldersay ferry yard, and their PINs.
const (
	ownerPIN = "830457"
	techPIN  = "602915"
	aimsPIN  = "740263"
)

// shop is a workshop for a test: gate, store, clock, and what was logged.
type shop struct {
	*Gate
	t     testing.TB
	clock *clock
	log   *safeBuffer
	path  string
	pages http.Handler

	owner, office, trainer, tech int64
	secret                       string // of the first device
	closed                       bool   // the store was closed by the test
}

type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *safeBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func bare(t testing.TB, opt Options) *shop {
	t.Helper()
	s := &shop{t: t, clock: newClock(), log: &safeBuffer{}, path: filepath.Join(t.TempDir(), "shop.db")}
	st, err := store.Open(context.Background(), s.path, store.Options{Now: s.clock.now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if s.closed {
			return
		}
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	opt.Now, opt.Background = s.clock.now, background
	opt.Log = slog.New(slog.NewJSONHandler(s.log, nil))
	if opt.PIN == nil {
		opt.PIN = cheap()
	}
	s.Gate = New(st, opt)
	s.pages = s.Wrap(s.mux())
	return s
}

func (s *shop) setItUp() {
	s.t.Helper()
	secret, err := s.SetUp(context.Background(), record.Shop{Name: "Aldersay yard", Currency: "EUR", Units: "metric", Lang: "en"},
		record.Person{Name: "Owner", Initials: "OW", Role: record.Owner}, ownerPIN, record.Device{Name: "bench 1"})
	if err != nil {
		s.t.Fatal(err)
	}
	s.secret, s.owner = secret, 1
}

// open is a workshop with four people and one device.
func open(t testing.TB, opt Options) *shop {
	t.Helper()
	s := bare(t, opt)
	s.setItUp()
	s.office = s.hire("Office", record.Office, aimsPIN)
	s.trainer = s.hire("Trainer", record.Trainer, aimsPIN)
	s.tech = s.hire("Technician", record.Technician, techPIN)
	return s
}

func (s *shop) hire(name string, role record.Role, pin string) int64 {
	s.t.Helper()
	got, err := s.keep(context.Background(), record.Subject{Kind: record.OfPerson}, &record.Person{Name: name, Initials: name[:2], Role: role}, 1, newSecret())
	if err != nil {
		s.t.Fatal(err)
	}
	id := got.Entry.Subject.ID
	if err := s.Recover(context.Background(), id, pin); err != nil {
		s.t.Fatal(err)
	}
	return id
}

func (s *shop) change(id int64, role record.Role) {
	s.t.Helper()
	if _, err := s.keep(context.Background(), person(id), &record.Person{Name: "Changed", Initials: "CH", Role: role}, 1, newSecret()); err != nil {
		s.t.Fatal(err)
	}
}

func (s *shop) retire(id int64) {
	s.t.Helper()
	if _, err := s.st.Keep(context.Background(), store.AnySeq, record.Draft{Subject: person(id), At: s.clock.now(), By: 1, Key: newSecret(), Body: &record.Retired{}}); err != nil {
		s.t.Fatal(err)
	}
}

// mux has one page a function of the gate; each answers with the error as JSON, or who is at the door.
func (s *shop) mux() http.Handler {
	m := http.NewServeMux()
	page := func(path string, fn func(w http.ResponseWriter, r *http.Request) error) {
		m.HandleFunc(path, func(w http.ResponseWriter, r *http.Request) {
			if err := fn(w, r); err != nil {
				w.WriteHeader(http.StatusUnprocessableEntity)
				_, _ = io.WriteString(w, string(code(err))+": "+err.Error())
			}
		})
	}
	page("/who", func(w http.ResponseWriter, r *http.Request) error {
		who, _ := From(r.Context())
		return writeJSON(w, who)
	})
	page("GET /wrong", func(w http.ResponseWriter, r *http.Request) error {
		got, err := s.WrongUntold(r.Context())
		if err != nil {
			return err
		}
		return writeJSON(w, got)
	})
	page("POST /wrong", func(_ http.ResponseWriter, r *http.Request) error { return s.WrongTold(r.Context(), s.clock.now()) })
	page("/poll", func(http.ResponseWriter, *http.Request) error { return nil })
	page("POST /in", func(w http.ResponseWriter, r *http.Request) error {
		var id int64
		if _, err := fmt.Sscan(r.FormValue("person"), &id); err != nil {
			return err
		}
		return s.SignIn(w, r, id, r.FormValue("pin"))
	})
	page("POST /in-anew", func(w http.ResponseWriter, r *http.Request) error {
		var id int64
		if _, err := fmt.Sscan(r.FormValue("person"), &id); err != nil {
			return err
		}
		return s.SignInAnew(w, r, id, r.FormValue("pin"), r.FormValue("own"))
	})
	page("POST /out", s.SignOut)
	page("POST /out-everywhere", s.SignOutEverywhere)
	page("POST /enrol", func(w http.ResponseWriter, r *http.Request) error {
		return s.LetIn(w, r, r.FormValue("code"), r.FormValue("name"))
	})
	page("POST /pin", func(w http.ResponseWriter, r *http.Request) error {
		return s.ChangePIN(w, r, r.FormValue("old"), r.FormValue("pin"))
	})
	page("POST /passkey/new/begin", s.BeginRegister)
	page("POST /passkey/new/finish", func(w http.ResponseWriter, r *http.Request) error {
		return s.FinishRegister(w, r, r.URL.Query().Get("name"))
	})
	page("POST /passkey/in/begin", s.BeginSignIn)
	page("POST /passkey/in/finish", func(w http.ResponseWriter, r *http.Request) error {
		return s.FinishSignIn(w, r, r.URL.Query().Get("name"))
	})
	page("/panic", func(http.ResponseWriter, *http.Request) error { panic("a mistake with no secrets") })
	page("/panic-late", func(w http.ResponseWriter, _ *http.Request) error { w.WriteHeader(200); panic("late") })
	page("/body", func(w http.ResponseWriter, r *http.Request) error { _, err := ReadBody(w, r, 100); return err })
	return m
}

// browser keeps cookies as a browser does, at one host.
type browser struct {
	s       *shop
	host    string
	from    string
	cookies map[string]string
	set     []string // the Set-Cookie lines of the last answer
}

func (s *shop) browser() *browser {
	return &browser{s: s, host: "localhost:8080", from: "192.168.1.20:50000", cookies: map[string]string{}}
}

// tablet is a browser that is let in.
func (s *shop) tablet() *browser {
	b := s.browser()
	b.cookies[s.cookieName(deviceCookie)] = s.secret
	return b
}

// another is a browser that was let in as a device of its own.
func (s *shop) another() *browser {
	s.t.Helper()
	b := s.browser()
	c, _, err := s.MakeCode(context.Background(), fresh(s.clock, as(record.Owner, 1)))
	if err != nil {
		s.t.Fatal(err)
	}
	b.from = fmt.Sprintf("10.%d.%d.%d:1234", s.clock.now().UnixMicro()%200, len(c), time.Now().UnixNano()%250)
	if got := b.post("/enrol", "code="+c+"&name=tablet"); got.Code != 200 {
		s.t.Fatal(got.Body)
	}
	return b
}

func (b *browser) do(method, path, body string, more ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host, r.RemoteAddr = b.host, b.from
	if method == http.MethodPost {
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for k, v := range b.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: v})
	}
	for _, fn := range more {
		fn(r)
	}
	w := httptest.NewRecorder()
	b.s.pages.ServeHTTP(w, r)
	res := w.Result()
	b.set = res.Header.Values("Set-Cookie")
	for _, c := range res.Cookies() {
		if c.MaxAge < 0 {
			delete(b.cookies, c.Name)
		} else {
			b.cookies[c.Name] = c.Value
		}
	}
	return w
}

func (b *browser) post(path, form string) *httptest.ResponseRecorder {
	return b.do(http.MethodPost, path, form)
}

func (b *browser) in(person int64, pin string) *httptest.ResponseRecorder {
	return b.post("/in", fmt.Sprintf("person=%d&pin=%s", person, pin))
}

// mustIn signs in; a failure ends the test.
func (b *browser) mustIn(person int64, pin string) {
	b.s.t.Helper()
	if got := b.in(person, pin); got.Code != 200 {
		b.s.t.Fatalf("signing in: %s", got.Body)
	}
}

func (b *browser) session() string { return b.cookies[b.s.cookieName(sessionCookie)] }

// read reads what a page answers as JSON.
func (b *browser) read(path string, to any) {
	b.s.t.Helper()
	got := b.do(http.MethodGet, path, "")
	if err := json.Unmarshal(got.Body.Bytes(), to); err != nil {
		b.s.t.Fatalf("%d %s: %v", got.Code, got.Body, err)
	}
}

func (b *browser) who(more ...func(*http.Request)) Who {
	b.s.t.Helper()
	var who Who
	got := b.do(http.MethodGet, "/who", "", more...)
	if err := json.Unmarshal(got.Body.Bytes(), &who); err != nil {
		b.s.t.Fatalf("%d %s: %v", got.Code, got.Body, err)
	}
	return who
}
