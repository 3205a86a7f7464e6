package store

import (
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

// from is a pause of so many hours as there are wrong PINs, from the n-th on.
func from(n int) func(int) time.Duration {
	return func(wrong int) time.Duration {
		if wrong >= n {
			return time.Duration(wrong) * time.Hour
		}
		return 0
	}
}

// guesser counts wrong PINs on a clock of its own. Its pauses begin at the 5th wrong PIN, for a device with the 8th.
type guesser struct {
	t *testing.T
	s *Store
	c *clock
}

func newGuesser(t *testing.T, s *Store) *guesser {
	g := &guesser{t, s, newClock()}
	s.now = g.c.now
	return g
}

func (g *guesser) failed(person, device int64) (Guess, error) {
	return g.s.Failed(g.t.Context(), person, device, Pauses{Known: from(5), Strange: from(5), Device: from(8)})
}

// wrong counts n wrong PINs, none of which falls into a pause.
func (g *guesser) wrong(n int, person, device int64) Guess {
	g.t.Helper()
	var last Guess
	for range n {
		v, err := g.failed(person, device)
		must(g.t, err)
		last = v
	}
	return last
}

// paused wants a pause, and what it is counted by.
func (g *guesser) paused(person, device int64, wrong int, whole bool) {
	g.t.Helper()
	v, err := g.failed(person, device)
	wantCode(g.t, err, record.TooMany)
	if v.Wrong != wrong || v.Whole != whole || v.Until.IsZero() {
		g.t.Errorf("person %d at device %d: %+v, want %d wrong ones, of the device %v", person, device, v, wrong, whole)
	}
}

// in signs a person in.
func (g *guesser) in(person, device int64) {
	g.t.Helper()
	must(g.t, g.s.StartSession(g.t.Context(), newKey(), Session{Person: person, Device: device, Expires: g.c.now().Add(time.Hour)}))
}

func (g *guesser) pin(person int64) {
	g.t.Helper()
	must(g.t, g.s.SetPIN(g.t.Context(), person, "$slow$hash"))
}

func testLockOut(t *testing.T, s *Store) {
	g := newGuesser(t, s)
	_, err := g.failed(1, 10)
	wantCode(t, err, record.NotFound)
	must(t, s.GivePIN(t.Context(), 1, "$given$hash"))
	if v, err := g.failed(1, 10); err != nil || !v.Given || v.PIN != "$given$hash" {
		t.Errorf("%+v, %v", v, err)
	}
	g.pin(1)
	if v, err := s.Secret(t.Context(), 1); err != nil || v.Given || v.Failures != 0 {
		t.Errorf("%+v, %v", v, err)
	}
	var let, refused atomic.Int64
	for _, err := range race(20, func(i int) error {
		v, err := g.failed(1, int64(10+i%3))
		switch record.CodeOf(err) {
		case "":
			if v.PIN == "$slow$hash" {
				let.Add(1)
			}
			return err
		case record.TooMany:
			refused.Add(1)
			return nil
		}
		return err
	}) {
		must(t, err)
	}
	if let.Load() != 5 || refused.Load() != 15 {
		t.Errorf("of 20 guesses at once %d were compared and %d refused", let.Load(), refused.Load())
	}
	if v, err := s.Secret(t.Context(), 1); err != nil || v.Failures != 5 || !v.LockedUntil.After(noon.Add(4*time.Hour)) {
		t.Errorf("secret %+v, %v", v, err)
	}
	g.c.set(noon.Add(6 * time.Hour))
	if v, err := g.failed(1, 10); err != nil || v.Wrong != 6 || v.Known || !v.Until.After(noon.Add(11*time.Hour)) {
		t.Errorf("after the pause %+v, %v", v, err)
	}
	g.pin(1)
	if v := g.wrong(1, 1, 10); v.Wrong != 1 {
		t.Errorf("with a new PIN %+v", v)
	}
	if v, err := s.Secret(t.Context(), 2); err != nil || v != (Secret{}) {
		t.Errorf("nobody %+v, %v", v, err)
	}
}

// Guesses at devices where somebody never signed in do not hold that person up where he did, and the other way round.
func testLockOutKnown(t *testing.T, s *Store) {
	g := newGuesser(t, s)
	g.pin(1)
	g.in(1, 10)
	g.wrong(5, 1, 11)
	g.paused(1, 11, 5, false)
	g.paused(1, 12, 5, false) // all strange devices share one count
	if v, err := g.failed(1, 10); err != nil || !v.Known || v.Wrong != 1 {
		t.Errorf("at the device that is known: %+v, %v", v, err)
	}
	must(t, s.Forgiven(t.Context(), 1, 10))
	g.paused(1, 12, 5, false) // a right PIN forgives its own device only
	g.wrong(5, 1, 10)
	g.paused(1, 10, 5, false)
	must(t, s.RehashPIN(t.Context(), 1, "$slow$hash", "$slower$hash"))
	g.paused(1, 10, 5, false)
	g.paused(1, 12, 5, false)
	if v, err := s.Secret(t.Context(), 1); err != nil || v.PIN != "$slower$hash" || v.Failures != 5 {
		t.Errorf("%+v, %v", v, err)
	}
	g.pin(1)
	if a, b := g.wrong(1, 1, 10), g.wrong(1, 1, 11); a.Wrong != 1 || !a.Known || b.Wrong != 1 || b.Known {
		t.Errorf("with a new PIN %+v and %+v", a, b)
	}
}

// What was counted at a strange device is forgiven when its person signs in there, and only that.
func testLockOutBecomesKnown(t *testing.T, s *Store) {
	g := newGuesser(t, s)
	g.pin(1)
	g.wrong(2, 1, 10)
	g.wrong(2, 1, 11)
	must(t, s.Forgiven(t.Context(), 1, 11))
	if v, err := s.Secret(t.Context(), 1); err != nil || v.Failures != 2 {
		t.Errorf("%+v, %v", v, err)
	}
	g.wrong(2, 1, 11)
	g.in(1, 11)
	if v, err := s.Secret(t.Context(), 1); err != nil || v.Failures != 2 {
		t.Errorf("%+v, %v", v, err)
	}
	if v := g.wrong(1, 1, 11); !v.Known || v.Wrong != 1 {
		t.Errorf("%+v", v)
	}
	for d := int64(20); d < 20+KnownDevices; d++ {
		g.in(1, d)
	}
	if v, err := s.Secret(t.Context(), 1); err != nil || v.Failures != 3 {
		t.Errorf("the wrong PIN of a device that is not known any more: %+v, %v", v, err)
	}
	if v := g.wrong(1, 1, 11); v.Known || v.Wrong != 4 {
		t.Errorf("%+v", v)
	}
	if v := g.wrong(1, 1, 20); !v.Known {
		t.Errorf("%+v", v)
	}
	must(t, s.StartDevice(t.Context(), "twenty", 20))
	must(t, s.EndDevice(t.Context(), 20))
	if v := g.wrong(1, 1, 20); v.Known || v.Wrong != 5 {
		t.Errorf("a device that was taken out: %+v", v)
	}
}

// A device at which one name after another is tried has a pause, for those who never signed in there; a day later it begins anew.
func testLockOutDevice(t *testing.T, s *Store) {
	g := newGuesser(t, s)
	for p := int64(1); p <= 4; p++ {
		g.pin(p)
	}
	g.in(4, 10)
	g.wrong(3, 1, 10)
	g.wrong(3, 2, 10)
	if v := g.wrong(2, 3, 10); v.Wrong != 8 || !v.Whole {
		t.Errorf("%+v", v)
	}
	g.paused(1, 10, 8, true)
	g.paused(3, 10, 8, true)
	if v := g.wrong(1, 4, 10); !v.Known || v.Wrong != 1 {
		t.Errorf("who signed in there before: %+v", v)
	}
	if v := g.wrong(1, 3, 11); v.Wrong != 3 || v.Whole {
		t.Errorf("at another device: %+v", v)
	}
	g.c.set(noon.Add(9 * time.Hour))
	if v := g.wrong(1, 1, 10); v.Wrong != 9 || !v.Whole {
		t.Errorf("after the pause: %+v", v)
	}
	g.c.set(noon.Add(9*time.Hour + deviceMemory + time.Minute))
	if v := g.wrong(1, 2, 10); v.Wrong != 4 || v.Whole {
		t.Errorf("a day later: %+v", v)
	}
}

// Two people at one device at once are counted one after another.
func testLockOutDeviceAtOnce(t *testing.T, s *Store) {
	g := newGuesser(t, s)
	must(t, s.StartDevice(t.Context(), "ten", 10))
	for p := int64(1); p <= 20; p++ {
		g.pin(p)
	}
	var let atomic.Int64
	for _, err := range race(20, func(i int) error {
		_, err := g.failed(int64(i+1), 10)
		if record.CodeOf(err) == record.TooMany {
			return nil
		}
		let.Add(1)
		return err
	}) {
		must(t, err)
	}
	if let.Load() != 8 {
		t.Errorf("%d people were tried at one device at once, want 8", let.Load())
	}
}

func testWrongPINs(t *testing.T, s *Store) {
	c := newClock()
	s.now = c.now
	at := func(m int) time.Time { return noon.Add(time.Duration(m) * time.Minute) }
	wrong := func(m int, person, device int64) {
		t.Helper()
		c.set(at(m).Add(-time.Second)) // it ticks
		must(t, s.WrongPIN(t.Context(), person, device))
	}
	wrong(0, 1, 10)
	wrong(1, 1, 11)
	wrong(2, 1, 10)
	wrong(2, 1, 10)
	wrong(3, 2, 10)
	want := []Wrong{{1, 10, 3, at(0), at(2)}, {1, 11, 1, at(1), at(1)}}
	if got, err := s.WrongUntold(t.Context(), 1); err != nil || !cmp.Equal(got, want) {
		t.Errorf("%v %s", err, cmp.Diff(want, got))
	}
	must(t, s.WrongTold(t.Context(), 1, at(1)))
	want = []Wrong{{1, 10, 2, at(2), at(2)}}
	if got, err := s.WrongUntold(t.Context(), 1); err != nil || !cmp.Equal(got, want) {
		t.Errorf("%v %s", err, cmp.Diff(want, got))
	}
	want = []Wrong{{2, 10, 1, at(3), at(3)}, {1, 10, 2, at(2), at(2)}, {1, 11, 1, at(1), at(1)}}
	if got, err := s.WrongSince(t.Context(), at(1)); err != nil || !cmp.Equal(got, want) {
		t.Errorf("%v %s", err, cmp.Diff(want, got))
	}
	wrong(2+int(wrongMemory/time.Minute), 3, 10)
	if got, err := s.WrongSince(t.Context(), time.Time{}); err != nil || len(got) != 3 {
		t.Errorf("after %v: %+v, %v", wrongMemory, got, err)
	}
}
