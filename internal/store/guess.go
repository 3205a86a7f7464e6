package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Wrong PINs are counted for a person at a device. A device at which the person signed in before (one of the last KnownDevices) has a count of
// its own: whoever guesses elsewhere does not hold the person up there. All other devices together share one count, and each of them has one
// for all people who never signed in on it, so that going from name to name is no way round.

// KnownDevices is at how many devices, those of the latest sign-ins, a person has a count of one's own.
const KnownDevices = 4

// deviceMemory is for how long a device answers for wrong PINs.
const deviceMemory = 24 * time.Hour

// Pauses say for how long nobody may try again after so many wrong PINs.
type Pauses struct {
	Known   func(wrong int) time.Duration // in a row, at a device that is known to the person
	Strange func(wrong int) time.Duration // at all others together
	Device  func(wrong int) time.Duration // at a device within a day, of all people to whom it is not known
}

// Guess is what is known of a sign-in by PIN that was counted as failed, or refused.
type Guess struct {
	PIN   string // what to compare with
	Given bool   // see Secret
	Known bool   // the device is known to the person
	Whole bool   // the pause is that of the device, whoever tries
	Wrong int    // so many with this one, by the count that holds here
	Until time.Time
}

// Failed counts a sign-in as failed, before its PIN is compared, so that parallel guesses cannot outrun it. In a pause nothing is counted
// and the error is a *record.Fault of code TooMany: no PIN may be compared then. NotFound: the person has no PIN.
func (s *Store) Failed(ctx context.Context, person, device int64, p Pauses) (Guess, error) {
	var out Guess
	err := s.transact(ctx, "counting a failed sign-in", func(ctx context.Context, tx *sql.Tx) error {
		c, err := s.guessing(ctx, tx, person, device)
		if err != nil {
			return err
		}
		out = c.guess(p)
		if now := s.now(); out.Until.After(now) {
			return record.Faultf(record.TooMany, "PIN", "too many wrong ones", "a pause until "+out.Until.Format(time.RFC3339), "wait, or let the owner set a new one")
		}
		return s.countWrong(ctx, tx, c, p, &out)
	})
	return out, err
}

// counts are the counts that hold a person up at a device.
type counts struct {
	person, device      int64
	pin                 string
	given, known        bool
	strange, here, shop int // wrong ones: at strange devices, in a row here, here of all strangers within a day
	strangeTo, hereTo   int64
	last                int64 // of those of all strangers here
}

func (s *Store) guessing(ctx context.Context, tx *sql.Tx, person, device int64) (counts, error) {
	c := counts{person: person, device: device}
	err := tx.QueryRowContext(ctx, `SELECT pin, given <> 0, failures, locked_until FROM secret WHERE person = $1`+s.forUpdate(), person).Scan(&c.pin, &c.given, &c.strange, &c.strangeTo)
	if errors.Is(err, sql.ErrNoRows) {
		return c, record.Faultf(record.NotFound, "PIN", "none", "a PIN that was set", "let the owner set one")
	}
	if err != nil {
		return c, err
	}
	// Two people at one device are counted one after another.
	var one int
	err = tx.QueryRowContext(ctx, `SELECT 1 FROM device_secret WHERE device = $1`+s.forUpdate(), device).Scan(&one)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return c, err
	}
	err = tx.QueryRowContext(ctx, `SELECT signed_in <> 0, failures, locked_until FROM pin_count WHERE person = $1 AND device = $2`, person, device).Scan(&c.known, &c.here, &c.hereTo)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return c, err
	}
	return c, tx.QueryRowContext(ctx, `SELECT CAST(coalesce(sum(failures), 0) AS BIGINT), coalesce(max(tried), 0) FROM pin_count WHERE device = $1 AND signed_in = 0 AND tried > $2`,
		device, s.now().Add(-deviceMemory).UnixMicro()).Scan(&c.shop, &c.last)
}

