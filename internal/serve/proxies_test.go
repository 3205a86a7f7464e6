package serve

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Proxies are named by address; what names everybody, or nobody, is refused and says how to mend it.
func TestProxiesAreNamed(t *testing.T) {
	if len(Default().Proxies) != 0 {
		t.Error("somebody's X-Forwarded-For is believed though nobody said so")
	}
	for _, good := range [][]string{nil, {"192.168.1.5"}, {"10.1.0.0/16", "::1", "fd00:1::/64"}, {"127.0.0.1/32"}, {"10.0.0.0/8"}} {
		c := Default()
		c.Proxies = good
		if got, err := c.proxies(); err != nil || len(got) != len(good) || c.check() != nil {
			t.Errorf("%v: %v, %v", good, got, err)
		}
	}
	for bad, says := range map[string]string{"0.0.0.0/0": "nearly everybody", "::/0": "nearly everybody", "10.0.0.0/7": "nearly everybody", "fd00::/8": "nearly everybody",
		"10.1.0.9/16": "10.1.0.0/16", "proxy.lan": "not their names", "": "not their names", "10.1.0.0/33": "not their names", "10.1.0": "not their names", "::ffff:10.1.0.9": "IPv4",
		"fe80::1%eth0": "not their names", "10.1.0.9:80": "not their names", "10.1.0.9, 10.1.0.8": "not their names"} {
		c := Default()
		c.Proxies = []string{"192.168.1.5", bad}
		if err := c.check(); record.CodeOf(err) != record.Invalid || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), "proxies") {
			t.Errorf("%q: %v", bad, err)
		}
	}
	for text, want := range map[string]int{"serve: 1\n": 1, "serve: 1\nproxies: [10.1.0.9, fd00:1::/64]\n": 2} {
		c, err := ReadConfig(Config{Proxies: []string{"192.168.1.5"}, Idle: "15 min"}, "serve.yaml", []byte(text))
		if err != nil || len(c.Proxies) != want {
			t.Errorf("%s: %v, %v", text, c.Proxies, err)
		}
	}
	if _, err := ReadConfig(Default(), "serve.yaml", []byte("serve: 1\nproxies: 10.1.0.9\n")); err == nil || !strings.Contains(err.Error(), "proxies") {
		t.Errorf("no list: %v", err)
	}
}

// Records that go over the network to a database that does not prove who it is are told of in the log; without a word about it in the address
// nothing begins. 192.0.2.7 is nobody's (RFC 5737, from memory).
func TestDatabaseOnTheNetwork(t *testing.T) {
	t.Setenv("PGSSLMODE", "")
	for address, want := range map[string]string{"postgres://u@192.0.2.7/x?connect_timeout=1": "", "postgres://u@192.0.2.7/x?connect_timeout=1&sslmode=disable": "does not prove who it is"} {
		cfg := config(t)
		cfg.Database = address
		var out, log log
		ctx, stop := context.WithTimeout(t.Context(), time.Second)
		err := Run(ctx, cfg, "test", &out, &log)
		stop()
		if err == nil || (record.CodeOf(err) == record.Invalid) != (want == "") || want == "" && !strings.Contains(err.Error(), "sslmode=verify-full") {
			t.Errorf("%s: %v", address, err)
		}
		if !strings.Contains(log.String(), want) || want == "" && log.String() != "" {
			t.Errorf("%s: the log says %q", address, log.String())
		}
	}
}

// What a peer says of where a request comes from is written down only when it is a proxy of the shop, and then its visitor is not on the
// machine itself.
func TestForwarded(t *testing.T) {
	for _, c := range []struct {
		proxies []string
		from    string
		here    bool
	}{{nil, "127.0.0.1", false}, {[]string{"127.0.0.1"}, "203.0.113.7", false}, {[]string{"192.168.1.5"}, "127.0.0.1", false}} {
		cfg := config(t)
		cfg.LAN, cfg.Proxies = "none", c.proxies
		r := start(t, cfg)
		url := r.wait(t, "On this machine: ")
		req, err := http.NewRequest(http.MethodGet, url+"/metrics", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Forwarded-For", "203.0.113.7")
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		if err := resp.Body.Close(); err != nil {
			t.Fatal(err)
		}
		if (resp.StatusCode == http.StatusOK) != c.here {
			t.Errorf("%v: the metrics are answered %d", c.proxies, resp.StatusCode)
		}
		r.end(t)
		if !strings.Contains(r.log.String(), "from="+c.from+" ") {
			t.Errorf("%v: %s", c.proxies, r.log.String())
		}
	}
}
