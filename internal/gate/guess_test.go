package gate

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// The pauses: none for four wrong PINs, a minute from the fifth, then twice as long each, an hour at most; after the most of a count the PIN
// is of no use there.
func TestPauses(t *testing.T) {
	for wrong, want := range map[int]time.Duration{0: 0, 1: 0, 4: 0, 5: time.Minute, 6: 2 * time.Minute, 7: 4 * time.Minute, 8: 8 * time.Minute, 9: 16 * time.Minute,
		10: 32 * time.Minute, 11: time.Hour, 12: time.Hour, 14: time.Hour, 15: forEver, 1_000_000: forEver} {
		if got := pauses().Known(wrong); got != want {
			t.Errorf("after %d at a device that is known: %v, want %v", wrong, got, want)
		}
	}
	for wrong, want := range map[int]time.Duration{4: 0, 5: time.Minute, 11: time.Hour, 39: time.Hour, 40: forEver} {
		if got := pauses().Strange(wrong); got != want {
			t.Errorf("after %d at others: %v, want %v", wrong, got, want)
		}
	}
	for wrong, want := range map[int]time.Duration{0: 0, 9: 0, 10: time.Minute, 11: 2 * time.Minute, 16: time.Hour, 1_000_000: time.Hour} {
		if got := pauses().Device(wrong); got != want {
			t.Errorf("after %d of whomever at one device: %v, want %v", wrong, got, want)
		}
	}
	if mostWrong != 100 {
		t.Errorf("all counts of a person allow %d wrong PINs, want 100 (SP 800-63B section 5.2.2, from memory)", mostWrong)
	}
}

func TestLockOut(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	try := func(pin, want string) {
		t.Helper()
		s.clock.pass(6 * time.Second) // what the device may
		got := b.in(s.tech, pin)
		if want == "" && got.Code != 200 || !strings.Contains(got.Body.String(), want) {
			t.Fatalf("%d %s, want %q", got.Code, got.Body, want)
		}
	}
	for range 3 {
		try(aimsPIN, "does not fit; expected the PIN of this person; try again")
	}
	try(aimsPIN, "after one more wrong one there is a pause")
	try(aimsPIN, "too-many: PIN: found 5 wrong ones on devices where you did not sign in lately; expected a pause; try again in 60 seconds, or sign in on a device that you used lately")
	try(techPIN, "5 wrong ones on devices where you did not sign in lately; expected a pause; try again in 54 seconds")
	s.clock.pass(54*time.Second - 7*time.Second)
	try(techPIN, "try again in 1 second")
	s.clock.pass(time.Second)
	try(aimsPIN, "6 wrong ones on devices where you did not sign in lately; expected a pause; try again in 2 minutes")
	s.clock.pass(2 * time.Minute)
	if got := b.in(s.office, aimsPIN); got.Code != 200 {
		t.Errorf("the pause of one locks another out: %s", got.Body)
	}
	try(techPIN, "")
	for range 4 {
		try(aimsPIN, "does not fit")
	}
	try(aimsPIN, "5 wrong ones in a row on this device; expected a pause; try again in 60 seconds") // it is known by now
	s.clock.pass(time.Minute)
	try(techPIN, "")
}

// attack types wrong PINs of a person as fast as the pauses let it, and gives how many were compared.
func (s *shop) attack(b *browser, tries int, person int64) (compared int) {
	s.t.Helper()
	before := strings.Count(s.log.String(), `"wrong PIN"`)
	for i := range tries {
		got := b.in(person, fmt.Sprintf("%06d", 100_007+i*37))
		if got.Code != 422 {
			s.t.Fatalf("wrong PIN %d: %d %s", i, got.Code, got.Body)
		}
		s.clock.pass(2 * time.Second)
	}
	return strings.Count(s.log.String(), `"wrong PIN"`) - before
}

