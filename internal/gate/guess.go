package gate

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Lock-out of a person's PIN. From pauseFrom wrong ones in a row on there is a pause of a minute, doubled with each further one up to an hour;
// after the most of a count the PIN is of no use there until it is set anew. Each of the last store.KnownDevices devices at which the person
// signed in has a count of its own, all others share one, so that nobody is locked out of a known device by what is typed elsewhere. All
// counts of a person together allow mostWrong in a row, the most that SP 800-63B section 5.2.2 allows (from memory). Passkeys are not touched.
const (
	pauseFrom   = 5
	mostKnown   = 15
	mostStrange = 40
	mostWrong   = mostStrange + store.KnownDevices*mostKnown
	deviceFrom  = 10 // wrong PINs at a device within a day, of all people who never signed in on it, from which on it has a pause
	forEver     = 100 * 365 * 24 * time.Hour
)

// pause is for how long a person is locked out after so many wrong PINs of at most so many.
func pause(wrong, most int) time.Duration {
	switch {
	case wrong < pauseFrom:
		return 0
	case wrong >= most:
		return forEver
	case wrong >= pauseFrom+6:
		return time.Hour
	}
	return time.Minute << (wrong - pauseFrom)
}

// pauses are those of the three counts.
func pauses() store.Pauses {
	return store.Pauses{
		Known:   func(wrong int) time.Duration { return pause(wrong, mostKnown) },
		Strange: func(wrong int) time.Duration { return pause(wrong, mostStrange) },
		Device:  func(wrong int) time.Duration { return min(time.Hour, pause(wrong-deviceFrom+pauseFrom, mostWrong)) },
	}
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
	have, err := g.count(ctx, person, device)
	if err != nil {
		return false, err
	}
	ok, stale, err := g.hash.fits(ctx, pin, have.PIN)
	if err != nil {
		return false, err
	}
	if !ok {
		return false, g.wrong(ctx, person, device, have)
	}
	if stale && !have.Given { // one that was given is soon changed
		hash, err := g.hash.make(ctx, pin)
		if err != nil {
			return false, err
		}
		if err := g.st.RehashPIN(ctx, person, have.PIN, hash); err != nil {
			return false, err
		}
	}
	return have.Given, g.st.Forgiven(ctx, person, device)
}

// count counts a failure and gives what to compare with, nothing for a person who has no PIN or does not work here. The store counts
// nothing in a pause, so that guesses at several processes do not outrun it either.
func (g *Gate) count(ctx context.Context, person, device int64) (store.Guess, error) {
	p, err := g.person(ctx, person)
	if err != nil || p == nil {
		return store.Guess{}, err
	}
	after, err := g.st.Failed(ctx, person, device, pauses())
	switch record.CodeOf(err) {
	case record.NotFound:
		return store.Guess{}, nil
	case record.TooMany:
		return store.Guess{}, g.paused(after)
	}
	return after, err
}

// wrong writes down that a PIN did not fit, for its person and the owner to read, and says what is next.
func (g *Gate) wrong(ctx context.Context, person, device int64, have store.Guess) error {
	g.opt.Log.WarnContext(ctx, "wrong PIN", "person", person, "device", device, "known", have.Known, "count", have.Wrong)
	if have.PIN != "" {
		if err := g.st.WrongPIN(ctx, person, device); err != nil {
			return err
		}
	}
	if !have.Until.IsZero() {
		return g.paused(have)
	}
	f := record.Faultf(record.NotAllowed, "PIN", "one that does not fit", "the PIN of this person", "try again")
	if have.Wrong == pauseFrom-1 {
		f.Mend = "try again; after one more wrong one there is a pause"
	}
	return f
}

// paused says how long a pause lasts yet; one that just ended lasts a second more, to try again.
func (g *Gate) paused(have store.Guess) error {
	left := max(time.Second, have.Until.Sub(g.opt.Now()))
	if have.Whole {
		return tooMany("PIN", fmt.Sprintf("%d wrong ones on this device in a day", have.Wrong), left)
	}
	found := fmt.Sprintf("%d wrong ones on devices where you did not sign in lately", have.Wrong)
	if have.Known {
		found = fmt.Sprintf("%d wrong ones in a row on this device", have.Wrong)
	}
	f := tooMany("PIN", found, left)
	if !have.Known {
		f.Mend = fmt.Sprintf("try again in %s, or sign in on a device that you used lately", spoken(left))
	}
	if left > 24*time.Hour {
		f.Want, f.Mend = "a new PIN", "choose another one on a device that you used lately, have somebody of the office set a new one, or use a passkey"
	}
	return f
}

// Wrong lists wrong PINs by person and device.
type Wrong = store.Wrong

// WrongLately lists the wrong PINs of all people within the last week, for whoever lets devices in and out, and for programs of the office.
func WrongLately(ctx context.Context, st *store.Store, who Who, now time.Time) ([]Wrong, error) {
	if err := May(who, SeeWrong); err != nil {
		return nil, err
	}
	return st.WrongSince(ctx, now.Add(-lately))
}

// lately is for how long the office and the owner see wrong PINs.
const lately = 7 * 24 * time.Hour

// WrongUntold lists the wrong PINs of who is signed in, since the person last said to have read of them.
func (g *Gate) WrongUntold(ctx context.Context) ([]Wrong, error) {
	who, ok := From(ctx)
	if !ok || who.Token {
		return nil, nil
	}
	return g.st.WrongUntold(ctx, who.Person)
}

// WrongTold writes down that who is signed in has read of the wrong PINs up to a moment.
func (g *Gate) WrongTold(ctx context.Context, until time.Time) error {
	who, err := atDevice(ctx, "reading of wrong PINs")
	if err != nil {
		return err
	}
	return g.st.WrongTold(ctx, who.Person, until)
}
