package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// tries is how often a transaction that lost a race is begun anew.
const tries = 4

// work is what a writing transaction does. It may be run more than once, so it begins from nothing each time.
type work func(ctx context.Context, tx *sql.Tx) error

// do is transact for what may change anything that Glance and Board show.
func (s *Store) do(ctx context.Context, doing string, fn work) error {
	defer s.kept.Add(1) // also after an error: it may have been kept all the same
	defer s.lanes.write()
	return s.transact(ctx, doing, fn)
}

// transact runs fn in a writing transaction and returns when it is kept. With PostgreSQL one that lost a race on a unique key or a lock is
// run again: what the other wrote is seen then. With SQLite, which has one writer, it goes through the queue (see queue.go).
func (s *Store) transact(ctx context.Context, doing string, fn work) error {
	err := s.fault(doing, s.attempt(ctx, fn))
	s.health.wrote(err)
	return err
}

func (s *Store) attempt(ctx context.Context, fn work) error {
	if s.engine == SQLite {
		return s.queue.do(ctx, fn)
	}
	var err error
	for range tries {
		if err = once(ctx, s.write, fn); err == nil || !again(err) {
			break
		}
	}
	return err
}

// once runs fn in one transaction.
func once(ctx context.Context, db *sql.DB, fn work) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := fn(ctx, tx); err != nil {
		if back := tx.Rollback(); back != nil && !errors.Is(back, sql.ErrTxDone) {
			return errors.Join(err, back)
		}
		return err
	}
	return tx.Commit()
}

// forUpdate locks the rows of a query where the engine has such locks; with SQLite the whole transaction has the lock.
func (s *Store) forUpdate() string {
	if s.engine == PostgreSQL {
		return " FOR UPDATE"
	}
	return ""
}

// slack is by how much clocks of one shop may differ before it is worth a word.
const slack = 5 * time.Second

// stamp is the time for an entry that follows one stored at last: the clock's, but never before it.
func (s *Store) stamp(last int64) int64 {
	now := s.now().UnixMicro()
	s.seen(last)
	at := max(now, last)
	s.seen(at)
	return at
}

// seen notes the time of an entry.
func (s *Store) seen(at int64) {
	for newest := s.newest.Load(); newest < at; newest = s.newest.Load() {
		if s.newest.CompareAndSwap(newest, at) {
			return
		}
	}
}

func micro(v int64) time.Time { return time.UnixMicro(v).UTC() }

// next takes the next number of a counter.
func next(ctx context.Context, tx *sql.Tx, kind string) (int64, error) { return take(ctx, tx, kind, 1) }

// take takes the next n numbers of a counter and gives the last of them.
func take(ctx context.Context, tx *sql.Tx, kind string, n int64) (int64, error) {
	var last int64
	err := tx.QueryRowContext(ctx, `INSERT INTO counter (kind, last) VALUES ($1, $2)
		ON CONFLICT (kind) DO UPDATE SET last = counter.last + excluded.last RETURNING last`, kind, n).Scan(&last)
	return last, err
}

// snapshot begins a reading transaction that sees one state of the store however long it takes.
func (s *Store) snapshot(ctx context.Context) (*sql.Tx, error) {
	opt := &sql.TxOptions{ReadOnly: true}
	if s.engine == PostgreSQL {
		opt.Isolation = sql.LevelRepeatableRead
	}
	return s.read.BeginTx(ctx, opt)
}

// end ends a reading transaction.
func end(tx *sql.Tx, err error) error {
	if back := tx.Rollback(); back != nil && !errors.Is(back, sql.ErrTxDone) {
		return errors.Join(err, back)
	}
	return err
}

// each runs a query and lets see read its rows one by one.
func each(ctx context.Context, q querier, see func(scanner) error, query string, args ...any) error {
	return eachOf(see)(q.QueryContext(ctx, query, args...))
}

func eachOf(see func(scanner) error) func(*sql.Rows, error) error {
	return func(rows *sql.Rows, err error) error {
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			if err := see(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	}
}

type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

type scanner interface{ Scan(dest ...any) error }

// plain refuses a text that not every engine can keep.
func plain(where, text string) error { return record.Plain(where, text, 500) }
