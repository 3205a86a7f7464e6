package serve

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/localca"
)

// log is a writer that can be read while it is written.
type log struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// running is a server that runs until the test ends.
type running struct {
	out, log log
	stop     context.CancelFunc
	done     chan error
	ended    bool
}

func start(t *testing.T, cfg Config) *running {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r := &running{stop: stop, done: make(chan error, 1)}
	go func() { r.done <- Run(ctx, cfg, "test", &r.out, &r.log) }()
	t.Cleanup(func() { r.end(t) })
	return r
}

func (r *running) end(t *testing.T) {
	t.Helper()
	if r.ended {
		return
	}
	r.ended = true
	r.stop()
	select {
	case err := <-r.done:
		if err != nil {
			t.Errorf("the server ended with %v", err)
		}
	case <-time.After(20 * time.Second):
		t.Error("the server did not end within 20 s")
	}
}

// wait reads what the server tells the terminal until a line begins with a text, and gives the rest of that line.
func (r *running) wait(t *testing.T, begin string) string {
	t.Helper()
	for range 600 {
		for _, line := range strings.Split(r.out.String(), "\n") {
			if rest, ok := strings.CutPrefix(line, begin); ok {
				return rest
			}
		}
		select {
		case err := <-r.done:
			r.ended = true
			t.Fatalf("the server ended: %v\n%s", err, r.log.String())
		case <-time.After(50 * time.Millisecond):
		}
	}
	t.Fatalf("the server never said %q:\n%s\n%s", begin, r.out.String(), r.log.String())
	return ""
}

func config(t *testing.T) Config {
	cfg := Default()
	cfg.Data, cfg.Listen, cfg.LAN, cfg.Trust = t.TempDir(), "127.0.0.1:0", "127.0.0.1:0", "none"
	return cfg
}

func get(t *testing.T, c *http.Client, url string) (int, string) {
	t.Helper()
	resp, err := c.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

// Before somebody can sign in, the shop answers on the machine itself only.
func TestNobodyElseBeforeSetUp(t *testing.T) {
	r := start(t, config(t))
	url := r.wait(t, "On this machine: ")
	if code, body := get(t, http.DefaultClient, url+"/"); code != http.StatusOK || !strings.Contains(body, "set-up") {
		t.Errorf("%d %.300s", code, body)
	}
	time.Sleep(1500 * time.Millisecond)
	if strings.Contains(r.out.String(), "network") {
		t.Errorf("it listens on the network before it is set up: %s", r.out.String())
	}
}

// A tablet that trusts the workshop's root reaches it by HTTPS; one that does not is warned.
func TestNetworkByHTTPS(t *testing.T) {
	cfg := config(t)
	cfg.Demo = true
	r := start(t, cfg)
	here := "http://" + strings.SplitN(strings.TrimPrefix(r.wait(t, "The demo workshop (all invented): "), "http://"), "/", 2)[0]
	lan := r.wait(t, "On the workshop's network: ")
	if _, err := http.Get(lan + "/"); err == nil {
		t.Error("a client that does not trust the root was answered")
	}
	ca, err := localca.Open(filepath.Join(cfg.Data, "authority"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(ca.RootPEM())
	c := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
	if code, body := get(t, c, lan+"/trust"); code != http.StatusOK || !strings.Contains(body, ca.Fingerprint()[:9]) {
		t.Errorf("%d: the page of trust does not show the fingerprint", code)
	}
	if code, _ := get(t, c, lan+"/metrics"); code == http.StatusOK {
		t.Error("the metrics are answered to the network")
	}
	if code, body := get(t, http.DefaultClient, here+"/metrics"); code != http.StatusOK || !strings.Contains(body, "evenstroke_answers_total") {
		t.Errorf("metrics on the machine itself: %d", code)
	}
	if code, body := get(t, http.DefaultClient, here+"/healthz"); code != http.StatusOK || !strings.Contains(body, `"ok"`) {
		t.Errorf("health: %d %s", code, body)
	}
	if strings.Contains(r.log.String(), DemoPIN) {
		t.Error("a PIN stands in the log")
	}
	if !strings.Contains(r.log.String(), "TLS handshake error from 127.0.0.1") {
		t.Error("a handshake that failed is not in the log")
	}
}

// Streams of events close when the server ends, and it ends in time.
func TestItEndsWithStreamsOpen(t *testing.T) {
	r := start(t, config(t))
	url := r.wait(t, "On this machine: ")
	conn, err := net.Dial("tcp", strings.TrimPrefix(url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	begin := time.Now()
	r.end(t)
	if d := time.Since(begin); d > 15*time.Second {
		t.Errorf("it took %s to end", d)
	}
}

func TestConfigIsReadStrictly(t *testing.T) {
	read := func(text string) (Config, error) { return ReadConfig(Default(), "serve.yaml", []byte(text)) }
	good, err := read("serve: 1\ndata: x\nlan: none\nlog_json: yes\n")
	if err != nil || good.Data != "x" || good.LAN != "none" || !good.LogJSON || good.Listen != Default().Listen {
		t.Errorf("%+v %v", good, err)
	}
	for text, want := range map[string]string{
		"serve: 1\nport: 80\n":             "serve.yaml:2: port: found an unknown key; expected one of certificate, data, database, heads, idle, key, lan, listen, log_json, name, proxies, serve, trust",
		"serve: 1\nproxis: [10.1.0.9]\n":   `serve.yaml:2: proxis: found an unknown key; expected one of certificate, data, database, heads, idle, key, lan, listen, log_json, name, proxies, serve, trust; did you mean "proxies"?`,
		"data: x\n":                        "serve.yaml:1: serve: found nothing",
		"serve: 2\n":                       "serve.yaml:1: serve: found \"2\"",
		"hold: 1\n":                        "serve.yaml:1: found a hold sheet; expected a configuration of serve",
		"serve: [\n":                       "serve.yaml:",
		"serve: 1\nlisten: 0.0.0.0:80\n":   `serve.yaml:2: listen: found "0.0.0.0:80"; expected a loopback address`,
		"serve: 1\nlan: 7743\n":            `serve.yaml:2: lan: found "7743"; expected an address with a port`,
		"serve: 1\n\ntrust: ':x'\n":        `serve.yaml:3: trust: found ":x"; expected an address with a port`,
		"serve: 1\nidle: 15\n":             `serve.yaml:2: idle: found "15" has no unit; expected a time as 15 min`,
		"serve: 1\nidle: 0 s\n":            `serve.yaml:2: idle: found "0 s"; expected a time from 1 s`,
		"serve: 1\nproxies: [proxy.lan]\n": `serve.yaml:2: proxies: found "proxy.lan"; expected addresses of proxies`,
	} {
		if _, err := read(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v\nwant %s", text, err, want)
		}
	}
	data, err := os.ReadFile("../../packaging/serve.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := read(string(data)); err != nil {
		t.Errorf("the file that comes with the package: %v", err)
	}
	for _, listen := range []string{"0.0.0.0:80", ":7717", "127.0.0.1", "127.0.0.1:x", "127.0.0.1:99999", "192.168.1.2:80", "example.org:80"} {
		c := Default()
		c.Listen = listen
		if c.check() == nil {
			t.Errorf("%s passes as a loopback address", listen)
		}
	}
}
