package localca

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

const (
	authorityFile = "authority.pem" // the root, its issuer and the issuer's key: the one file that must never be lost
	serverFile    = "server.pem"    // the present server certificate and its key: may be lost
)

// Authority is the workshop's own certificate authority. It may be used by several goroutines at once.
type Authority struct {
	dir string
	*chain
	now       func() time.Time
	hostname  func() (string, error)
	addresses func() ([]netip.Addr, error)

	mu      sync.Mutex
	hosts   []func() []string // further names, one function for each Config
	leaf    *pair             // nil until the first handshake or when none was kept
	names   []string          // the names and addresses that the server answers to
	looked  time.Time         // when names was gathered
	skipped []error           // names that cannot be in a certificate
	lookErr error             // names or addresses that could not be found out
	saveErr error             // leaf not kept on disk
}

// Open loads the authority kept in dir, or makes it on the first start: 10 years, ECDSA P-256. The directory is made with mode
// 0700, its files with mode 0600. A damaged file gives a *FileError that says how to mend it and is never replaced by a new
// authority, which would lock out every tablet; a clock outside the authority's years gives a *ClockError. The authority.pem in
// dir belongs in the backup.
func Open(dir string, now func() time.Time) (*Authority, error) {
	if err := openDir(dir); err != nil {
		return nil, err
	}
	a := at(dir, now)
	var err error
	a.chain, err = a.loadChain()
	if errors.Is(err, fs.ErrNotExist) {
		a.chain, err = a.createChain()
	}
	if err != nil {
		return nil, err
	}
	if err := a.checkClock(); err != nil {
		return nil, err
	}
	if a.leaf, err = a.loadLeaf(); err != nil {
		return nil, err
	}
	return a, nil
}

func at(dir string, now func() time.Time) *Authority {
	return &Authority{dir: dir, now: now, hostname: os.Hostname, addresses: ownAddresses}
}

func (a *Authority) path(file string) string { return filepath.Join(a.dir, file) }

// loadChain reads the authority; fs.ErrNotExist means that there has never been one.
func (a *Authority) loadChain() (*chain, error) {
	name := a.path(authorityFile)
	data, err := readSecret(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var c *chain
	if err == nil {
		c, err = decodeChain(data)
	}
	var known *FileError
	if err == nil || errors.As(err, &known) {
		return c, err
	}
	return nil, &FileError{File: name, Found: "the workshop's authority cannot be read", Err: err, Mend: "put the file back from the backup; " + startAnew}
}

const startAnew = "if there is none, move " + authorityFile + " and " + serverFile + " away and start again: a new authority is made, and its root must then be installed on each tablet"

// createChain makes the authority and keeps it. If another process was quicker, its authority is taken.
func (a *Authority) createChain() (*chain, error) {
	if _, err := os.Lstat(a.path(serverFile)); err == nil {
		return nil, &FileError{File: a.path(authorityFile), Found: "the workshop's authority is missing, though it has issued " + serverFile, Mend: "put the file back from the backup; " + startAnew}
	}
	host, err := a.hostname()
	if err != nil {
		return nil, fmt.Errorf("the machine's host name cannot be found out: %w", err)
	}
	c, err := newChain(host, a.now())
	if err != nil {
		return nil, err
	}
	data, err := c.encode()
	if err != nil {
		return nil, err
	}
	err = createSecret(a.path(authorityFile), data)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("the workshop's authority cannot be kept: %w", err)
	}
	return a.loadChain()
}

// checkClock returns a *ClockError unless the authority holds now.
func (a *Authority) checkClock() error {
	c := a.root
	mend := "its ten years are over: run `evenstroke authority replace` and start again, then install the new root on each tablet"
	if a.now().Before(c.NotBefore) {
		mend = "the authority was made while it was wrong: run `evenstroke authority replace` and start again, then install the new root on each tablet"
	}
	return holds(a.path(authorityFile), c.NotBefore, c.NotAfter, a.now(), mend)
}

// Root gives the root certificate as DER, the content of a .cer file. It holds no secret.
func (a *Authority) Root() []byte { return append([]byte{}, a.root.Raw...) }

// RootPEM gives the root certificate as PEM (RFC 7468). It holds no secret.
func (a *Authority) RootPEM() []byte {
	return certPEM(a.root)
}

// Name gives the common name under which a tablet lists the root.
func (a *Authority) Name() string { return a.root.Subject.CommonName }

// Until gives the last moment at which the root holds.
func (a *Authority) Until() time.Time { return a.root.NotAfter }

// Fingerprint gives the SHA-256 of the root's DER as 16 groups of 4 hexadecimal digits, for reading aloud and comparing with
// what the tablet shows before the root is trusted.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.root.Raw)
	digits := strings.ToUpper(hex.EncodeToString(sum[:]))
	groups := []string{}
	for i := 0; i < len(digits); i += 4 {
		groups = append(groups, digits[i:i+4])
	}
	return strings.Join(groups, " ")
}

// Trouble gives what does not stop the server but wants mending, or nil: a certificate that could not be kept on disk, names
// that could not be found out or cannot be in a certificate, and from 90 days before it the authority's end.
func (a *Authority) Trouble() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	errs := append([]error{a.saveErr, a.lookErr}, a.skipped...)
	if left := a.Until().Sub(a.now()); left < warnDays*24*time.Hour {
		errs = append(errs, fmt.Errorf("the workshop's authority ends on %s: run `evenstroke authority replace` in good time, start again and install the new root on each tablet", stamp(a.Until())))
	}
	return errors.Join(errs...)
}
