package store

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/record"
)

// noon is a moment of the invented shop of these tests.
var noon = time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)

// clock is a clock that tests set. It ticks a second each time it is read.
type clock struct{ at atomic.Int64 }

func newClock() *clock {
	c := &clock{}
	c.set(noon)
	return c
}

func (c *clock) set(t time.Time) { c.at.Store(t.UnixMicro()) }
func (c *clock) now() time.Time  { return time.UnixMicro(c.at.Add(1e6)).UTC() }

// both runs a test on each engine. open gives a fresh store, closed at the end.
func both(t *testing.T, test func(t *testing.T, open func(t *testing.T) *Store)) {
	t.Run("sqlite", func(t *testing.T) { test(t, openLite) })
	t.Run("postgres", func(t *testing.T) { test(t, openPG) })
}

func openLite(t *testing.T) *Store { return openAt(t, filepath.Join(t.TempDir(), "shop.db")) }
func openPG(t *testing.T) *Store   { return openAt(t, pgtest.Start(t)) }

func openAt(t *testing.T, where string) *Store {
	t.Helper()
	s, err := Open(t.Context(), where, Options{Now: newClock().now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

var keys atomic.Int64

func newKey() string { return fmt.Sprintf("key-%d", keys.Add(1)) }

func draft(b record.Body) record.Draft {
	return record.Draft{At: noon, By: 1, Device: 2, Key: newKey(), Body: b}
}

func booking(serial, customer, complaint string) *record.Booked {
	return &record.Booked{Customer: 7, CustomerName: customer, Pump: 8, Serial: serial, Model: "Aldersay 30:1", Complaint: complaint}
}

func newJob(t testing.TB, s *Store, b *record.Booked) int64 {
	t.Helper()
	r, err := s.NewJob(t.Context(), "uid-"+newKey(), draft(b))
	if err != nil {
		t.Fatal(err)
	}
	return r.Entry.Subject.ID
}

func aJob(t testing.TB, s *Store) int64 {
	t.Helper()
	return newJob(t, s, booking("ALD-0417", "Ferry yard", "creeps at the stall"))
}

func add(t testing.TB, s *Store, job int64, bodies ...record.Body) []Receipt {
	t.Helper()
	var drafts []record.Draft
	for _, b := range bodies {
		drafts = append(drafts, draft(b))
	}
	r, err := s.Append(t.Context(), job, AnySeq, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func keepItem(t testing.TB, s *Store, sub record.Subject, v record.Item) Receipt {
	t.Helper()
	b, err := record.Keep(v)
	if err != nil {
		t.Fatal(err)
	}
	d := draft(b)
	d.Subject = sub
	r, err := s.Keep(t.Context(), AnySeq, d)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func wantCode(t testing.TB, err error, code record.Code) {
	t.Helper()
	if record.CodeOf(err) != code {
		t.Errorf("the error is %v, expected one of code %q", err, code)
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func sound(t testing.TB, s *Store) *Report {
	t.Helper()
	r, err := s.Verify(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Problems {
		t.Errorf("%s: %s", p.Where, p.What)
	}
	return r
}

// race runs fn in n goroutines at the same time and gives their errors.
func race(n int, fn func(i int) error) []error {
	errs := make([]error, n)
	var wg sync.WaitGroup
	begin := make(chan struct{})
	for i := range n {
		wg.Go(func() {
			<-begin
			errs[i] = fn(i)
		})
	}
	close(begin)
	wg.Wait()
	return errs
}

func judged(h record.HoldStage, word string) *record.Judged {
	return &record.Judged{Hold: h, Word: word, Meets: 0.97, Engine: "v1", Model: "1", Sheet: []byte(`{}`), Result: []byte(`{}`)}
}

func read(h record.HoldStage) *record.Read {
	return &record.Read{Hold: h, Reading: []byte(`{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`)}
}
