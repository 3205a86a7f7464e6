package localca

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
)

// pair is a certificate and its key, kept in one file so that neither can be there without the other.
type pair struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

const (
	certBlock = "CERTIFICATE" // RFC 7468 section 5
	keyBlock  = "PRIVATE KEY" // RFC 7468 section 10
)

// sign has the certificate described by template for key signed: by issuer, or by key itself if issuer is nil.
func sign(template *x509.Certificate, issuer *pair, key *ecdsa.PrivateKey) (*pair, error) {
	parent, signer := template, key
	if issuer != nil {
		parent, signer = issuer.cert, issuer.key
	}
	der, err := x509.CreateCertificate(rand.Reader, template, parent, key.Public(), signer)
	if err != nil {
		return nil, err
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return &pair{cert, key}, nil
}

func newKey() (*ecdsa.PrivateKey, error) { return ecdsa.GenerateKey(elliptic.P256(), rand.Reader) }

// encode writes the pair as PEM, key first.
func (p *pair) encode() ([]byte, error) {
	der, err := x509.MarshalPKCS8PrivateKey(p.key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: der}), certPEM(p.cert)...), nil
}

func certPEM(c *x509.Certificate) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: certBlock, Bytes: c.Raw})
}

// decode reads what encode wrote: a key and a certificate that belong together. It gives what follows them.
func decode(data []byte) (p *pair, rest []byte, err error) {
	der, rest, err := nextBlock(data, keyBlock)
	if err != nil {
		return nil, nil, err
	}
	parsed, err := x509.ParsePKCS8PrivateKey(der)
	if err != nil {
		return nil, nil, err
	}
	key, ok := parsed.(*ecdsa.PrivateKey)
	if !ok || key.Curve != elliptic.P256() {
		return nil, nil, errors.New("found another kind of key, expected ECDSA P-256")
	}
	cert, rest, err := decodeCert(rest)
	if err != nil {
		return nil, nil, err
	}
	if !key.PublicKey.Equal(cert.PublicKey) {
		return nil, nil, errors.New("the key does not belong to the certificate")
	}
	return &pair{cert, key}, rest, nil
}

func decodeCert(data []byte) (c *x509.Certificate, rest []byte, err error) {
	der, rest, err := nextBlock(data, certBlock)
	if err != nil {
		return nil, nil, err
	}
	c, err = x509.ParseCertificate(der)
	return c, rest, err
}

// atEnd refuses what follows the last block.
func atEnd(rest []byte) error {
	if n := len(bytes.TrimSpace(rest)); n > 0 {
		return fmt.Errorf("found %d bytes after the last certificate, expected none", n)
	}
	return nil
}

// nextBlock reads one PEM block, which must start at once.
func nextBlock(data []byte, kind string) (der, rest []byte, err error) {
	data = bytes.TrimSpace(data)
	if len(data) == 0 {
		return nil, nil, fmt.Errorf("the file ends where the block %q is expected", kind)
	}
	if !bytes.HasPrefix(data, []byte("-----BEGIN "+kind+"-----")) {
		return nil, nil, fmt.Errorf("expected the block %q", kind)
	}
	b, rest := pem.Decode(data)
	if b == nil || b.Type != kind || len(b.Headers) > 0 {
		return nil, nil, fmt.Errorf("the block %q is damaged or cut short", kind)
	}
	return b.Bytes, rest, nil
}
