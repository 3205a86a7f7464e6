package localca

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// given is a pair of files as a workshop's own certificate would come.
type given struct {
	cert, key string
	n         int
}

func newGiven(t *testing.T) *given {
	dir := t.TempDir()
	return &given{cert: filepath.Join(dir, "cert.pem"), key: filepath.Join(dir, "key.pem")}
}

// put writes a certificate of root, starting at start and living 90 days, and gives it; change may spoil it.
func (g *given) put(t *testing.T, root *pair, start time.Time, change func(*x509.Certificate)) *x509.Certificate {
	t.Helper()
	key, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{NotBefore: start, NotAfter: start.Add(90 * day), DNSNames: []string{"pump.lan"}, KeyUsage: x509.KeyUsageDigitalSignature}
	if change != nil {
		change(c)
	}
	p, err := sign(c, root, key)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	g.write(t, g.cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: p.cert.Raw}))
	g.write(t, g.key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}))
	return p.cert
}

// write writes a file with a time of change that differs from all before.
func (g *given) write(t *testing.T, name string, data []byte) {
	t.Helper()
	g.n++
	changed := time.Date(2030, 1, 1, 0, 0, g.n, 0, time.UTC)
	if err := errors.Join(os.WriteFile(name, data, 0o600), os.Chtimes(name, changed, changed)); err != nil {
		t.Fatal(err)
	}
}

// shows checks which certificate a client is shown.
func shows(t *testing.T, address string, root *pair, c *clock, want *x509.Certificate, what string) {
	t.Helper()
	s, err := dial(address, "pump.lan", root.cert, c.now)
	if err != nil {
		t.Fatal(what, err)
	}
	if s.PeerCertificates[0].SerialNumber.Cmp(want.SerialNumber) != 0 {
		t.Errorf("%s: another certificate is served", what)
	}
}

func TestFilesReload(t *testing.T) {
	c, g := newClock(), newGiven(t)
	root := chainFor(t, "bench-7", c.now()).issuer // trusted as it is
	first := g.put(t, root, c.now(), nil)
	f, err := FromFiles(g.cert, g.key, c.now)
	if err != nil {
		t.Fatal(err)
	}
	address := serve(t, f.Config(), "127.0.0.1:0")
	shows := func(want *x509.Certificate, what string) { t.Helper(); shows(t, address, root, c, want, what) }
	shows(first, "at the start")
	second := g.put(t, root, c.now(), nil)
	shows(first, "changed a moment ago")
	c.add(59 * time.Second)
	shows(first, "59 s after")
	c.add(time.Second)
	shows(second, "60 s after")
	inUse := func() *tls.Certificate { f.mu.Lock(); defer f.mu.Unlock(); return f.cert }
	before := inUse()
	c.add(time.Minute)
	shows(second, "not changed")
	if inUse() != before {
		t.Error("unchanged files are read again")
	}
}

// TestFilesKeepFormer: changed files that cannot be used leave the former certificate in use, and are told.
func TestFilesKeepFormer(t *testing.T) {
	c, g := newClock(), newGiven(t)
	root := chainFor(t, "bench-7", c.now()).issuer // trusted as it is
	second := g.put(t, root, c.now(), nil)
	f, err := FromFiles(g.cert, g.key, c.now)
	if err != nil {
		t.Fatal(err)
	}
	address := serve(t, f.Config(), "127.0.0.1:0")
	shows := func(want *x509.Certificate, what string) { t.Helper(); shows(t, address, root, c, want, what) }
	good, err := os.ReadFile(g.key)
	if err != nil {
		t.Fatal(err)
	}
	g.write(t, g.key, good[:20]) // half copied
	c.add(time.Minute)
	shows(second, "half copied")
	var fe *FileError
	if err := f.Trouble(); !errors.As(err, &fe) {
		t.Errorf("half copied: %v", err)
	}
	third := g.put(t, root, c.now(), nil)
	c.add(time.Minute)
	shows(third, "copied whole")
	if err := f.Trouble(); err != nil {
		t.Error(err)
	}
	if err := os.Remove(g.cert); err != nil {
		t.Fatal(err)
	}
	c.add(time.Minute)
	shows(third, "removed")
	if err := f.Trouble(); !errors.As(err, &fe) || fe.File != g.cert {
		t.Errorf("removed: %v", err)
	}
	fourth := g.put(t, root, c.now().Add(-200*day), nil) // expired
	c.add(time.Minute)
	shows(third, "replaced by an expired one")
	var ce *ClockError
	if err := f.Trouble(); !errors.As(err, &ce) || !ce.NotAfter.Equal(fourth.NotAfter) {
		t.Errorf("replaced by an expired one: %v", err)
	}
}

