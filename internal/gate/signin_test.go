package gate

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

func TestSignIn(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	if who := b.who(); who.Person != 0 || who.Device != 1 {
		t.Fatalf("%+v before signing in", who)
	}
	if got := b.in(s.tech, aimsPIN); got.Code != 422 || !strings.HasPrefix(got.Body.String(), "not-allowed: PIN: found one that does not fit") || b.session() != "" {
		t.Fatalf("%d %s, session %q", got.Code, got.Body, b.session())
	}
	b.mustIn(s.tech, techPIN)
	who := b.who()
	if who.Person != s.tech || who.Device != 1 || who.P.Role != record.Technician || who.P.Name != "Technician" || who.Token || who.Locked || !who.Since.Equal(s.clock.now()) {
		t.Errorf("%+v", who)
	}
	b.post("/out", "")
	if who = b.who(); who.Person != 0 || who.Device != 1 || b.session() != "" {
		t.Errorf("%+v after signing out", who)
	}
}

// Possession and knowledge: the right PIN is worth nothing on a device that is not known.
func TestPINOnAnUnknownDevice(t *testing.T) {
	s := open(t, Options{})
	for name, secret := range map[string]string{"none": "", "made up": newSecret(), "of a session": "x"} {
		b := s.browser()
		if secret != "" {
			b.cookies[deviceCookie] = secret
		}
		if got := b.in(s.tech, techPIN); got.Code != 422 || !strings.Contains(got.Body.String(), "a device that the shop does not know") || b.session() != "" {
			t.Errorf("%s: %d %s", name, got.Code, got.Body)
		}
	}
	if secret, err := s.st.Secret(context.Background(), s.tech); err != nil || secret.Failures != 0 {
		t.Errorf("a stranger counts failures of a person: %+v, %v", secret, err)
	}
}

func TestNobodyAndNoPIN(t *testing.T) {
	s := open(t, Options{})
	got, err := s.keep(context.Background(), record.Subject{Kind: record.OfPerson}, &record.Person{Name: "New", Initials: "NE", Role: record.Technician}, 1, newSecret())
	if err != nil {
		t.Fatal(err)
	}
	left := s.hire("Left", record.Technician, techPIN)
	s.retire(left)
	s.forget(left)
	b := s.tablet()
	want := b.in(s.tech, aimsPIN).Body.String()
	for name, id := range map[string]int64{"nobody": 999, "no PIN": got.Entry.Subject.ID, "left": left} {
		if got := b.in(id, techPIN); got.Body.String() != want {
			t.Errorf("%s: %s, want what a wrong PIN gives: %s", name, got.Body, want)
		}
	}
}

// A PIN that somebody else typed lets nobody in: its person chooses another when it is first used (ASVS 5.0 requirement 6.4.1, from memory).
// Until then neither a session nor the PIN of one's own is to be had by it.
func TestGivenPIN(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	b := s.tablet()
	if err := s.SetPIN(ctx, fresh(s.clock, as(record.Office, s.office)), s.tech, "934068"); err != nil {
		t.Fatal(err)
	}
	anew := func(pin, own string) string {
		return b.post("/in-anew", fmt.Sprintf("person=%d&pin=%s&own=%s", s.tech, pin, own)).Body.String()
	}
	for range 3 {
		if got := b.in(s.tech, "934068"); got.Code != 422 || !strings.Contains(got.Body.String(), "somebody else chose") || b.session() != "" {
			t.Fatalf("%d %s, session %q", got.Code, got.Body, b.session())
		}
	}
	for own, says := range map[string]string{"934068": "the same one again", "123456": "equal steps", "12345": "6 to 12 digits", "": "6 to 12 digits"} {
		if got := anew("934068", own); !strings.Contains(got, says) || b.session() != "" {
			t.Errorf("own PIN %q: %s", own, got)
		}
	}
	s.clock.pass(time.Minute)
	if got := anew(techPIN, "502846"); !strings.Contains(got, "does not fit") || b.who().Person != 0 {
		t.Errorf("a wrong PIN: %s", got)
	}
	if err := s.SignInAnew(httptest.NewRecorder(), httptest.NewRequest("POST", "/", nil), s.tech, "934068", "502846"); code(err) != record.NotAllowed {
		t.Errorf("on a device that is not known: %v", err)
	}
	if got := anew("934068", "502846"); got != "" || b.who().Person != s.tech {
		t.Fatalf("%s, %+v", got, b.who())
	}
	b.post("/out", "")
	if got := b.in(s.tech, "934068"); got.Code != 422 {
		t.Error("the PIN that was given still lets in")
	}
	if got := anew("502846", "771820"); !strings.HasPrefix(got, "conflict") || b.who().Person != 0 {
		t.Errorf("a PIN of one's own is changed at the door: %s", got)
	}
	b.mustIn(s.tech, "502846")
	if got := b.post("/pin", "old=502846&pin=771820"); got.Code != 200 || b.who().Person != s.tech {
		t.Errorf("changed by hand: %s", got.Body)
	}
}

