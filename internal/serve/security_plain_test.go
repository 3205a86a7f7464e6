package serve

import (
	"bufio"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/localca"
)

// plainPort is a free port for the plain HTTP that leads to HTTPS.
func plainPort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// asked is one request by plain HTTP, without following anything.
func asked(t *testing.T, method, url, host string, head map[string]string) *http.Response {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, strings.NewReader("pin="+DemoPIN))
	if err != nil {
		t.Fatal(err)
	}
	if method == http.MethodGet || method == http.MethodHead {
		r.Body, r.ContentLength = nil, 0
	}
	if host != "" {
		r.Host = host
	}
	for k, v := range head {
		r.Header.Set(k, v)
	}
	c := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	var res *http.Response
	for range 100 { // the port is opened after the network
		if res, err = c.Do(r); err == nil {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { res.Body.Close() })
	return res
}

// TestPlainPortLeadsToHTTPSOnly: by plain HTTP a tablet gets the page of trust, the root and the static files; nothing else, no cookie is set
// and none, nor a token, is believed.
func TestPlainPortLeadsToHTTPSOnly(t *testing.T) {
	cfg := config(t)
	cfg.Demo, cfg.Trust = true, plainPort(t)
	r := start(t, cfg)
	lan := r.wait(t, "On the workshop's network: ")
	plain := "http://" + cfg.Trust
	for _, path := range []string{"/trust", "/trust/root.cer"} {
		res := asked(t, http.MethodGet, plain+path, "", map[string]string{"Authorization": "Bearer es_" + strings.Repeat("0", 72), "Cookie": "__Host-es_session=x; __Host-es_device=y"})
		if res.StatusCode != http.StatusOK || len(res.Header["Set-Cookie"]) != 0 || res.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %d %v", path, res.StatusCode, res.Header)
		}
		if body, err := io.ReadAll(res.Body); err != nil || strings.Contains(string(body), "Mara Kell") {
			t.Errorf("%s tells who works here (%v)", path, err)
		}
	}
	for _, path := range []string{"/", "/door", "/set-up", "/let-in", "/jobs/1", "/metrics", "/healthz", "/photos/x", "/me", "/trust/", "/trust/../door", "/static", "/sw.js"} {
		res := asked(t, http.MethodGet, plain+path, "", nil)
		if to := res.Header.Get("Location"); res.StatusCode != http.StatusTemporaryRedirect || to != lan+"/trust" || len(res.Header["Set-Cookie"]) != 0 {
			t.Errorf("%s: %d to %q", path, res.StatusCode, to)
		}
	}
	if res := asked(t, http.MethodGet, plain+"/static/../metrics", "", nil); res.StatusCode == http.StatusOK {
		t.Error("a way about the static files")
	}
	for _, q := range [][2]string{{"POST", "/door"}, {"POST", "/let-in"}, {"POST", "/trust"}, {"PUT", "/"}, {"GET", "/api/v1/me"}, {"GET", "/api/v1/openapi.json"}, {"POST", "/api/v1/jobs"}} {
		res := asked(t, q[0], plain+q[1], "", map[string]string{"Sec-Fetch-Site": "same-origin"})
		if res.StatusCode != http.StatusForbidden || res.Header.Get("Location") != "" {
			t.Errorf("%s %s by plain HTTP: %d to %q", q[0], q[1], res.StatusCode, res.Header.Get("Location"))
		}
	}
	for _, host := range []string{"evil.example", "evil.example:80", "127.0.0.1.evil.example", "evil.example/x", "evil.example:x"} {
		res := asked(t, http.MethodGet, plain+"/door", host, nil)
		to, err := url.Parse(res.Header.Get("Location"))
		if err != nil || res.StatusCode != http.StatusBadRequest && "https://"+to.Host != lan {
			t.Errorf("host %q is led to %q", host, res.Header.Get("Location"))
		}
		if res := asked(t, http.MethodGet, plain+"/trust", host, nil); res.StatusCode == http.StatusOK {
			t.Errorf("host %q is answered", host)
		}
	}
	for _, host := range []string{"203.0.113.9", "203.0.113.9:7780", "[2001:db8::9]", "10.1.2.3", "127.0.0.9", "0.0.0.0", "localhost", "localhost:1"} {
		if to := asked(t, http.MethodGet, plain+"/door", host, nil).Header.Get("Location"); to != lan+"/trust" {
			t.Errorf("an address that is not this one's, %q, is led to %q", host, to)
		}
	}
}

// TestPlainPortHasTheHeaders: whatever the plain port answers, no browser takes it for more than it is.
func TestPlainPortHasTheHeaders(t *testing.T) {
	cfg := config(t)
	cfg.Demo, cfg.Trust = true, plainPort(t)
	r := start(t, cfg)
	r.wait(t, "On the workshop's network: ")
	for _, q := range [][2]string{{"GET", "/trust"}, {"GET", "/"}, {"GET", "/static/none"}, {"POST", "/door"}, {"GET", "/api/v1/me"}, {"HEAD", "/"}, {"DELETE", "/"}} {
		h := asked(t, q[0], "http://"+cfg.Trust+q[1], "", nil).Header
		if !strings.HasPrefix(h.Get("Content-Security-Policy"), "default-src 'none'") || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "no-store" || h.Get("Referrer-Policy") == "" {
			t.Errorf("%s %s: %v", q[0], q[1], h)
		}
	}
}

