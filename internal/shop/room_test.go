package shop

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// ticking is a clock that a test sets.
type ticking struct{ at atomic.Int64 }

func (c *ticking) now() time.Time       { return time.Unix(1_800_000_000, c.at.Load()) }
func (c *ticking) pass(d time.Duration) { c.at.Add(int64(d)) }

func roomy() (*Shop, *ticking) {
	c := &ticking{}
	return &Shop{now: c.now, room: newRoom(c.now)}, c
}

// bounded ends what hangs, long after it should be over.
func bounded(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}

const mega = 1 << 20

func begin(t *testing.T, s *Shop, person, n int64) *Intake {
	t.Helper()
	in, err := s.Intake(bounded(t), person, n, 200*mega)
	if err != nil {
		t.Fatalf("an upload of person %d does not begin: %v", person, err)
	}
	return in
}

// takes reads n bytes of a body.
func takes(t *testing.T, in *Intake, n int64) {
	t.Helper()
	got, err := io.Copy(io.Discard, in.Reader(bounded(t), io.LimitReader(zeros{}, n), nil))
	if err != nil || got != n {
		t.Fatalf("%d of %d bytes: %v", got, n, err)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// waits says whether something waits for room.
func waits(t *testing.T, do func(ctx context.Context) error) bool {
	t.Helper()
	ctx := &asked{Context: t.Context()}
	if err := do(ctx); err != nil && !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	return ctx.waited.Load()
}

// asked is a context that ends as soon as somebody waits for its end.
type asked struct {
	context.Context
	waited atomic.Bool
}

func (a *asked) Done() <-chan struct{} {
	a.waited.Store(true)
	ended := make(chan struct{})
	close(ended)
	return ended
}

func (a *asked) Err() error {
	if a.waited.Load() {
		return context.Canceled
	}
	return nil
}

// Thirteen people say that they send 20 MB, and send a thousand bytes: an honest photo of 25 MB has room at once.
func TestSlowUploadsHoldWhatTheySent(t *testing.T) {
	s, _ := roomy()
	for p := range int64(13) {
		takes(t, begin(t, s, p, 20*mega), 1000)
	}
	if held := MostRoom - s.room.free; held > 13*roomStep {
		t.Errorf("%d bytes are held", held)
	}
	in := begin(t, s, 100, 25*mega)
	takes(t, in, 25*mega)
	in.Done()
	in.Done()
	if held := MostRoom - s.room.free; held > 13*roomStep || len(s.room.all) != 13 {
		t.Errorf("%d bytes are held, by %d, after the photo is in", held, len(s.room.all))
	}
}

// One person gets a share; who has an archive that is larger than the share gets it alone; others go on.
func TestShareOfAPerson(t *testing.T) {
	s, _ := roomy()
	a, b := begin(t, s, 1, 25*mega), begin(t, s, 1, 25*mega)
	third := func(ctx context.Context) error {
		in, err := s.Intake(ctx, 1, 25*mega, 25*mega)
		if err == nil {
			in.Done()
		}
		return err
	}
	if !waits(t, third) {
		t.Fatal("a third of 25 MB of one person begins")
	}
	begin(t, s, 2, 25*mega).Done()
	a.Done()
	if waits(t, third) {
		t.Fatal("the third after the first is in")
	}
	b.Done()
	whole := begin(t, s, 1, 200*mega)
	takes(t, whole, 200*mega)
	takes(t, begin(t, s, 2, 25*mega), 25*mega)
}

// Forty people send 25 MB each at once, four times as much as there is room for, and all come in: nobody waits for what another holds that waits
// in turn.
func TestAllThatBeganComeIn(t *testing.T) {
	s, _ := roomy()
	var open []*Intake
	for p := range int64(40) {
		open = append(open, begin(t, s, p, 25*mega))
	}
	for len(open) > 0 { // piece by piece, one after another
		came := false
		for _, in := range open {
			if in.held < in.most && !waits(t, func(ctx context.Context) error { return in.grow(ctx, roomStep) }) {
				came = true
			}
		}
		if !came {
			t.Fatalf("%d uploads wait for one another, %d bytes are free", len(open), s.room.free)
		}
		open = slices.DeleteFunc(open, func(in *Intake) bool {
			if in.held < in.most {
				return false
			}
			in.Done()
			return true
		})
	}
	var wg sync.WaitGroup
	for p := range int64(40) {
		wg.Go(func() {
			ctx := bounded(t)
			in, err := s.Intake(ctx, p, 25*mega, 25*mega)
			if err != nil {
				t.Error(err)
				return
			}
			defer in.Done()
			if _, err := io.Copy(io.Discard, in.Reader(ctx, io.LimitReader(zeros{}, 25*mega), nil)); err != nil {
				t.Errorf("person %d: %v", p, err)
			}
			s.room.mu.Lock()
			defer s.room.mu.Unlock()
			if s.room.free < 0 || !s.room.safe() {
				t.Errorf("%d bytes free", s.room.free)
			}
		})
	}
	wg.Wait()
	if s.room.free != MostRoom || len(s.room.all) != 0 {
		t.Errorf("%d bytes free, %d uploads at the end", s.room.free, len(s.room.all))
	}
}

// A piece that would leave nobody able to finish is not given.
func TestUnsafePieceWaits(t *testing.T) {
	s, _ := roomy()
	a, b := begin(t, s, 1, 200*mega), begin(t, s, 2, 200*mega)
	takes(t, a, 150*mega-roomStep)
	takes(t, b, 55*mega) // 50 MB and a piece are free, the first needs 50
	if !waits(t, func(ctx context.Context) error { return b.grow(ctx, 10*mega) }) {
		t.Fatal("the second takes what the first needs to finish")
	}
	takes(t, a, 50*mega-roomStep)
	a.Done()
	takes(t, b, 145*mega)
}

// slow is a sender that sends so many bytes in each so long.
type slow struct {
	c    *ticking
	n    int
	each time.Duration
	left int
}

func (s *slow) Read(p []byte) (int, error) {
	if s.left == 0 {
		return 0, io.EOF
	}
	s.c.pass(s.each)
	n := min(s.n, len(p), s.left)
	s.left -= n
	return n, nil
}

// readAll reads in large pieces.
func readAll(r io.Reader) (n int, err error) {
	buf := make([]byte, mega)
	for err == nil {
		var k int
		k, err = r.Read(buf)
		n += k
	}
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return n, err
}

// By the clock of the server: who sends too little in ten seconds is cut off, who sends as much as the least rate is not, and time in which the
// server itself does something else is not the sender's.
func TestLeastRate(t *testing.T) {
	for name, c := range map[string]struct {
		n    int
		each time.Duration
		fine bool
	}{
		"a byte a second": {1, time.Second, false}, "8 kB a second": {8 << 10, time.Second, false}, "nothing for a while": {16 << 10, 11 * time.Second, false},
		"16 kB a second": {16 << 10, time.Second, true}, "128 kB in 5 s": {128 << 10, 5 * time.Second, true}, "at once": {mega, 0, true},
	} {
		s, clock := roomy()
		in := begin(t, s, 1, 2*mega)
		got, err := readAll(in.Reader(bounded(t), &slow{clock, c.n, c.each, 2 * mega}, nil))
		if (err == nil) != c.fine || err != nil && record.CodeOf(err) != record.TooMany || c.fine && got != 2*mega {
			t.Errorf("%s: %d bytes, %v", name, got, err)
		}
		if !c.fine && clock.now().Sub(time.Unix(1_800_000_000, 0)) > 2*pace {
			t.Errorf("%s: cut off after %v", name, clock.now().Sub(time.Unix(1_800_000_000, 0)))
		}
	}
	s, clock := roomy()
	r := begin(t, s, 1, mega).Reader(bounded(t), bytes.NewReader(make([]byte, 1000)), nil)
	for range 100 {
		if _, err := r.Read(make([]byte, 10)); err != nil {
			t.Fatalf("between two reads the server did something else: %v", err)
		}
		clock.pass(time.Minute)
	}
	waiting, stop := context.WithCancel(t.Context())
	stop()
	if _, err := begin(t, s, 2, mega).Reader(waiting, zeros{}, nil).Read(make([]byte, 1)); record.CodeOf(err) != record.TooMany || !errors.Is(err, context.Canceled) {
		t.Errorf("an upload for which the time is over: %v", err)
	}
}

// A body that is longer than it said is handed on to whoever bounds it, byte by byte.
func TestMoreThanWasSaid(t *testing.T) {
	s, _ := roomy()
	in := begin(t, s, 1, 10)
	got, err := io.ReadAll(in.Reader(bounded(t), bytes.NewReader(make([]byte, 13)), nil))
	if err != nil || len(got) != 13 || in.held != 10 {
		t.Errorf("%d bytes, %d held, %v", len(got), in.held, err)
	}
}
