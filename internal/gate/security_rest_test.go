package gate

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"
)

// TestDatabaseHasNoSecrets: who reads the file of the database finds no device, session, code or token that works, and no PIN: only digests
// (FIPS 180-4) and a slow hash.
func TestDatabaseHasNoSecrets(t *testing.T) {
	s := open(t, Options{})
	b := s.another()
	b.mustIn(s.owner, ownerPIN)
	who := b.who()
	code, _, err := s.MakeCode(context.Background(), who)
	if err != nil {
		t.Fatal(err)
	}
	token, _, err := s.MakeToken(context.Background(), who, s.owner, "press", "write", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	var file []byte
	for _, name := range []string{s.path, s.path + "-wal"} {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		file = append(file, data...)
	}
	secrets := []string{ownerPIN, techPIN, code, token, token[3:67], s.secret}
	for _, v := range b.cookies {
		secrets = append(secrets, v)
	}
	for _, v := range secrets {
		if bytes.Contains(file, []byte(v)) {
			t.Errorf("%q stands in the database", v)
		}
	}
	d := sha256.Sum256([]byte(token))
	if !bytes.Contains(file, d[:]) || !bytes.Contains(file, []byte("$argon2id$v=19$")) {
		t.Error("the digest of the token, or the hash of a PIN, is not there: the test looks in the wrong place")
	}
}

// TestLogLinesCannotBeForged: what a stranger sends stands in one line, quoted, in both forms of the log.
func TestLogLinesCannotBeForged(t *testing.T) {
	forged := "/x\nlevel=INFO msg=\"signed in\" person=1\r\n{\"msg\":\"signed in\",\"person\":1}\x1b[31m\u2028"
	for name, handler := range map[string]func(*bytes.Buffer) slog.Handler{
		"text": func(b *bytes.Buffer) slog.Handler { return slog.NewTextHandler(b, nil) },
		"JSON": func(b *bytes.Buffer) slog.Handler { return slog.NewJSONHandler(b, nil) },
	} {
		s := bare(t, Options{})
		var log bytes.Buffer
		s.opt.Log = slog.New(handler(&log))
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.URL.Path, r.Host = forged, "localhost"
		s.pages.ServeHTTP(httptest.NewRecorder(), r)
		out := strings.TrimSuffix(log.String(), "\n")
		if out == "" || strings.ContainsAny(out, "\n\r\x1b") {
			t.Errorf("%s: %q", name, out)
		}
		if name == "JSON" {
			line := map[string]any{}
			if err := json.Unmarshal([]byte(out), &line); err != nil || line["msg"] != "request" || line["path"] != forged {
				t.Errorf("%v %v", line, err)
			}
		}
	}
}

// TestWhoComesIsWrittenDown: sign-ins, failures of them, pauses, devices that are let in and out, tokens and refusals stand in the log, with who,
// where and when.
func TestWhoComesIsWrittenDown(t *testing.T) {
	s := open(t, Options{})
	b := s.another()
	b.in(s.tech, "111222333")
	s.browser().post("/enrol", "code=ABCDEFGH&name=thief")
	b.mustIn(s.owner, ownerPIN)
	who := b.who()
	token, id, err := s.MakeToken(context.Background(), who, s.owner, "press", "read", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	b.do("GET", "/who", "", header("Authorization", "Bearer "+token))
	if err := s.RevokeToken(context.Background(), who, id); err != nil {
		t.Fatal(err)
	}
	b.do("GET", "/who", "", header("Authorization", "Bearer "+token))
	if err := s.DropDevice(context.Background(), who, who.Device); err != nil {
		t.Fatal(err)
	}
	log := s.log.String()
	for _, want := range []string{`"msg":"device let in"`, `"msg":"wrong PIN"`, `"msg":"code refused","from":"192.168.1.20"`, `"by":"PIN"`, `"msg":"signed in"`, `"msg":"token made"`, `"msg":"token revoked"`, `"msg":"device taken out"`, `"status":401`} {
		if !strings.Contains(log, want) {
			t.Errorf("%s is not in the log", want)
		}
	}
	for _, text := range strings.Split(strings.TrimSpace(log), "\n") {
		line := map[string]any{}
		if err := json.Unmarshal([]byte(text), &line); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		at, err := time.Parse(time.RFC3339Nano, line["time"].(string))
		if err != nil || at.IsZero() {
			t.Errorf("%q has no time with its zone", text)
		}
	}
}
