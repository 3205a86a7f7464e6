package localca

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// Config gives the TLS side of a server (http.Server.ServeTLS with empty file names). Its certificate holds localhost, the
// machine's private addresses and its names (host name under .local, .lan, .home.arpa and .internal, and by itself if the root permits it), and what
// hosts gives besides: names or addresses such as that of the host of a container; hosts may be nil, is called now and then
// during handshakes, and must not use the Authority. The certificate lives 397 days, is renewed after two thirds of that or when a
// name is added, and kept in server.pem. A client that asks for another name or reaches the server on an address that is not
// private is refused with a *NameError. TLS 1.3, or 1.2 with forward secrecy and authenticated encryption (RFC 9325 sections
// 3.1.1 and 4.2).
func (a *Authority) Config(hosts func() []string) *tls.Config {
	if hosts != nil {
		a.mu.Lock()
		a.hosts = append(a.hosts, hosts)
		a.looked = time.Time{}
		a.mu.Unlock()
	}
	return baseConfig(a.now, a.certificate)
}

// baseConfig gives the settings that every server has.
func baseConfig(now func() time.Time, get func(*tls.ClientHelloInfo) (*tls.Certificate, error)) *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		CipherSuites: []uint16{ // of TLS 1.2; those of 1.3 are all sound and not configurable
			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256, tls.TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256,
			tls.TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384, tls.TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384,
			tls.TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256, tls.TLS_ECDHE_RSA_WITH_CHACHA20_POLY1305_SHA256,
		},
		Time:           now,
		GetCertificate: get,
	}
}

// certificate answers one handshake.
func (a *Authority) certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	asked, err := askedName(hello)
	if err != nil {
		return nil, err
	}
	if err := permits(a.issuer.cert, asked); err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if err := a.checkClock(); err != nil {
		return nil, err
	}
	a.look()
	if !slices.Contains(a.names, asked) {
		return nil, &NameError{asked, "this machine answers only to " + strings.Join(a.names, ", ")}
	}
	if err := a.renew(); err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{a.leaf.cert.Raw, a.issuer.cert.Raw}, PrivateKey: a.leaf.key, Leaf: a.leaf.cert}, nil
}

// askedName gives the name that the client wants: the one it sent (RFC 6066 section 3), or, as no client sends an address, the
// address on which it reached the server.
func askedName(hello *tls.ClientHelloInfo) (string, error) {
	if hello.ServerName != "" {
		return clean(hello.ServerName), nil
	}
	local, err := netip.ParseAddrPort(hello.Conn.LocalAddr().String())
	if err != nil {
		return "", &NameError{hello.Conn.LocalAddr().String(), "the client named no server and the address it reached is not one of a network"}
	}
	return local.Addr().Unmap().WithZone("").String(), nil
}

// look gathers the names and addresses anew unless that was done a moment ago.
func (a *Authority) look() {
	now := a.now()
	if age := now.Sub(a.looked); !a.looked.IsZero() && age >= 0 && age < lookEvery {
		return
	}
	a.looked = now
	names, err := a.ownNames()
	a.lookErr = err
	a.skipped = nil
	for _, hosts := range a.hosts {
		for _, h := range hosts() {
			h = canonical(h)
			if err := permits(a.issuer.cert, h); err != nil {
				a.skipped = append(a.skipped, err)
				continue
			}
			names = append(names, h)
		}
	}
	slices.Sort(names)
	a.names = slices.Compact(names)
}

// ownNames gives localhost and the machine's own names and private addresses, as far as the authority may vouch for them.
func (a *Authority) ownNames() ([]string, error) {
	names := []string{"localhost", "127.0.0.1", "::1"}
	host, hostErr := a.hostname()
	if hostErr != nil {
		hostErr = fmt.Errorf("the machine's host name cannot be found out: %w", hostErr)
	}
	all := machineNames(host)
	addrs, addrErr := a.addresses()
	for _, ip := range addrs {
		all = append(all, ip.Unmap().WithZone("").String())
	}
	for _, n := range all {
		if permits(a.issuer.cert, n) == nil {
			names = append(names, n)
		}
	}
	return names, errors.Join(hostErr, addrErr)
}

// canonical brings a given name or address to the form in which it is compared.
func canonical(h string) string {
	if ip, err := netip.ParseAddr(strings.Trim(strings.TrimSpace(h), "[]")); err == nil {
		return ip.Unmap().WithZone("").String()
	}
	return clean(h)
}

// renew makes a new server certificate when there is none, when it is due or when it lacks a name. One that cannot be kept
// on disk is used all the same, and Trouble says so.
func (a *Authority) renew() error {
	if a.leaf != nil && !a.due(a.leaf.cert, a.now()) && a.coversAll(a.leaf.cert) {
		return nil
	}
	leaf, err := a.issue(a.names)
	if err != nil {
		return err
	}
	a.leaf, a.saveErr = leaf, nil
	data, err := leaf.encode()
	if err == nil {
		err = replaceSecret(a.path(serverFile), data)
	}
	if err != nil {
		a.saveErr = fmt.Errorf("the server certificate cannot be kept, and is made anew at the next start: %w", err)
	}
	return nil
}

func (a *Authority) coversAll(c *x509.Certificate) bool {
	return !slices.ContainsFunc(a.names, func(n string) bool { return !covers(c, n) })
}
