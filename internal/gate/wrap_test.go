package gate

import (
	"bufio"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

// The headers of every answer, as they are to be: after the OWASP HTTP headers cheat sheet and ASVS 5.0 chapter V3 (from memory).
const wantHeaders = `Cache-Control: no-store
Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; object-src 'none'; frame-ancestors 'none'; base-uri 'none'
Cross-Origin-Opener-Policy: same-origin
Cross-Origin-Resource-Policy: same-origin
Permissions-Policy: camera=(self), screen-wake-lock=(self), fullscreen=(self), publickey-credentials-create=(self), publickey-credentials-get=(self), accelerometer=(), autoplay=(), display-capture=(), geolocation=(), gyroscope=(), magnetometer=(), microphone=(), midi=(), payment=(), serial=(), usb=(), xr-spatial-tracking=()
Referrer-Policy: same-origin
X-Content-Type-Options: nosniff
`

func headersOf(h http.Header) string {
	var b strings.Builder
	h = h.Clone()
	h.Del("Content-Type")
	h.Del("X-Request-Id")
	if err := h.Write(&b); err != nil {
		return err.Error()
	}
	return strings.ReplaceAll(b.String(), "\r\n", "\n")
}

func TestHeaders(t *testing.T) {
	s := open(t, Options{})
	b := s.browser()
	for name, got := range map[string]*httptest.ResponseRecorder{"page": b.do("GET", "/who", ""), "not found": b.do("GET", "/nothing", ""), "refused": b.do("POST", "/out", "", header("Sec-Fetch-Site", "cross-site"))} {
		if diff := cmp.Diff(wantHeaders, headersOf(got.Result().Header)); diff != "" {
			t.Errorf("%s:\n%s", name, diff)
		}
		if id := got.Header().Get("X-Request-Id"); len(id) != 16 {
			t.Errorf("%s: request id %q", name, id)
		}
	}
	safe := open(t, Options{Secure: true, Hosts: []string{"bench.example"}})
	for host, want := range map[string]string{"bench.example": "max-age=31536000", "bench.example:8443": "max-age=31536000", "192.168.1.7": "", "[fd00::1]:8443": "", "localhost": "", "x.localhost": ""} {
		b := safe.browser()
		b.host = host
		if got := b.do("GET", "/who", "").Header().Get("Strict-Transport-Security"); got != want {
			t.Errorf("%s: HSTS %q, want %q", host, got, want)
		}
	}
}

// RFC 6265bis section 4.1.3.2 (from memory): __Host- needs Secure, Path=/ and no Domain.
func TestCookieFlags(t *testing.T) {
	for _, c := range []struct {
		secure       bool
		prefix, more string
	}{{false, "", "; HttpOnly; SameSite=Lax"}, {true, "__Host-", "; HttpOnly; Secure; SameSite=Lax"}} {
		s := open(t, Options{Secure: c.secure})
		b := s.tablet()
		b.mustIn(s.tech, techPIN)
		want := []string{c.prefix + "es_session=" + b.session() + "; Path=/; Max-Age=43200" + c.more, c.prefix + "es_device=" + s.secret + "; Path=/; Max-Age=34560000" + c.more}
		if diff := cmp.Diff(want, b.set); diff != "" {
			t.Errorf("signing in:\n%s", diff)
		}
		b.post("/out", "")
		if diff := cmp.Diff([]string{c.prefix + "es_session=; Path=/; Max-Age=0" + c.more}, b.set); diff != "" {
			t.Errorf("signing out:\n%s", diff)
		}
		n := s.another()
		want = []string{c.prefix + "es_device=" + n.cookies[c.prefix+"es_device"] + "; Path=/; Max-Age=34560000" + c.more}
		if diff := cmp.Diff(want, n.set); diff != "" {
			t.Errorf("letting in:\n%s", diff)
		}
		w := httptest.NewRecorder()
		s.Remember(w, s.secret)
		if got := w.Header().Get("Set-Cookie"); got != c.prefix+"es_device="+s.secret+"; Path=/; Max-Age=34560000"+c.more {
			t.Error(got)
		}
	}
}

// Over HTTPS a cookie without the prefix is not believed: a page on plain HTTP could have put it there.
func TestCookieWithoutPrefix(t *testing.T) {
	s := open(t, Options{Secure: true})
	b := s.browser()
	b.cookies[deviceCookie] = s.secret
	if who := b.who(); who.Device != 0 {
		t.Errorf("%+v", who)
	}
	b = s.tablet()
	if who := b.who(func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "__Host-es_device", Value: newSecret()}) }); who.Device != 0 {
		t.Errorf("of two cookies one is believed: %+v", who)
	}
}

