package gate

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// seeEvery is how often at most the use of a session is written down.
const seeEvery = time.Minute

// freshFor is how long after signing in somebody may do what gives lasting power, or takes it away: passkeys, tokens, codes for devices, the role and the PIN
// of others, sessions elsewhere. It keeps whoever finds a tablet that is still signed in from staying (SP 800-63B and ASVS 5.0 ask to sign in again, from
// memory).
const freshFor = 10 * time.Minute

// start signs a person in at a device: always a new token, so that none that was known before becomes worth anything (session
// fixation), and the session that the browser had before ends.
func (g *Gate) start(w http.ResponseWriter, r *http.Request, person, device int64) error {
	if old := g.cookie(r, sessionCookie); old != "" {
		if err := g.st.EndSession(r.Context(), old); err != nil {
			return err
		}
	}
	token := newSecret()
	if err := g.st.StartSession(r.Context(), token, store.Session{Person: person, Device: device, Expires: g.opt.Now().Add(g.opt.Life)}); err != nil {
		return err
	}
	g.setCookie(w, sessionCookie, token, g.opt.Life)
	if secret := g.cookie(r, deviceCookie); secret != "" {
		g.setCookie(w, deviceCookie, secret, deviceLife)
	}
	return nil
}

// SignOut ends the session of this browser; the device stays known.
func (g *Gate) SignOut(w http.ResponseWriter, r *http.Request) error {
	g.setCookie(w, sessionCookie, "", 0)
	token := g.cookie(r, sessionCookie)
	if token == "" {
		return nil
	}
	return g.st.EndSession(r.Context(), token)
}

// SignOutEverywhere ends all sessions of who is signed in within the last ten minutes, at every device: whoever finds a tablet does not sign its
// person out of all others.
func (g *Gate) SignOutEverywhere(w http.ResponseWriter, r *http.Request) error {
	who, err := atDevice(r.Context(), "signing out")
	if err != nil {
		return err
	}
	if err := g.fresh(who, "signing out everywhere"); err != nil {
		return err
	}
	if err := g.st.EndSessions(r.Context(), who.Person, 0); err != nil {
		return err
	}
	g.opt.Log.InfoContext(r.Context(), "signed out everywhere", "person", who.Person)
	g.setCookie(w, sessionCookie, "", 0)
	return nil
}

// Session is a session as its owner sees it.
type Session struct {
	ID          string
	Device      int64
	Since, Used time.Time
	Here        bool // the one of this request
	Locked      bool // it was not used for too long; the PIN opens a new one
}

// Sessions lists the sessions of who is signed in, the one that was used last first.
func (g *Gate) Sessions(r *http.Request) ([]Session, error) {
	who, err := atDevice(r.Context(), "reading sessions")
	if err != nil {
		return nil, err
	}
	kept, err := g.st.Sessions(r.Context(), who.Person)
	if err != nil {
		return nil, err
	}
	here, err := g.st.GetSession(r.Context(), g.cookie(r, sessionCookie))
	if err != nil {
		return nil, err
	}
	out := make([]Session, len(kept))
	for i, v := range kept {
		out[i] = Session{ID: v.ID, Device: v.Device, Since: v.Created, Used: v.Seen, Here: here != nil && here.ID == v.ID, Locked: g.opt.Now().Sub(v.Seen) > g.opt.Idle}
	}
	return out, nil
}

// EndSession ends one session of who is signed in within the last ten minutes; one of somebody else is left as it is.
func (g *Gate) EndSession(ctx context.Context, id string) error {
	who, err := atDevice(ctx, "ending a session")
	if err != nil {
		return err
	}
	if err := g.fresh(who, "ending a session"); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "session ended", "person", who.Person)
	return g.st.EndSessionOf(ctx, who.Person, id)
}

// Changed is to be called when a person was changed or retired: what is kept of the person is forgotten, and all sessions end, so
// that another role begins with another session.
func (g *Gate) Changed(ctx context.Context, person int64) error {
	g.forget(person)
	return g.st.EndSessions(ctx, person, 0)
}

// byCookies finds out who is at the door from device and session. A session counts only on the device where it began.
func (g *Gate) byCookies(r *http.Request) (Who, error) {
	ctx := r.Context()
	secret := g.cookie(r, deviceCookie)
	if secret == "" {
		return Who{}, nil
	}
	device, s, err := g.st.Visit(ctx, secret, g.cookie(r, sessionCookie))
	who := Who{Device: device}
	if err != nil || s == nil {
		return who, err
	}
	p, err := g.person(ctx, s.Person)
	if err != nil || p == nil {
		return who, err
	}
	now := g.opt.Now()
	if now.Sub(s.Seen) > g.opt.Idle {
		who.Locked, who.Last = true, s.Person
		return who, nil
	}
	if now.Sub(s.Seen) >= min(seeEvery, g.opt.Idle/4) && (g.opt.Background == nil || !g.opt.Background(r)) {
		if err := g.st.SeeSession(ctx, g.cookie(r, sessionCookie)); err != nil {
			return who, err
		}
	}
	who.Person, who.P, who.Since = s.Person, *p, s.Created
	return who, nil
}

// atDevice is who is signed in by hand; a program is refused.
func atDevice(ctx context.Context, what string) (Who, error) {
	who, ok := From(ctx)
	if !ok {
		return who, record.Faultf(record.NotAllowed, what, "nobody who is signed in", "a person who is signed in", "sign in")
	}
	if who.Token {
		return who, record.Faultf(record.NotAllowed, what, "a program with a token", "a person at a device of the shop", "do it by hand")
	}
	return who, nil
}

// ErrStale is the cause of a refusal of what only somebody who signed in a short while ago may do; see Again.
var ErrStale = errors.New("signed in too long ago")

// Again signs in anew who is signed in at this device, by PIN, and gives the request as that of the new session. Errors: those of SignIn.
func (g *Gate) Again(w http.ResponseWriter, r *http.Request, pin string) (*http.Request, error) {
	who, err := atDevice(r.Context(), "signing in")
	if err != nil {
		return nil, err
	}
	if err := g.SignIn(w, r, who.Person, pin); err != nil {
		return nil, err
	}
	who.Since = g.opt.Now()
	return r.WithContext(With(r.Context(), who)), nil
}

func (g *Gate) fresh(who Who, what string) error { return Fresh(who, g.opt.Now(), what) }

// Fresh refuses, with a *record.Fault of code NotAllowed, a program, and somebody who signed in too long ago for something that gives
// lasting power; the cause for a person is ErrStale.
func Fresh(who Who, now time.Time, what string) error {
	if age := now.Sub(who.Since); who.Token || age > freshFor || age < -time.Minute {
		f := record.Faultf(record.NotAllowed, what, "somebody who signed in a while ago", "a person who signed in within the last ten minutes", "sign in again, then do it")
		if !who.Token {
			f.Err = ErrStale
		}
		return f
	}
	return nil
}