// Fifteen wrong PINs of each person within half a minute, from a device on which nobody ever signed in, lock nobody out anywhere else.
func TestOneDeviceLocksNobodyOutElsewhere(t *testing.T) {
	s := open(t, Options{})
	pins := map[int64]string{s.owner: ownerPIN, s.office: aimsPIN, s.tech: techPIN}
	own := map[int64]*browser{}
	for id, pin := range pins {
		own[id] = s.another()
		own[id].mustIn(id, pin)
		own[id].post("/out", "")
	}
	bad := s.another()
	for id := range pins {
		if n := s.attack(bad, 15, id); n > pauseFrom {
			t.Errorf("person %d: %d PINs were compared before the pause, want %d at most", id, n, pauseFrom)
		}
	}
	for id, pin := range pins {
		own[id].mustIn(id, pin)
		own[id].post("/out", "")
	}
	if got := bad.in(s.trainer, aimsPIN).Body.String(); !strings.Contains(got, "wrong ones on this device in a day; expected a pause") {
		t.Errorf("the device of the guesser goes on with another name: %s", got)
	}
	// A right sign-in forgives its own device only: the guesser gets nothing by it.
	if n := s.attack(bad, 5, s.tech); n != 0 {
		t.Errorf("%d more PINs were compared after the person signed in elsewhere", n)
	}
	s.clock.pass(time.Hour)
	if n := s.attack(bad, 5, s.tech); n != 1 {
		t.Errorf("%d more PINs were compared after an hour, want 1", n)
	}
	own[s.tech].mustIn(s.tech, techPIN)
}

// Who signed in on a device before is held up there by the wrong PINs of one's own name only, and each of several known devices has a count
// of its own.
func TestKnownDevicesHaveTheirOwnCount(t *testing.T) {
	s := open(t, Options{})
	a, b := s.another(), s.another()
	for _, d := range []*browser{a, b} {
		d.mustIn(s.tech, techPIN)
		d.mustIn(s.office, aimsPIN)
	}
	s.clock.pass(time.Minute)
	s.attack(a, 15, s.tech)
	if got := a.in(s.tech, techPIN).Body.String(); !strings.Contains(got, "5 wrong ones in a row on this device; expected a pause") || strings.Contains(got, "or sign in on") {
		t.Errorf("%s", got)
	}
	s.clock.pass(20 * time.Second) // what the device may; the pause goes on
	a.mustIn(s.office, aimsPIN)
	b.mustIn(s.tech, techPIN)
}

// However long somebody guesses at every device there is, no more than 100 PINs of a person are compared; a new PIN and a passkey go on.
func TestLockOutForEver(t *testing.T) {
	s := open(t, Options{})
	var devices []*browser
	for range store.KnownDevices + 2 {
		devices = append(devices, s.another())
	}
	for _, b := range devices {
		b.mustIn(s.tech, techPIN)
		b.post("/out", "")
		s.clock.pass(time.Minute)
	}
	total := 0
	for range 120 {
		s.clock.pass(time.Hour)
		for _, b := range devices {
			total += s.attack(b, 1, s.tech)
		}
	}
	if total != mostWrong {
		t.Errorf("%d PINs were compared, want %d", total, mostWrong)
	}
	s.clock.pass(30 * 24 * time.Hour)
	for i, want := range map[int]string{0: "40 wrong ones on devices where you did not sign in lately; expected a new PIN", 5: "15 wrong ones in a row on this device; expected a new PIN"} {
		if got := devices[i].in(s.tech, techPIN).Body.String(); !strings.Contains(got, want) {
			t.Errorf("device %d: %s", i, got)
		}
	}
	if err := s.SetPIN(context.Background(), fresh(s.clock, as(record.Office, s.office)), s.tech, "934068"); err != nil {
		t.Fatal(err)
	}
	if got := devices[0].post("/in-anew", fmt.Sprintf("person=%d&pin=934068&own=502846", s.tech)); got.Code != 200 {
		t.Fatal(got.Body)
	}
	devices[5].mustIn(s.tech, "502846")
}