func TestSecretsAreOfTheirForm(t *testing.T) {
	seen := map[string]bool{}
	var ones [256]int
	for range 1000 {
		v := newSecret()
		if !isSecret(v) || seen[v] || len(v) != 43 {
			t.Fatal(v)
		}
		seen[v] = true
		b, err := base64.RawURLEncoding.DecodeString(v)
		if err != nil {
			t.Fatal(err)
		}
		for i := range ones {
			ones[i] += int(b[i/8] >> (i % 8) & 1)
		}
	}
	// Each of the 256 bits is set in about half of 1000 secrets: standard deviation 16; 130 is eight of them.
	for i, n := range ones {
		if n < 370 || n > 630 {
			t.Errorf("bit %d of a secret is set in %d of 1000", i, n)
		}
	}
	for _, bad := range []string{"", strings.Repeat("A", 42), strings.Repeat("A", 44), strings.Repeat("+", 43), strings.Repeat("A", 42) + "B", strings.Repeat("A", 42) + "\n"} {
		if isSecret(bad) {
			t.Errorf("%q", bad)
		}
	}
}

// Who sends what: browsers of today send Sec-Fetch-Site (W3C Fetch Metadata) where the page is safe, and Origin with what is no GET; OWASP CSRF
// cheat sheet, from memory.
func TestCrossSite(t *testing.T) {
	s := open(t, Options{})
	for _, c := range []struct {
		method, site, origin string
		want                 int
	}{
		{"POST", "same-origin", "http://localhost:8080", 200},
		{"POST", "same-origin", "", 200},
		{"POST", "none", "", 200},
		{"POST", "same-site", "http://other.localhost:8080", 403},
		{"POST", "cross-site", "https://evil.example", 403},
		{"POST", "cross-site", "", 403},
		{"POST", "nonsense", "", 403},
		{"POST", "", "http://localhost:8080", 200},
		{"POST", "", "http://localhost:8081", 403},
		{"POST", "", "https://evil.example", 403},
		{"POST", "", "http://localhost:8080.evil.example", 403},
		{"POST", "", "null", 403},
		{"POST", "", "", 403},
		{"DELETE", "", "", 403}, {"PUT", "", "", 403}, {"PATCH", "cross-site", "", 403}, {"TRACE", "", "", 403}, {"BREW", "", "", 403},
		{"GET", "cross-site", "", 200}, {"GET", "", "", 200}, {"HEAD", "cross-site", "", 200}, {"OPTIONS", "", "", 200},
	} {
		b := s.tablet()
		got := b.do(c.method, "/who", "", func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			if c.site != "" {
				r.Header.Set("Sec-Fetch-Site", c.site)
			}
			if c.origin != "" {
				r.Header.Set("Origin", c.origin)
			}
		})
		if got.Code != c.want {
			t.Errorf("%s, site %q, origin %q: %d, want %d", c.method, c.site, c.origin, got.Code, c.want)
		}
	}
}

func TestHosts(t *testing.T) {
	s := open(t, Options{Hosts: []string{"Bench.Aldersay.example", "203.0.113.9"}})
	own, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(strings.ToLower(own), ".")
	for host, want := range map[string]int{
		"localhost": 200, "localhost:8080": 200, "LOCALHOST.:80": 200, "app.localhost": 200, "127.0.0.1": 200, "127.8.8.8:9": 200, "[::1]": 200, "[::1]:8443": 200,
		"192.168.1.7:8080": 200, "10.0.0.1": 200, "172.31.255.255": 200, "169.254.1.1": 200, "[fd12::7]:80": 200, "[fe80::1]": 200, "[::ffff:10.0.0.1]": 200,
		"bench.aldersay.example": 200, "BENCH.aldersay.example:443": 200, "203.0.113.9": 200, own: 200, own + ":80": 200, first + ".local": 200,
		"evil.example": 421, "localhost.evil.example": 421, "172.32.0.1": 421, "8.8.8.8": 421, "[2001:db8::1]": 421, "": 421, "aldersay.example": 421, "x.bench.aldersay.example": 421,
		"192.168.1.7.evil.example": 421, "localhost:80:80": 421, "localhost:x": 421, "[::1": 421, "::1": 421, "[localhost]": 421, "127.1": 421, "0x7f000001": 421, "localhost:80@evil.example": 421,
		".localhost.evil": 421, "203.0.113.10": 421, "0.0.0.0": 421,
	} {
		b := s.browser()
		b.host = host
		if got := b.do("GET", "/who", ""); got.Code != want {
			t.Errorf("%q: %d, want %d", host, got.Code, want)
		}
	}
}

func TestAddress(t *testing.T) {
	s := bare(t, Options{Proxies: []netip.Prefix{netip.MustParsePrefix("10.1.0.0/16"), netip.MustParsePrefix("127.0.0.1/32")}})
	plain := bare(t, Options{})
	for _, c := range []struct{ from, forwarded, behind, without string }{
		{"192.168.1.2:5", "", "192.168.1.2", "192.168.1.2"},
		{"192.168.1.2:5", "1.2.3.4", "192.168.1.2", "192.168.1.2"},
		{"10.1.0.9:5", "1.2.3.4", "1.2.3.4", "10.1.0.9"},
		{"10.1.0.9:5", "6.6.6.6, 1.2.3.4", "1.2.3.4", "10.1.0.9"},
		{"10.1.0.9:5", "6.6.6.6, 1.2.3.4, 10.1.0.8", "1.2.3.4", "10.1.0.9"},
		{"10.1.0.9:5", "6.6.6.6, nonsense", "10.1.0.9", "10.1.0.9"},
		{"10.1.0.9:5", "", "10.1.0.9", "10.1.0.9"},
		{"[::ffff:127.0.0.1]:5", "fd00::7", "fd00::7", "127.0.0.1"},
		{"@", "1.2.3.4", "invalid IP", "invalid IP"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = c.from
		if c.forwarded != "" {
			r.Header.Set("X-Forwarded-For", c.forwarded)
		}
		if got := s.address(r).String(); got != c.behind {
			t.Errorf("%+v: %s with proxies", c, got)
		}
		if got := plain.address(r).String(); got != c.without {
			t.Errorf("%+v: %s without proxies", c, got)
		}
	}
}

// Each visitor behind a trusted proxy has a bucket of his own; a peer that is no such proxy gets no other one by what it says.
func TestRatesBehindAProxy(t *testing.T) {
	s := bare(t, Options{Rate: 1, Burst: 2, Proxies: []netip.Prefix{netip.MustParsePrefix("10.1.0.9/32")}}) // 8 at once for an address
	pass := func(from, forwarded string) int {
		n := 0
		for range 20 {
			b := s.browser()
			b.from = from
			if b.do("GET", "/who", "", header("X-Forwarded-For", forwarded)).Code == 200 {
				n++
			}
		}
		return n
	}
	for _, c := range []struct {
		from, forwarded string
		want            int
	}{
		{"10.1.0.9:5", "192.0.2.1", 8}, {"10.1.0.9:6", "198.51.100.1, 192.0.2.1", 0}, // what the visitor wrote himself counts for nothing
		{"10.1.0.9:5", "192.0.2.2", 8},
		{"10.1.0.8:5", "192.0.2.3", 8}, {"10.1.0.8:5", "192.0.2.4", 0}, // no proxy of ours
	} {
		if got := pass(c.from, c.forwarded); got != c.want {
			t.Errorf("%+v: %d pass", c, got)
		}
	}
}

func TestRates(t *testing.T) {
	s := open(t, Options{Rate: 1, Burst: 5})
	b := s.tablet()
	count := func(b *browser, n, want int) {
		t.Helper()
		ok := 0
		for range n {
			got := b.do("GET", "/who", "")
			switch {
			case got.Code == 200:
				ok++
			case got.Code != 429 || got.Header().Get("Retry-After") != "1" || !strings.Contains(got.Body.String(), "try again in 1 second"):
				t.Errorf("%d, Retry-After %q, %s", got.Code, got.Header().Get("Retry-After"), got.Body)
			}
		}
		if ok != want {
			t.Errorf("%d of %d pass, want %d", ok, n, want)
		}
	}
	count(b, 12, 5)
	s.clock.pass(2 * time.Second)
	count(b, 5, 2)
	stranger := s.browser()
	stranger.from = "10.9.9.9:1"
	count(stranger, 30, 20)
	stranger.from = "[2001:db8::1]:1"
	count(stranger, 20, 20)
	stranger.from = "[2001:db8::2]:1" // the same /64
	count(stranger, 2, 0)
	stranger.from = "[2001:db8:0:1::2]:1"
	count(stranger, 2, 2)
}

func TestLimitsAreBounded(t *testing.T) {
	l := newLimits(1, 10)
	now := newClock()
	for i := range mostKeys + 2000 {
		if wait := l.take(string(rune(i)), now.now()); wait != 0 {
			t.Fatal(wait)
		}
		if len(l.keys) > mostKeys || l.order.Len() != len(l.keys) {
			t.Fatalf("%d keys, %d in order", len(l.keys), l.order.Len())
		}
	}
	now.pass(11 * time.Second)
	l.take("x", now.now())
	if len(l.keys) != 1 {
		t.Errorf("%d keys after all buckets are full", len(l.keys))
	}
	for range 9 {
		l.take("x", now.now())
	}
	if wait := l.take("x", now.now()); wait != time.Second {
		t.Errorf("%v, want a second", wait)
	}
}

func TestBodies(t *testing.T) {
	s := open(t, Options{MaxBody: 1000})
	b := s.tablet()
	for size, want := range map[int]int{0: 200, 100: 200, 101: 422, 1000: 422, 1001: 413} {
		got := b.do("POST", "/body", strings.Repeat("x", size))
		if got.Code != want || want == 422 && !strings.HasPrefix(got.Body.String(), "too-large: request: found more than 100 bytes") {
			t.Errorf("%d bytes: %d %s", size, got.Code, got.Body)
		}
	}
	got := b.do("POST", "/body", strings.Repeat("x", 5000), func(r *http.Request) { r.ContentLength = -1 })
	if got.Code != 422 {
		t.Errorf("without a length: %d", got.Code)
	}
}

// A sender that writes its whole body before it reads gets the answer, whether it says how long the body is or not; one that asks first
// (Expect: 100-continue) sends none.
func TestTooLargeIsAnswered(t *testing.T) {
	s := open(t, Options{MaxBody: 1000})
	srv := httptest.NewServer(s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.ReadAll(r.Body); err != nil {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
		}
	})))
	defer srv.Close()
	body := strings.Repeat("x", 16<<20)
	for name, sent := range map[string]string{
		"of a length":  fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body),
		"in chunks":    fmt.Sprintf("Transfer-Encoding: chunked\r\n\r\n%x\r\n%s\r\n0\r\n\r\n", len(body), body),
		"asking first": fmt.Sprintf("Expect: 100-continue\r\nContent-Length: %d\r\n\r\n", len(body)),
	} {
		c, err := net.Dial("tcp", srv.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		if err := c.SetDeadline(time.Now().Add(time.Minute)); err != nil { // a bound for what should be at once
			t.Fatal(err)
		}
		if _, err := io.WriteString(c, "POST / HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\n"+sent); err != nil {
			t.Errorf("%s: cut off: %v", name, err)
		}
		res, err := http.ReadResponse(bufio.NewReader(c), nil)
		if err != nil {
			t.Fatalf("%s: no answer: %v", name, err)
		}
		if res.StatusCode != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: %d", name, res.StatusCode)
		}
		c.Close()
	}
}

func TestPanic(t *testing.T) {
	var refused *record.Fault
	s := open(t, Options{Refuse: func(w http.ResponseWriter, r *http.Request, status int, f *record.Fault) {
		refused = f
		w.WriteHeader(status)
		if !strings.Contains(f.Mend, RequestID(r.Context())) {
			t.Error("the page does not say where to look")
		}
	}})
	b := s.tablet()
	got := b.do("GET", "/panic", "")
	if got.Code != 500 || refused == nil || refused.Code != record.Internal || strings.Contains(refused.Error(), "mistake with") || strings.Contains(refused.Error(), ".go") {
		t.Errorf("%d %s %v", got.Code, got.Body, refused)
	}
	if log := s.log.String(); !strings.Contains(log, "a mistake with no secrets") || !strings.Contains(log, "wrap_test") && !strings.Contains(log, "helper_test.go") {
		t.Error("the log does not say what and where")
	}
	func() {
		defer func() {
			if p := recover(); p != http.ErrAbortHandler {
				t.Errorf("%v, want the connection cut: half a page must not look whole", p)
			}
		}()
		b.do("GET", "/panic-late", "")
	}()
	if got := b.do("GET", "/who", ""); got.Code != 200 {
		t.Error("the server is gone")
	}
}

// Nothing secret is in the log: no PIN, token, code, cookie, query, nor what stands in a header.
func TestLogHasNoSecrets(t *testing.T) {
	s := open(t, Options{})
	b := s.another()
	b.in(s.tech, "111222333")
	b.mustIn(s.owner, ownerPIN)
	who := b.who()
	c, _, err := s.MakeCode(context.Background(), who)
	if err != nil {
		t.Fatal(err)
	}
	token, _, err := s.MakeToken(context.Background(), who, s.owner, "press", "write", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	b.do("GET", "/who?code="+c+"&token="+token+"&note=SECRETQUERY", "", header("X-Key", "SECRETHEADER"))
	b.do("GET", "/who", "", header("Authorization", "Bearer "+token))
	b.do("GET", "/who", "", header("Authorization", "Bearer "+token+"x"))
	b.post("/pin", "old="+ownerPIN+"&pin=934068")
	log := s.log.String()
	secrets := []string{"111222333", ownerPIN, "934068", c, token, token[3:], "SECRETQUERY", "SECRETHEADER", s.secret, "argon2id"}
	for _, v := range b.cookies {
		secrets = append(secrets, v)
	}
	for _, v := range secrets {
		if strings.Contains(log, v) {
			t.Errorf("%q is in the log", v)
		}
	}
	line := map[string]any{}
	lines := strings.Split(strings.TrimSpace(log), "\n")
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &line); err != nil {
		t.Fatal(err)
	}
	if line["path"] != "/pin" || line["method"] != "POST" || line["status"] != 200.0 || line["person"] != 1.0 || line["device"] != 2.0 || line["token"] != false {
		t.Errorf("%v", line)
	}
}

func TestFlush(t *testing.T) {
	s := open(t, Options{})
	srv := httptest.NewServer(s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := w.Write([]byte("data: 1\n\n")); err != nil {
			t.Error(err)
		}
		w.(http.Flusher).Flush()
		if err := http.NewResponseController(w).SetWriteDeadline(time.Now().Add(time.Second)); err != nil {
			t.Error(err)
		}
		<-r.Context().Done()
	})))
	defer srv.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, srv.URL, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 9)
	if _, err := res.Body.Read(buf); err != nil || string(buf) != "data: 1\n\n" {
		t.Errorf("%q, %v", buf, err)
	}
	cancel()
	_ = res.Body.Close() // cut on purpose
}

func TestOutsideOfWrap(t *testing.T) {
	if who, ok := From(context.Background()); ok || who.Person != 0 {
		t.Errorf("%+v", who)
	}
	if id := RequestID(context.Background()); id != "" {
		t.Error(id)
	}
	w := httptest.NewRecorder()
	plain(w, nil, 403, record.Faultf(record.NotAllowed, "here", "this", "that", "so"))
	if w.Code != 403 || w.Body.String() != "here: found this; expected that; so\n" || w.Header().Get("Content-Type") != "text/plain; charset=utf-8" {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

func FuzzHost(f *testing.F) {
	for _, h := range []string{"localhost:80", "[::1]:80", "[fe80::1%25eth0]", "a:b:c", "127.0.0.1", "[]", ":", "x.", "8.8.8.8", "[2001:4860::1]:443"} {
		f.Add(h)
	}
	s := bare(f, Options{Hosts: []string{"bench.example"}})
	f.Fuzz(func(t *testing.T, h string) {
		name := hostName(h)
		if !s.knownHost(h) {
			return
		}
		a, err := netip.ParseAddr(name)
		if err != nil && !s.hosts[name] && !strings.HasSuffix(name, ".localhost") {
			t.Fatalf("%q is known as %q", h, name)
		}
		if err == nil && a.IsGlobalUnicast() && !a.Unmap().IsPrivate() {
			t.Fatalf("%q: a public address", h)
		}
	})
}

func FuzzCookie(f *testing.F) {
	f.Add("es_device=abc; es_device=def")
	f.Add("es_device=" + strings.Repeat("A", 43))
	f.Add(`es_device="` + strings.Repeat("A", 43) + `"`)
	s := bare(f, Options{})
	f.Fuzz(func(t *testing.T, line string) {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header["Cookie"] = []string{line}
		if v := s.cookie(r, deviceCookie); v != "" && (!isSecret(v) || strings.Count(line, deviceCookie+"=") < 1) {
			t.Fatalf("%q: %q", line, v)
		}
		if who, err := s.byCookies(r); err != nil || who.Person != 0 || who.Device != 0 {
			t.Fatalf("%q lets in: %+v, %v", line, who, err)
		}
	})
}
