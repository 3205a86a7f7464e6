package store

import (
	"context"
	"database/sql"
	"time"
)

// wrongMemory is for how long wrong PINs are kept, to tell of them.
const wrongMemory = 90 * 24 * time.Hour

// Wrong are wrong PINs of one person typed at one device.
type Wrong struct {
	Person, Device int64
	Count          int
	First, Last    time.Time
}

// WrongPIN writes a wrong PIN down, so that its person and the owner can be told, and drops those that are old.
func (s *Store) WrongPIN(ctx context.Context, person, device int64) error {
	return s.transact(ctx, "writing a wrong PIN down", func(ctx context.Context, tx *sql.Tx) error {
		now := s.now()
		if _, err := tx.ExecContext(ctx, `DELETE FROM wrong_pin WHERE at < $1`, now.Add(-wrongMemory).UnixMicro()); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO wrong_pin (person, device, at, n, told) VALUES ($1, $2, $3, 1, 0)
			ON CONFLICT (person, device, at) DO UPDATE SET n = wrong_pin.n + 1, told = 0`, person, device, now.UnixMicro())
		return err
	})
}

const wrongColumns = `person, device, CAST(sum(n) AS BIGINT), min(at), max(at)`

// wrong lists wrong PINs by person and device, the last first.
func (s *Store) wrong(ctx context.Context, where string, arg int64) ([]Wrong, error) {
	var out []Wrong
	err := each(ctx, s.read, func(row scanner) error {
		var v Wrong
		var first, last int64
		err := row.Scan(&v.Person, &v.Device, &v.Count, &first, &last)
		v.First, v.Last = micro(first), micro(last)
		out = append(out, v)
		return err
	}, `SELECT `+wrongColumns+` FROM wrong_pin WHERE `+where+` GROUP BY person, device ORDER BY max(at) DESC, person, device LIMIT 200`, arg)
	if err != nil {
		return nil, s.fault("reading wrong PINs", err)
	}
	return out, nil
}

// WrongSince lists the wrong PINs of all people since a moment.
func (s *Store) WrongSince(ctx context.Context, since time.Time) ([]Wrong, error) {
	return s.wrong(ctx, `at >= $1`, since.UnixMicro())
}

// WrongUntold lists the wrong PINs of a person of which the person has not read yet.
func (s *Store) WrongUntold(ctx context.Context, person int64) ([]Wrong, error) {
	return s.wrong(ctx, `person = $1 AND told = 0`, person)
}

// WrongTold writes down that a person has read of the wrong PINs up to a moment.
func (s *Store) WrongTold(ctx context.Context, person int64, until time.Time) error {
	return s.transact(ctx, "reading of wrong PINs", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE wrong_pin SET told = 1 WHERE person = $1 AND at <= $2 AND told = 0`, person, until.UnixMicro())
		return err
	})
}
