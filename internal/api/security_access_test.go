package api

import (
	"context"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// operations lists all operations of the document, with their parameters filled in.
func operations(b *bench) []call {
	var out []call
	fill := strings.NewReplacer("{job}", "1", "{seq}", "1", "{photo}", strings.Repeat("0", 64), "{kind}", "customer", "{id}", "1", "{verdict}", "1")
	for path, v := range b.doc["paths"].(map[string]any) {
		for method := range v.(map[string]any) {
			out = append(out, call{method: strings.ToUpper(method), path: fill.Replace(path)})
		}
	}
	return out
}

// reads are the operations that work something out of a body and keep nothing.
var reads = map[string]bool{"POST /jobs/1/look": true}

// TestEveryOperationNeedsAToken asks every operation of the document without a token, with one that is revoked, over, of another form, in the
// address, and with the cookies of a page; and what writes with a token that may only read.
func TestEveryOperationNeedsAToken(t *testing.T) {
	b := newBench(t)
	b.book()
	ops := operations(b)
	if len(ops) < 20 {
		t.Fatalf("%d operations in the document", len(ops))
	}
	owner := gate.Who{Person: 1, P: record.Person{Role: record.Owner}, Since: time.Now()}
	revoked, id, err := b.gate.MakeToken(context.Background(), owner, 1, "revoked", "write", time.Now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	if err := b.gate.RevokeToken(context.Background(), owner, id); err != nil {
		t.Fatal(err)
	}
	before, err := b.st.Last(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, op := range ops {
		c := op
		if c.method != http.MethodGet {
			c.body = "{}"
		}
		for name, token := range map[string]string{"none": "none", "revoked": revoked, "garbage": "x", "cut": b.write[:20], "basic": "none"} {
			c.token, c.head = token, map[string]string{"Sec-Fetch-Site": "same-origin"}
			if name == "basic" {
				c.head["Authorization"] = "Basic b3duZXI6ODYwNDcx"
			}
			if got := b.send(c); got.status != http.StatusUnauthorized || got.head.Get("WWW-Authenticate") == "" {
				t.Errorf("%s %s with %s token: %d", op.method, op.path, name, got.status)
			}
		}
		c.path, c.token, c.head = op.path+"?access_token="+b.write+"&token="+b.write, "none", map[string]string{"Sec-Fetch-Site": "same-origin"}
		if got := b.send(c); got.status != http.StatusUnauthorized {
			t.Errorf("%s %s with the token in the address: %d", op.method, op.path, got.status)
		}
		if op.method == http.MethodGet || reads[op.method+" "+op.path] {
			continue
		}
		c = op
		c.body, c.token = "{}", b.read
		if got := b.send(c); got.status < 400 || got.status >= 500 {
			t.Errorf("%s %s with a token that may only read: %d %s", op.method, op.path, got.status, got.body)
		}
	}
	if now, err := b.st.Last(context.Background()); err != nil || now != before {
		t.Errorf("something was written (%v)", err)
	}
}

// TestAnswersAreNotKept: what programs are told is kept by nobody on its way, and is of the type that it says.
func TestAnswersAreNotKept(t *testing.T) {
	b := newBench(t)
	b.book()
	for _, op := range operations(b) {
		if op.method != http.MethodGet || strings.HasSuffix(op.path, "/events") {
			continue
		}
		got := b.send(op)
		c := got.head.Get("Cache-Control")
		if !strings.Contains(c, "no-store") && !strings.Contains(c, "private") || got.head.Get("X-Content-Type-Options") != "nosniff" || got.head.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: %v", op.path, got.head)
		}
		if k := got.head.Get("Content-Type"); got.status == 200 && !strings.HasPrefix(k, "application/") && !strings.HasPrefix(k, "image/") || got.status >= 400 && k != "application/problem+json" {
			t.Errorf("%s: %d %q", op.path, got.status, k)
		}
	}
}

// TestBodiesHaveTheirSizes sends every operation that takes a body more than it takes.
func TestBodiesHaveTheirSizes(t *testing.T) {
	b := newBench(t)
	b.book()
	for _, op := range operations(b) {
		if op.method == http.MethodGet || op.method == http.MethodDelete {
			continue
		}
		c := op
		c.body = `{"x":"` + strings.Repeat("x", maxSheet) + `"}`
		switch {
		case strings.HasSuffix(op.path, "/photos"):
			c.body, c.kind = strings.Repeat("x", maxPicture+1), "image/png"
		case strings.HasSuffix(op.path, "/archives"):
			continue // 200 MB: the gate bounds what comes at all, see gate.TestBodies
		}
		if got := b.send(c); got.status != http.StatusRequestEntityTooLarge && got.status != http.StatusUnprocessableEntity {
			t.Errorf("%s %s: %d %.100s", op.method, op.path, got.status, got.body)
		}
		if got := b.unsized(c); got != http.StatusRequestEntityTooLarge && got != http.StatusUnprocessableEntity {
			t.Errorf("%s %s of a length not told: %d", op.method, op.path, got)
		}
		c.kind = "text/plain"
		c.body = "{}"
		if got := b.send(c); got.status != http.StatusUnsupportedMediaType {
			t.Errorf("%s %s as text/plain: %d %.100s", op.method, op.path, got.status, got.body)
		}
	}
}

// unsized sends a request that does not say how long its body is (chunked, RFC 9112 section 7.1, from memory).
func (b *bench) unsized(c call) int {
	b.t.Helper()
	r, err := http.NewRequestWithContext(context.Background(), c.method, b.srv.URL+Prefix+c.path, struct{ io.Reader }{strings.NewReader(c.body)})
	if err != nil {
		b.t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+b.write)
	r.Header.Set("Content-Type", "application/json")
	if c.kind != "" {
		r.Header.Set("Content-Type", c.kind)
	}
	res, err := b.srv.Client().Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil {
		b.t.Fatal(err)
	}
	return res.StatusCode
}

// TestNoPowerByToken: what lets somebody in or leads out of reach is not there for a program, whoever made its token.
func TestNoPowerByToken(t *testing.T) {
	b := newBench(t)
	job := b.book()
	for _, c := range []call{
		{method: "POST", path: "/catalogue/person", body: `{"name":"x","initials":"x","role":"owner"}`}, {method: "POST", path: "/catalogue/person", body: `{"name":"x","initials":"x","role":"technician"}`},
		{method: "PUT", path: "/catalogue/person/1", body: `{"name":"Ola Brand","initials":"OB","role":"owner","look":"dark"}`, head: map[string]string{"If-Match": "*"}},
		{method: "DELETE", path: "/catalogue/person/1"}, {method: "POST", path: "/catalogue/device", body: `{"name":"x"}`}, {method: "DELETE", path: "/catalogue/device/1"},
		{method: "PUT", path: "/catalogue/shop/1", body: `{"name":"x","currency":"EUR","units":"metric","lang":"en"}`, head: map[string]string{"If-Match": "*"}},
		{method: "POST", path: job + "/entries", body: `{"kind":"overrode","body":{"reason":"x"}}`}, {method: "POST", path: job + "/entries", body: `{"kind":"judged","body":{"hold":"as left","word":"holds"}}`},
	} {
		if got := b.send(c); got.status != http.StatusForbidden && !(strings.Contains(c.body, "judged") && got.status == http.StatusUnprocessableEntity) {
			t.Errorf("%s %s %s: %d %s", c.method, c.path, c.body, got.status, got.body)
		}
	}
	for _, body := range []string{`{"kind":"noted","by":1,"body":{"text":"x"}}`, `{"kind":"noted","body":{"text":"x"},"seq":9}`, `{"kind":"noted","body":{"text":"x","hash":"x"}}`} {
		if got := b.send(call{method: "POST", path: job + "/entries", body: body}); got.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", body, got.status)
		}
	}
}

// TestAnswersHoldNoSecrets: what lets people and devices in is no part of what programs are told about them.
func TestAnswersHoldNoSecrets(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/catalogue/person", "/catalogue/person/1", "/catalogue/person/1/history", "/catalogue/device", "/catalogue/device/1", "/catalogue/device/1/history", "/me", "/changes"} {
		got := b.send(call{method: "GET", path: path})
		text := strings.ToLower(string(got.body))
		if got.status != http.StatusOK {
			t.Errorf("%s: %d", path, got.status)
		}
		for _, s := range []string{"argon2", "860471", `"pin`, "credential", "passkey", "secret", `"token`, "locked_until", b.write[3:], b.read[3:]} {
			if strings.Contains(text, s) {
				t.Errorf("%s tells %q: %s", path, s, text)
			}
		}
	}
}

