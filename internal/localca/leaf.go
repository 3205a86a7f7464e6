package localca

import (
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// loadLeaf reads the kept server certificate; nil if there is none or another authority issued it.
func (a *Authority) loadLeaf() (*pair, error) {
	name := a.path(serverFile)
	data, err := readSecret(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var p *pair
	if err == nil {
		p, err = decodeLeaf(data)
	}
	var known *FileError
	switch {
	case errors.As(err, &known):
		return nil, err
	case err != nil:
		return nil, &FileError{File: name, Found: "the server certificate cannot be read", Err: err, Mend: "delete this file and start again: a new one is made, and the tablets notice nothing"}
	case p.cert.CheckSignatureFrom(a.issuer.cert) != nil:
		return nil, nil
	}
	return p, nil
}

func decodeLeaf(data []byte) (*pair, error) {
	p, rest, err := decode(data)
	if err != nil {
		return nil, err
	}
	return p, atEnd(rest)
}

// issue makes a server certificate for the names and addresses (RFC 5280 section 4.2.1.6).
func (a *Authority) issue(names []string) (*pair, error) {
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	start := a.now().UTC().Truncate(time.Second).Add(-backdate)
	end := start.AddDate(0, 0, leafDays).Add(-time.Second) // both ends count, RFC 5280 section 4.1.2.5
	if end.After(a.Until()) {
		end = a.Until()
	}
	if start.Before(a.issuer.cert.NotBefore) {
		start = a.issuer.cert.NotBefore
	}
	template := &x509.Certificate{
		NotBefore:             start,
		NotAfter:              end,
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, n := range names {
		if ip, err := netip.ParseAddr(n); err == nil {
			template.IPAddresses = append(template.IPAddresses, net.IP(ip.AsSlice()))
		} else {
			template.DNSNames = append(template.DNSNames, n)
		}
	}
	template.Subject = pkix.Name{CommonName: commonName(template.DNSNames)}
	p, err := sign(template, a.issuer, key)
	if err != nil {
		return nil, err
	}
	return p, a.verify(p.cert)
}

// commonName gives a name to show in lists: one that the certificate holds, at most 64 characters (RFC 5280 appendix A.1).
func commonName(names []string) string {
	if i := slices.IndexFunc(names, func(n string) bool { return strings.HasSuffix(n, ".local") && len(n) <= 64 }); i >= 0 {
		return names[i]
	}
	return "localhost"
}

// verify checks a certificate as a tablet would, before any tablet sees it.
func (a *Authority) verify(c *x509.Certificate) error {
	roots, between := a.pools()
	_, err := c.Verify(x509.VerifyOptions{Roots: roots, Intermediates: between, CurrentTime: a.now()})
	if err != nil {
		return fmt.Errorf("the new server certificate fails its own check: %w", err)
	}
	return nil
}

// due says whether the certificate must be replaced: two thirds of its life are over, or it does not hold yet, since the
// clock was set back. One that ends with the authority is kept to the end.
func (a *Authority) due(c *x509.Certificate, now time.Time) bool {
	if now.Before(c.NotBefore) || now.After(c.NotAfter) {
		return true
	}
	life := c.NotAfter.Sub(c.NotBefore)
	return !now.Before(c.NotBefore.Add(life/3*2)) && c.NotAfter.Before(a.Until())
}

// covers says whether the certificate holds the name or address.
func covers(c *x509.Certificate, name string) bool {
	if ip := net.ParseIP(name); ip != nil {
		return slices.ContainsFunc(c.IPAddresses, ip.Equal)
	}
	return slices.Contains(c.DNSNames, name)
}
