package api

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
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
		c.kind = "text/plain"
		c.body = "{}"
		if got := b.send(c); got.status != http.StatusUnsupportedMediaType {
			t.Errorf("%s %s as text/plain: %d %.100s", op.method, op.path, got.status, got.body)
		}
	}
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