// A token that somebody put into the browser before is not the session after signing in (session fixation), and the old one ends.
func TestFixation(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	planted := newSecret()
	b.cookies[sessionCookie] = planted
	b.mustIn(s.tech, techPIN)
	first := b.session()
	if first == planted {
		t.Fatal("the planted token is the session")
	}
	thief := s.tablet()
	thief.cookies[sessionCookie] = planted
	if who := thief.who(); who.Person != 0 {
		t.Errorf("the planted token is somebody: %+v", who)
	}
	b.mustIn(s.tech, techPIN)
	if b.session() == first {
		t.Error("the token is the same after signing in again")
	}
	thief.cookies[sessionCookie] = first
	if who := thief.who(); who.Person != 0 {
		t.Errorf("the old token is still somebody: %+v", who)
	}
}

func TestQuickSwitch(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	old := b.session()
	if b.in(s.trainer, techPIN).Code != 422 || b.who().Person != s.tech {
		t.Error("a wrong PIN of another ends the session")
	}
	b.mustIn(s.trainer, aimsPIN)
	if who := b.who(); who.Person != s.trainer {
		t.Errorf("%+v", who)
	}
	b.cookies[sessionCookie] = old
	if who := b.who(); who.Person != 0 {
		t.Errorf("the session before is open: %+v", who)
	}
}

func TestSessionOfAnotherDevice(t *testing.T) {
	s := open(t, Options{})
	a, b := s.tablet(), s.another()
	a.mustIn(s.owner, ownerPIN)
	b.cookies[sessionCookie] = a.session()
	if who := b.who(); who.Person != 0 || who.Device != 2 {
		t.Errorf("a session works on another device: %+v", who)
	}
	c := s.browser()
	c.cookies[sessionCookie] = a.session()
	if who := c.who(); who.Person != 0 || who.Device != 0 {
		t.Errorf("a session works without a device: %+v", who)
	}
}

func TestIdle(t *testing.T) {
	s := open(t, Options{Idle: 10 * time.Minute})
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	for range 5 {
		s.clock.pass(9 * time.Minute)
		if b.who().Person != s.tech {
			t.Fatal("locked although used")
		}
	}
	for range 4 {
		s.clock.pass(3 * time.Minute)
		b.do(http.MethodGet, "/poll", "")
	}
	who := b.who()
	if who.Person != 0 || !who.Locked || who.Last != s.tech || who.Device != 1 || who.P.Name != "" {
		t.Errorf("%+v, want it locked: polls do not count", who)
	}
	if _, ok := From(With(context.Background(), who)); ok {
		t.Error("a locked session is somebody")
	}
	s.clock.pass(time.Hour)
	if who := b.who(); !who.Locked {
		t.Error("asking unlocks")
	}
	b.mustIn(s.tech, techPIN)
	if who := b.who(); who.Person != s.tech || who.Locked {
		t.Errorf("%+v", who)
	}
}

func TestSessionEnds(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	for range 71 {
		s.clock.pass(10 * time.Minute)
		if b.who().Person != s.tech {
			t.Fatal("ended before twelve hours")
		}
	}
	s.clock.pass(10*time.Minute + time.Second)
	if who := b.who(); who.Person != 0 || who.Locked {
		t.Errorf("%+v after twelve hours", who)
	}
}

func TestUseIsWrittenOnceAMinute(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	start := s.clock.now()
	for _, c := range []struct{ pass, seen time.Duration }{{30 * time.Second, 0}, {29 * time.Second, 0}, {time.Second, time.Minute}, {59 * time.Second, time.Minute}, {time.Second, 2 * time.Minute}} {
		s.clock.pass(c.pass)
		b.who()
		got, err := s.st.GetSession(context.Background(), b.session())
		if err != nil || !got.Seen.Equal(start.Add(c.seen)) {
			t.Errorf("at %v: seen %v after the start, want %v (%v)", s.clock.now().Sub(start), got.Seen.Sub(start), c.seen, err)
		}
	}
}

func TestSignOutEverywhere(t *testing.T) {
	s := open(t, Options{})
	a, b, c := s.tablet(), s.another(), s.another()
	a.mustIn(s.tech, techPIN)
	b.mustIn(s.tech, techPIN)
	c.mustIn(s.office, aimsPIN)
	if got := a.post("/out-everywhere", ""); got.Code != 200 {
		t.Fatal(got.Body)
	}
	if a.who().Person != 0 || b.who().Person != 0 || c.who().Person != s.office {
		t.Error("not exactly the sessions of this person ended")
	}
	if got := a.post("/out-everywhere", ""); got.Code != 422 {
		t.Error("nobody signs out everywhere")
	}
}

