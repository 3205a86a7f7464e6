package localca

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestAuthorityCertificates(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	root, err := x509.ParseCertificate(a.Root())
	if err != nil {
		t.Fatal(err)
	}
	issuer := a.issuer.cert
	for below, x := range map[int]*x509.Certificate{1: root, 0: issuer} {
		for what, ok := range map[string]bool{
			"RFC 5280 4.1.2.1: version 3":                          x.Version == 3,
			"RFC 5280 4.1.2.2: serial positive, at most 20 octets": x.SerialNumber.Sign() > 0 && len(x.SerialNumber.Bytes()) <= 20,
			"Baseline Requirements 7.1: serial of 64 random bits":  x.SerialNumber.BitLen() > 64,
			"RFC 5280 4.1.2.4: issued by the root":                 bytes.Equal(x.RawIssuer, root.RawSubject),
			"RFC 5280 4.2.1.2: subject key identifier":             len(x.SubjectKeyId) > 0,
			"RFC 5280 4.2.1.3: keyCertSign":                        x.KeyUsage == x509.KeyUsageCertSign,
			"RFC 5280 4.2.1.9: authority with its path length":     x.IsCA && x.MaxPathLen == below,
			"RFC 5280 4.2.1.10: name constraints critical":         x.PermittedDNSDomainsCritical,
			"RFC 5280 4.2.1.12: for servers alone":                 len(x.ExtKeyUsage) == 1 && x.ExtKeyUsage[0] == x509.ExtKeyUsageServerAuth,
			"RFC 5758 3.2: ecdsa-with-SHA256":                      x.SignatureAlgorithm == x509.ECDSAWithSHA256,
			"RFC 5480 2.1.1.1: secp256r1":                          x.PublicKey.(*ecdsa.PublicKey).Curve == elliptic.P256(),
			"RFC 5280 4.1.2.5: ten years, both ends counted":       x.NotAfter.Add(time.Second).Equal(x.NotBefore.AddDate(10, 0, 0)),
			"backdated by 24 h":                                    c.now().Sub(x.NotBefore) == day,
			"no critical extension is left unread":                 len(x.UnhandledCriticalExtensions) == 0,
		} {
			if !ok {
				t.Errorf("%s: %s", x.Subject, what)
			}
		}
	}
	if !bytes.Equal(issuer.AuthorityKeyId, root.SubjectKeyId) {
		t.Error("RFC 5280 4.2.1.1: the issuer does not name the root's key")
	}
	if !regexp.MustCompile(`^evenstroke workshop [0-9a-f]{6}$`).MatchString(a.Name()) || root.Subject.CommonName != a.Name() || !root.NotAfter.Equal(a.Until()) {
		t.Errorf("%s until %s", a.Name(), a.Until())
	}
}

// TestRootKeyIsForgotten: the one key on the disk is the issuer's.
func TestRootKeyIsForgotten(t *testing.T) {
	a := open(t, filepath.Join(t.TempDir(), "tls"), newClock())
	data, err := os.ReadFile(a.path(authorityFile))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Count(data, []byte("PRIVATE KEY-----\n")) != 2 || a.issuer.key.PublicKey.Equal(a.root.PublicKey) {
		t.Errorf("want one key, not the root's:\n%s", data)
	}
}

func TestFingerprintAndPEM(t *testing.T) {
	a := open(t, filepath.Join(t.TempDir(), "tls"), newClock())
	sum := sha256.Sum256(a.Root())
	want := strings.ToUpper(hex.EncodeToString(sum[:]))
	if got := a.Fingerprint(); strings.ReplaceAll(got, " ", "") != want || len(strings.Fields(got)) != 16 || len(got) != 79 {
		t.Errorf("fingerprint %q, want %s in groups of 4", got, want)
	}
	b, rest := pem.Decode(a.RootPEM())
	if b == nil || b.Type != "CERTIFICATE" || len(rest) > 0 || !bytes.Equal(b.Bytes, a.Root()) {
		t.Error("RFC 7468 section 5: the PEM is not the DER")
	}
	if bytes.Contains(a.RootPEM(), []byte("PRIVATE")) {
		t.Error("the key is given away")
	}
	a.Root()[10] ^= 1
	if sum != sha256.Sum256(a.Root()) {
		t.Error("a caller can change the root")
	}
}

