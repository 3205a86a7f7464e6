package gate

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Lock-out of a person's PIN: from pauseFrom wrong ones in a row a pause of a minute, that doubles up to an hour; after mostWrong (the
// most that SP 800-63B allows, from memory) the PIN is of no use until it is set anew. Passkeys are not touched by it.
const (
	pauseFrom = 5
	mostWrong = 100
	forEver   = 100 * 365 * 24 * time.Hour
)

// pause is for how long a person is locked out after so many wrong PINs in a row.
func pause(wrong int) time.Duration {
	switch {
	case wrong < pauseFrom:
		return 0
	case wrong >= mostWrong:
		return forEver
	case wrong >= pauseFrom+6:
		return time.Hour
	}
	return time.Minute << (wrong - pauseFrom)
}

// SignIn signs a person in by PIN on a device that is known, in the place of whoever was signed in there. Errors: *record.Fault of
// code NotAllowed (device not known, wrong PIN, or, with the cause ErrGivenPIN, one that somebody else chose: see SignInAnew), Invalid (no
// PIN at all), TooMany (Left says for how long).
func (g *Gate) SignIn(w http.ResponseWriter, r *http.Request, person int64, pin string) error {
	who, _ := From(r.Context())
	if who.Device == 0 || who.Token {
		return unknownDevice()
	}
	given, err := g.guess(r.Context(), who.Device, person, pin)
	if err != nil {
		return err
	}
	if given {
		return givenPIN()
	}
	g.opt.Log.InfoContext(r.Context(), "signed in", "person", person, "device", who.Device, "by", "PIN")
	return g.start(w, r, person, who.Device)
}

func unknownDevice() *record.Fault {
	return record.Faultf(record.NotAllowed, "signing in", "a device that the shop does not know", "a device that was let in",
		"let it in with a code that somebody of the office makes")
}

// guess checks a PIN. The failure is counted before the PIN is compared and forgiven after, so that many at once do not get more
// guesses than one after another.
// given says of one that fits that somebody else chose it.
func (g *Gate) guess(ctx context.Context, device, person int64, pin string) (given bool, err error) {
	if left := g.guesses.take(strconv.FormatInt(device, 10), g.opt.Now()); left > 0 {
		return false, tooMany("signing in", "too many sign-ins on this device", left)
	}
	if err := pinForm(pin); err != nil {
		return false, err
	}
	done, err := g.turns.take(ctx, person)
	if err != nil {
		return false, err
	}
	defer done()
	have, err := g.count(ctx, person)
	if err != nil {
		return false, err
	}
	ok, stale, err := g.hash.fits(ctx, pin, have.PIN)
	if err != nil {
		return false, err
	}
	if !ok {
		g.opt.Log.WarnContext(ctx, "wrong PIN", "person", person, "device", device, "in_a_row", have.Failures)
		return false, g.wrong(have.Failures)
	}
	if stale && !have.Given { // one that was given is soon changed
		hash, err := g.hash.make(ctx, pin)
		if err != nil {
			return false, err
		}
		return false, g.st.SetPIN(ctx, person, hash)
	}
	return have.Given, g.st.Forgiven(ctx, person)
}

// count counts a failure and gives what to compare with, nothing for a person who has no PIN or does not work here. The store counts
// nothing in a pause, so that guesses at several processes do not outrun it either.
func (g *Gate) count(ctx context.Context, person int64) (store.Secret, error) {
	p, err := g.person(ctx, person)
	if err != nil || p == nil {
		return store.Secret{}, err
	}
	after, err := g.st.Failed(ctx, person, pause)
	switch record.CodeOf(err) {
	case record.NotFound:
		return store.Secret{}, nil
	case record.TooMany:
		now, err := g.st.Secret(ctx, person)
		if err != nil {
			return store.Secret{}, err
		}
		return store.Secret{}, g.paused(now.Failures, now.LockedUntil)
	}
	return after, err
}

// paused says how long a pause lasts yet; one that just ended lasts a second more, to try again.
func (g *Gate) paused(wrong int, until time.Time) error {
	f := tooMany("PIN", fmt.Sprintf("%d wrong ones in a row", wrong), max(time.Second, until.Sub(g.opt.Now())))
	if wrong >= mostWrong {
		f.Want, f.Mend = "a new PIN", "have somebody of the office set a new one, or use a passkey"
	}
	return f
}

func (g *Gate) wrong(wrong int) error {
	if left := pause(wrong); left > 0 {
		return g.paused(wrong, g.opt.Now().Add(left))
	}
	f := record.Faultf(record.NotAllowed, "PIN", "one that does not fit", "the PIN of this person", "try again")
	if wrong == pauseFrom-1 {
		f.Mend = "try again; after one more wrong one there is a pause"
	}
	return f
}

// ChangePIN changes the PIN of who is signed in, which takes the old one; without an old one (passkeys only) a sign-in within the last ten
// minutes does. All other sessions of the person end, and this one begins anew.
func (g *Gate) ChangePIN(w http.ResponseWriter, r *http.Request, old, pin string) error {
	ctx := r.Context()
	who, err := atDevice(ctx, "changing the PIN")
	if err != nil {
		return err
	}
	if err := CheckPIN(pin); err != nil {
		return err
	}
	have, err := g.st.Secret(ctx, who.Person)
	if err != nil {
		return err
	}
	if have.PIN == "" {
		err = g.fresh(who, "setting a PIN")
	} else {
		_, err = g.guess(ctx, who.Device, who.Person, old)
	}
	if err != nil {
		return err
	}
	if err := g.Recover(ctx, who.Person, pin); err != nil {
		return err
	}
	return g.start(w, r, who.Person, who.Device)
}

// SetPIN sets the PIN of somebody else: office for all but owners, owners for all. It forgets wrong PINs and ends all sessions of that
// person, who chooses another when it is first used (SignInAnew).
func (g *Gate) SetPIN(ctx context.Context, who Who, person int64, pin string) error {
	p, err := g.person(ctx, person)
	if err != nil {
		return err
	}
	var role record.Role
	if p != nil {
		role = p.Role
	}
	if err := MayKeepPerson(who, role, role); err != nil {
		return err
	}
	if p == nil {
		return record.Faultf(record.NotFound, fmt.Sprintf("person %d", person), "nobody", "somebody who works here", "")
	}
	if person == who.Person {
		return record.Faultf(record.NotAllowed, "setting a PIN", "your own", "that of somebody else", "change your own with the old one")
	}
	if err := g.fresh(who, "setting a PIN"); err != nil {
		return err
	}
	return g.putPIN(ctx, person, pin, g.st.GivePIN)
}

// Recover sets a PIN without asking who wants it: for the terminal of the server itself, when nobody gets in any more. Whoever can call it
// can read the database too.
func (g *Gate) Recover(ctx context.Context, person int64, pin string) error {
	return g.putPIN(ctx, person, pin, g.st.SetPIN)
}

func (g *Gate) putPIN(ctx context.Context, person int64, pin string, put func(context.Context, int64, string) error) error {
	if err := CheckPIN(pin); err != nil {
		return err
	}
	p, err := g.person(ctx, person)
	if err != nil {
		return err
	}
	if p == nil {
		return record.Faultf(record.NotFound, fmt.Sprintf("person %d", person), "nobody", "somebody who works here", "")
	}
	hash, err := g.hash.make(ctx, pin)
	if err != nil {
		return err
	}
	if err := put(ctx, person, hash); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "PIN set", "person", person)
	return g.Changed(ctx, person)
}
