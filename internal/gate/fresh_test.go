package gate

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What gives lasting power takes a sign-in within ten minutes (ASVS 5.0 requirement 7.5.1, from memory): whoever finds a tablet at which
// somebody of the office signed in this morning gets no tablet of his own by it, and takes nobody's passkey away.
func TestFresh(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	key := newAuthenticator(t)
	b.mustIn(s.office, aimsPIN)
	if got := b.add(key); got != "" {
		t.Fatal(got)
	}
	who := b.who()
	ctx := With(context.Background(), who)
	all, err := s.Passkeys(ctx)
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	acts := map[string]func() error{
		"a code for a device": func() error { _, _, err := s.MakeCode(ctx, who); return err },
		"dropping a passkey":  func() error { return s.DropPasskey(ctx, all[0].ID) },
	}
	s.clock.pass(10*time.Minute + time.Second)
	for name, act := range acts {
		if err := act(); code(err) != record.NotAllowed {
			t.Errorf("%s, signed in long ago: %v", name, err)
		}
	}
	if left, err := s.Passkeys(ctx); err != nil || len(left) != 1 {
		t.Errorf("%v, %v", left, err)
	}
	who.Since = s.clock.now().Add(-10 * time.Minute)
	ctx = With(context.Background(), who)
	for name, act := range acts {
		if err := act(); err != nil {
			t.Errorf("%s, signed in ten minutes ago: %v", name, err)
		}
	}
	if left, err := s.Passkeys(ctx); err != nil || len(left) != 0 {
		t.Errorf("%v, %v", left, err)
	}
	who.Since = s.clock.now().Add(time.Hour) // a clock that was set back
	if _, _, err := s.MakeCode(ctx, who); code(err) != record.NotAllowed {
		t.Errorf("signed in in an hour: %v", err)
	}
}

// Somebody sees the sessions of their own and ends one of them, at a tablet that was left in the yard (ASVS 5.0 requirement 7.5.2, from
// memory); nobody sees or ends those of others.
func TestOwnSessions(t *testing.T) {
	s := open(t, Options{})
	here, there, other := s.tablet(), s.another(), s.another()
	there.mustIn(s.tech, techPIN)
	s.clock.pass(20 * time.Minute)
	here.mustIn(s.tech, techPIN)
	other.mustIn(s.office, aimsPIN)
	request := func(b *browser) *http.Request {
		r := httptest.NewRequest("GET", "/me", nil)
		for k, v := range b.cookies {
			r.AddCookie(&http.Cookie{Name: k, Value: v})
		}
		return r.WithContext(With(context.Background(), b.who()))
	}
	list, err := s.Sessions(request(here))
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	if a, b := list[0], list[1]; !a.Here || a.Locked || a.Device != 1 || b.Here || !b.Locked || b.Device == 1 || a.Since.Sub(b.Since) != 20*time.Minute {
		t.Errorf("%+v", list)
	}
	if err := s.EndSession(With(context.Background(), other.who()), list[0].ID); err != nil || here.who().Person != s.tech {
		t.Errorf("somebody else ends a session: %v", err)
	}
	there.mustIn(s.tech, techPIN)
	if list, err = s.Sessions(request(here)); err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	for _, v := range list {
		if v.Here {
			continue
		}
		if err := s.EndSession(With(context.Background(), here.who()), v.ID); err != nil {
			t.Fatal(err)
		}
	}
	if here.who().Person != s.tech || there.who().Person != 0 {
		t.Errorf("here %+v, there %+v", here.who(), there.who())
	}
	program := With(context.Background(), Who{Person: s.tech, Token: true, Scope: "write"})
	if _, err := s.Sessions(request(here).WithContext(program)); code(err) != record.NotAllowed {
		t.Errorf("a program: %v", err)
	}
	if err := s.EndSession(program, list[0].ID); code(err) != record.NotAllowed {
		t.Errorf("a program: %v", err)
	}
}
