//go:build !small

package cli

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/heads"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/serve"
)

// A signed head stands in the chain that it is of; one of another key, one that was changed and one of another chain are shown.
func TestVerifyHead(t *testing.T) {
	t.Chdir(t.TempDir())
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	cfg := serve.Default()
	cfg.Demo, cfg.Listen, cfg.LAN, cfg.Heads = true, "127.0.0.1:0", "none", t.TempDir()
	if err := serve.Run(ctx, cfg, Version, &watcher{word: "http://", stop: stop}, &bytes.Buffer{}); err != nil {
		t.Fatal(err)
	}
	file, err := heads.Last(cfg.Heads)
	if err != nil {
		t.Fatal(err)
	}
	h, err := heads.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	out, errw, code := runLine("evenstroke verify --head " + file)
	if code != 0 || !strings.Contains(out, "✔ all sound") || !strings.Contains(out, h.Digest.String()) {
		t.Errorf("exit %d\n%s%s", code, out, errw)
	}
	if out, _, code := runLine("evenstroke verify --head " + file + " --head-key " + h.By()); code != 0 {
		t.Errorf("exit %d\n%s", code, out)
	}
	key, err := heads.Key(cfg.Data)
	if err != nil {
		t.Fatal(err)
	}
	_, other, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	for want, bad := range map[string]heads.Head{
		"is signed with the key":         heads.Sign(other, h.Link, h.Digest, h.At),
		"does not stand in the chain":    heads.Sign(key, h.Link, record.Digest{1}, h.At),
		"link 99999 of 2027-03-01T":      heads.Sign(key, 99999, h.Digest, time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)),
		"link 0 of 2027-03-01T12:00:00Z": heads.Sign(key, 0, h.Digest, time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)),
		"its signature does not fit":     {Format: 1, Link: h.Link, Digest: h.Digest, At: h.At, Key: h.Key, Signature: make([]byte, 64)},
	} {
		name, err := heads.Write(t.TempDir(), bad)
		if err != nil {
			t.Fatal(err)
		}
		out, _, code := runLine("evenstroke verify --head " + name)
		if code != 1 || !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("exit %d, expected %q\n%s", code, want, out)
		}
	}
	for _, line := range []string{"--head none.json", "--head " + filepath.Join(cfg.Data, "heads.pem")} {
		if out, errw, code := runLine("evenstroke verify " + line); code != 2 {
			t.Errorf("%s: exit %d\n%s%s", line, code, out, errw)
		}
	}
}

// What backup prints as the head is what verify takes.
func TestBackupPrintsTheHead(t *testing.T) {
	demoShop(t)
	out, errw, code := runLine("evenstroke backup copy.db --json")
	var got backupDoc
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != 0 || got.Head.Link == 0 {
		t.Fatalf("exit %d %v\n%s%s", code, err, out, errw)
	}
	if out, _, code := runLine("evenstroke verify --expect " + got.Head.Digest); code != 0 {
		t.Errorf("exit %d\n%s", code, out)
	}
	if out, _, _ := runLine("evenstroke backup copy2.db"); !strings.Contains(out, got.Head.Digest) {
		t.Errorf("text: %s", out)
	}
	if out, _, code := runLine("evenstroke verify --expect " + strings.Repeat("0", 64)); code != 1 {
		t.Errorf("exit %d\n%s", code, out)
	}
}
