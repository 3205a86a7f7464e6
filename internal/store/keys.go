package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Token lets a program use the API in the name of a person.
type Token struct {
	ID, Person             int64
	Name, Scope            string // Scope is "read" or "write"
	Created, Seen, Expires time.Time
	Revoked                bool
}

// AddToken keeps the digest of a token.
func (s *Store) AddToken(ctx context.Context, secret string, t Token) (int64, error) {
	if err := first(plain("name", t.Name), plain("scope", t.Scope)); err != nil {
		return 0, err
	}
	var id int64
	err := s.transact(ctx, "making a token", func(ctx context.Context, tx *sql.Tx) error {
		var err error
		if id, err = next(ctx, tx, "token"); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO token (id, hash, person, name, scope, created, seen, expires, revoked) VALUES ($1, $2, $3, $4, $5, $6, 0, $7, 0)`,
			id, digest(secret), t.Person, t.Name, t.Scope, s.now().UnixMicro(), t.Expires.UnixMicro())
		return err
	})
	return id, err
}

const tokenColumns = `id, person, name, scope, created, seen, expires, revoked`

func scanToken(row scanner) (Token, error) {
	var t Token
	var created, seen, expires, revoked int64
	err := row.Scan(&t.ID, &t.Person, &t.Name, &t.Scope, &created, &seen, &expires, &revoked)
	t.Created, t.Seen, t.Expires, t.Revoked = micro(created), micro(seen), micro(expires), revoked != 0
	return t, err
}

// TokenBySecret finds a token that is neither over nor revoked; nil when there is none.
func (s *Store) TokenBySecret(ctx context.Context, secret string) (*Token, error) {
	t, err := scanToken(s.read.QueryRowContext(ctx, `SELECT `+tokenColumns+` FROM token WHERE hash = $1`, digest(secret)))
	if errors.Is(err, sql.ErrNoRows) || err == nil && (t.Revoked || t.Expires.Before(s.now())) {
		return nil, nil
	}
	if err != nil {
		return nil, s.fault("reading a token", err)
	}
	return &t, nil
}

// Tokens lists the tokens, the newest first, at most 500.
func (s *Store) Tokens(ctx context.Context) ([]Token, error) {
	var out []Token
	err := each(ctx, s.read, func(row scanner) error {
		t, err := scanToken(row)
		out = append(out, t)
		return err
	}, `SELECT `+tokenColumns+` FROM token ORDER BY id DESC LIMIT 500`)
	if err != nil {
		return nil, s.fault("reading tokens", err)
	}
	return out, nil
}

// RevokeToken ends a token.
func (s *Store) RevokeToken(ctx context.Context, id int64) error {
	return s.transact(ctx, "revoking a token", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE token SET revoked = 1 WHERE id = $1`, id)
		return err
	})
}

// Passkey is one passkey of a person; Credential is what the library for it keeps.
type Passkey struct {
	ID, Name   string
	Person     int64
	Credential string
	Created    time.Time
	Used       time.Time
}

// PutPasskey keeps a passkey, or what changed of it by being used. One that another person has is refused with Conflict.
func (s *Store) PutPasskey(ctx context.Context, p Passkey) error {
	if err := first(plain("passkey", p.ID), plain("name", p.Name), record.Plain("credential", p.Credential, 100_000)); err != nil {
		return err
	}
	return s.transact(ctx, "keeping a passkey", func(ctx context.Context, tx *sql.Tx) error {
		var id string
		err := tx.QueryRowContext(ctx, `INSERT INTO passkey (id, person, name, credential, created, used) VALUES ($1, $2, $3, $4, $5, $5)
			ON CONFLICT (id) DO UPDATE SET credential = excluded.credential, used = excluded.used WHERE passkey.person = excluded.person RETURNING id`,
			p.ID, p.Person, p.Name, p.Credential, s.now().UnixMicro()).Scan(&id)
		if errors.Is(err, sql.ErrNoRows) {
			return record.Faultf(record.Conflict, "passkey", "one of another person", "one that nobody has here", "make a new one")
		}
		return err
	})
}

// Passkeys lists the passkeys of a person.
func (s *Store) Passkeys(ctx context.Context, person int64) ([]Passkey, error) {
	var out []Passkey
	err := each(ctx, s.read, func(row scanner) error {
		var p Passkey
		var created, used int64
		err := row.Scan(&p.ID, &p.Person, &p.Name, &p.Credential, &created, &used)
		p.Created, p.Used = micro(created), micro(used)
		out = append(out, p)
		return err
	}, `SELECT id, person, name, credential, created, used FROM passkey WHERE person = $1 ORDER BY created, id`, person)
	if err != nil {
		return nil, s.fault("reading passkeys", err)
	}
	return out, nil
}

// DropPasskey takes a passkey of a person away.
func (s *Store) DropPasskey(ctx context.Context, person int64, id string) error {
	return s.transact(ctx, "dropping a passkey", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM passkey WHERE id = $1 AND person = $2`, id, person)
		return err
	})
}
