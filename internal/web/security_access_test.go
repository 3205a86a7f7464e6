package web

import (
	_ "embed"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// way is one route, with something that it takes, and who may go it.
type way struct {
	route string // as in routes.go
	path  string // %J a job, %N a note of the owner on it, %P a person, %O an owner, %D a device, %S a seq that is not there
	form  string
	who   record.Role // the least role; "" is everybody, even a stranger
	token string      // "", "read" or "write": the least scope of a token that may
	whole bool        // a token counts as its person, an owner
	fresh bool        // each try on a job of its own
	loose bool        // a refusal may also be 404 or 422: it is found out before who may
}

// ways is the table of all routes. TestEveryRouteIsListed sees to it that none is left out.
var ways = []way{
	{route: "GET /static/{version}/{name...}", path: "/static/0/app.css"}, {route: "GET /sw.js", path: "/sw.js"}, {route: "GET /manifest.webmanifest", path: "/manifest.webmanifest"},
	{route: "GET /favicon.ico", path: "/favicon.ico"}, {route: "GET /offline", path: "/offline"}, {route: "GET /trust", path: "/trust"}, {route: "GET /trust/root.cer", path: "/trust/root.cer"},
	{route: "GET /healthz", path: "/healthz"}, {route: "GET /set-up", path: "/set-up"}, {route: "POST /set-up", path: "/set-up", form: "name=x&person=x&pin=903817"}, {route: "GET /door", path: "/door"},
	{route: "POST /door", path: "/door", form: "person=999"}, {route: "POST /leave", path: "/leave"}, {route: "GET /let-in", path: "/let-in"}, {route: "POST /let-in", path: "/let-in", form: "code=x&name=x"},
	{route: "POST /passkey/in/begin", path: "/passkey/in/begin"}, {route: "POST /passkey/in/finish", path: "/passkey/in/finish"},
	{route: "POST /passkey/new/begin", path: "/passkey/new/begin", who: record.Technician, loose: true}, {route: "POST /passkey/new/finish", path: "/passkey/new/finish?name=x", who: record.Technician, loose: true},

	{route: "GET /{$}", path: "/", who: record.Technician, token: "read"}, {route: "GET /board/lanes", path: "/board/lanes", who: record.Technician, token: "read"},
	{route: "GET /search", path: "/search?q=a", who: record.Technician, token: "read"}, {route: "GET /t/{job}", path: "/t/1", who: record.Technician, token: "read"},
	{route: "GET /jobs/new", path: "/jobs/new", who: record.Technician, token: "read"},
	{route: "POST /jobs/new", path: "/jobs/new", form: "customer=C&serial=S&model=0:orrin-30&complaint=x", who: record.Technician, token: "write"},
	{route: "POST /jobs/import", path: "/jobs/import", who: record.Owner, token: "write", whole: true},

	{route: "GET /jobs/{job}", path: "/jobs/%J", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/entries", path: "/jobs/%J/entries", form: "{}", who: record.Technician, token: "write", loose: true},
	{route: "GET /jobs/{job}/booked", path: "/jobs/%J/booked", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/booked", path: "/jobs/%J/booked", form: "customer=C&serial=S&model=0:orrin-30&complaint=x", who: record.Trainer, token: "write"}, // of the owner
	{route: "POST /jobs/{job}/notes", path: "/jobs/%J/notes", form: "text=x", who: record.Technician, token: "write"},
	{route: "POST /jobs/{job}/notes", path: "/jobs/%J/notes", form: "text=x&corrects=%N", who: record.Trainer, token: "write"},
	{route: "POST /jobs/{job}/mind", path: "/jobs/%J/mind", form: "caution=x", who: record.Technician, token: "write"},
	{route: "POST /jobs/{job}/strike", path: "/jobs/%J/strike", form: "seq=%N&reason=x", who: record.Trainer, token: "write", fresh: true},
	{route: "POST /jobs/{job}/photos", path: "/jobs/%J/photos", who: record.Technician, token: "write"},
	{route: "GET /photos/{hash}", path: "/photos/" + strings.Repeat("0", 64), who: record.Technician, token: "read"},
	{route: "GET /photos/{hash}/small", path: "/photos/" + strings.Repeat("0", 64) + "/small", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/found", path: "/jobs/%J/found", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/prove", path: "/jobs/%J/prove", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/look", path: "/jobs/%J/look", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/presses", path: "/jobs/%J/presses", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/judge", path: "/jobs/%J/judge", form: "hold=as+found", who: record.Technician, token: "write", loose: true},
	{route: "GET /jobs/{job}/readings", path: "/jobs/%J/readings", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/readings", path: "/jobs/%J/readings", form: "kind=sign&sign=x&hold=as+found", who: record.Technician, token: "write"},
	{route: "POST /jobs/{job}/bench", path: "/jobs/%J/bench", form: "hold=as+found", who: record.Technician, token: "write"},
	{route: "GET /jobs/{job}/verdict/{seq}", path: "/jobs/%J/verdict/%S", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/findings", path: "/jobs/%J/findings", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/findings", path: "/jobs/%J/findings", form: "part=rod&text=x", who: record.Technician, token: "write"},
	{route: "GET /jobs/{job}/size", path: "/jobs/%J/size?part=rod&size=diameter&value=1", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/choose", path: "/jobs/%J/choose", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/choose", path: "/jobs/%J/choose", who: record.Technician, token: "write"},
	{route: "GET /jobs/{job}/work", path: "/jobs/%J/work", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/step", path: "/jobs/%J/step?id=earth", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/stack", path: "/jobs/%J/stack?name=throat", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/step", path: "/jobs/%J/step", form: "step=earth&do=skip&note=x", who: record.Technician, token: "write"},
	{route: "GET /jobs/{job}/run", path: "/jobs/%J/run?from=x", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/torque", path: "/jobs/%J/torque?step=x", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/run", path: "/jobs/%J/run", form: "from=x&steps=x", who: record.Technician, token: "write", loose: true},
	{route: "POST /jobs/{job}/soak", path: "/jobs/%J/soak", form: "step=x", who: record.Technician, token: "write", loose: true},
	{route: "POST /jobs/{job}/stack", path: "/jobs/%J/stack", form: "stack=throat", who: record.Technician, token: "write", loose: true},
	{route: "GET /jobs/{job}/hand", path: "/jobs/%J/hand", who: record.Technician, token: "read"},
	{route: "POST /jobs/{job}/prices/remove", path: "/jobs/%J/prices/remove", form: "seq=%N&reason=x", who: record.Technician, token: "write", loose: true},
	{route: "POST /jobs/{job}/prices", path: "/jobs/%J/prices", form: "text=kit&quantity=1&each=1", who: record.Office, token: "write"},
	{route: "POST /jobs/{job}/override", path: "/jobs/%J/override", form: "reason=x&point=proof", who: record.Trainer},
	{route: "POST /jobs/{job}/hand", path: "/jobs/%J/hand", form: "to=x", who: record.Technician, token: "write"},
	{route: "POST /jobs/{job}/close", path: "/jobs/%J/close", form: "good=no&closereason=x", who: record.Technician, token: "write", fresh: true},
	{route: "POST /jobs/{job}/again", path: "/jobs/%J/again", who: record.Technician, token: "write", fresh: true},
	{route: "POST /jobs/{job}/reopen", path: "/jobs/%J/reopen", form: "reason=x", who: record.Technician, token: "write"},
	{route: "GET /jobs/{job}/history", path: "/jobs/%J/history", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/tag", path: "/jobs/%J/tag", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/tag.pdf", path: "/jobs/%J/tag.pdf", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/report", path: "/jobs/%J/report", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/report.pdf", path: "/jobs/%J/report.pdf", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/customer", path: "/jobs/%J/customer", who: record.Technician, token: "read"}, {route: "GET /jobs/{job}/customer.pdf", path: "/jobs/%J/customer.pdf", who: record.Technician, token: "read"},
	{route: "GET /jobs/{job}/archive", path: "/jobs/%J/archive", who: record.Technician, token: "read"},

	{route: "GET /pumps/{id}", path: "/pumps/1", who: record.Technician, token: "read"}, {route: "GET /customers/{id}", path: "/customers/1", who: record.Technician, token: "read"},
	{route: "GET /me", path: "/me", who: record.Technician}, {route: "POST /me", path: "/me", form: "unit:pressure=bar", who: record.Technician},
	{route: "POST /me/pin", path: "/me/pin", form: "old=1&pin=1", who: record.Technician}, {route: "POST /me/passkeys/drop", path: "/me/passkeys/drop", form: "id=x", who: record.Technician},
	{route: "POST /me/sessions/end", path: "/me/sessions/end", form: "id=x", who: record.Technician},
	{route: "POST /me/wrong-pins", path: "/me/wrong-pins", form: "until=2027-03-01T08:00:00Z", who: record.Technician},
	{route: "POST /me/units", path: "/me/units", form: "units=metric", who: record.Technician}, {route: "POST /me/look", path: "/me/look", form: "look=dark", who: record.Technician},
	{route: "POST /me/lang", path: "/me/lang", form: "lang=en", who: record.Technician},
	{route: "GET /catalogue", path: "/catalogue", who: record.Technician, token: "read"}, {route: "GET /catalogue/{kind}", path: "/catalogue/person", who: record.Technician, token: "read"},
	{route: "GET /catalogue/{kind}/new", path: "/catalogue/tool/new", who: record.Technician, token: "read"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/customer/new", form: "name=x", who: record.Office, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/pump/new", form: "serial=x&model=orrin-30", who: record.Technician, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/tool/new", form: "name=x&sort=gauge", who: record.Trainer, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/sheet/new", form: "name=x&text=x", who: record.Trainer, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/fluid/new", form: "name=x", who: record.Trainer, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/price/new", form: "text=x&each=1", who: record.Office, token: "write"},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/person/new", form: "name=x&initials=x&role=technician", who: record.Office},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/person/new", form: "name=x&initials=x&role=owner", who: record.Owner},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/device/new", form: "name=x", who: record.Office},
	{route: "POST /catalogue/{kind}/new", path: "/catalogue/shop/new", form: "name=x&currency=EUR&units=metric&lang=en", who: record.Owner},
	{route: "GET /catalogue/{kind}/{id}", path: "/catalogue/person/%P", who: record.Technician, token: "read"},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/person/%P", form: "name=y&initials=y&role=technician", who: record.Office},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/person/%P", form: "name=y&initials=y&role=owner", who: record.Owner, fresh: true},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/person/%O", form: "name=y", who: record.Owner},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/shop/1", form: "name=Aldersay", who: record.Owner},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/customer/1", form: "name=y", who: record.Office, token: "write"},
	{route: "POST /catalogue/{kind}/{id}", path: "/catalogue/device/%D", form: "name=y", who: record.Office},
	{route: "POST /catalogue/{kind}/{id}/retire", path: "/catalogue/person/%P/retire", who: record.Office, fresh: true},
	{route: "POST /catalogue/{kind}/{id}/retire", path: "/catalogue/device/%D/retire", who: record.Office, fresh: true},
	{route: "POST /catalogue/{kind}/{id}/retire", path: "/catalogue/customer/1/retire", who: record.Office, token: "write"},
	{route: "GET /catalogue/{kind}/{id}/history", path: "/catalogue/person/%P/history", who: record.Technician, token: "read"},
	{route: "POST /catalogue/person/{id}/pin", path: "/catalogue/person/%P/pin", form: "pin=903817", who: record.Office},
	{route: "POST /catalogue/person/{id}/pin", path: "/catalogue/person/%O/pin", form: "pin=903817", who: record.Owner},
	{route: "POST /catalogue/device/{id}/out", path: "/catalogue/device/%D/out", who: record.Office, fresh: true},
	{route: "GET /devices/code", path: "/devices/code", who: record.Technician, token: "read"}, {route: "POST /devices/code", path: "/devices/code", who: record.Office},
	{route: "GET /tokens", path: "/tokens", who: record.Office}, {route: "POST /tokens", path: "/tokens", form: "name=x&scope=read&days=1", who: record.Office},
	{route: "POST /tokens/{id}/revoke", path: "/tokens/999/revoke", who: record.Office},
}

// notListed are the routes that a test of their own asks.
var notListed = []string{"GET /board/events", "/"}

//go:embed routes.go
var routesSource string

// TestEveryRouteIsListed reads routes.go: each address that the program answers stands in the table of who may.
func TestEveryRouteIsListed(t *testing.T) {
	found := 0
	for _, m := range regexp.MustCompile(`\b(?:open|in)\("([^"]+)"`).FindAllStringSubmatch(routesSource, -1) {
		found++
		if !slices.Contains(notListed, m[1]) && !slices.ContainsFunc(ways, func(w way) bool { return w.route == m[1] }) {
			t.Errorf("%s: nobody says who may go there", m[1])
		}
	}
	if found < 70 || found > 2*len(ways) {
		t.Errorf("%d routes were found in the source", found)
	}
}

// place puts the numbers of this yard into a path or a form.
type place struct {
	y                 *yard
	job, note, person int64
	owner, device     int64
}

func (y *yard) place() *place {
	p := &place{y: y, job: y.job}
	p.renew()
	return p
}

func (p *place) renew() {
	p.job = p.y.book()
	p.note = p.y.note(p.job)
	p.person = p.y.keep(record.OfPerson, &record.Person{Name: "Victim", Initials: "V", Role: record.Technician})
	p.owner = p.y.keep(record.OfPerson, &record.Person{Name: "Victim", Initials: "V", Role: record.Owner})
	p.device = p.y.keep(record.OfDevice, &record.Device{Name: "old tablet"})
}

func (p *place) fill(s string) string {
	return strings.NewReplacer("%J", fmt.Sprint(p.job), "%N", fmt.Sprint(p.note), "%P", fmt.Sprint(p.person), "%O", fmt.Sprint(p.owner), "%D", fmt.Sprint(p.device), "%S", "9999").Replace(s)
}

func (w way) request(p *place) *http.Request {
	method, _, _ := strings.Cut(w.route, " ")
	r := httptest.NewRequest(method, p.fill(w.path), strings.NewReader(p.fill(w.form)))
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	return r
}

func rankOf(r record.Role) int { return slices.Index(record.Roles(), r) }

// may says what the table says of somebody.
func (w way) may(a *actor) bool {
	switch {
	case w.who == "":
		return true
	case a.role == "":
		return false
	case a.token != "":
		return (w.token == "read" || w.token == "write" && a.scope == "write") && (w.whole || rankOf(a.role) >= rankOf(w.who))
	}
	return rankOf(a.role) >= rankOf(w.who)
}

// TestWhoMayGoWhere asks every route as a stranger, at a device where nobody is signed in, in a session that is locked, in each role and with
// tokens of both scopes.
func TestWhoMayGoWhere(t *testing.T) {
	y := newYard(t)
	p := y.place()
	locked := y.worker("locked", record.Owner)
	locked.role = ""
	y.later.Store(int64(20 * time.Minute))
	actors := []*actor{y.stranger(), y.device("nobody"), locked, y.worker("technician", record.Technician), y.worker("trainer", record.Trainer),
		y.worker("office", record.Office), y.worker("owner", record.Owner), y.program("read"), y.program("write")}
	for _, w := range ways {
		for _, a := range actors {
			if w.who == record.Technician && strings.HasPrefix(w.route, "GET ") && (a.role == record.Trainer || a.role == record.Office) && a.token == "" {
				continue // a page for all: the lowest and the highest role are enough
			}
			if w.fresh {
				p.renew()
			}
			b := *a
			if w.route == "POST /leave" {
				b.cookies = map[string]string{}
			}
			got := b.do(w.request(p))
			w.judge(t, a, got)
		}
	}
}

func (w way) judge(t *testing.T, a *actor, got *httptest.ResponseRecorder) {
	t.Helper()
	where := fmt.Sprintf("%s %s %s as %s: %d", w.route, w.path, w.form, a.name, got.Code)
	door := got.Code == http.StatusSeeOther && strings.HasPrefix(got.Header().Get("Location"), "/door") && w.route != "POST /leave"
	if got.Code >= 500 {
		t.Errorf("%s\n%s", where, firstLines(got.Body.String()))
	}
	switch {
	case w.who == "":
		if strings.Contains(got.Body.String(), "Harbour painters") {
			t.Errorf("%s: tells everybody about a customer", where)
		}
	case a.role == "":
		if !door {
			t.Errorf("%s, not led to the door", where)
		}
	case w.may(a):
		if (got.Code == http.StatusForbidden || got.Code == http.StatusUnauthorized || door) && !w.loose {
			t.Errorf("%s, but may\n%s", where, firstLines(got.Body.String()))
		}
	default:
		if got.Code != http.StatusForbidden && !(w.loose && got.Code >= 400) {
			t.Errorf("%s, but may not", where)
		}
	}
}

// TestOtherPagesCannotPost sends every form as a page of somebody else would: with Sec-Fetch-Site (W3C Fetch Metadata) or Origin of a
// stranger, or with neither. Nothing is written.
func TestOtherPagesCannotPost(t *testing.T) {
	y := newYard(t)
	p := y.place()
	owner := y.worker("owner", record.Owner)
	from := map[string][2]string{"cross-site": {"Sec-Fetch-Site", "cross-site"}, "same-site": {"Sec-Fetch-Site", "same-site"}, "origin": {"Origin", "https://other.example"},
		"another port": {"Origin", "http://127.0.0.1:9999"}, "null": {"Origin", "null"}, "neither": {"X-Nothing", "1"}}
	before := y.last()
	for _, w := range ways {
		if !strings.HasPrefix(w.route, "POST ") {
			continue
		}
		for name, h := range from {
			r := w.request(p)
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set(h[0], h[1])
			if got := owner.do(r); got.Code != http.StatusForbidden {
				t.Errorf("%s from %s: %d", w.route, name, got.Code)
			}
		}
	}
	if y.last() != before {
		t.Error("a page of somebody else wrote something")
	}
	if got := owner.get("/me"); got.Code != http.StatusOK {
		t.Errorf("a page of somebody else signed the owner out: %d", got.Code)
	}
}

// TestGetWritesNothing asks every page: no GET changes what is written down.
func TestGetWritesNothing(t *testing.T) {
	y := newYard(t)
	p := y.place()
	owner := y.worker("owner", record.Owner)
	before := y.last()
	for _, w := range ways {
		if strings.HasPrefix(w.route, "GET ") {
			owner.do(w.request(p))
		}
	}
	if now := y.last(); now != before {
		t.Errorf("pages that were only looked at wrote %d entries", now-before)
	}
}

// TestNobodyActsForAnother: what somebody may do for themselves they cannot do for another by naming that other.
func TestNobodyActsForAnother(t *testing.T) {
	y := newYard(t)
	one, two := y.worker("one", record.Technician), y.worker("two", record.Technician)
	if got := one.post("/me/look", url.Values{"look": {"dark"}, "person": {fmt.Sprint(two.person)}, "id": {fmt.Sprint(two.person)}}); got.Code != http.StatusSeeOther {
		t.Fatalf("%d", got.Code)
	}
	for _, a := range []*actor{one, two} {
		dark := strings.Contains(a.get("/me").Body.String(), "look-dark")
		if dark != (a == one) {
			t.Errorf("%s: dark is %v", a.name, dark)
		}
	}
	if got := one.post("/jobs/1/notes", url.Values{"text": {"of one"}}); got.Code != http.StatusSeeOther {
		t.Fatalf("%d", got.Code)
	}
	j, err := y.shop.Job(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	mine := j.Notes[len(j.Notes)-1].First.Seq
	for form, want := range map[string]int{fmt.Sprintf("seq=%d&reason=x", mine): http.StatusForbidden} {
		q, err := url.ParseQuery(form)
		if err != nil {
			t.Fatal(err)
		}
		if got := two.post("/jobs/1/strike", q); got.Code != want {
			t.Errorf("striking what another wrote: %d", got.Code)
		}
		if got := one.post("/jobs/1/strike", q); got.Code != http.StatusSeeOther {
			t.Errorf("striking what one wrote oneself: %d", got.Code)
		}
	}
	if got := one.post(fmt.Sprintf("/catalogue/person/%d", two.person), url.Values{"name": {"x"}}); got.Code != http.StatusForbidden {
		t.Errorf("renaming another: %d", got.Code)
	}
	if got := one.post(fmt.Sprintf("/catalogue/person/%d/retire", one.person), nil); got.Code != http.StatusForbidden {
		t.Errorf("a technician takes himself out of the shop: %d", got.Code)
	}
}

// TestFieldsThatNoFormHas: a field that a page does not show changes nothing (mass assignment).
func TestFieldsThatNoFormHas(t *testing.T) {
	y := newYard(t)
	tech, owner := y.worker("tech", record.Technician), y.worker("owner", record.Owner)
	for _, path := range []string{"/me", "/me/look", "/me/units", "/me/lang"} {
		tech.post(path, url.Values{"role": {"owner"}, "name": {"Boss"}, "look": {"dark"}, "units": {"metric"}, "lang": {"en"}})
	}
	i, err := y.shop.Store().Item(t.Context(), record.Subject{Kind: record.OfPerson, ID: tech.person})
	if err != nil {
		t.Fatal(err)
	}
	if p := i.Value.(*record.Person); p.Role != record.Technician || p.Name != "tech" {
		t.Errorf("%+v", p)
	}
	if got := owner.post("/catalogue/shop/1", url.Values{"name": {"Aldersay"}, "demo": {"true"}, "Demo": {"1"}}); got.Code != http.StatusSeeOther {
		t.Fatalf("%d", got.Code)
	}
	profile, _, err := y.shop.Profile(t.Context())
	if err != nil || profile.Demo {
		t.Errorf("%+v %v", profile, err)
	}
	before := y.last()
	for _, body := range []string{
		`{"key":"a","kind":"noted","by":1,"body":{"text":"x"}}`, `{"key":"a","kind":"noted","device":1,"body":{"text":"x"}}`, `{"key":"a","kind":"noted","seq":7,"body":{"text":"x"}}`,
		`{"key":"a","kind":"noted","hash":"` + strings.Repeat("0", 64) + `","body":{"text":"x"}}`, `{"key":"a","kind":"judged","body":{"hold":"as left","word":"holds"}}`,
		`{"key":"a","kind":"kept","body":{"value":{"name":"x"}}}`, `{"key":"a","kind":"moved","body":{"to":"closed"}}`, `{"key":"a","kind":"overrode","body":{"reason":"x"}}`,
		`{"key":"a","kind":"priced","body":{"text":"x","quantity_thousandths":1000,"each":1,"currency":"EUR"}}`,
	} {
		r := httptest.NewRequest(http.MethodPost, "/jobs/1/entries", strings.NewReader(body))
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		r.Header.Set("Accept", "application/json")
		r.Header.Set("Content-Type", "application/json")
		if got := tech.do(r); got.Code < 400 || got.Code >= 500 {
			t.Errorf("%s: %d %s", body, got.Code, got.Body)
		}
	}
	if y.last() != before {
		t.Error("something of it was written")
	}
}