// guess says which count holds, and until when.
func (c counts) guess(p Pauses) Guess {
	g := Guess{PIN: c.pin, Given: c.given, Known: c.known, Wrong: c.here, Until: micro(c.hereTo)}
	if c.known {
		return g
	}
	g.Wrong, g.Until = c.strange, micro(c.strangeTo)
	if to := micro(c.last).Add(p.Device(c.shop)); c.shop > 0 && to.After(g.Until) {
		g.Wrong, g.Until, g.Whole = c.shop, to, true
	}
	return g
}

// countWrong counts one more.
func (s *Store) countWrong(ctx context.Context, tx *sql.Tx, c counts, p Pauses, out *Guess) error {
	now := s.now()
	lock := func(d time.Duration) int64 {
		out.Until = now.Add(d)
		if d <= 0 {
			out.Until = time.Time{}
			return 0
		}
		return out.Until.UnixMicro()
	}
	c.here++
	out.Whole = false
	var hereTo int64
	if c.known {
		out.Wrong = c.here
		hereTo = lock(p.Known(c.here))
	} else {
		c.strange++
		c.shop++
		out.Wrong = c.strange
		if _, err := tx.ExecContext(ctx, `UPDATE secret SET failures = $2, locked_until = $3 WHERE person = $1`, c.person, c.strange, lock(p.Strange(c.strange))); err != nil {
			return err
		}
		if to := now.Add(p.Device(c.shop)); to.After(now) && to.After(out.Until) {
			out.Wrong, out.Until, out.Whole = c.shop, to, true
		}
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO pin_count (person, device, signed_in, failures, locked_until, tried) VALUES ($1, $2, 0, $3, $4, $5)
		ON CONFLICT (person, device) DO UPDATE SET failures = excluded.failures, locked_until = excluded.locked_until, tried = excluded.tried`,
		c.person, c.device, c.here, hereTo, now.UnixMicro())
	return err
}

// Forgiven forgets the failures of a person at a device, after a PIN that fits; those at other devices stay counted.
func (s *Store) Forgiven(ctx context.Context, person, device int64) error {
	return s.transact(ctx, "signing in", func(ctx context.Context, tx *sql.Tx) error { return forgive(ctx, tx, person, device) })
}

func forgive(ctx context.Context, tx *sql.Tx, person, device int64) error {
	_, err := tx.ExecContext(ctx, `UPDATE secret SET failures = CASE WHEN failures > c.n THEN failures - c.n ELSE 0 END, locked_until = 0
		FROM (SELECT failures AS n FROM pin_count WHERE person = $1 AND device = $2 AND signed_in = 0) AS c WHERE person = $1`, person, device)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE pin_count SET failures = 0, locked_until = 0 WHERE person = $1 AND device = $2`, person, device)
	return err
}

// knownFrom writes down that a person signed in on a device. When there are too many of them, that of the oldest sign-in is strange again,
// and what was counted there counts with the strange ones.
func (s *Store) knownFrom(ctx context.Context, tx *sql.Tx, person, device, now int64) error {
	var one int
	err := tx.QueryRowContext(ctx, `SELECT 1 FROM secret WHERE person = $1`+s.forUpdate(), person).Scan(&one) // first, as whoever counts does
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if err := forgive(ctx, tx, person, device); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO pin_count (person, device, signed_in, failures, locked_until, tried) VALUES ($1, $2, $3, 0, 0, 0)
		ON CONFLICT (person, device) DO UPDATE SET signed_in = excluded.signed_in`, person, device, now); err != nil {
		return err
	}
	const old = ` AND signed_in <> 0 AND device NOT IN (SELECT device FROM pin_count WHERE person = $1 ORDER BY signed_in DESC, device DESC LIMIT $2)`
	if _, err := tx.ExecContext(ctx, `UPDATE secret SET failures = failures + (SELECT coalesce(sum(failures), 0) FROM pin_count WHERE person = $1`+old+`) WHERE person = $1`, person, KnownDevices); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE pin_count SET signed_in = 0, locked_until = 0 WHERE person = $1`+old, person, KnownDevices)
	return err
}
