package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// guess types wrong PINs in the name of a person, one after another within half a minute, as a device may.
func (a *actor) guess(tries int, person int64) {
	a.y.t.Helper()
	for i := range tries {
		w := a.post("/door", url.Values{"person": {fmt.Sprint(person)}, "pin": {fmt.Sprintf("%06d", 100_007+37*i)}})
		if w.Code != http.StatusTooManyRequests && w.Code != http.StatusForbidden {
			a.y.t.Fatalf("wrong PIN %d: %d", i, w.Code)
		}
		a.y.later.Add(int64(2 * time.Second))
	}
}

func (a *actor) signIn() {
	a.y.t.Helper()
	if w := a.post("/door", url.Values{"person": {fmt.Sprint(a.person)}, "pin": {pin}}); w.Code != http.StatusSeeOther {
		a.y.t.Fatalf("%s: the right PIN gives %d %s", a.name, w.Code, w.Body)
	}
}

// The attack: fifteen wrong PINs in the name of each from a tablet on which nobody is signed in. All go on working where they worked
// before; each is told what was typed where and when, until they say to have read it; office and owner see the tablet and put it out.
func TestOneTabletLocksNobodyOut(t *testing.T) {
	y := newYard(t)
	owner, office, tech := y.worker("owner", record.Owner), y.worker("Office", record.Office), y.worker("Tech", record.Technician)
	all := []*actor{owner, office, tech}
	for _, a := range all {
		a.post("/leave", nil)
	}
	bad := y.device("paint shop <door>")
	for _, a := range all {
		bad.guess(15, a.person)
	}
	program := y.program("read")
	if w := program.get("/api/v1/me"); w.Code != http.StatusNotFound && w.Code != http.StatusOK {
		t.Errorf("a program is held up: %d", w.Code)
	}
	const told = "5 wrong PINs on paint shop &lt;door&gt;, "
	for _, a := range all {
		a.signIn()
		page := a.get("/me").Body.String()
		if a != tech && !strings.Contains(page, told) {
			t.Errorf("%s is not told: %s", a.name, between(page, "wrong-pins", "</section>"))
		}
		if a == tech && strings.Contains(page, "Wrong PINs in your name") {
			t.Error("after ten wrong PINs the tablet goes on with a third name")
		}
	}
	page := office.get("/me").Body.String()
	until := between(page, `name="until" value="`, `"`)
	if w := office.post("/me/wrong-pins", url.Values{"until": {until}, "back": {"/me"}}); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/me" {
		t.Errorf("%d %s", w.Code, w.Header())
	}
	if page := office.get("/me").Body.String(); strings.Contains(page, "Wrong PINs in your name") {
		t.Error("told again after it was read")
	}
	if page := owner.get("/me").Body.String(); !strings.Contains(page, told) {
		t.Error("the key of one makes another one's notice go")
	}
	if page := tech.get("/").Body.String(); strings.Contains(page, "Wrong PINs on") {
		t.Error("a technician sees who guessed where")
	}
	page = owner.get("/").Body.String()
	for _, want := range []string{"Wrong PINs on paint shop &lt;door&gt;", "5 wrong PINs in the name of Mara Kell, ", "5 wrong PINs in the name of Office, "} {
		if !strings.Contains(page, want) {
			t.Errorf("the board of the owner does not say %q", want)
		}
	}
	out := between(page[strings.Index(page, `id="guessed-`):], `<form method="post" action="`, `"`)
	if w := owner.post(out, nil); w.Code != http.StatusSeeOther {
		t.Fatalf("%s: %d", out, w.Code)
	}
	if page := owner.get("/").Body.String(); strings.Contains(page, "Wrong PINs on") {
		t.Error("the board names a tablet that is out")
	}
	if page := owner.get(strings.TrimSuffix(out, "/out")).Body.String(); !strings.Contains(page, "5 wrong PINs in the name of Office") {
		t.Error("the page of the tablet does not say what was typed there")
	}
	if page := bad.get("/door").Body.String(); !strings.Contains(page, "not known to the shop") {
		t.Error("the tablet is still in")
	}
}

// between is what stands between two texts.
func between(s, before, after string) string {
	_, s, _ = strings.Cut(s, before)
	s, _, _ = strings.Cut(s, after)
	return s
}
