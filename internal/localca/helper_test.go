package localca

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/netip"
	"sync"
	"testing"
	"time"
)

// clock is a clock that tests set.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func newClock() *clock { return &clock{t: time.Date(2031, 3, 4, 10, 0, 0, 0, time.UTC)} }

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

const day = 24 * time.Hour

// open opens an authority in dir for a machine called bench-7 with a private and a public address.
func open(t testing.TB, dir string, c *clock) *Authority {
	t.Helper()
	a, err := Open(dir, c.now)
	if err != nil {
		t.Fatal(err)
	}
	a.hostname = func() (string, error) { return "bench-7", nil }
	a.addresses = func() ([]netip.Addr, error) {
		return []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("192.168.4.20"), netip.MustParseAddr("192.0.2.2"), netip.MustParseAddr("fe80::1%eth0")}, nil
	}
	return a
}

// chainFor makes an authority for a machine called host.
func chainFor(t testing.TB, host string, now time.Time) *chain {
	t.Helper()
	c, err := newChain(host, now)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func pool(c *x509.Certificate) *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(c)
	return p
}

// serve answers every TLS connection on address with one byte, and gives the address.
func serve(t testing.TB, config *tls.Config, address string) string {
	t.Helper()
	l, err := tls.Listen("tcp", address, config)
	if err != nil {
		t.Skipf("no listener on %s: %v", address, err)
	}
	var running sync.WaitGroup
	t.Cleanup(func() { l.Close(); running.Wait() })
	running.Go(func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			running.Go(func() {
				defer conn.Close()
				conn.SetDeadline(time.Now().Add(5 * time.Second))
				conn.Write([]byte("!")) // a refused handshake fails here; the client sees it
			})
		}
	})
	return l.Addr().String()
}

// dial makes a whole handshake as a tablet does, trusting only root, and gives what the server showed.
func dial(address, name string, root *x509.Certificate, now func() time.Time) (tls.ConnectionState, error) {
	return dialConfig(address, &tls.Config{ServerName: name, RootCAs: pool(root), Time: now})
}

func dialConfig(address string, config *tls.Config) (tls.ConnectionState, error) {
	d := &net.Dialer{Timeout: 5 * time.Second}
	conn, err := tls.DialWithDialer(d, "tcp", address, config)
	if err != nil {
		return tls.ConnectionState{}, err
	}
	defer conn.Close()
	conn.SetDeadline(time.Now().Add(5 * time.Second))
	if _, err := io.ReadFull(conn, make([]byte, 1)); err != nil {
		return tls.ConnectionState{}, err
	}
	return conn.ConnectionState(), nil
}