// Wrong PINs are told to their person with the device and the time, until the person has read of them, and to the office and the owner.
func TestWrongPINsAreTold(t *testing.T) {
	s := open(t, Options{})
	own := s.another()
	own.mustIn(s.tech, techPIN)
	bad := s.another()
	start := s.clock.now()
	s.attack(bad, 9, s.tech)
	untold := func(b *browser) []Wrong {
		t.Helper()
		var out []Wrong
		b.read("/wrong", &out)
		return out
	}
	if got := untold(s.another()); got != nil {
		t.Errorf("nobody is told of %+v", got)
	}
	own.mustIn(s.tech, techPIN)
	got := untold(own)
	if len(got) != 1 || got[0].Device != bad.who().Device || got[0].Count != 5 || !got[0].First.Equal(start) || !got[0].Last.Equal(start.Add(8*time.Second)) {
		t.Fatalf("%+v", got)
	}
	own.mustIn(s.office, aimsPIN)
	if got := untold(own); got != nil {
		t.Errorf("somebody else is told of %+v", got)
	}
	week, err := WrongLately(context.Background(), s.st, as(record.Office, s.office), s.clock.now())
	if err != nil || len(week) != 1 || week[0].Person != s.tech || week[0].Count != 5 {
		t.Errorf("the office: %+v, %v", week, err)
	}
	if _, err := WrongLately(context.Background(), s.st, as(record.Trainer, s.trainer), s.clock.now()); code(err) != record.NotAllowed {
		t.Errorf("a trainer: %v", err)
	}
	own.mustIn(s.tech, techPIN)
	if got := own.post("/wrong", ""); got.Code != 200 || untold(own) != nil {
		t.Errorf("told again after it was read: %s", got.Body)
	}
	s.clock.pass(lately + time.Second)
	if old, err := WrongLately(context.Background(), s.st, as(record.Owner, s.owner), s.clock.now()); err != nil || old != nil {
		t.Errorf("a week later: %+v, %v", old, err)
	}
}

// Many guesses at once get no more comparisons than one after another: five, then the pause. Two gates on one store are two processes.
func TestParallelGuesses(t *testing.T) {
	s := open(t, Options{})
	other := New(s.st, s.opt)
	var wg sync.WaitGroup
	for i := range 60 {
		g := s.Gate
		if i%2 == 1 {
			g = other
		}
		wg.Go(func() {
			_, err := g.guess(context.Background(), int64(100+i), s.tech, aimsPIN)
			if c := code(err); c != record.NotAllowed && c != record.TooMany {
				t.Errorf("%v", err)
			}
		})
	}
	wg.Wait()
	if n := strings.Count(s.log.String(), `"wrong PIN"`); n < 1 || n > pauseFrom {
		t.Errorf("%d of 60 guesses were compared, want at most %d", n, pauseFrom)
	}
	if _, err := s.guess(context.Background(), 1, s.tech, techPIN); Left(err) <= 0 {
		t.Errorf("the right PIN in the pause: %v", err)
	}
}

// As many right ones at once all get in, one after another.
func TestParallelSignIns(t *testing.T) {
	s := open(t, Options{})
	var wg sync.WaitGroup
	for i := range 20 {
		wg.Go(func() {
			if _, err := s.guess(context.Background(), int64(100+i), s.tech, techPIN); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestGuessesOfADevice(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	for i := range 10 {
		if got := b.in(int64(500+i), techPIN); !strings.HasPrefix(got.Body.String(), "not-allowed") {
			t.Fatalf("%d: %s", i, got.Body)
		}
	}
	if got := b.in(s.tech, techPIN).Body.String(); !strings.Contains(got, "too many sign-ins on this device; expected a pause; try again in 6 seconds") {
		t.Error(got)
	}
	s.another().mustIn(s.office, aimsPIN)
	s.clock.pass(6 * time.Second)
	b.mustIn(s.tech, techPIN)
}

func TestStaleHashIsMadeAnew(t *testing.T) {
	s := open(t, Options{})
	dear := cheap()
	dear.Memory = 128
	opt := s.opt
	opt.PIN = dear
	s.Gate = New(s.st, opt)
	if _, err := s.guess(context.Background(), 1, s.tech, techPIN); err != nil {
		t.Fatal(err)
	}
	got, err := s.st.Secret(context.Background(), s.tech)
	if err != nil || !strings.Contains(got.PIN, "m=128") {
		t.Errorf("%s, %v", got.PIN, err)
	}
	if _, err := s.guess(context.Background(), 1, s.tech, techPIN); err != nil {
		t.Error(err)
	}
}

// A hash that is made anew forgives nothing that was counted elsewhere.
func TestStaleHashForgivesNothing(t *testing.T) {
	s := open(t, Options{})
	own := s.another()
	own.mustIn(s.tech, techPIN)
	bad := s.another()
	s.attack(bad, 5, s.tech)
	dear := cheap()
	dear.Memory = 128
	opt := s.opt
	opt.PIN = dear
	s.Gate = New(s.st, opt)
	s.pages = s.Wrap(s.mux())
	own.mustIn(s.tech, techPIN)
	if got := bad.in(s.tech, techPIN).Body.String(); !strings.Contains(got, "expected a pause") {
		t.Errorf("%s", got)
	}
}
