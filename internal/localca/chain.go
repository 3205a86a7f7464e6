package localca

import (
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"time"
)

// chain is what the authority consists of: the root that tablets trust, and the issuer that it vouches for, with the issuer's
// key. The root's own key is used once, to sign the issuer, and never kept.
//
// The reason: RFC 5280 section 6.1 leaves it to the verifier whether it heeds the constraints of a root, and one of those tried
// does not; those of an issuer below the root it must heed. With no root key left, nothing can be signed but under the issuer.
type chain struct {
	root   *x509.Certificate
	issuer *pair
}

// newChain makes the authority of a machine called host.
func newChain(host string, now time.Time) (*chain, error) {
	rootKey, err := newKey()
	if err != nil {
		return nil, err
	}
	spki, err := x509.MarshalPKIXPublicKey(rootKey.Public())
	if err != nil {
		return nil, err
	}
	id := sha256.Sum256(spki)
	name := "evenstroke workshop " + hex.EncodeToString(id[:3])
	root, err := sign(authorityTemplate(name, host, 1, now), nil, rootKey)
	if err != nil {
		return nil, err
	}
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	issuer, err := sign(authorityTemplate(name+" issuer", host, 0, now), root, key)
	if err != nil {
		return nil, err
	}
	return &chain{root.cert, issuer}, nil
}

// authorityTemplate describes the certificate of an authority with below further authorities under it: RFC 5280 sections
// 4.2.1.3 (key usage), 4.2.1.9 (path length), 4.2.1.10 (name constraints) and 4.2.1.12 (extended key usage).
func authorityTemplate(name, host string, below int, now time.Time) *x509.Certificate {
	domains := append([]string{}, suffixes[:]...)
	if h := clean(host); ownable(h) {
		domains = append(domains, h)
	}
	start := now.UTC().Truncate(time.Second).Add(-backdate)
	return &x509.Certificate{
		Subject:                     pkix.Name{CommonName: name},
		NotBefore:                   start,
		NotAfter:                    start.AddDate(authorityLife, 0, 0).Add(-time.Second),
		KeyUsage:                    x509.KeyUsageCertSign,
		ExtKeyUsage:                 []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid:       true,
		IsCA:                        true,
		MaxPathLen:                  below,
		MaxPathLenZero:              below == 0,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         domains,
		PermittedIPRanges:           rangeNets(),
		// No mail address or URI is vouched for: ".invalid" holds none (RFC 2606 section 2).
		PermittedEmailAddresses: []string{".invalid"},
		PermittedURIDomains:     []string{".invalid"},
	}
}

func rangeNets() []*net.IPNet {
	var out []*net.IPNet
	for _, s := range ranges {
		p := netip.MustParsePrefix(s)
		out = append(out, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return out
}

// encode writes the chain as PEM: the issuer's key, the issuer, the root.
func (c *chain) encode() ([]byte, error) {
	data, err := c.issuer.encode()
	if err != nil {
		return nil, err
	}
	return append(data, certPEM(c.root)...), nil
}

// decodeChain reads an authority and checks that it is one of ours, whole and as constrained as we make them.
func decodeChain(data []byte) (*chain, error) {
	issuer, rest, err := decode(data)
	if err != nil {
		return nil, err
	}
	root, rest, err := decodeCert(rest)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(atEnd(rest), constrained(root, 1), constrained(issuer.cert, 0)); err != nil {
		return nil, err
	}
	if err := errors.Join(root.CheckSignatureFrom(root), issuer.cert.CheckSignatureFrom(root)); err != nil {
		return nil, fmt.Errorf("a certificate is damaged: %w", err)
	}
	return &chain{root, issuer}, nil
}

// constrained refuses the certificate of an authority that is wider than ours.
func constrained(c *x509.Certificate, below int) error {
	switch {
	case !c.BasicConstraintsValid || !c.IsCA || c.MaxPathLen != below || c.KeyUsage != x509.KeyUsageCertSign:
		return fmt.Errorf("the certificate %q is not that of an authority with path length %d", c.Subject.CommonName, below)
	case !c.PermittedDNSDomainsCritical || len(c.PermittedDNSDomains) == 0 || len(c.PermittedIPRanges) == 0:
		return fmt.Errorf("the certificate %q is not limited to the workshop's network", c.Subject.CommonName)
	}
	return nil
}

// pools gives what a tablet knows: the root, and the issuer that the server sends along.
func (c *chain) pools() (roots, between *x509.CertPool) {
	roots, between = x509.NewCertPool(), x509.NewCertPool()
	roots.AddCert(c.root)
	between.AddCert(c.issuer.cert)
	return roots, between
}
