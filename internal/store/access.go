package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What lets people, devices and programs in. Nothing here is part of the record: of a secret only its digest is kept (of a PIN
// a slow one, made by the caller), and no backup reader can sign in with it.

func digest(secret string) []byte {
	h := sha256.Sum256([]byte(secret))
	return h[:]
}

// first is the first error of several.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Secret is how a person signs in.
type Secret struct {
	PIN         string // encoded slow hash, "" when none is set
	Given       bool   // somebody else chose it: its person is to choose another before it lets them in
	Failures    int    // wrong PINs at devices at which the person did not sign in before
	LockedUntil time.Time
}

// SetPIN sets the slow hash of a PIN that its person chose, and forgets failures at all devices: what was guessed is worth nothing now.
func (s *Store) SetPIN(ctx context.Context, person int64, hash string) error {
	return s.setPIN(ctx, person, hash, false)
}

// GivePIN is SetPIN of one that somebody else chose.
func (s *Store) GivePIN(ctx context.Context, person int64, hash string) error {
	return s.setPIN(ctx, person, hash, true)
}

func (s *Store) setPIN(ctx context.Context, person int64, hash string, given bool) error {
	if err := plain("PIN", hash); err != nil {
		return err
	}
	return s.transact(ctx, "setting a PIN", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO secret (person, pin, failures, locked_until, changed, given) VALUES ($1, $2, 0, 0, $3, $4)
			ON CONFLICT (person) DO UPDATE SET pin = excluded.pin, failures = 0, locked_until = 0, changed = excluded.changed, given = excluded.given`,
			person, hash, s.now().UnixMicro(), flag(given))
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE pin_count SET failures = 0, locked_until = 0 WHERE person = $1`, person)
		return err
	})
}

// RehashPIN puts another slow hash of the same PIN in the place of one; wrong PINs stay counted.
func (s *Store) RehashPIN(ctx context.Context, person int64, was, hash string) error {
	if err := plain("PIN", hash); err != nil {
		return err
	}
	return s.transact(ctx, "keeping a PIN", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE secret SET pin = $3 WHERE person = $1 AND pin = $2`, person, was, hash)
		return err
	})
}

// Secret reads how a person signs in; a zero Secret when nothing is set.
func (s *Store) Secret(ctx context.Context, person int64) (Secret, error) {
	var out Secret
	var locked int64
	err := s.read.QueryRowContext(ctx, `SELECT pin, failures, locked_until, given <> 0 FROM secret WHERE person = $1`, person).Scan(&out.PIN, &out.Failures, &locked, &out.Given)
	if errors.Is(err, sql.ErrNoRows) {
		return out, nil
	}
	if locked != 0 {
		out.LockedUntil = micro(locked)
	}
	return out, s.fault("reading a PIN", err)
}

// Session is a person at a device.
type Session struct {
	ID             string // names a session in a list: the digest of its token, with which nobody gets in
	Person, Device int64
	Created, Seen  time.Time
	Expires        time.Time
}

// StartSession keeps a session under the digest of its token and drops those that are over. The device is known to the person from then on.
func (s *Store) StartSession(ctx context.Context, token string, v Session) error {
	return s.transact(ctx, "signing in", func(ctx context.Context, tx *sql.Tx) error {
		now := s.now().UnixMicro()
		if _, err := tx.ExecContext(ctx, `DELETE FROM session WHERE expires < $1`, now); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO session (hash, person, device, created, seen, expires) VALUES ($1, $2, $3, $4, $4, $5)`,
			digest(token), v.Person, v.Device, now, v.Expires.UnixMicro())
		if err != nil {
			return err
		}
		return s.knownFrom(ctx, tx, v.Person, v.Device, now)
	})
}

const sessionColumns = `hash, person, device, created, seen, expires`

func scanSession(row scanner) (Session, error) {
	var v Session
	var hash []byte
	var created, seen, expires int64
	err := row.Scan(&hash, &v.Person, &v.Device, &created, &seen, &expires)
	v.ID, v.Created, v.Seen, v.Expires = hex.EncodeToString(hash), micro(created), micro(seen), micro(expires)
	return v, err
}

// GetSession reads a session; nil when there is none or it is over.
func (s *Store) GetSession(ctx context.Context, token string) (*Session, error) {
	v, err := scanSession(s.read.QueryRowContext(ctx, `SELECT `+sessionColumns+` FROM session WHERE hash = $1`, digest(token)))
	if errors.Is(err, sql.ErrNoRows) || err == nil && v.Expires.Before(s.now()) {
		return nil, nil
	}
	if err != nil {
		return nil, s.fault("reading a session", err)
	}
	return &v, nil
}