func TestFilesRefused(t *testing.T) {
	c, g := newClock(), newGiven(t)
	root := chainFor(t, "bench-7", c.now()).issuer // trusted as it is
	now := c.now()
	for _, at := range []struct {
		what  string
		spoil func()
		want  []string
	}{
		{"nothing there", func() {}, []string{g.cert, "check the path"}},
		{"expired", func() { g.put(t, root, now.Add(-91*day), nil) }, []string{g.cert, "has expired", "to 2031-03-03 10:00 UTC", "clock shows 2031-03-04 10:00 UTC"}},
		{"not yet", func() { g.put(t, root, now.Add(day), nil) }, []string{g.cert, "not valid yet", "from 2031-03-05 10:00 UTC", "set the clock"}},
		{"no names", func() { g.put(t, root, now, func(c *x509.Certificate) { c.DNSNames = nil }) }, []string{g.cert, "RFC 9110"}},
		{"another key", func() {
			g.put(t, root, now, nil)
			key, err := os.ReadFile(g.key)
			if err != nil {
				t.Fatal(err)
			}
			g.put(t, root, now, nil)
			g.write(t, g.key, key)
		}, []string{g.cert, g.key, "does not match", "the unencrypted PEM key that it was made for"}},
		{"not PEM", func() { g.write(t, g.cert, []byte{0x30, 0x82, 1, 1}) }, []string{g.cert, "PEM"}},
		{"no key", func() {
			g.put(t, root, now, nil)
			if err := os.Remove(g.key); err != nil {
				t.Fatal(err)
			}
		}, []string{g.key, "check the path"}},
	} {
		at.spoil()
		_, err := FromFiles(g.cert, g.key, c.now)
		if err == nil {
			t.Errorf("%s: accepted", at.what)
			continue
		}
		for _, w := range at.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %v lacks %q", at.what, err, w)
			}
		}
	}
}

// TestFilesExpireInUse: the client's clock decides; the operator is told.
func TestFilesExpireInUse(t *testing.T) {
	c, g := newClock(), newGiven(t)
	root := chainFor(t, "bench-7", c.now()).issuer // trusted as it is
	g.put(t, root, c.now(), nil)
	f, err := FromFiles(g.cert, g.key, c.now)
	if err != nil {
		t.Fatal(err)
	}
	address := serve(t, f.Config(), "127.0.0.1:0")
	right := c.now()
	c.add(100 * day)
	if _, err := dial(address, "pump.lan", root.cert, func() time.Time { return right }); err != nil {
		t.Errorf("a client with another clock: %v", err)
	}
	if _, err := dial(address, "pump.lan", root.cert, c.now); err == nil {
		t.Error("a client with the same clock accepts")
	}
	var ce *ClockError
	if err := f.Trouble(); !errors.As(err, &ce) || ce.TooEarly() {
		t.Errorf("not told: %v", err)
	}
}

func TestFilesAtOnce(t *testing.T) {
	c, g := newClock(), newGiven(t)
	root := chainFor(t, "bench-7", c.now()).issuer // trusted as it is
	g.put(t, root, c.now(), nil)
	f, err := FromFiles(g.cert, g.key, c.now)
	if err != nil {
		t.Fatal(err)
	}
	address := serve(t, f.Config(), "127.0.0.1:0")
	var all sync.WaitGroup
	for range 6 {
		all.Go(func() {
			for range 6 {
				c.add(time.Minute)
				if _, err := dial(address, "pump.lan", root.cert, c.now); err != nil {
					t.Error(err)
				}
				if err := f.Trouble(); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
}
