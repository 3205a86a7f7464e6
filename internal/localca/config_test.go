package localca

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// fakeConn is a connection that was made to an address.
type fakeConn struct {
	net.Conn
	local net.Addr
}

func (c fakeConn) LocalAddr() net.Addr { return c.local }

// ask asks for a certificate as a client does that names server, or that reaches the address local.
func ask(a *Authority, server, local string) (*x509.Certificate, error) {
	hello := &tls.ClientHelloInfo{ServerName: server, Conn: fakeConn{local: net.TCPAddrFromAddrPort(netip.MustParseAddrPort(local))}}
	c, err := a.certificate(hello)
	if err != nil {
		return nil, err
	}
	return c.Leaf, nil
}

func handshakeOnce(a *Authority) error {
	_, err := ask(a, "localhost", "127.0.0.1:443")
	return err
}

// TestHandshakes makes whole TLS handshakes over loopback with a client that trusts only the root; names as RFC 6125/9525 has
// them matched, addresses as RFC 5280 section 4.2.1.6.
func TestHandshakes(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	address := serve(t, a.Config(func() []string { return []string{"press.lan", "10.9.8.7"} }), "127.0.0.1:0")
	for _, name := range []string{"localhost", "127.0.0.1", "bench-7.local", "BENCH-7.local", "bench-7.internal", "press.lan", "10.9.8.7", "192.168.4.20", "fe80::1"} {
		s, err := dial(address, name, a.root, c.now)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s.Version != tls.VersionTLS13 {
			t.Errorf("%s: version %x, want 1.3", name, s.Version)
		}
		if len(s.PeerCertificates) != 2 || s.PeerCertificates[0].IsCA || !s.PeerCertificates[1].Equal(a.issuer.cert) {
			t.Errorf("%s: RFC 8446 section 4.4.2: server, then issuer; the root may be left out, and is", name)
		}
	}
	for _, name := range []string{"example.com", "other.local", "bench-7.example.com", "192.0.2.2", "10.9.8.8"} {
		if _, err := dial(address, name, a.root, c.now); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	other := chainFor(t, "bench-7", c.now())
	if _, err := dial(address, "localhost", other.root, c.now); err == nil {
		t.Error("a client that trusts another root accepts")
	}
	if six := serve(t, a.Config(nil), "[::1]:0"); six != "" {
		if _, err := dial(six, "::1", a.root, c.now); err != nil {
			t.Errorf("::1: %v", err)
		}
	}
}

// TestVersions: RFC 9325 section 3.1.1 (TLS 1.2 at least) and section 4.2 (forward secrecy, authenticated encryption).
func TestVersions(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	address := serve(t, a.Config(nil), "127.0.0.1:0")
	client := func(version uint16, suites ...uint16) error {
		_, err := dialConfig(address, &tls.Config{ServerName: "localhost", RootCAs: pool(a.root), Time: c.now,
			MinVersion: version, MaxVersion: version, CipherSuites: suites})
		return err
	}
	if a.Config(nil).MinVersion != tls.VersionTLS12 {
		t.Error("the cipher suites alone keep old versions out")
	}
	if err := client(tls.VersionTLS12); err != nil {
		t.Errorf("1.2: %v", err)
	}
	if state, err := dialConfig(address, &tls.Config{ServerName: "localhost", RootCAs: pool(a.root), Time: c.now}); err != nil || state.Version != tls.VersionTLS13 {
		t.Errorf("who speaks both speaks %x: %v", state.Version, err)
	}
	for _, old := range []uint16{tls.VersionTLS10, tls.VersionTLS11} {
		if client(old) == nil {
			t.Errorf("version %x is accepted", old)
		}
	}
	for _, weak := range []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA, tls.TLS_ECDHE_ECDSA_WITH_AES_256_CBC_SHA, tls.TLS_RSA_WITH_AES_128_GCM_SHA256} {
		if client(tls.VersionTLS12, weak) == nil {
			t.Errorf("%s is accepted", tls.CipherSuiteName(weak))
		}
	}
	// All that Go knows and does not hold for secure any more, or that does not authenticate what it encrypts.
	for _, suite := range append(tls.InsecureCipherSuites(), tls.CipherSuites()...) {
		strong := strings.HasPrefix(suite.Name, "TLS_ECDHE_") && (strings.Contains(suite.Name, "_GCM_") || strings.Contains(suite.Name, "_POLY1305_"))
		if slices.Contains(suite.SupportedVersions, tls.VersionTLS12) && !strong && client(tls.VersionTLS12, suite.ID) == nil {
			t.Errorf("%s is accepted", suite.Name)
		}
	}
}