func TestChangePIN(t *testing.T) {
	s := open(t, Options{})
	a, b := s.tablet(), s.another()
	a.mustIn(s.tech, techPIN)
	b.mustIn(s.tech, techPIN)
	before := a.session()
	for form, want := range map[string]string{"old=" + aimsPIN + "&pin=934068": "does not fit", "old=" + techPIN + "&pin=123456": "equal steps", "old=&pin=934068": "something else"} {
		if got := a.post("/pin", form).Body.String(); !strings.Contains(got, want) {
			t.Errorf("%s: %s, want %q", form, got, want)
		}
	}
	if got := a.post("/pin", "old="+techPIN+"&pin=934068"); got.Code != 200 {
		t.Fatal(got.Body)
	}
	if a.who().Person != s.tech || a.session() == before {
		t.Error("the session that changed it did not begin anew")
	}
	if b.who().Person != 0 {
		t.Error("the other session goes on")
	}
	if b.in(s.tech, techPIN).Code != 422 {
		t.Error("the old PIN works")
	}
	b.mustIn(s.tech, "934068")
	if got := s.tablet().post("/pin", "old=934068&pin=502846"); got.Code != 422 {
		t.Error("somebody who is not signed in changes a PIN")
	}
}

func TestSetPIN(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	other := s.hire("Owner two", record.Owner, aimsPIN)
	for name, c := range map[string]struct {
		who    Who
		person int64
		want   record.Code
	}{
		"technician":           {fresh(s.clock, as(record.Technician, s.tech)), s.trainer, record.NotAllowed},
		"trainer":              {fresh(s.clock, as(record.Trainer, s.trainer)), s.tech, record.NotAllowed},
		"office, of an owner":  {fresh(s.clock, as(record.Office, s.office)), s.owner, record.NotAllowed},
		"one's own":            {fresh(s.clock, as(record.Owner, s.owner)), s.owner, record.NotAllowed},
		"nobody":               {fresh(s.clock, as(record.Owner, s.owner)), 999, record.NotFound},
		"signed in long ago":   {as(record.Owner, s.owner), s.tech, record.NotAllowed},
		"a token":              {Who{Person: 1, Token: true, Scope: "write", P: record.Person{Role: record.Office}}, s.tech, record.NotAllowed},
		"owner, of an owner":   {fresh(s.clock, as(record.Owner, s.owner)), other, ""},
		"office, of a trainer": {fresh(s.clock, as(record.Office, s.office)), s.trainer, ""},
	} {
		if err := s.SetPIN(ctx, c.who, c.person, "934068"); code(err) != c.want || (err == nil) != (c.want == "") {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if b.who().Person != s.tech {
		t.Error("a refused PIN ends sessions")
	}
	if err := s.SetPIN(ctx, fresh(s.clock, as(record.Office, s.office)), s.tech, "502846"); err != nil {
		t.Fatal(err)
	}
	if b.who().Person != 0 {
		t.Error("the session goes on after the PIN was set")
	}
}

func TestRoleChange(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	s.change(s.tech, record.Trainer)
	s.clock.pass(peopleLife)
	if b.who().P.Role != record.Trainer {
		t.Error("another role is not seen after some seconds")
	}
	if err := s.Changed(context.Background(), s.tech); err != nil {
		t.Fatal(err)
	}
	if b.who().Person != 0 {
		t.Error("the session goes on with another role")
	}
	b.mustIn(s.tech, techPIN)
	s.retire(s.tech)
	s.clock.pass(peopleLife)
	if b.who().Person != 0 || b.in(s.tech, techPIN).Code != 422 {
		t.Error("somebody who left is signed in")
	}
}

// An error of the database is no answer to who is at the door.
func TestDatabaseGone(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r := httptest.NewRequestWithContext(ctx, http.MethodGet, "/who", nil)
	r.Host, r.RemoteAddr = b.host, b.from
	r.AddCookie(&http.Cookie{Name: deviceCookie, Value: s.secret})
	w := httptest.NewRecorder()
	s.pages.ServeHTTP(w, r)
	if w.Code != http.StatusServiceUnavailable {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	if _, err := s.guess(ctx, 1, s.tech, techPIN); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	// Nor is a database that is closed: whoever was signed in is not, whatever is asked, and a PIN and a code open nothing.
	b.mustIn(s.tech, techPIN)
	token, _, err := s.MakeToken(context.Background(), fresh(s.clock, as(record.Owner, s.owner)), s.owner, "press", "write", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	s.closed = true
	if err := s.st.Close(); err != nil {
		t.Fatal(err)
	}
	s.clock.pass(peopleLife)
	for _, got := range []*httptest.ResponseRecorder{b.do("GET", "/who", ""), b.in(s.tech, techPIN), b.post("/pin", "old="+techPIN+"&pin=934068"), b.do("GET", "/who", "", header("Authorization", "Bearer "+token))} {
		if got.Code != http.StatusServiceUnavailable || strings.Contains(got.Body.String(), `"Person"`) {
			t.Errorf("%d %s", got.Code, got.Body)
		}
	}
	if got := s.browser().post("/enrol", "code=ABCDEFGH&name=thief"); got.Code == http.StatusOK {
		t.Errorf("%d %s", got.Code, got.Body)
	}
	if got := b.do("POST", "/who", "", header("Sec-Fetch-Site", "cross-site")); got.Code == http.StatusOK {
		t.Errorf("a page of somebody else: %d", got.Code)
	}
}