// TestImportTakesTheRightOfAnOwner: a job of another shop is taken in by the same right as on the pages: that of an owner. A token of the
// office, who may not do it by hand, is refused before the archive is read; so is a token of an owner that may only read, and one of
// somebody who is an owner no more.
func TestImportTakesTheRightOfAnOwner(t *testing.T) {
	b := newBench(t)
	z := b.do(call{method: "GET", path: b.book() + "/archive"}).want(200)
	other := newBench(t)
	owner := gate.Who{Person: 1, Device: 1, P: record.Person{Name: "Ola Brand", Initials: "OB", Role: record.Owner}, Since: time.Now()}
	keep := func(id int64, p record.Person) int64 {
		got, err := other.api.sh.Keep(context.Background(), shop.By{Who: owner}, record.Subject{Kind: record.OfPerson, ID: id}, &p)
		if err != nil {
			t.Fatal(err)
		}
		if err := other.gate.Changed(context.Background(), got.Entry.Subject.ID); err != nil {
			t.Fatal(err)
		}
		return got.Entry.Subject.ID
	}
	take := func(token string) int {
		return other.do(call{method: "POST", path: "/archives", body: string(z.body), kind: "application/zip", token: token}).status
	}
	id := keep(0, record.Person{Name: "Tomas Lund", Initials: "TL", Role: record.Office})
	office, _, err := other.gate.MakeToken(context.Background(), owner, id, "office", "write", time.Now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	for name, token := range map[string]string{"the office": office, "an owner, to read": other.read} {
		if got := take(token); got != http.StatusForbidden {
			t.Errorf("a token of %s: %d", name, got)
		}
	}
	keep(id, record.Person{Name: "Tomas Lund", Initials: "TL", Role: record.Owner})
	keep(1, record.Person{Name: "Ola Brand", Initials: "OB", Role: record.Office})
	if got := take(other.write); got != http.StatusForbidden {
		t.Errorf("a token of an owner who is one no more: %d", got)
	}
	if got := take(office); got != http.StatusCreated {
		t.Errorf("a token of an owner: %d", got)
	}
}

// TestLargeBodiesWaitForRoom: photos and archives that come at once do not take more memory than there is for them; who waits too long hears
// so, and nothing else waits with them. Before there was a bound, 200 photos at once took 5 GB.
func TestLargeBodiesWaitForRoom(t *testing.T) {
	b := newBench(t)
	job := b.book()
	z := b.do(call{method: "GET", path: job + "/archive"}).want(200)
	give := fill(t, b.api.sh)
	try := func(path, kind, body string) int {
		t.Helper()
		who := gate.Who{Person: 1, Token: true, Scope: "write", P: record.Person{Role: record.Office}, Whole: record.Owner}
		ctx, cancel := context.WithTimeout(gate.With(context.Background(), who), 200*time.Millisecond)
		defer cancel()
		r, err := http.NewRequestWithContext(ctx, http.MethodPost, Prefix+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", kind)
		w := &taken{header: http.Header{}}
		b.api.ServeHTTP(w, r)
		return w.status
	}
	for path, c := range map[string][2]string{job + "/photos": {"image/png", picturePNG(t)}, "/archives": {"application/zip", string(z.body)}} {
		if got := try(path, c[0], c[1]); got != http.StatusServiceUnavailable {
			t.Errorf("%s without room: %d", path, got)
		}
	}
	b.do(call{method: "POST", path: job + "/entries", body: note("meanwhile")}).want(201)
	give()
	b.do(call{method: "POST", path: job + "/photos", body: picturePNG(t), kind: "image/png"}).want(201)
	b.do(call{method: "POST", path: job + "/photos", body: "no picture", kind: "image/png"}).want(422)
	b.do(call{method: "POST", path: job + "/photos", body: "{}", kind: "text/plain"}).want(415)
	b.do(call{method: "POST", path: "/archives", body: string(z.body), kind: "application/zip"}).want(200)
	fill(t, b.api.sh)() // all was given back
}

// TestStreamsAreShared: the streams of events of one person leave room for those of others, and are given back when they end.
func TestStreamsAreShared(t *testing.T) {
	s := streams{open: map[int64]int{}}
	took := 0
	for s.take(1) {
		took++
	}
	if took != mostOfOne {
		t.Fatalf("one person has %d streams, expected %d", took, mostOfOne)
	}
	for who := int64(2); s.all < maxStreams; who++ {
		for s.take(who) {
			took++
		}
	}
	if took != maxStreams || s.take(100) {
		t.Errorf("%d streams, expected %d", took, maxStreams)
	}
	for who, n := range maps.Clone(s.open) {
		for range n {
			s.give(who)
		}
	}
	if s.all != 0 || len(s.open) != 0 || !s.take(1) {
		t.Errorf("after all have ended: %+v", &s)
	}
	b := newBench(t)
	for range mostOfOne {
		b.api.streams.take(1)
	}
	if got := b.send(call{method: "GET", path: "/events"}); got.status != http.StatusTooManyRequests {
		t.Errorf("one stream too many: %d", got.status)
	}
}

// TestRatesHoldForEveryOperation: however often a program asks, of whatever operation, it is let through as often as the limits say.
func TestRatesHoldForEveryOperation(t *testing.T) {
	b := newBench(t)
	b.book()
	for _, op := range operations(b) {
		g := gate.New(b.st, gate.Options{Rate: 0.001, Burst: 2, Refuse: refuse})
		srv := httptest.NewServer(g.Wrap(b.api))
		var got []int
		for range 3 {
			ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
			r, err := http.NewRequestWithContext(ctx, op.method, srv.URL+Prefix+op.path, strings.NewReader("{}"))
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Authorization", "Bearer "+b.read)
			r.Header.Set("Content-Type", "application/json")
			res, err := srv.Client().Do(r)
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, res.StatusCode)
			if res.StatusCode == http.StatusTooManyRequests && res.Header.Get("Retry-After") == "" {
				t.Errorf("%s %s: 429 does not say when", op.method, op.path)
			}
			cancel() // of a stream of events: it ends
			if err := res.Body.Close(); err != nil {
				t.Fatal(err)
			}
		}
		srv.Close()
		if got[0] == http.StatusTooManyRequests || got[1] == http.StatusTooManyRequests || got[2] != http.StatusTooManyRequests {
			t.Errorf("%s %s: %v", op.method, op.path, got)
		}
	}
}

// TestEveryOperationEnds: an operation whose time is over gives up and says so; only a stream of events goes on.
func TestEveryOperationEnds(t *testing.T) {
	b := newBench(t)
	b.book()
	for _, op := range operations(b) {
		if strings.HasSuffix(op.path, "/events") {
			continue
		}
		who := gate.Who{Person: 1, Token: true, Scope: "write", P: record.Person{Role: record.Office}, Whole: record.Owner}
		ctx, cancel := context.WithDeadline(gate.With(context.Background(), who), time.Now().Add(-time.Second))
		r, err := http.NewRequestWithContext(ctx, op.method, Prefix+op.path, strings.NewReader(`{}`))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		w := &taken{header: http.Header{}}
		begun := time.Now()
		b.api.ServeHTTP(w, r)
		cancel()
		if w.status == http.StatusInternalServerError || w.status < 400 && !strings.HasSuffix(op.path, "/me") || time.Since(begun) > 2*time.Second {
			t.Errorf("%s %s: %d after %s: %.200s", op.method, op.path, w.status, time.Since(begun), w.body)
		}
	}
	// Each has such a time, whoever asks: an address that only this test has sees it.
	var left time.Duration
	b.api.mux.HandleFunc("GET "+Prefix+"/probe", func(_ http.ResponseWriter, r *http.Request) {
		if due, ok := r.Context().Deadline(); ok {
			left = time.Until(due)
		}
	})
	r, err := http.NewRequestWithContext(gate.With(context.Background(), gate.Who{Person: 1, Token: true, Scope: "read", P: record.Person{Role: record.Office}}), http.MethodGet, Prefix+"/probe", nil)
	if err != nil {
		t.Fatal(err)
	}
	b.api.ServeHTTP(&taken{header: http.Header{}}, r)
	if left <= 0 || left > time.Minute {
		t.Errorf("an operation has %s", left)
	}
}

// fill takes all room for large bodies, in the name of somebody else; what it gives, gives it back.
func fill(t *testing.T, sh *shop.Shop) func() {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	in, err := sh.Intake(ctx, 99, shop.MostRoom, shop.MostRoom)
	if err == nil {
		_, err = io.Copy(io.Discard, in.Reader(ctx, io.LimitReader(zeros{}, shop.MostRoom), nil))
	}
	if err != nil {
		t.Fatalf("taking all room: %v", err)
	}
	return in.Done
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }
