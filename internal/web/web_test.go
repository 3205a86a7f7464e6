package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"github.com/evenstroke/evenstroke/internal/api"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

const pin = "804937"

// bench is a server with one job, and a browser at which its owner is signed in.
type bench struct {
	*testing.T
	url     string
	server  *Server
	shop    *shop.Shop
	gate    *gate.Gate
	client  *http.Client // signed in
	job     int64
	owner   gate.Who
	verdict int64 // entry of the verdict that fill made
	wrench  int64 // tool that whole made
}

func newBench(t testing.TB) *bench {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	st, err := store.Open(ctx, filepath.Join(t.TempDir(), "workshop.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sh := shop.New(st, "test", time.Now)
	log := slog.New(slog.DiscardHandler)
	var pages *Server
	g := gate.New(st, gate.Options{Log: log, PIN: &argon2id.Params{Memory: 1024, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}, Rate: 1e6, Burst: 1e6, Background: Background,
		Refuse: func(w http.ResponseWriter, r *http.Request, status int, f *record.Fault) {
			pages.Refuse(w, r, status, f)
		}})
	srv := httptest.NewUnstartedServer(nil)
	if pages, err = New(ctx, Options{Shop: sh, Gate: g, Log: log, URL: func() string { return srv.URL }}); err != nil {
		t.Fatal(err)
	}
	srv.Config.Handler = g.Wrap(pages)
	srv.Start()
	t.Cleanup(func() {
		srv.Close()
		stop()
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	b := &bench{url: srv.URL, server: pages, shop: sh, gate: g}
	if tt, ok := t.(*testing.T); ok {
		b.T = tt
	}
	secret, err := g.SetUp(ctx, record.Shop{Name: "Aldersay", Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4"}, record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}, pin, record.Device{Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	b.owner = gate.Who{Person: 1, Device: 1, P: record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}}
	b.client = b.browser(t, secret)
	if code, _ := b.post(b.client, "/door", url.Values{"person": {"1"}, "pin": {pin}}); code != http.StatusOK {
		t.Fatalf("signing in answered %d", code)
	}
	if b.job, err = sh.BookIn(ctx, shop.By{Who: b.owner}, record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0417", Model: "orrin-30", Complaint: "creeps <b>badly</b> & drips"}); err != nil {
		t.Fatal(err)
	}
	return b
}

// browser is a client with cookies at a device of the shop.
func (b *bench) browser(t testing.TB, secret string) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Jar: jar}
	rec := httptest.NewRecorder()
	b.gate.Remember(rec, secret)
	u, err := url.Parse(b.url)
	if err != nil {
		t.Fatal(err)
	}
	jar.SetCookies(u, rec.Result().Cookies())
	return c
}

func (b *bench) do(c *http.Client, req *http.Request) (int, string) {
	resp, err := c.Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return 0, err.Error()
	}
	return resp.StatusCode, string(body)
}

func (b *bench) get(c *http.Client, path string) (int, string) {
	req, err := http.NewRequest(http.MethodGet, b.url+path, nil)
	if err != nil {
		return 0, err.Error()
	}
	return b.do(c, req)
}

func (b *bench) post(c *http.Client, path string, form url.Values) (int, string) {
	req, err := http.NewRequest(http.MethodPost, b.url+path, strings.NewReader(form.Encode()))
	if err != nil {
		return 0, err.Error()
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.do(c, req)
}

func (b *bench) add(t testing.TB, body record.Body) store.Receipt {
	t.Helper()
	r, err := b.shop.Add(context.Background(), shop.By{Who: b.owner}, b.job, body)
	if err != nil {
		t.Fatalf("%s: %v", body.Kind(), err)
	}
	return r
}

// fill gives the job some of everything.
func (b *bench) fill(t testing.TB) {
	t.Helper()
	ctx := context.Background()
	b.add(t, &record.Benched{Hold: record.AsFound, Fluid: json.RawMessage(`{"kind":"water"}`), Gauge: json.RawMessage(`{"range":"400 bar"}`)})
	b.add(t, &record.Read{Hold: record.AsFound, Reading: json.RawMessage(`{"creep":"up","pressure":"2330 psi","travel":"60 mm","time":"14.2 s"}`)})
	b.add(t, &record.Pressed{Hold: record.AsFound, Watch: "w", Press: record.PressStart, Stroke: "up", Pressure: "2330 psi"})
	b.add(t, &record.Pressed{Hold: record.AsFound, Watch: "w", Press: record.PressTop, Elapsed: 9000})
	_, got, err := b.shop.Judge(ctx, shop.By{Who: b.owner}, b.job, record.AsFound)
	if err != nil {
		t.Fatal(err)
	}
	b.verdict = got.Entry.Seq
	b.add(t, &record.Found{Part: "rod", Text: "scored", Size: "diameter", Value: "21.18 mm"})
	b.add(t, &record.Chose{Parts: map[string]string{"throat leather ring": "replace", "inlet valve seat": "turn over"}})
	b.add(t, &record.Noted{Text: "note"})
	b.add(t, &record.Priced{Text: "kit", Quantity: 1500, Each: 333, Currency: "EUR"})
	b.add(t, &record.Overrode{Reason: "shown to the customer"})
	b.add(t, &record.Handed{To: "A. Customer", Signature: "M10 10L20 20"})
	for _, q := range []struct {
		k record.SubjectKind
		i record.Item
	}{{record.OfTool, &record.Tool{Name: "gauge", Sort: "gauge", Due: "2020-01-01"}}, {record.OfFluid, &record.Fluid{Name: "oil", Test: json.RawMessage(`{"kind":"oil","grade":32}`)}}, {record.OfPrice, &record.Price{Text: "hour", Each: 5000}}} {
		if _, err := b.shop.Keep(ctx, shop.By{Who: b.owner}, record.Subject{Kind: q.k}, q.i); err != nil {
			t.Fatal(err)
		}
	}
}

// allPages are the addresses of all pages; a test sees to it that no route is left out.
func allPages() []string {
	out := []string{"/", "/board/lanes", "/search", "/search?q=harbour", "/jobs/new", "/jobs/new?serial=ald-0417", "/offline", "/trust", "/healthz", "/door", "/let-in", "/sw.js", "/manifest.webmanifest", "/favicon.ico",
		"/me", "/catalogue", "/devices/code", "/tokens", "/pumps/1", "/customers/1", "/t/1"}
	for _, p := range []string{"", "/booked", "/found", "/prove", "/look?hold=as+found", "/look?hold=as+found&watch=w&elapsed_ms=12000", "/readings", "/readings?kind=locked", "/readings?kind=run", "/readings?kind=drips", "/readings?kind=sign",
		"/findings", "/findings?part=rod", "/choose", "/work", "/step?id=earth", "/step?id=torque+throat+nut", "/step?id=stack+throat+3", "/stack?name=throat", "/hand", "/history", "/tag", "/tag.pdf", "/tag.pdf?place=8", "/report", "/report?as=html", "/report.pdf", "/customer", "/customer.pdf", "/archive"} {
		out = append(out, "/jobs/1"+p)
	}
	for _, k := range shelves {
		out = append(out, "/catalogue/"+k.Path, "/catalogue/"+k.Path+"?q=a", "/catalogue/"+k.Path+"?gone=1", "/catalogue/"+k.Path+"/new")
		if k.Kind != record.OfSheet {
			out = append(out, "/catalogue/"+k.Path+"/1", "/catalogue/"+k.Path+"/1/history")
		}
	}
	return append(out, "/catalogue/sheet/new?from=orrin-30")
}

func TestEveryPageAnswers(t *testing.T) {
	b := newBench(t)
	b.fill(t)
	brackets := regexp.MustCompile(`\[[a-z]+\.[a-zA-Z.-]+\]`)
	for _, p := range append(allPages(), fmt.Sprintf("/jobs/1/verdict/%d", b.verdict)) {
		code, body := b.get(b.client, p)
		if code != http.StatusOK {
			t.Errorf("%s: %d\n%s", p, code, firstLines(body))
			continue
		}
		if m := brackets.FindString(body); m != "" && !strings.HasSuffix(p, ".js") && !strings.HasSuffix(p, ".pdf") {
			t.Errorf("%s: a text is missing: %s", p, m)
		}
		if strings.Contains(body, "<b>badly</b>") {
			t.Errorf("%s: what a person typed is not escaped", p)
		}
		if regexp.MustCompile(`<[a-z][^>]*\s(style|on[a-z]+)=`).MatchString(body) && strings.Contains(body, `class="top"`) {
			t.Errorf("%s: inline style or script", p)
		}
	}
}

func firstLines(s string) string {
	if i := strings.Index(s, "<main"); i >= 0 {
		s = s[i:]
	}
	return s[:min(len(s), 900)]
}

// Nobody who is not signed in sees anything of the shop; scripts get 401 (RFC 9110, 15.5.2), people are led to the door.
func TestPagesNeedSomebody(t *testing.T) {
	b := newBench(t)
	stranger := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	free := map[string]bool{"/offline": true, "/trust": true, "/healthz": true, "/door": true, "/let-in": true, "/sw.js": true, "/manifest.webmanifest": true, "/favicon.ico": true}
	for _, p := range allPages() {
		code, body := b.get(stranger, p)
		if free[p] {
			if code != http.StatusOK {
				t.Errorf("%s: %d", p, code)
			}
		} else if code != http.StatusSeeOther {
			t.Errorf("%s: %d without anybody signed in", p, code)
		}
		if strings.Contains(body, "Harbour painters") {
			t.Errorf("%s tells a stranger about a customer", p)
		}
	}
	req, err := http.NewRequest(http.MethodPost, b.url+"/jobs/1/entries", strings.NewReader(`{}`))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept", "application/json")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	if code, _ := b.do(stranger, req); code != http.StatusUnauthorized {
		t.Errorf("a script of a stranger got %d", code)
	}
}

func TestEntriesAreTakenOnce(t *testing.T) {
	b := newBench(t)
	send := func(body string) (int, string) {
		req, err := http.NewRequest(http.MethodPost, b.url+"/jobs/1/entries", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Accept", "application/json")
		req.Header.Set("Content-Type", "application/json")
		req.Header.Set("Sec-Fetch-Site", "same-origin")
		return b.do(b.client, req)
	}
	press := `{"key":"p-1","at":"2026-11-25T10:00:00Z","kind":"pressed","body":{"hold":"as found","watch":"w","press":"start","elapsed_ms":0,"stroke":"up","pressure":"2330 psi"}}`
	code, one := send(press)
	if code != http.StatusCreated {
		t.Fatalf("%d %s", code, one)
	}
	code, two := send(press)
	if code != http.StatusOK || !strings.Contains(two, `"duplicate":true`) {
		t.Errorf("the same press again: %d %s", code, two)
	}
	for name, body := range map[string]string{
		"no JSON": `{`, "no key": `{"kind":"noted","body":{"text":"x"}}`, "unknown field": `{"key":"a","kind":"noted","body":{"text":"x","y":1}}`, "unknown kind": `{"key":"a","kind":"sunk","body":{}}`,
		"more after the end": press + press, "another body under the key": strings.Replace(press, `"up"`, `"down"`, 1), "no unit": strings.Replace(strings.Replace(press, "p-1", "p-2", 1), "2330 psi", "2330", 1),
	} {
		code, answer := send(body)
		var p api.Problem
		if err := json.Unmarshal([]byte(answer), &p); err != nil || code < 400 || code >= 500 || p.Found == "" || p.Status != code {
			t.Errorf("%s: %d %s", name, code, answer)
		}
	}
}

func TestBoxesAreChecked(t *testing.T) {
	b := newBench(t)
	for path, form := range map[string]url.Values{
		"/jobs/new":               {"serial": {"S"}, "model": {"0:orrin-30"}, "customer": {"C"}, "complaint": {"x"}, "hours": {"three weeks"}},
		"/jobs/1/notes":           {"text": {""}},
		"/jobs/1/readings":        {"kind": {"creep"}, "hold": {"as found"}, "stroke": {"up"}, "pressure": {"2330"}, "pressure.unit": {"psi"}, "travel": {"x"}},
		"/jobs/1/findings":        {"part": {"rod"}, "size": {"diameter"}, "value": {"wide"}},
		"/jobs/1/close":           {"good": {"yes"}},
		"/catalogue/customer/new": {"name": {""}},
		"/catalogue/sheet/new":    {"name": {"x"}, "text": {"pump: 1"}},
		"/catalogue/price/new":    {"text": {"kit"}, "each": {"12,345"}},
		"/me":                     {"unit:pressure": {"fathom"}},
	} {
		code, body := b.post(b.client, path, form)
		if code != http.StatusUnprocessableEntity && code != http.StatusForbidden || !strings.Contains(body, `id="errors"`) {
			t.Errorf("%s: %d, and what is wrong is not shown\n%s", path, code, firstLines(body))
		}
	}
}

// A form cannot send anybody elsewhere (CWE-601).
func TestLocalAddresses(t *testing.T) {
	for to, want := range map[string]bool{"/": true, "/jobs/1?done=kept": true, "//evil.example": false, "https://evil.example": false, "/\\evil.example": false, "javascript:alert(1)": false, "": false, "jobs": false, "/\tx": false, "/%2f/x": true} {
		if local(to) != want {
			t.Errorf("%q: %v", to, !want)
		}
	}
}

// Decimals of currencies after ISO 4217 (from memory): EUR 2, JPY 0, KWD 3.
func TestMoney(t *testing.T) {
	for _, k := range []struct {
		v    int64
		code string
		want string
	}{{123450, "EUR", "1234.50 EUR"}, {5, "EUR", "0.05 EUR"}, {-5, "EUR", "−0.05 EUR"}, {1200, "JPY", "1200 JPY"}, {1234, "KWD", "1.234 KWD"}} {
		if got := money(k.v, k.code); got != k.want {
			t.Errorf("%d %s: %q, want %q", k.v, k.code, got, k.want)
		}
	}
	for _, k := range []struct {
		s    string
		n    int
		want int64
		bad  bool
	}{{"12.50", 2, 1250, false}, {"12,5", 2, 1250, false}, {"12", 2, 1200, false}, {".5", 2, 50, false}, {"-3", 0, -3, false}, {"1.234", 2, 0, true}, {"", 2, 0, true}, {"1e3", 2, 0, true}, {"9999999999999", 2, 0, true}, {"--1", 2, 0, true}} {
		got, err := decimal("x", k.s, k.n)
		if (err != nil) != k.bad || got != k.want {
			t.Errorf("%q: %d, %v", k.s, got, err)
		}
	}
}

func TestAQuantityKeepsTheUnitOfItsPage(t *testing.T) {
	f := &Form{Values: url.Values{"a": {"2330"}, "a.unit": {"psi"}, "b": {"2330 psi"}, "b.unit": {"bar"}, "c": {""}, "c.unit": {"bar"}, "d": {"12,5"}, "d.unit": {"mm"}}}
	for name, want := range map[string]string{"a": "2330 psi", "b": "2330 psi", "c": "", "d": "12,5 mm"} {
		if got := f.Quantity(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

func upload(t testing.TB, b *bench, data io.Reader) (int, string) {
	t.Helper()
	pr, pw := io.Pipe()
	mw := multipart.NewWriter(pw)
	go func() {
		part, err := mw.CreateFormFile("photo", "../../etc/passwd")
		if err == nil {
			_, err = io.Copy(part, data)
		}
		if err == nil {
			err = mw.Close()
		}
		pw.CloseWithError(err)
	}()
	req, err := http.NewRequest(http.MethodPost, b.url+"/jobs/1/photos", pr)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", mw.FormDataContentType())
	req.Header.Set("Accept", "application/json")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.do(b.client, req)
}

func TestUploadsThatAreNoPhotos(t *testing.T) {
	b := newBench(t)
	for name, k := range map[string]struct {
		data io.Reader
		code int
	}{
		"a text":         {strings.NewReader("not a picture"), http.StatusUnprocessableEntity},
		"a cut JPEG":     {bytes.NewReader([]byte{0xff, 0xd8, 0xff, 0xe0, 0, 16, 'J', 'F', 'I', 'F'}), http.StatusUnprocessableEntity},
		"200 MB of zero": {io.LimitReader(zeros{}, 200<<20), http.StatusRequestEntityTooLarge},
	} {
		code, body := upload(t, b, k.data)
		if code != k.code {
			t.Errorf("%s: %d %s", name, code, body)
		}
	}
	j, err := b.shop.Job(context.Background(), b.job)
	if err != nil || len(j.Pictures) != 0 {
		t.Errorf("%d pictures kept, %v", len(j.Pictures), err)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

func TestStaticFilesAreKeptForEver(t *testing.T) {
	b := newBench(t)
	a, err := loadAssets(catalogue(t))
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.Get(b.url + a.url("app.css"))
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if c := resp.Header.Get("Cache-Control"); !strings.Contains(c, "immutable") || resp.Header.Get("Content-Type") != "text/css; charset=utf-8" {
		t.Errorf("%v", resp.Header)
	}
	for _, p := range []string{"/static/x/../../go.mod", "/static/" + a.version + "/..%2f..%2fgo.mod", "/static/" + a.version + "/none.js"} {
		if code, body := b.get(b.client, p); code != http.StatusNotFound {
			t.Errorf("%s: %d %s", p, code, firstLines(body))
		}
	}
}

func TestAStrangePageIsAClearAnswer(t *testing.T) {
	b := newBench(t)
	for _, p := range []string{"/nothing", "/jobs/0", "/jobs/99", "/jobs/1x", "/jobs/-1", "/jobs/99999999999999999999", "/jobs/1/verdict/1", "/catalogue/ship", "/catalogue/person/77", "/photos/zz", "/photos/" + strings.Repeat("0", 64), "/jobs/1/step?id=swim"} {
		code, body := b.get(b.client, p)
		if code != http.StatusNotFound || !strings.Contains(body, `role="alert"`) {
			t.Errorf("%s: %d", p, code)
		}
	}
}

// The address of a form that was refused stays in the browser: loading it again leads to a page.
func TestAddressesOfFormsLeadToAPage(t *testing.T) {
	b := newBench(t)
	for _, w := range ways {
		path, post := strings.CutPrefix(w.route, "POST ")
		if !post || strings.Contains(path, "passkey/in") || strings.Contains(path, "passkey/new") || strings.HasSuffix(path, "/entries") { // scripts alone ask for those
			continue
		}
		path = strings.NewReplacer("{job}", "1", "{kind}", "person", "{id}", "1").Replace(path)
		if code, body := b.get(b.client, path); code == http.StatusNotFound || code == http.StatusMethodNotAllowed {
			t.Errorf("GET %s: %d\n%s", path, code, firstLines(body))
		}
	}
}

// FuzzForms posts anything to every form: a clear answer, never an error of the program.
func FuzzForms(f *testing.F) {
	paths := []string{"/jobs/new", "/jobs/1/notes", "/jobs/1/readings", "/jobs/1/bench", "/jobs/1/findings", "/jobs/1/choose", "/jobs/1/step", "/jobs/1/soak", "/jobs/1/judge", "/jobs/1/prices", "/jobs/1/override", "/jobs/1/hand", "/jobs/1/close",
		"/jobs/1/strike", "/jobs/1/mind", "/jobs/1/booked", "/me", "/me/units", "/catalogue/tool/new", "/catalogue/fluid/new", "/catalogue/price/new", "/catalogue/person/new", "/catalogue/sheet/new", "/door", "/tokens", "/let-in"}
	for i := range paths {
		f.Add(i, "kind=creep&hold=as+found&stroke=up&pressure=1+bar&time=1+s&travel=1+mm&text=x&step=earth&part=rod&name=x&item=1&quantity=1")
	}
	f.Add(2, "kind=locked&hold=as+left&at0=1&p0=2&stroke=down")
	f.Add(4, "text=%00&part=%ff")
	b := newBench(f)
	f.Fuzz(func(t *testing.T, i int, body string) {
		p := paths[((i%len(paths))+len(paths))%len(paths)]
		form, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		req, err := http.NewRequest(http.MethodPost, b.url+p, strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "same-origin")
		if code, answer := b.do(b.client, req); code >= 500 || code == 0 {
			t.Errorf("%s %q: %d %s", p, body, code, firstLines(answer))
		}
	})
}