// TestCookiesOnTheNetwork: on the workshop's network cookies are for this host by HTTPS only, no script reads them, and who was not let in
// sees nobody's name.
func TestCookiesOnTheNetwork(t *testing.T) {
	cfg := config(t)
	cfg.Demo = true
	r := start(t, cfg)
	code := r.wait(t, "The demo workshop (all invented): ")
	code = code[strings.Index(code, "#")+1:]
	lan := r.wait(t, "On the workshop's network: ")
	ca, err := localca.Open(filepath.Join(cfg.Data, "authority"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(ca.RootPEM())
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	if _, body := get(t, c, lan+"/door"); strings.Contains(body, "Mara Kell") {
		t.Error("a stranger sees who works here")
	}
	post := func(path string, form url.Values) *http.Response {
		q, err := http.NewRequestWithContext(t.Context(), http.MethodPost, lan+path, strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		q.Header.Set("Origin", lan)
		res, err := c.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res
	}
	var set []*http.Cookie
	for _, res := range []*http.Response{post("/let-in", url.Values{"code": {code}, "name": {"tablet"}}), post("/door", url.Values{"person": {"1"}, "pin": {DemoPIN}})} {
		if res.StatusCode != http.StatusSeeOther {
			t.Fatalf("%d", res.StatusCode)
		}
		set = append(set, res.Cookies()...)
	}
	if len(set) < 2 {
		t.Fatalf("%d cookies", len(set))
	}
	for _, k := range set {
		if !strings.HasPrefix(k.Name, "__Host-") || !k.Secure || !k.HttpOnly || k.Path != "/" || k.Domain != "" || k.SameSite != http.SameSiteLaxMode || len(k.Value) != 43 {
			t.Errorf("%s", k)
		}
	}
	if code, _ := get(t, c, lan+"/set-up"); code != http.StatusSeeOther {
		t.Errorf("the set-up page of a shop that is set up: %d", code)
	}
	if code, _ := get(t, c, lan+"/api/v1/me"); code != http.StatusUnauthorized {
		t.Errorf("the cookies of a page let in where tokens do: %d", code)
	}
	for _, s := range []string{code, DemoPIN, set[0].Value, set[1].Value} {
		if strings.Contains(r.log.String(), s) {
			t.Errorf("%q stands in the log", s)
		}
	}
}

// TestSlowClientsAreCutOff: who does not finish the head of a request does not keep a connection.
func TestSlowClientsAreCutOff(t *testing.T) {
	t.Parallel() // takes as long as the server waits: 10 s
	r := start(t, config(t))
	address := strings.TrimPrefix(r.wait(t, "On this machine: "), "http://")
	conn, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := fmt.Fprintf(conn, "GET / HTTP/1.1\r\nHost: %s\r\nX-Slow: ", address); err != nil {
		t.Fatal(err)
	}
	if err := conn.SetReadDeadline(time.Now().Add(readHeader + 5*time.Second)); err != nil {
		t.Fatal(err)
	}
	begin := time.Now()
	if _, err := io.Copy(io.Discard, bufio.NewReader(conn)); err != nil {
		t.Errorf("after %s the connection is still open: %v", time.Since(begin), err)
	}
}

// TestHeadIsBounded: a head of a request that is too long is refused (RFC 6585 section 5: 431).
func TestHeadIsBounded(t *testing.T) {
	r := start(t, config(t))
	url := r.wait(t, "On this machine: ")
	if res := asked(t, http.MethodGet, url+"/", "", map[string]string{"X-Long": strings.Repeat("x", 64<<10)}); res.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("%d", res.StatusCode)
	}
}

// TestLengthOfBodies: with HTTP/1.1 a Transfer-Encoding counts and a Content-Length beside it does not (RFC 9112 section 6.3), so that what follows the
// body is the next request for everybody; with HTTP/2 a length that the frames do not keep ends the stream (RFC 9113 section 8.1.1).
func TestLengthOfBodies(t *testing.T) {
	cfg := config(t)
	cfg.Demo = true
	r := start(t, cfg)
	here, _, _ := strings.Cut(strings.TrimPrefix(r.wait(t, "The demo workshop (all invented): "), "http://"), "/")
	conn, err := net.Dial("tcp", here)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	// 5 bytes in chunks; by the length of 4 what follows would begin in the middle of the body.
	text := "POST /nothing HTTP/1.1\r\nHost: " + here + "\r\nSec-Fetch-Site: same-origin\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nabcde\r\n0\r\n\r\n" +
		"GET /healthz HTTP/1.1\r\nHost: " + here + "\r\nConnection: close\r\n\r\n"
	if _, err := io.WriteString(conn, text); err != nil {
		t.Fatal(err)
	}
	all, err := io.ReadAll(conn)
	if err != nil {
		t.Fatal(err)
	}
	answers := regexp.MustCompile(`(?m)^HTTP/1\.1 (\d+)`).FindAllStringSubmatch(string(all), -1)
	if len(answers) == 1 && answers[0][1] == "400" { // refusing both is as good
		answers = nil
	} else if len(answers) != 2 || answers[0][1] != "404" || answers[1][1] != "200" {
		t.Errorf("%v\n%.600s", answers, all)
	}
	lan := strings.TrimPrefix(r.wait(t, "On the workshop's network: "), "https://")
	for sent, want := range map[string]string{"abc": "page", "abcdefgh": "reset 1", "a": "a form that cannot be read"} {
		if got := secondVersion(t, lan, cfg, 3, sent); !strings.Contains(got, want) || want == "page" && strings.Contains(got, "cannot be read") {
			t.Errorf("HTTP/2, %d bytes of 3: %q, want %s", len(sent), got, want)
		}
	}
}

// secondVersion posts a body by HTTP/2 that says to have so many bytes, and gives the page that answers, or "reset" and the code with
// which the stream was ended before its time (RFC 9113 section 7: 1 is PROTOCOL_ERROR).
func secondVersion(t *testing.T, address string, cfg Config, length byte, body string) string {
	t.Helper()
	ca, err := localca.Open(filepath.Join(cfg.Data, "authority"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(ca.RootPEM())
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := tls.Dial("tcp", address, &tls.Config{RootCAs: pool, ServerName: host, NextProtos: []string{"h2"}})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	frame := func(kind, flags, stream byte, data string) string {
		return string([]byte{0, 0, byte(len(data)), kind, flags, 0, 0, 0, stream}) + data
	}
	field := func(name, value string) string {
		return "\x00" + string(rune(len(name))) + name + string(rune(len(value))) + value
	} // RFC 7541 section 6.2.2, without Huffman
	head := "\x83\x87" + field(":path", "/let-in") + field(":authority", address) + field("sec-fetch-site", "same-origin") + field("content-type", "application/x-www-form-urlencoded") +
		field("content-length", string('0'+rune(length)))
	if _, err := io.WriteString(conn, "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"+frame(4, 0, 0, "")+frame(1, 4, 1, head)+frame(0, 1, 1, body)); err != nil {
		t.Fatal(err)
	}
	page := ""
	for in := bufio.NewReader(conn); ; {
		var h [9]byte
		if _, err := io.ReadFull(in, h[:]); err != nil {
			t.Fatal(err)
		}
		data := make([]byte, int(h[0])<<16|int(h[1])<<8|int(h[2]))
		if _, err := io.ReadFull(in, data); err != nil {
			t.Fatal(err)
		}
		switch h[3] {
		case 0: // DATA
			if page += string(data); h[4]&1 != 0 {
				return "page: " + page
			}
		case 3: // RST_STREAM
			return fmt.Sprint("reset ", binary.BigEndian.Uint32(data))
		case 7: // GOAWAY
			return fmt.Sprint("reset ", binary.BigEndian.Uint32(data[4:]))
		}
	}
}

// TestFramesOfRequests: a request whose end can be read in two ways is refused, and its connection ended, so that none hides in another (RFC 9112
// sections 6.1 and 6.3: request smuggling).
func TestFramesOfRequests(t *testing.T) {
	r := start(t, config(t))
	address := strings.TrimPrefix(r.wait(t, "On this machine: "), "http://")
	head := "POST /door HTTP/1.1\r\nHost: " + address + "\r\nSec-Fetch-Site: same-origin\r\n"
	hidden := "GET /healthz HTTP/1.1\r\nHost: " + address + "\r\n\r\n"
	for name, text := range map[string]string{
		"two lengths":          head + "Content-Length: 0\r\nContent-Length: 60\r\n\r\n" + hidden,
		"a length with a sign": head + "Content-Length: +0\r\n\r\n" + hidden,
		"another coding":       head + "Transfer-Encoding: xchunked\r\n\r\n" + hidden,
		"two codings":          head + "Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n\r\n" + hidden,
		"space before colon":   head + "Content-Length : 0\r\n\r\n" + hidden,
		"two hosts":            "GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n" + hidden,
		"no host":              "GET / HTTP/1.1\r\n\r\n" + hidden,
		"NUL in a head":        head + "X: a\x00b\r\n\r\n" + hidden,
	} {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		if err := conn.SetDeadline(time.Now().Add(5 * time.Second)); err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(conn, text); err != nil {
			t.Fatal(err)
		}
		all, err := io.ReadAll(conn)
		if err != nil && len(all) == 0 {
			t.Errorf("%s: %v", name, err)
		}
		if !strings.HasPrefix(string(all), "HTTP/1.1 4") && !strings.HasPrefix(string(all), "HTTP/1.1 501") || strings.Contains(string(all), `"status"`) {
			t.Errorf("%s: %.200q", name, all)
		}
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
	}
}
