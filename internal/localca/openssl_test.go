package localca

import (
	"context"
	"crypto/x509"
	"encoding/pem"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/outside"
)

// openssl runs the independent verifier, or skips the test where there is none.
func openssl(t *testing.T, args ...string) (string, error) {
	t.Helper()
	program := outside.Program(t, "openssl", "openssl")
	ctx, cancel := context.WithTimeout(context.Background(), 15*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, program, args...).CombinedOutput()
	return string(out), err
}

// writePEM writes a certificate as a file for the independent verifier.
func writePEM(t *testing.T, c *x509.Certificate) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "c.pem")
	if err := os.WriteFile(name, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.Raw}), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestOpenSSLVerify has an independent verifier judge by RFC 5280 section 6.1, in its strict mode.
func TestOpenSSLVerify(t *testing.T) {
	c := &clock{t: time.Now()} // the verifier has no other clock
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	leaf, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	root, issuer := writePEM(t, a.root), writePEM(t, a.issuer.cert)
	verify := func(c *x509.Certificate, more ...string) (string, error) {
		args := append([]string{"verify", "-x509_strict", "-no-CApath", "-no-CAstore", "-check_ss_sig", "-purpose", "sslserver", "-CAfile", root, "-untrusted", issuer}, more...)
		return openssl(t, append(args, writePEM(t, c))...)
	}
	for _, good := range [][]string{{"-verify_hostname", "bench-7.local"}, {"-verify_ip", "192.168.4.20"}, {"-verify_ip", "::1"}, {"-verify_hostname", "localhost"}} {
		if out, err := verify(leaf, good...); err != nil {
			t.Errorf("%v: %v\n%s", good, err, out)
		}
	}
	if out, err := verify(leaf, "-verify_hostname", "other.local"); err == nil {
		t.Errorf("another name is accepted: %s", out)
	}
	for _, name := range []string{"example.com", "notlocal", "192.0.2.2", "2001:db8::1", "172.32.0.1", "fe00::1", "11.0.0.1"} { // RFC 5280 section 4.2.1.10
		out, err := verify(leafFor(t, a.issuer, name, nil))
		if err == nil || !strings.Contains(out, "permitted subtree violation") {
			t.Errorf("%s made with a stolen key: %v\n%s", name, err, out)
		}
	}
	mail := leafFor(t, a.issuer, "pump.local", func(c *x509.Certificate) { c.EmailAddresses = []string{"someone@example.com"} })
	if out, err := verify(mail); err == nil || !strings.Contains(out, "permitted subtree violation") {
		t.Errorf("a mail address made with a stolen key: %v\n%s", err, out)
	}
	client := leafFor(t, a.issuer, "pump.local", func(c *x509.Certificate) { c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth} })
	if out, err := openssl(t, "verify", "-purpose", "sslclient", "-CAfile", root, "-untrusted", issuer, writePEM(t, client)); err == nil {
		t.Errorf("RFC 5280 section 4.2.1.12: the root vouches for a client: %s", out)
	}
}

// TestOpenSSLText has an independent reader print what was made.
func TestOpenSSLText(t *testing.T) {
	a := open(t, filepath.Join(t.TempDir(), "tls"), newClock())
	leaf, err := ask(a, "localhost", "127.0.0.1:443")
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []struct {
		c    *x509.Certificate
		want []string
	}{
		{a.root, []string{
			`Version: 3`, `Not Before: Mar  3 10:00:00 2031 GMT`, `Not After : Mar  3 09:59:59 2041 GMT`, `ASN1 OID: prime256v1`,
			`X509v3 Key Usage: critical\s+Certificate Sign\n`, `X509v3 Extended Key Usage: *\s+TLS Web Server Authentication\n`,
			`X509v3 Basic Constraints: critical\s+CA:TRUE, pathlen:1\n`, `X509v3 Name Constraints: critical\s+Permitted:`,
			`DNS:local\n`, `DNS:home.arpa\n`, `IP:10.0.0.0/255.0.0.0\n`, `IP:172.16.0.0/255.240.0.0\n`, `IP:192.168.0.0/255.255.0.0\n`,
			`IP:FC00:0:0:0:0:0:0:0/FE00:0:0:0:0:0:0:0\n`, `IP:FE80:0:0:0:0:0:0:0/FFC0:0:0:0:0:0:0:0\n`,
		}},
		{a.issuer.cert, []string{
			`X509v3 Basic Constraints: critical\s+CA:TRUE, pathlen:0\n`, `X509v3 Name Constraints: critical\s+Permitted:\s+DNS:local\n`,
		}},
		{leaf, []string{
			`Not Before: Mar  3 10:00:00 2031 GMT`, `Not After : Apr  3 09:59:59 2032 GMT`, `CA:FALSE`,
			`X509v3 Key Usage: critical\s+Digital Signature\n`, `DNS:bench-7.local`, `IP Address:192.168.4.20`, `IP Address:127.0.0.1`,
		}},
	} {
		out, err := openssl(t, "x509", "-noout", "-text", "-in", writePEM(t, at.c))
		if err != nil {
			t.Fatal(err, out)
		}
		for _, w := range at.want {
			if !regexp.MustCompile(w).MatchString(out) {
				t.Errorf("no %q in\n%s", w, out)
			}
		}
	}
	out, err := openssl(t, "x509", "-noout", "-fingerprint", "-sha256", "-in", writePEM(t, a.root))
	if want := strings.ReplaceAll(a.Fingerprint(), " ", ""); err != nil || !strings.Contains(strings.ReplaceAll(out, ":", ""), want) {
		t.Errorf("fingerprint %s, want %s", out, want)
	}
}

// TestOpenSSLClient makes a handshake with an independent client.
func TestOpenSSLClient(t *testing.T) {
	c := &clock{t: time.Now()}
	a := open(t, filepath.Join(t.TempDir(), "tls"), c)
	address := serve(t, a.Config(nil), "127.0.0.1:0")
	root := writePEM(t, a.root)
	client := func(args ...string) (string, error) {
		return openssl(t, append([]string{"s_client", "-connect", address, "-CAfile", root, "-no-CApath", "-no-CAstore", "-verify_return_error", "-brief"}, args...)...)
	}
	for _, good := range [][]string{
		{"-noservername", "-verify_ip", "127.0.0.1"},
		{"-servername", "bench-7.local", "-verify_hostname", "bench-7.local", "-tls1_3"},
		{"-servername", "localhost", "-verify_hostname", "localhost", "-tls1_2"},
	} {
		if out, err := client(good...); err != nil || !strings.Contains(out, "Verification: OK") {
			t.Errorf("%v: %v\n%s", good, err, out)
		}
	}
	for _, bad := range [][]string{
		{"-servername", "example.com"},
		{"-servername", "localhost", "-tls1_1", "-cipher", "DEFAULT@SECLEVEL=0"}, // RFC 9325 section 3.1.1
		{"-servername", "localhost", "-tls1_2", "-cipher", "ECDHE-ECDSA-AES128-SHA"},
	} {
		if out, err := client(bad...); err == nil {
			t.Errorf("%v is accepted:\n%s", bad, out)
		}
	}
}
