package store

import (
	"context"
	"database/sql"
	"math"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Change says that something was written about a subject.
type Change struct {
	ID      int64
	Subject record.Subject
	Kind    record.Kind
	Stored  time.Time
}

// Last is the number of the newest entry that Changes can have given.
func (s *Store) Last(ctx context.Context) (int64, error) {
	upTo, err := s.settled(ctx)
	if err != nil {
		return 0, s.fault("reading the newest entry", err)
	}
	var id int64
	err = s.read.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) FROM entry WHERE id <= $1`, upTo).Scan(&id)
	return id, s.fault("reading the newest entry", err)
}

// Changes lists what was written after an entry, in the order of the numbers, at most limit. Who asks each time after the last number
// given to it misses nothing: an entry is held back while one with a lower number may still come.
func (s *Store) Changes(ctx context.Context, after int64, limit int) ([]Change, error) {
	upTo, err := s.settled(ctx)
	if err != nil {
		return nil, s.fault("reading changes", err)
	}
	var out []Change
	err = each(ctx, s.read, func(row scanner) error {
		var c Change
		var subject, kind string
		var stored int64
		err := row.Scan(&c.ID, &subject, &c.Subject.ID, &kind, &stored)
		c.Subject.Kind, c.Kind, c.Stored = record.SubjectKind(subject), record.Kind(kind), micro(stored)
		out = append(out, c)
		return err
	}, `SELECT id, subject, subject_id, kind, stored FROM entry WHERE id > $1 AND id <= $2 ORDER BY id LIMIT $3`, after, upTo, max(limit, 0))
	if err != nil {
		return nil, s.fault("reading changes", err)
	}
	return out, nil
}

// With PostgreSQL transactions commit in another order than they number their entries. So each says before its first entry, by a
// shared advisory lock that ends with it, which number it will not go below (promise); who reads goes no further than the lowest
// promise of those that still run, and than the last number given before it looked (settled). SQLite has one writer.
const promises = 0x45565354 // class of the advisory locks: "EVST"

func (s *Store) promise(ctx context.Context, tx *sql.Tx) error {
	if s.engine == SQLite {
		return nil
	}
	_, err := tx.ExecContext(ctx, `SELECT pg_advisory_xact_lock_shared($1::int, (last_value % 2147483647)::int) FROM entry_id_seq`, promises)
	return err
}

func (s *Store) settled(ctx context.Context) (int64, error) {
	if s.engine == SQLite {
		return math.MaxInt64, nil
	}
	var given int64
	if err := s.read.QueryRowContext(ctx, `SELECT last_value FROM entry_id_seq`).Scan(&given); err != nil {
		return 0, err
	}
	var lowest sql.NullInt64
	err := s.read.QueryRowContext(ctx, `SELECT min(objid::bigint) FROM pg_locks WHERE locktype = 'advisory' AND objsubid = 2
		AND classid = $1::bigint::oid AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`, promises).Scan(&lowest)
	if err != nil {
		return 0, err
	}
	if lowest.Valid {
		given = min(given, lowest.Int64-1)
	}
	return given, nil
}