func TestLeafCertificate(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	leaf, err := ask(a, "", "192.168.4.20:8443")
	if err != nil {
		t.Fatal(err)
	}
	life := leaf.NotAfter.Sub(leaf.NotBefore) + time.Second // both ends count, RFC 5280 section 4.1.2.5
	names := slices.Sorted(slices.Values(leaf.DNSNames))
	checks := map[string]bool{
		"Baseline Requirements 6.3.2: at most 398 days": life <= 398*day,
		"397 days":                                       life == 397*day,
		"RFC 5280 4.2.1.9: not an authority":             leaf.BasicConstraintsValid && !leaf.IsCA,
		"RFC 5280 4.2.1.3: digitalSignature":             leaf.KeyUsage == x509.KeyUsageDigitalSignature,
		"RFC 5280 4.2.1.12: serverAuth":                  len(leaf.ExtKeyUsage) == 1 && leaf.ExtKeyUsage[0] == x509.ExtKeyUsageServerAuth,
		"RFC 5280 4.2.1.1: the issuer's key identifier":  slices.Equal(leaf.AuthorityKeyId, a.issuer.cert.SubjectKeyId) && len(leaf.AuthorityKeyId) > 0,
		"Baseline Requirements 7.1: 64 random bits":      leaf.SerialNumber.BitLen() > 64,
		"Baseline Requirements 7.1.4.3: common name":     leaf.Subject.CommonName == "bench-7.local" && slices.Contains(leaf.DNSNames, leaf.Subject.CommonName),
		"backdated by 24 h":                              c.now().Sub(leaf.NotBefore) == day,
		"all names":                                      slices.Equal(names, []string{"bench-7.home.arpa", "bench-7.internal", "bench-7.lan", "bench-7.local", "localhost"}),
		"all private addresses and no public one":        len(leaf.IPAddresses) == 4 && covers(leaf, "127.0.0.1") && covers(leaf, "::1") && covers(leaf, "192.168.4.20") && covers(leaf, "fe80::1"),
		"a key of its own":                               a.leaf.key != nil && !a.leaf.key.Equal(a.issuer.key),
		"RFC 5280 4.2.1.6: every name is checked by all": leaf.CheckSignatureFrom(a.issuer.cert) == nil,
	}
	for what, ok := range checks {
		if !ok {
			t.Errorf("%s: %v %v", what, leaf.DNSNames, leaf.IPAddresses)
		}
	}
}

func TestRefusedNames(t *testing.T) {
	a := open(t, filepath.Join(t.TempDir(), "tls"), newClock())
	for _, at := range []struct{ server, local, why string }{
		{"", "192.0.2.2:443", "private"}, {"", "[2001:db8::1]:443", "private"}, {"", "10.1.1.1:443", "answers only to"},
		{"example.com", "127.0.0.1:443", "vouches only for"}, {"other.local", "127.0.0.1:443", "answers only to"},
		{"bad_name.local", "127.0.0.1:443", "not a host name"}, {"203.0.113.9", "127.0.0.1:443", "private"},
	} {
		_, err := ask(a, at.server, at.local)
		var ne *NameError
		if !errors.As(err, &ne) || !strings.Contains(err.Error(), at.why) {
			t.Errorf("%+v: %v", at, err)
		}
	}
	if _, err := ask(a, "", "[::ffff:192.168.4.20]:443"); err != nil {
		t.Errorf("RFC 4291 section 2.5.5.2, mapped address: %v", err)
	}
	if _, err := ask(a, "", "[fe80::1%eth0]:443"); err != nil {
		t.Errorf("RFC 4007 section 11, address with its zone: %v", err)
	}
	_, err := a.certificate(&tls.ClientHelloInfo{Conn: fakeConn{local: &net.UnixAddr{Name: "@x", Net: "unix"}}})
	if err == nil {
		t.Error("a client without a name on a local socket is served")
	}
	if a.leaf == nil || !a.leaf.cert.NotAfter.After(a.now()) {
		t.Error("no certificate was made")
	}
}

// TestRenewal: renewed at two thirds of its life, kept on disk between starts, never living past the authority.
func TestRenewal(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	a := open(t, dir, c)
	serial := func(a *Authority) string {
		leaf, err := ask(a, "localhost", "127.0.0.1:443")
		if err != nil {
			t.Fatal(err)
		}
		return leaf.SerialNumber.String()
	}
	first := serial(a)
	if serial(open(t, dir, c)) != first {
		t.Error("not kept on disk")
	}
	// 2/3 of 397 days is 264 2/3 days from the start, which lies a day back.
	c.add(263*day + 15*time.Hour)
	if serial(a) != first {
		t.Error("renewed too early")
	}
	c.add(2 * time.Hour)
	second := serial(a)
	if second == first {
		t.Error("not renewed at two thirds")
	}
	if serial(open(t, dir, c)) != second {
		t.Error("the renewed one is not kept on disk")
	}
	c.add(2000 * day) // switched off for years
	if third := serial(open(t, dir, c)); third == second {
		t.Error("an expired one is served")
	}
}

