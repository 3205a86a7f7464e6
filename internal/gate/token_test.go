package gate

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// What a token may beyond the office is that of its person now, read with each request.
func TestTokenOfAnOwner(t *testing.T) {
	s := open(t, Options{})
	for _, c := range []struct {
		person int64
		want   record.Role
	}{{s.owner, record.Owner}, {s.office, record.Office}} {
		secret := newToken()
		if _, err := s.st.AddToken(context.Background(), secret, store.Token{Person: c.person, Name: "x", Scope: "write", Expires: s.clock.now().Add(time.Hour)}); err != nil {
			t.Fatal(err)
		}
		who, err := s.byToken(context.Background(), secret)
		if err != nil || who.Whole != c.want || who.P.Role != record.Office {
			t.Errorf("%+v, %v", who, err)
		}
	}
}

func TestTokens(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	owner := fresh(s.clock, as(record.Owner, s.owner))
	secret, _, err := s.MakeToken(ctx, owner, s.owner, "press logger", "read", s.clock.now().Add(time.Hour))
	if err != nil || !regexp.MustCompile(`^es_[0-9a-f]{72}$`).MatchString(secret) {
		t.Fatal(secret, err)
	}
	b := s.browser()
	bear := header("Authorization", "Bearer "+secret)
	who := b.who(bear)
	if who.Person != s.owner || !who.Token || who.Scope != "read" || who.P.Role != record.Office || who.Device != 0 {
		t.Errorf("%+v, want the owner with at most the role office", who)
	}
	if May(who, Read) != nil || May(who, WriteJob) == nil || May(who, Export) == nil {
		t.Error("what a reading token may")
	}
	for name, more := range map[string]func(*http.Request){
		"in a cookie":     func(r *http.Request) { r.AddCookie(&http.Cookie{Name: sessionCookie, Value: secret}) },
		"in the query":    func(r *http.Request) { r.URL.RawQuery = "access_token=" + secret + "&token=" + secret },
		"another scheme":  header("Authorization", "Basic "+secret),
		"a header of own": header("X-Api-Token", secret),
	} {
		if who := b.who(more); who.Person != 0 {
			t.Errorf("%s: %+v", name, who)
		}
	}
	for name, at := range map[string]time.Time{"more than a year": s.clock.now().Add(367 * 24 * time.Hour), "over already": s.clock.now(), "no end": {}} {
		if _, _, err := s.MakeToken(ctx, owner, s.owner, "press logger", "read", at); code(err) != record.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	s.clock.pass(time.Hour + time.Second)
	if got := b.do("GET", "/who", "", bear); got.Code != 401 {
		t.Errorf("a token that is over: %d", got.Code)
	}
	secret, id, err := s.MakeToken(ctx, fresh(s.clock, owner), s.tech, "scale", "write", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	bear = header("Authorization", "Bearer "+secret)
	who = b.who(bear)
	if who.Person != s.tech || who.P.Role != record.Technician || May(who, WriteJob) != nil || May(who, KeepPrice) == nil {
		t.Errorf("%+v, want the role of the technician", who)
	}
	if got := b.do("POST", "/who", "", bear, func(r *http.Request) { r.Header.Del("Sec-Fetch-Site") }); got.Code != 200 {
		t.Errorf("a program without Origin: %d %s", got.Code, got.Body)
	}
	if got := b.do("POST", "/who", "", bear, header("Sec-Fetch-Site", "cross-site")); got.Code != 403 {
		t.Errorf("a token in a page of others: %d", got.Code)
	}
	for path, form := range map[string]string{"/in": "person=4&pin=" + techPIN, "/pin": "old=" + techPIN + "&pin=934068", "/out-everywhere": "", "/passkey/new/begin": "", "/passkey/in/finish": ""} {
		if got := b.do("POST", path, form, bear); got.Code != 422 || !strings.HasPrefix(got.Body.String(), "not-allowed") {
			t.Errorf("%s with a token: %d %s", path, got.Code, got.Body)
		}
	}
	all, err := s.Tokens(ctx, owner)
	if err != nil || len(all) != 2 || all[0].Name != "scale" {
		t.Errorf("%+v, %v", all, err)
	}
	if err := s.RevokeToken(ctx, owner, id); err != nil {
		t.Fatal(err)
	}
	if got := b.do("GET", "/who", "", bear); got.Code != 401 {
		t.Errorf("a token that was revoked: %d", got.Code)
	}
}

func TestTokenOfSomebodyWhoLeft(t *testing.T) {
	s := open(t, Options{})
	secret, _, err := s.MakeToken(context.Background(), fresh(s.clock, as(record.Owner, s.owner)), s.office, "x", "write", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	bear := header("Authorization", "Bearer "+secret)
	s.change(s.office, record.Technician)
	s.clock.pass(peopleLife)
	if who := s.browser().who(bear); who.P.Role != record.Technician {
		t.Errorf("%+v, want the role of now", who)
	}
	s.retire(s.office)
	s.clock.pass(peopleLife)
	if got := s.browser().do("GET", "/who", "", bear); got.Code != 401 {
		t.Errorf("%d %s", got.Code, got.Body)
	}
}

func TestWhoMakesTokens(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	two := s.hire("Owner two", record.Owner, aimsPIN)
	hour := s.clock.now().Add(time.Hour)
	is := func(role record.Role, id int64) Who { return fresh(s.clock, as(role, id)) }
	for name, c := range map[string]struct {
		who         Who
		person      int64
		name, scope string
		expires     time.Time
		want        record.Code
	}{
		"technician":           {is(record.Technician, s.tech), s.tech, "x", "read", hour, record.NotAllowed},
		"trainer":              {is(record.Trainer, s.trainer), s.trainer, "x", "read", hour, record.NotAllowed},
		"office":               {is(record.Office, s.office), s.office, "x", "read", hour, ""},
		"office, for another":  {is(record.Office, s.office), s.tech, "x", "read", hour, record.NotAllowed},
		"office, for an owner": {is(record.Office, s.office), s.owner, "x", "read", hour, record.NotAllowed},
		"owner":                {is(record.Owner, s.owner), s.owner, "x", "write", hour, ""},
		"owner, for another":   {is(record.Owner, s.owner), s.tech, "x", "write", hour, ""},
		"owner, for an owner":  {is(record.Owner, s.owner), two, "x", "write", hour, record.NotAllowed},
		"owner, for nobody":    {is(record.Owner, s.owner), 999, "x", "write", hour, record.NotAllowed},
		"signed in long ago":   {as(record.Owner, s.owner), s.owner, "x", "write", hour, record.NotAllowed},
		"with a token":         {Who{Person: 1, Token: true, Scope: "write", P: record.Person{Role: record.Office}, Since: s.clock.now()}, s.owner, "x", "write", hour, record.NotAllowed},
		"no name":              {is(record.Owner, s.owner), s.owner, " ", "write", hour, record.Invalid},
		"long name":            {is(record.Owner, s.owner), s.owner, strings.Repeat("x", 81), "write", hour, record.Invalid},
		"odd name":             {is(record.Owner, s.owner), s.owner, "a\x00b", "write", hour, record.Invalid},
		"no scope":             {is(record.Owner, s.owner), s.owner, "x", "admin", hour, record.Invalid},
		"over at once":         {is(record.Owner, s.owner), s.owner, "x", "read", s.clock.now(), record.Invalid},
		"a year":               {is(record.Owner, s.owner), s.owner, "x", "read", s.clock.now().AddDate(1, 0, 0), ""},
		"longer than a year":   {is(record.Owner, s.owner), s.owner, "x", "read", s.clock.now().AddDate(1, 0, 2), record.Invalid},
	} {
		if _, _, err := s.MakeToken(ctx, c.who, c.person, c.name, c.scope, c.expires); code(err) != c.want || (err == nil) != (c.want == "") {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if _, err := s.Tokens(ctx, as(record.Technician, s.tech)); code(err) != record.NotAllowed {
		t.Error(err)
	}
	if err := s.RevokeToken(ctx, as(record.Trainer, s.trainer), 1); code(err) != record.NotAllowed {
		t.Error(err)
	}
}

// RFC 6750 section 2.1 and 3 (from memory): the scheme in any capitals, one header, 401 with the reason for a token that does not fit.
func TestAuthorization(t *testing.T) {
	s := open(t, Options{})
	good, _, err := s.MakeToken(context.Background(), fresh(s.clock, as(record.Owner, s.owner)), s.owner, "x", "read", s.clock.now().Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	flip := "0"
	if good[10] == '0' {
		flip = "1"
	}
	b := s.tablet()
	b.mustIn(s.tech, techPIN)
	for name, c := range map[string]struct {
		lines []string
		want  int
	}{
		"good":             {[]string{"Bearer " + good}, 200},
		"other capitals":   {[]string{"bEARER " + good}, 200},
		"two spaces":       {[]string{"Bearer  " + good}, 200},
		"none":             {nil, 200},
		"of a proxy":       {[]string{"Basic eDp5"}, 200},
		"empty":            {[]string{"Bearer "}, 401},
		"scheme only":      {[]string{"Bearer"}, 401},
		"unknown":          {[]string{"Bearer " + newToken()}, 401},
		"one digit off":    {[]string{"Bearer " + good[:10] + flip + good[11:]}, 401},
		"capitals":         {[]string{"Bearer " + strings.ToUpper(good)}, 401},
		"cut":              {[]string{"Bearer " + good[:70]}, 401},
		"more behind":      {[]string{"Bearer " + good + " x"}, 401},
		"a session":        {[]string{"Bearer " + b.session()}, 401},
		"two":              {[]string{"Bearer " + good, "Bearer " + good}, 401},
		"two schemes":      {[]string{"Basic eDp5", "Bearer " + good}, 401},
		"joined by commas": {[]string{"Bearer " + good + ", Bearer " + good}, 401},
	} {
		got := b.do("GET", "/who", "", func(r *http.Request) { r.Header["Authorization"] = c.lines })
		if got.Code != c.want {
			t.Errorf("%s: %d, want %d", name, got.Code, c.want)
		}
		if auth := got.Header().Get("WWW-Authenticate"); (auth == `Bearer error="invalid_token"`) != (c.want == 401) {
			t.Errorf("%s: WWW-Authenticate %q", name, auth)
		}
	}
	if who := b.who(header("Authorization", "Bearer "+good)); !who.Token || who.Person != s.owner {
		t.Errorf("cookies beside a token: %+v", who)
	}
}

// The sum of the token is the CRC-32 of ISO 3309; its check value for "123456789" is cbf43926 (from memory, in every catalogue of CRCs).
func TestTokenSum(t *testing.T) {
	if got := tokenSum("123456789"); got != "cbf43926" {
		t.Error(got)
	}
	for range 200 {
		if v := newToken(); !isToken(v) {
			t.Fatal(v)
		}
	}
}

func FuzzAuthorization(f *testing.F) {
	f.Add("Bearer "+newToken(), "")
	f.Add("Basic x", "bearer es_")
	f.Add("Bearer es_"+strings.Repeat("0", 72), "x")
	f.Fuzz(func(t *testing.T, a, b string) {
		h := http.Header{"Authorization": {a}}
		if b != "" {
			h["Authorization"] = append(h["Authorization"], b)
		}
		token, none, err := bearer(h)
		switch {
		case none && (token != "" || err != nil):
			t.Fatal(token, err)
		case !none && err == nil && (!isToken(token) || b != "" || !strings.Contains(a, token)):
			t.Fatalf("%q %q: %q", a, b, token)
		case err != nil && code(err) != record.NotAllowed:
			t.Fatal(err)
		}
	})
}