func TestOpenAgainIsTheSame(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	first := open(t, dir, c).Fingerprint()
	c.add(3000 * day)
	if second := open(t, dir, c).Fingerprint(); second != first {
		t.Error("a new authority was made")
	}
}

// TestOpenAtOnce: of several processes that start at the same moment all take the same authority.
func TestOpenAtOnce(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	prints := make([]string, 8)
	var all sync.WaitGroup
	for i := range prints {
		all.Go(func() {
			a, err := Open(dir, c.now)
			if err != nil {
				t.Error(err)
				return
			}
			prints[i] = a.Fingerprint()
		})
	}
	all.Wait()
	for _, p := range prints {
		if p != prints[0] {
			t.Fatal("two authorities were made")
		}
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// refused opens dir, which must fail naming the file, and leave it as it is.
func refused(t *testing.T, dir, file string, c *clock, what string) {
	t.Helper()
	name := filepath.Join(dir, file)
	before, beforeErr := os.ReadFile(name)
	_, err := Open(dir, c.now)
	var fe *FileError
	if !errors.As(err, &fe) || fe.File != name || fe.Mend == "" || !strings.Contains(err.Error(), name) {
		t.Fatalf("%s: got %v, want a FileError on %s", what, err, name)
	}
	after, afterErr := os.ReadFile(name)
	if !bytes.Equal(before, after) || (beforeErr == nil) != (afterErr == nil) {
		t.Fatalf("%s: the file was changed", what)
	}
}

func TestCorruptedFiles(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	a := open(t, dir, c)
	if err := handshakeOnce(a); err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{authorityFile, serverFile} {
		whole, err := os.ReadFile(a.path(file))
		if err != nil {
			t.Fatal(err)
		}
		put := func(data []byte) {
			if err := os.WriteFile(a.path(file), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		for n := 0; n < len(whole)-2; n += 7 {
			put(whole[:n])
			refused(t, dir, file, c, "half written")
		}
		put(append(append([]byte{}, whole...), whole...))
		refused(t, dir, file, c, "twice")
		put(bytes.Repeat([]byte{0}, len(whole)))
		refused(t, dir, file, c, "zeros, as after a power cut")
		put(append(append([]byte{}, whole...), bytes.Repeat([]byte("\n"), maxFile)...))
		refused(t, dir, file, c, "too long")
		put(whole)
	}
	if err := os.Remove(a.path(authorityFile)); err != nil {
		t.Fatal(err)
	}
	refused(t, dir, authorityFile, c, "lost")
}

// TestFlippedBytes: one changed byte gives an error, or the same authority as before; never another one.
func TestFlippedBytes(t *testing.T) {
	c := chainFor(t, "bench-7", time.Now())
	whole, err := c.encode()
	if err != nil {
		t.Fatal(err)
	}
	for i := range whole {
		data := append([]byte{}, whole...)
		data[i] ^= 4
		got, err := decodeChain(data)
		if err == nil && !same(got, c) {
			t.Fatalf("byte %d changed: read as another authority", i)
		}
	}
}

func same(a, b *chain) bool {
	return a.root.Equal(b.root) && a.issuer.cert.Equal(b.issuer.cert) && a.issuer.key.Equal(b.issuer.key)
}

// TestForeignChains: a whole file that is no authority of ours is refused, whichever of its certificates is wider.
func TestForeignChains(t *testing.T) {
	now := time.Now()
	rootKey, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	build := func(changeRoot, changeIssuer func(*x509.Certificate)) error {
		r, i := authorityTemplate("root", "bench-7", 1, now), authorityTemplate("issuer", "bench-7", 0, now)
		changeRoot(r)
		changeIssuer(i)
		root, err := sign(r, nil, rootKey)
		if err != nil {
			t.Fatal(err)
		}
		issuer, err := sign(i, root, key)
		if err != nil {
			t.Fatal(err)
		}
		data, err := (&chain{root.cert, issuer}).encode()
		if err != nil {
			t.Fatal(err)
		}
		_, err = decodeChain(data)
		return err
	}
	none := func(*x509.Certificate) {}
	if err := build(none, none); err != nil {
		t.Fatal(err)
	}
	for what, change := range map[string]func(*x509.Certificate){
		"not an authority":            func(c *x509.Certificate) { c.IsCA, c.MaxPathLenZero, c.MaxPathLen = false, false, 0 },
		"path length 2":               func(c *x509.Certificate) { c.MaxPathLen, c.MaxPathLenZero = 2, false },
		"no path length":              func(c *x509.Certificate) { c.MaxPathLen, c.MaxPathLenZero = -1, false },
		"signs lists":                 func(c *x509.Certificate) { c.KeyUsage |= x509.KeyUsageCRLSign },
		"constraints not critical":    func(c *x509.Certificate) { c.PermittedDNSDomainsCritical = false },
		"no constraints on names":     func(c *x509.Certificate) { c.PermittedDNSDomains = nil },
		"no constraints on addresses": func(c *x509.Certificate) { c.PermittedIPRanges = nil },
	} {
		if build(change, none) == nil || build(none, change) == nil {
			t.Errorf("%s: accepted", what)
		}
	}
	one, two := chainFor(t, "bench-7", now), chainFor(t, "bench-7", now)
	for what, mixed := range map[string]*chain{
		"another issuer's key": {one.root, &pair{one.issuer.cert, two.issuer.key}},
		"another root":         {two.root, one.issuer},
	} {
		data, err := mixed.encode()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := decodeChain(data); err == nil {
			t.Errorf("%s: accepted", what)
		}
	}
}

// TestCutShortStart: a start cut short before the file got its name leaves no half authority behind.
func TestCutShortStart(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "."+authorityFile+".123"), []byte("-----BEGIN"), 0o600); err != nil {
		t.Fatal(err)
	}
	first := open(t, dir, c).Fingerprint()
	if open(t, dir, c).Fingerprint() != first {
		t.Error("not kept")
	}
}

// TestClock: RFC 5280 section 4.1.2.5, a certificate holds from notBefore to notAfter, both included.
func TestClock(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	a := open(t, dir, c)
	start := c.now()
	for _, at := range []struct {
		moment time.Time
		ok     bool
		early  bool
	}{
		{a.root.NotBefore.Add(-time.Second), false, true}, {a.root.NotBefore, true, false},
		{a.Until(), true, false}, {a.Until().Add(time.Second), false, false}, {time.Unix(0, 0), false, true},
	} {
		c.t = at.moment
		_, err := Open(dir, c.now)
		handshakeErr := handshakeOnce(a)
		if (err == nil) != at.ok || (handshakeErr == nil) != at.ok {
			t.Fatalf("%s: %v, %v", at.moment, err, handshakeErr)
		}
		var ce *ClockError
		if !at.ok && (!errors.As(err, &ce) || !errors.As(handshakeErr, &ce) || ce.TooEarly() != at.early) {
			t.Errorf("%s: got %v and %v, want a ClockError", at.moment, err, handshakeErr)
		}
	}
	c.t = time.Date(2019, 1, 1, 0, 0, 0, 0, time.UTC)
	_, err := Open(dir, c.now)
	for _, want := range []string{"not valid yet", "from 2031-03-03 10:00 UTC to 2041-03-03 09:59 UTC", "clock shows 2019-01-01 00:00 UTC", "set the clock"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v lacks %q", err, want)
		}
	}
	c.t = start
	if err := a.Trouble(); err != nil {
		t.Error(err)
	}
	c.t = a.Until().Add(-89 * day)
	if err := a.Trouble(); err == nil || !strings.Contains(err.Error(), "2041-03-03") {
		t.Errorf("the coming end is not told: %v", err)
	}
}
