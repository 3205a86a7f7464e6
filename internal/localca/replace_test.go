package localca

import (
	"bytes"
	"crypto/x509"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestReplacedKey repeats the attack with the key of an authority that was replaced: a tablet that trusts the new root refuses what the old key signs,
// and the old key is nowhere on the disk any more (Go's verifier, RFC 5280 section 6.1).
func TestReplacedKey(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	old := open(t, dir, c)
	if err := handshakeOnce(old); err != nil {
		t.Fatal(err)
	}
	stolen, err := os.ReadFile(old.path(authorityFile))
	if err != nil {
		t.Fatal(err)
	}
	fresh, name, err := Replace(dir, c.now)
	if err != nil {
		t.Fatal(err)
	}
	if name != old.Name() || fresh.Name() == name || fresh.Fingerprint() == old.Fingerprint() {
		t.Errorf("replaced %q by %q", name, fresh.Name())
	}
	forged := leafFor(t, old.issuer, "pump.local", nil)
	roots, between := fresh.pools()
	between.AddCert(old.issuer.cert)
	if _, err := forged.Verify(x509.VerifyOptions{Roots: roots, Intermediates: between, DNSName: "pump.local", CurrentTime: c.now()}); err == nil {
		t.Error("a certificate of the stolen key is taken by who trusts the new root")
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	_, key, found := bytes.Cut(stolen, []byte("PRIVATE KEY-----\n"))
	if key, _, _ = bytes.Cut(key, []byte("\n")); !found || len(key) < 60 {
		t.Fatal("the file of the old authority holds no key: the test looks for nothing")
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, key) {
			t.Errorf("%s still holds the old key", f.Name())
		}
	}
	again := open(t, dir, c)
	if again.Fingerprint() != fresh.Fingerprint() {
		t.Error("the next start takes another authority")
	}
	if err := handshakeOnce(again); err != nil {
		t.Errorf("a tablet that trusts the new root: %v", err)
	}
}

// A file that cannot be read does not keep its authority from being replaced; where there is none, none is made.
func TestReplaceWhatIsThere(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	if _, _, err := Replace(dir, c.now); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("nothing to replace: %v", err)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("a folder was made")
	}
	a := open(t, dir, c)
	if err := os.WriteFile(a.path(authorityFile), []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	fresh, old, err := Replace(dir, c.now)
	if err != nil || old != "" || fresh.Fingerprint() == a.Fingerprint() {
		t.Errorf("a torn file: %q, %v", old, err)
	}
	if _, err := Open(dir, c.now); err != nil {
		t.Error(err)
	}
}
