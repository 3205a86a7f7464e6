package localca

import (
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"net"
	"net/netip"
	"slices"
	"testing"
	"time"
)

// edges are the first and last address of each range and their neighbours outside, as the named RFC draws it.
var edges = []struct {
	addr    string
	private bool
	source  string
}{
	{"10.0.0.0", true, "RFC 1918 section 3"}, {"10.255.255.255", true, "RFC 1918 section 3"},
	{"9.255.255.255", false, "RFC 1918 section 3"}, {"11.0.0.0", false, "RFC 1918 section 3"},
	{"172.16.0.0", true, "RFC 1918 section 3"}, {"172.31.255.255", true, "RFC 1918 section 3"},
	{"172.15.255.255", false, "RFC 1918 section 3"}, {"172.32.0.0", false, "RFC 1918 section 3"},
	{"192.168.0.0", true, "RFC 1918 section 3"}, {"192.168.255.255", true, "RFC 1918 section 3"},
	{"192.167.255.255", false, "RFC 1918 section 3"}, {"192.169.0.0", false, "RFC 1918 section 3"},
	{"127.0.0.1", true, "RFC 1122 section 3.2.1.3"}, {"127.255.255.255", true, "RFC 1122 section 3.2.1.3"},
	{"126.255.255.255", false, "RFC 1122 section 3.2.1.3"}, {"128.0.0.0", false, "RFC 1122 section 3.2.1.3"},
	{"169.254.0.0", true, "RFC 3927 section 2.1"}, {"169.254.255.255", true, "RFC 3927 section 2.1"},
	{"169.253.255.255", false, "RFC 3927 section 2.1"}, {"169.255.0.0", false, "RFC 3927 section 2.1"},
	{"fc00::", true, "RFC 4193 section 3.1"}, {"fdff:ffff:ffff:ffff:ffff:ffff:ffff:ffff", true, "RFC 4193 section 3.1"},
	{"fbff:ffff:ffff:ffff:ffff:ffff:ffff:ffff", false, "RFC 4193 section 3.1"}, {"fe00::", false, "RFC 4193 section 3.1"},
	{"fe80::", true, "RFC 4291 section 2.4"}, {"febf:ffff:ffff:ffff:ffff:ffff:ffff:ffff", true, "RFC 4291 section 2.4"},
	{"fe7f:ffff:ffff:ffff:ffff:ffff:ffff:ffff", false, "RFC 4291 section 2.4"}, {"fec0::", false, "RFC 4291 section 2.4"},
	{"::1", true, "RFC 4291 section 2.5.3"}, {"::", false, "RFC 4291 section 2.5.2"}, {"::2", false, "RFC 4291 section 2.5.3"},
	{"192.0.2.1", false, "RFC 5737 section 3"}, {"2001:db8::1", false, "RFC 3849 section 2"},
	{"100.64.0.1", false, "RFC 6598 section 1: shared by a provider, not private"},
}

func TestPrivateRanges(t *testing.T) {
	ca := chainFor(t, "bench-7", time.Now()).issuer.cert
	for _, e := range edges {
		a := netip.MustParseAddr(e.addr)
		if got := private(a); got != e.private {
			t.Errorf("private(%s) = %v, want %v: %s", a, got, e.private, e.source)
		}
		if got := permits(ca, e.addr) == nil; got != e.private {
			t.Errorf("permits(%s) = %v, want %v: %s", a, got, e.private, e.source)
		}
	}
	// RFC 4291 section 2.5.5.2: an IPv4 address mapped into IPv6 is that IPv4 address.
	if !private(netip.MustParseAddr("::ffff:10.1.2.3")) || private(netip.MustParseAddr("::ffff:192.0.2.1")) {
		t.Error("mapped IPv4 addresses are judged otherwise than the IPv4 addresses")
	}
}