func TestLastYear(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	a := open(t, dir, c)
	c.t = a.Until().Add(-40 * day)
	first, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	if !first.NotAfter.Equal(a.Until()) {
		t.Errorf("ends %s, the authority %s", first.NotAfter, a.Until())
	}
	c.t = a.Until().Add(-time.Hour)
	last, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	if last.SerialNumber.Cmp(first.SerialNumber) != 0 {
		t.Error("made anew at each handshake of the last day")
	}
}

// TestSetBack: a clock set back by more than the backdating gets a certificate that holds at once.
func TestSetBack(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "tls"), newClock()
	a := open(t, dir, c)
	c.add(100 * day)
	first, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	c.add(-23 * time.Hour)
	same, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil || same.SerialNumber.Cmp(first.SerialNumber) != 0 {
		t.Errorf("within the backdating: made anew, or %v", err)
	}
	c.add(-2 * day)
	again, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	if again.NotBefore.After(c.now()) || a.verify(again) != nil {
		t.Errorf("serves from %s at %s", again.NotBefore, c.now())
	}
}

// TestNamesChange: a new address or name is in the certificate as soon as it is looked for, and old ones make no new certificate.
func TestNamesChange(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	extra := []string{"a.lan"}
	get := a.Config(func() []string { return extra }).GetCertificate
	hello := func(name string) (*tls.Certificate, error) {
		return get(&tls.ClientHelloInfo{ServerName: name, Conn: fakeConn{local: net.TCPAddrFromAddrPort(netip.MustParseAddrPort("127.0.0.1:1"))}})
	}
	first, err := hello("a.lan")
	if err != nil {
		t.Fatal(err)
	}
	extra = []string{"B.lan.", "[fd00::9]", "www.example.com", "203.0.113.1"}
	if _, err := hello("b.lan"); err == nil {
		t.Error("looked again within the same moment")
	}
	c.add(lookEvery)
	second, err := hello("b.lan")
	if err != nil || !covers(second.Leaf, "fd00::9") || second.Leaf.SerialNumber.Cmp(first.Leaf.SerialNumber) == 0 {
		t.Errorf("the new name is not taken: %v", err)
	}
	trouble := a.Trouble()
	for _, want := range []string{`"www.example.com"`, `"203.0.113.1"`} {
		if trouble == nil || !strings.Contains(trouble.Error(), want) {
			t.Errorf("%v does not tell that %s is left out", trouble, want)
		}
	}
	extra = nil
	c.add(lookEvery)
	if _, err := hello("b.lan"); err == nil {
		t.Error("a name given up is still answered")
	}
	third, err := hello("localhost")
	if err != nil || third.Leaf.SerialNumber.Cmp(second.Leaf.SerialNumber) != 0 {
		t.Errorf("made anew though nothing was added: %v", err)
	}
	if err := a.Trouble(); err != nil {
		t.Errorf("trouble is over, but told: %v", err)
	}
}

func TestTroubleButServing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tls")
	a := open(t, dir, newClock())
	a.hostname = func() (string, error) { return "", errors.New("no host name") }
	a.addresses = func() ([]netip.Addr, error) { return nil, errors.New("no interfaces") }
	if err := os.Mkdir(a.path(serverFile), 0o700); err != nil { // the certificate cannot be kept
		t.Fatal(err)
	}
	if err := handshakeOnce(a); err != nil {
		t.Fatal(err)
	}
	err := a.Trouble()
	for _, want := range []string{"no host name", "no interfaces", "cannot be kept"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not tell %q", err, want)
		}
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// TestServerOfAnotherRoot: a kept server certificate of an older authority is replaced, not served.
func TestServerOfAnotherRoot(t *testing.T) {
	c := newClock()
	one, two := open(t, filepath.Join(t.TempDir(), "tls"), c), open(t, filepath.Join(t.TempDir(), "tls"), c)
	if err := handshakeOnce(one); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(one.path(serverFile))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(two.path(serverFile), data, 0o600); err != nil {
		t.Fatal(err)
	}
	two = open(t, two.dir, c)
	leaf, err := ask(two, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	if err := leaf.CheckSignatureFrom(two.issuer.cert); err != nil {
		t.Error(err)
	}
}

// TestAtOnce makes handshakes at once while the certificate is renewed and names come and go.
func TestAtOnce(t *testing.T) {
	c := newClock()
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	address := serve(t, a.Config(nil), "127.0.0.1:0")
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for j := range 12 {
				if i == 0 {
					c.add(60 * day)
					a.Config(func() []string { return []string{"x.lan"} })
				}
				_, err := dial(address, []string{"localhost", "127.0.0.1", "bench-7.local"}[j%3], a.root, c.now)
				if err != nil {
					t.Error(err)
				}
				if err := a.Trouble(); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
}
