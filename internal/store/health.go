package store

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What ails a store is told by code, besides those of record: Damaged (a page, a digest or a value does not fit), Full and ReadOnly (the last
// entry could not be written), Away (the database server does not answer).
const (
	LowSpace    record.Code = "low-space"    // the disk is nearly full
	ClockBehind record.Code = "clock-behind" // the clock is behind the newest entry
)

// lowSpace is how much space on the disk of the records is little, bytes: a day of photos, our own choice.
const lowSpace = 256 << 20

// Trouble is something that ails a store.
type Trouble struct {
	Code  record.Code
	Grave bool  // records cannot be trusted, or not be kept
	Err   error // what was found, for the log; nil when the figures say it
}

// health is what a store has noticed of itself. Damage stays until the store is opened anew: nothing that a server does mends it.
type health struct {
	mu     sync.Mutex
	damage *record.Fault
	write  *record.Fault // of the last write, nil when it was kept
	probed time.Time     // when it was last tried whether writing works again
	tell   func(Trouble) // is told once when a grave trouble begins; nil is nobody
}

// note keeps a fault that says something of the store itself.
func (h *health) note(slot **record.Fault, f *record.Fault) {
	h.mu.Lock()
	begins := *slot == nil
	if begins {
		*slot = f
	}
	tell := h.tell
	h.mu.Unlock()
	if begins && tell != nil {
		tell(Trouble{f.Code, true, f})
	}
}

// wrote notes how a write ended.
func (h *health) wrote(err error) {
	var f *record.Fault
	switch {
	case err == nil:
		h.mu.Lock()
		h.write = nil
		h.mu.Unlock()
	case errors.As(err, &f) && (f.Code == record.Full || f.Code == record.ReadOnly):
		h.note(&h.write, f)
	}
}

// notOurs marks an error that is about what came in and not about the store.
type notOurs struct{ error }

func (e notOurs) Unwrap() error { return e.error }

// hears notes a fault of code Damaged and gives it on.
func (s *Store) hears(err error) error {
	var f *record.Fault
	if errors.As(err, &f) && f.Code == record.Damaged && !errors.As(err, new(notOurs)) {
		s.health.note(&s.health.damage, f)
	}
	return err
}

// Troubles lists what ails the store, the worst first; none is well.
func (s *Store) Troubles(ctx context.Context) []Trouble {
	var out []Trouble
	if err := s.Ping(ctx); err != nil && ctx.Err() == nil {
		out = append(out, Trouble{record.CodeOf(err), true, err})
	}
	s.probe(ctx)
	s.health.mu.Lock()
	for _, f := range []*record.Fault{s.health.damage, s.health.write} {
		if f != nil && (len(out) == 0 || out[0].Code != f.Code) {
			out = append(out, Trouble{f.Code, true, f})
		}
	}
	s.health.mu.Unlock()
	if n, known := s.Free(); known && n < lowSpace {
		out = append(out, Trouble{LowSpace, false, nil})
	}
	if s.ClockBehind() > 0 {
		out = append(out, Trouble{ClockBehind, false, nil})
	}
	return out
}

// probeEvery is how often it is tried whether writing works again.
const probeEvery = 10 * time.Second

// probe tries to write after a write failed, so that the trouble ends with its cause and not only with the next entry.
func (s *Store) probe(ctx context.Context) {
	now := s.now()
	s.health.mu.Lock()
	due := s.health.write != nil && (now.Before(s.health.probed) || now.Sub(s.health.probed) >= probeEvery)
	if due {
		s.health.probed = now
	}
	s.health.mu.Unlock()
	if !due || s.engine == SQLite && !roomFor(filepath.Dir(s.path), probeBytes) {
		return
	}
	// how it ends is noted by transact
	_ = s.transact(ctx, "trying to write", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE counter SET last = last`)
		return err
	})
}

// probeBytes is how much must find room on the disk before entries are taken to: more than any entry without a photo.
const probeBytes = 256 << 10

// roomFor says whether so many bytes can be written in a folder. The file for it is gone afterwards.
func roomFor(dir string, n int) bool {
	f, err := os.CreateTemp(dir, tempPrefix+"room-*")
	if err != nil {
		return false
	}
	_, err = f.Write(make([]byte, n))
	return errors.Join(err, f.Sync(), f.Close(), os.Remove(f.Name())) == nil
}

// Free says how many bytes are free on the disk of an SQLite file; not known with PostgreSQL and where the system does not say.
func (s *Store) Free() (n uint64, known bool) {
	if s.engine != SQLite {
		return 0, false
	}
	return s.free(filepath.Dir(s.path))
}
