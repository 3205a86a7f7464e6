package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// TestLastingPowerTakesAFreshSignIn: what gives lasting power is refused to who signed in more than ten minutes ago, and the page says how
// to go on (ASVS 5.0 requirement 7.5.1, from memory).
func TestLastingPowerTakesAFreshSignIn(t *testing.T) {
	y := newYard(t)
	p := y.place()
	owner := y.worker("owner", record.Owner)
	acts := []struct{ path, form string }{
		{"/catalogue/person/%P", "name=Victim&initials=V&role=office"}, {"/catalogue/person/%P", "name=Victim&initials=V&role=owner"}, {"/devices/code", ""},
		{"/me/passkeys/drop", "id=x"}, {"/me/sessions/end", "id=x"}, {"/catalogue/person/%P/pin", "pin=903817"}, {"/tokens", "name=x&scope=read&days=1"}, {"/passkey/new/begin", ""}, {"/leave", "everywhere=yes"},
	}
	try := func(want bool) {
		t.Helper()
		for _, a := range acts {
			w := way{route: "POST " + a.path, path: a.path, form: a.form}
			got := owner.do(w.request(p))
			refused := got.Code == http.StatusForbidden && strings.Contains(got.Body.String(), `name="pin.anew"`)
			if refused != want {
				t.Errorf("%s %s: %d\n%s", a.path, a.form, got.Code, firstLines(got.Body.String()))
			}
			if refused && strings.Contains(got.Body.String(), "903817") {
				t.Errorf("%s: the page repeats a PIN", a.path)
			}
			if refused && a.path == "/devices/code" && !strings.Contains(got.Body.String(), `href="/door?to=%2fdevices%2fcode"`) {
				t.Error("the page does not lead to the door")
			}
			if refused && a.path == "/leave" && !strings.Contains(got.Body.String(), `href="/door?to=%2fleave"`) {
				t.Error("the page does not lead back to the own page by the door")
			}
		}
	}
	before := y.last()
	for range 2 { // used now and then, so that it is not locked
		y.later.Add(int64(6 * time.Minute))
		owner.get("/me")
	}
	try(true)
	if y.last() != before {
		t.Error("something was written")
	}
	owner.post("/door", url.Values{"person": {"1"}, "pin": {pin}})
	acts[len(acts)-2].path = "/me/passkeys/drop" // no passkeys under the name of this test
	try(false)
}

// TestThePINIsAskedForInPlace: who signed in more than ten minutes ago types the PIN on the page that asks for it, and what was typed before
// is done as it was typed; with a wrong PIN nothing is.
func TestThePINIsAskedForInPlace(t *testing.T) {
	y := newYard(t)
	p := y.place()
	owner := y.worker("owner", record.Owner)
	y.later.Add(int64(11 * time.Minute))
	path := fmt.Sprintf("/catalogue/person/%d", p.person)
	form := url.Values{"name": {"Victim the Second"}, "initials": {"V2"}, "role": {"office"}}
	asked := owner.post(path, form)
	if asked.Code != http.StatusForbidden || !strings.Contains(asked.Body.String(), `value="Victim the Second"`) || !strings.Contains(asked.Body.String(), `action="`+path+`?anew=1"`) {
		t.Fatalf("the page does not ask for the PIN with what was typed: %d\n%s", asked.Code, firstLines(asked.Body.String()))
	}
	before := y.last()
	form.Set("pin.anew", "111222")
	if got := owner.post(path+"?anew=1", form); got.Code != http.StatusForbidden || !strings.Contains(got.Body.String(), `value="Victim the Second"`) || y.last() != before {
		t.Errorf("with a wrong PIN: %d", got.Code)
	}
	form.Set("pin.anew", pin)
	if got := owner.post(path+"?anew=1", form); got.Code != http.StatusSeeOther || y.last() == before {
		t.Errorf("with the right PIN: %d\n%s", got.Code, firstLines(got.Body.String()))
	}
	if got := owner.post("/devices/code", nil); got.Code != http.StatusOK {
		t.Errorf("afterwards, within ten minutes: %d", got.Code)
	}
}

