package localca

import (
	"crypto/tls"
	"errors"
	"io/fs"
	"os"
	"sync"
	"time"
)

// Files is a certificate given as files, for a workshop that has one of its own. It may be used by several goroutines at once.
type Files struct {
	certFile, keyFile string
	now               func() time.Time

	mu     sync.Mutex
	cert   *tls.Certificate
	stamps [2]fileStamp // of the files that cert was read from
	polled time.Time
	err    error // why changed files were not taken
}

type fileStamp struct {
	changed time.Time
	size    int64
}

// FromFiles reads a certificate chain (the server's own certificate first) and its key, both PEM. It refuses, with a
// *FileError or a *ClockError, what clients would refuse: a key that does not match, no name, a certificate that has expired or
// does not hold yet.
func FromFiles(certFile, keyFile string, now func() time.Time) (*Files, error) {
	f := &Files{certFile: certFile, keyFile: keyFile, now: now}
	if err := f.load(); err != nil {
		return nil, err
	}
	f.polled = now()
	return f, nil
}

// Config gives the TLS side of a server, as Authority.Config does. The files are looked at during handshakes, at most once a
// minute, and read again when they have changed; a changed pair that cannot be used, such as one that is half copied, is
// tried again after a minute, the former stays in use meanwhile, and Trouble says why.
func (f *Files) Config() *tls.Config {
	return baseConfig(f.now, func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.poll()
		return f.cert, nil
	})
}

// Trouble gives what wants mending, or nil: changed files that cannot be used, or a *ClockError once the certificate in use
// has expired. An expired certificate is still served, since the client's clock decides and its message says what is wrong.
func (f *Files) Trouble() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	return errors.Join(f.err, f.clock(f.cert))
}

// poll reads changed files, unless they were looked at less than a minute ago.
func (f *Files) poll() {
	now := f.now()
	if age := now.Sub(f.polled); age >= 0 && age < pollEvery {
		return
	}
	f.polled = now
	stamps, err := f.look()
	if err != nil || stamps != f.stamps {
		err = f.load()
	}
	f.err = err
}

// look gives the state of both files.
func (f *Files) look() (stamps [2]fileStamp, err error) {
	for i, name := range []string{f.certFile, f.keyFile} {
		info, err := os.Stat(name)
		if err != nil {
			return stamps, unreadable(name, err)
		}
		stamps[i] = fileStamp{info.ModTime(), info.Size()}
	}
	return stamps, nil
}

// load reads both files; the certificate in use changes only when all is well.
func (f *Files) load() error {
	stamps, err := f.look() // before reading: a change during it is seen the next time
	if err != nil {
		return err
	}
	certPEM, err := os.ReadFile(f.certFile)
	if err != nil {
		return unreadable(f.certFile, err)
	}
	keyPEM, err := os.ReadFile(f.keyFile)
	if err != nil {
		return unreadable(f.keyFile, err)
	}
	cert, err := f.parse(certPEM, keyPEM)
	if err != nil {
		return err
	}
	f.cert, f.stamps = cert, stamps
	return nil
}

// parse reads a chain and its key and checks what a client would.
func (f *Files) parse(certPEM, keyPEM []byte) (*tls.Certificate, error) {
	cert, err := tls.X509KeyPair(certPEM, keyPEM)
	if err != nil {
		return nil, &FileError{File: f.certFile, Found: "it does not make a pair with the key file " + f.keyFile, Err: err,
			Mend: "give a PEM certificate, the server's own first, and the unencrypted PEM key that it was made for"}
	}
	if len(cert.Leaf.DNSNames)+len(cert.Leaf.IPAddresses) == 0 {
		return nil, &FileError{File: f.certFile, Found: "the certificate has no subject alternative name, which every browser expects (RFC 9110 section 4.3.4)",
			Mend: "have it issued with the names and addresses by which the tablets reach this machine"}
	}
	return &cert, f.clock(&cert)
}

func (f *Files) clock(c *tls.Certificate) error {
	return holds(f.certFile, c.Leaf.NotBefore, c.Leaf.NotAfter, f.now(), "have the certificate renewed")
}

func unreadable(name string, err error) error {
	mend := "let the user that runs the program read it"
	if errors.Is(err, fs.ErrNotExist) {
		mend = "check the path"
	}
	return &FileError{File: name, Found: "it cannot be read", Err: err, Mend: mend}
}