// Sessions lists the sessions of a person that are not over, the one that was used last first, at most 200.
func (s *Store) Sessions(ctx context.Context, person int64) ([]Session, error) {
	var out []Session
	err := each(ctx, s.read, func(row scanner) error {
		v, err := scanSession(row)
		out = append(out, v)
		return err
	}, `SELECT `+sessionColumns+` FROM session WHERE person = $1 AND expires >= $2 ORDER BY seen DESC, created DESC, hash LIMIT 200`, person, s.now().UnixMicro())
	if err != nil {
		return nil, s.fault("reading sessions", err)
	}
	return out, nil
}

// EndSessionOf ends one session of a person by its ID; one of another person, or that there is not, is left as it is.
func (s *Store) EndSessionOf(ctx context.Context, person int64, id string) error {
	hash, err := hex.DecodeString(id)
	if err != nil {
		return nil
	}
	return s.transact(ctx, "signing out", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM session WHERE hash = $1 AND person = $2`, hash, person)
		return err
	})
}

// SeeSession notes that a session is in use.
func (s *Store) SeeSession(ctx context.Context, token string) error {
	return s.transact(ctx, "using a session", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE session SET seen = $2 WHERE hash = $1`, digest(token), s.now().UnixMicro())
		return err
	})
}

// EndSession ends one session.
func (s *Store) EndSession(ctx context.Context, token string) error {
	return s.transact(ctx, "signing out", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM session WHERE hash = $1`, digest(token))
		return err
	})
}

// EndSessions ends all sessions of a person, at every device, and all of a device, whoever's; 0 is nobody and no device.
func (s *Store) EndSessions(ctx context.Context, person, device int64) error {
	return s.transact(ctx, "signing out", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM session WHERE (person = $1 AND $1 <> 0) OR (device = $2 AND $2 <> 0)`, person, device)
		return err
	})
}

// StartDevice keeps the digest of a device's own secret.
func (s *Store) StartDevice(ctx context.Context, secret string, device int64) error {
	return s.transact(ctx, "adding a device", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO device_secret (hash, device, created, seen) VALUES ($1, $2, $3, $3)`, digest(secret), device, s.now().UnixMicro())
		return err
	})
}

// Visit finds the device that has a secret, 0 when none has, and the session with a token at it, nil when there is none or it is over.
func (s *Store) Visit(ctx context.Context, secret, token string) (device int64, at *Session, err error) {
	var hash []byte
	var person, created, seen, expires sql.NullInt64
	err = s.read.QueryRowContext(ctx, `SELECT d.device, v.hash, v.person, v.created, v.seen, v.expires FROM device_secret d
		LEFT JOIN session v ON v.hash = $2 AND v.device = d.device WHERE d.hash = $1`, digest(secret), digest(token)).Scan(&device, &hash, &person, &created, &seen, &expires)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil, nil
	}
	if err != nil {
		return 0, nil, s.fault("reading a session", err)
	}
	at = &Session{hex.EncodeToString(hash), person.Int64, device, micro(created.Int64), micro(seen.Int64), micro(expires.Int64)}
	if !person.Valid || at.Expires.Before(s.now()) {
		at = nil
	}
	return device, at, nil
}

// EndDevice takes the secret of a device away and ends its sessions.
func (s *Store) EndDevice(ctx context.Context, device int64) error {
	return s.transact(ctx, "taking a device out", func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM device_secret WHERE device = $1`, device); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM pin_count WHERE device = $1`, device); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM session WHERE device = $1`, device)
		return err
	})
}

// Enrol keeps a code that lets one new device in, once.
func (s *Store) Enrol(ctx context.Context, code string, person int64, expires time.Time) error {
	return s.transact(ctx, "letting a device in", func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM enrolment WHERE expires < $1`, s.now().UnixMicro()); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO enrolment (hash, person, expires) VALUES ($1, $2, $3)`, digest(code), person, expires.UnixMicro())
		return err
	})
}

// UseEnrolment uses a code up and says who made it; a *record.Fault of code NotFound when it is unknown, used or over.
func (s *Store) UseEnrolment(ctx context.Context, code string) (int64, error) {
	var person, expires int64
	err := s.transact(ctx, "letting a device in", func(ctx context.Context, tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `DELETE FROM enrolment WHERE hash = $1 RETURNING person, expires`, digest(code)).Scan(&person, &expires)
		if errors.Is(err, sql.ErrNoRows) || err == nil && expires < s.now().UnixMicro() {
			return record.Faultf(record.NotFound, "code", "a code that is unknown, used or over", "a code that is less than ten minutes old", "let the owner make a new one")
		}
		return err
	})
	return person, err
}