// TestOwnSessions: the page of a person lists where they are signed in, and a key ends one of it. Every page has a key to leave.
func TestOwnSessions(t *testing.T) {
	y := newYard(t)
	one := y.worker("one", record.Technician)
	two := y.device("tablet in the yard")
	if got := two.post("/door", url.Values{"person": {fmt.Sprint(one.person)}, "pin": {pin}}); got.Code != http.StatusSeeOther {
		t.Fatalf("%d", got.Code)
	}
	page := one.get("/me").Body.String()
	ids := regexp.MustCompile(`action="/me/sessions/end"(?s:.*?)</form>`).FindAllString(page, -1)
	if len(ids) != 2 || !strings.Contains(page, "tablet in the yard") || strings.Count(page, "this one") != 1 {
		t.Fatalf("%d sessions\n%s", len(ids), page)
	}
	var id string
	for _, form := range ids {
		if m := regexp.MustCompile(`name="id" value="([0-9a-f]+)"`).FindStringSubmatch(form); m != nil {
			id = m[1]
		}
	}
	other := y.worker("other", record.Owner)
	other.post("/me/sessions/end", url.Values{"id": {id}})
	if got := two.get("/me"); got.Code != http.StatusOK {
		t.Errorf("somebody else ended it: %d", got.Code)
	}
	if got := one.post("/me/sessions/end", url.Values{"id": {id}}); got.Code != http.StatusSeeOther {
		t.Errorf("%d", got.Code)
	}
	if got := two.get("/me"); got.Code != http.StatusSeeOther {
		t.Errorf("the session that was ended is answered %d", got.Code)
	}
	p := y.place()
	owner, pages := y.worker("owner", record.Owner), 0
	for _, w := range append(ways, way{route: "GET /jobs/{job}/report", path: "/jobs/%J/report?as=html", who: record.Technician}) {
		if w.who == "" || !strings.HasPrefix(w.route, "GET ") {
			continue
		}
		got := owner.do(w.request(p))
		body := got.Body.String()
		if got.Code >= 500 {
			t.Errorf("%s: %d", w.path, got.Code)
		}
		if got.Code != http.StatusOK || !strings.Contains(body, "<!DOCTYPE html>") && !strings.Contains(body, "<!doctype html>") {
			continue // a part of a page, a picture, a file
		}
		pages++
		if head, _, ok := strings.Cut(body, "</header>"); !ok || !strings.Contains(head, `<form method="post" action="/leave"`) && !strings.Contains(head, `<form class="leave" method="post" action="/leave"`) {
			t.Errorf("%s: no key to leave in its head", w.path)
		}
		if policy := got.Header().Get("Content-Security-Policy"); !strings.Contains(policy, "form-action 'self'") {
			t.Errorf("%s: its key to leave does nothing under %q", w.path, policy)
		}
	}
	if pages < 25 {
		t.Errorf("%d pages were looked at", pages)
	}
}

// TestPINFromAnother: who got a PIN from the office chooses one at the door, on the page that asks for it.
func TestPINFromAnother(t *testing.T) {
	y := newYard(t)
	id := y.keep(record.OfPerson, &record.Person{Name: "Ilse Varga", Initials: "IV", Role: record.Technician})
	if got := y.worker("owner", record.Owner).post(fmt.Sprintf("/catalogue/person/%d/pin", id), url.Values{"pin": {"934068"}}); got.Code != http.StatusSeeOther {
		t.Fatalf("%d", got.Code)
	}
	b := y.device("tablet")
	enter := func(pin, own string) *httptest.ResponseRecorder {
		return b.post("/door", url.Values{"person": {fmt.Sprint(id)}, "pin": {pin}, "own": {own}, "to": {"/search"}})
	}
	page := enter("934068", "")
	if body := page.Body.String(); page.Code != http.StatusOK || !strings.Contains(body, `name="own"`) || strings.Contains(body, "934068") || strings.Contains(body, `id="errors"`) || !strings.Contains(body, "data-pinpad") {
		t.Fatalf("%d %s", page.Code, body)
	}
	if got := b.get("/me"); got.Code != http.StatusSeeOther {
		t.Errorf("let in by the PIN of another: %d", got.Code)
	}
	if got := enter("934068", "934068"); got.Code != http.StatusUnprocessableEntity || !strings.Contains(got.Body.String(), `name="own"`) {
		t.Errorf("the same again: %d", got.Code)
	}
	if got := enter("934068", "502846"); got.Code != http.StatusSeeOther || got.Header().Get("Location") != "/search" {
		t.Errorf("%d", got.Code)
	}
	if got := b.get("/me"); got.Code != http.StatusOK {
		t.Errorf("%d", got.Code)
	}
	if body := b.get("/door?person=" + fmt.Sprint(id)).Body.String(); strings.Contains(body, `name="own"`) {
		t.Error("the door asks everybody for a new PIN")
	}
}