// leafFor has a certificate for the name signed by the authority's key whatever the name, as a thief of the key would.
func leafFor(t testing.TB, ca *pair, name string, change func(*x509.Certificate)) *x509.Certificate {
	t.Helper()
	key, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{NotBefore: ca.cert.NotBefore, NotAfter: ca.cert.NotBefore.Add(30 * day),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	if ip := net.ParseIP(name); ip != nil {
		c.IPAddresses = []net.IP{ip}
	} else {
		c.DNSNames = []string{name}
	}
	if change != nil {
		change(c)
	}
	p, err := sign(c, ca, key)
	if err != nil {
		t.Fatal(err)
	}
	return p.cert
}

// TestStolenKey checks with Go's verifier (RFC 5280 section 6.1, name constraints 4.2.1.10) that not even the authority's own key
// makes a certificate for what lies outside the workshop; not even for a client that heeds no constraints of the root, for which
// the issuer is judged alone.
func TestStolenKey(t *testing.T) {
	now := time.Now()
	ca := chainFor(t, "bench-7", now)
	names := map[string]bool{
		"pump.local": true, "a.b.lan": true, "x.home.arpa": true, "x.internal": true, "localhost": true, "bench-7": true,
		"example.com": false, "www.example.org": false, "notlocal": false, "evil-lan": false, "bench-77": false, "arpa": false,
		"local.example.com": false, "com": false,
	}
	for _, e := range edges {
		names[e.addr] = e.private
	}
	roots, between := ca.pools()
	for name, want := range names {
		leaf := leafFor(t, ca.issuer, name, nil)
		for what, o := range map[string]x509.VerifyOptions{
			"by the root":         {Roots: roots, Intermediates: between, DNSName: name, CurrentTime: now},
			"by the issuer alone": {Roots: pool(ca.issuer.cert), DNSName: name, CurrentTime: now},
		} {
			_, err := leaf.Verify(o)
			var bad x509.CertificateInvalidError
			if want && err != nil {
				t.Errorf("%s %s: %v", name, what, err)
			}
			if !want && (!errors.As(err, &bad) || bad.Reason != x509.CANotAuthorizedForThisName) {
				t.Errorf("%s %s: got %v, want refused by name constraint", name, what, err)
			}
		}
		if got := permits(ca.issuer.cert, name) == nil; got != want {
			t.Errorf("permits(%q) = %v, the verifier says %v", name, got, want)
		}
	}
}

// TestIssuerUses checks with Go's verifier that the key on the disk can make neither authorities (path length, RFC 5280 section
// 4.2.1.9), nor certificates for people or programs (extended key usage, section 4.2.1.12; mail names, section 4.2.1.10).
func TestIssuerUses(t *testing.T) {
	now := time.Now()
	ca := chainFor(t, "bench-7", now)
	roots, between := ca.pools()
	verify := func(c *x509.Certificate, use x509.ExtKeyUsage) error {
		_, err := c.Verify(x509.VerifyOptions{Roots: roots, Intermediates: between, CurrentTime: now, KeyUsages: []x509.ExtKeyUsage{use}})
		return err
	}
	for _, use := range []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth, x509.ExtKeyUsageCodeSigning, x509.ExtKeyUsageEmailProtection} {
		c := leafFor(t, ca.issuer, "pump.local", func(c *x509.Certificate) { c.ExtKeyUsage = []x509.ExtKeyUsage{use} })
		if verify(c, use) == nil {
			t.Errorf("a certificate for use %v is accepted", use)
		}
	}
	mail := leafFor(t, ca.issuer, "pump.local", func(c *x509.Certificate) { c.EmailAddresses = []string{"someone@example.com"} })
	if verify(mail, x509.ExtKeyUsageAny) == nil {
		t.Error("a certificate for a mail address is accepted")
	}
	key, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	sub, err := sign(&x509.Certificate{NotBefore: now.Add(-time.Hour), NotAfter: now.Add(day), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign, DNSNames: []string{"sub.local"}, Subject: pkix.Name{CommonName: "sub"}}, ca.issuer, key)
	if err != nil {
		t.Fatal(err)
	}
	between.AddCert(sub.cert)
	var bad x509.CertificateInvalidError
	if err := verify(leafFor(t, sub, "pump.local", nil), x509.ExtKeyUsageServerAuth); !errors.As(err, &bad) || bad.Reason != x509.TooManyIntermediates {
		t.Errorf("an authority below ours: got %v, want too many intermediates", err)
	}
}

func TestValidName(t *testing.T) {
	label63 := "a23456789012345678901234567890123456789012345678901234567890123"
	for name, want := range map[string]bool{
		"bench-7": true, "pump.local": true, "3com.lan": true, label63 + ".lan": true, // RFC 1123 section 2.1
		"": false, ".": false, "a..b": false, "-a": false, "a-": false, "a_b": false, "a b": false, label63 + "x.lan": false, // RFC 1123 section 2.1
		"*.local": false, "A.local": false, "wörk.local": false,
		"1234": false, "a.1": false, // would be read as an IPv4 address
		label63 + "." + label63 + "." + label63 + "." + label63: false, // 255 characters, RFC 1123 section 2.1
	} {
		if got := validName(name); got != want {
			t.Errorf("validName(%q) = %v, want %v", name, got, want)
		}
	}
}

// TestOwnable: a constraint permits all names below it (RFC 5280 section 4.2.1.10), so none may be a top-level domain.
func TestOwnable(t *testing.T) {
	for host, want := range map[string]bool{
		"bench-7": true, "desktop-4f2a": true, "pc12": true, "pc12.corp.example.com": true,
		"tools": false, "dev": false, "com": false, "xn--p1ai": false, // top-level domains, from memory of the IANA root zone
		"example.com": false, "co.uk": false, "12": false, "": false, "bad_name-1": false,
	} {
		if got := ownable(host); got != want {
			t.Errorf("ownable(%q) = %v, want %v", host, got, want)
		}
	}
}

func TestMachineNames(t *testing.T) {
	for host, want := range map[string][]string{
		"Bench-7":          {"bench-7.local", "bench-7.lan", "bench-7.home.arpa", "bench-7.internal", "bench-7"},
		"bench-7.local":    {"bench-7.local", "bench-7.lan", "bench-7.home.arpa", "bench-7.internal"},
		"pc.a.example.com": {"pc.local", "pc.lan", "pc.home.arpa", "pc.internal", "pc.a.example.com"},
		"localhost":        {"localhost"},
		"":                 {},
		"bad_name":         {},
	} {
		if got := machineNames(host); !slices.Equal(got, want) {
			t.Errorf("machineNames(%q) = %v, want %v", host, got, want)
		}
	}
}

func TestReachable(t *testing.T) {
	in := []string{"127.0.0.1", "::1", "169.254.7.7", "fe80::1%eth0", "fd00::2", "192.0.2.2", "192.168.4.20", "10.0.0.5", "2001:db8::1", "10.0.0.5"}
	want := []string{"192.168.4.20", "10.0.0.5", "fd00::2", "169.254.7.7"}
	var all []netip.Addr
	for _, s := range in {
		all = append(all, netip.MustParseAddr(s))
	}
	got := []string{}
	for _, a := range reachable(all) {
		got = append(got, a.String())
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestAddresses(t *testing.T) {
	got, err := Addresses()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range got {
		if !private(a) || a.IsLoopback() || a.Zone() != "" {
			t.Errorf("%s is not a private address for a URL", a)
		}
	}
}
