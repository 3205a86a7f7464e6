package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/evenstroke/evenstroke/internal/record"
)

// A backup is one SQLite file whatever the engine, so that it restores into either. In it is all but the sessions and the codes that
// let devices in: who has a stolen backup is not signed in with it, and a restored shop signs in anew. PIN hashes, passkeys, the
// digests of device secrets and of tokens are kept: tablets and programs go on working.

// table is a table of the store as backups copy it.
type table struct {
	name, columns, order string
	bytes                bool // its rows are large
}

// tables lists what a backup holds. A table that is added to the schema is named here or in left; a test says so.
var tables = []table{
	{name: "entry", columns: entryColumns, order: "id"},
	{name: "job", columns: jobColumns, order: "number"},
	{name: "word", columns: "subject, word, subject_id", order: "subject, word, subject_id"},
	{name: "item", columns: itemColumns, order: "kind, id"},
	{name: "origin", columns: originColumns, order: "entry"},
	{name: "item_alias", columns: "kind, name, id", order: "kind, name"},
	{name: "counter", columns: "kind, last", order: "kind"},
	{name: "photo", columns: "hash, width, height, stored, size, thumb, data", order: "hash", bytes: true},
	{name: "link", columns: "n, entry, entry_hash, prev, hash", order: "n"},
	{name: "chain", columns: "id, n, hash", order: "id"},
	{name: "secret", columns: "person, pin, failures, locked_until, changed, given", order: "person"},
	{name: "pin_count", columns: "person, device, signed_in, failures, locked_until, tried", order: "person, device"},
	{name: "wrong_pin", columns: "person, device, at, n, told", order: "person, device, at"},
	{name: "passkey", columns: "id, person, name, credential, created, used", order: "id"},
	{name: "device_secret", columns: "hash, device, created, seen", order: "hash"},
	{name: "token", columns: tokenRow, order: "id"},
}

// left lists the tables that a backup leaves out.
var left = []string{"session", "enrolment"}

const tokenRow = "id, hash, person, name, scope, created, seen, expires, revoked"

// Backup writes a copy of the store, as it is at one moment, to a new SQLite file and verifies the copy: all entries that were kept
// before the call are in it. The store stays in use meanwhile. A file that is there is never written over: code Conflict. The file
// appears under its name only when it is whole and sound.
func (s *Store) Backup(ctx context.Context, path string) (err error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("store: %s: %w", path, err)
	}
	if _, err := os.Lstat(abs); err == nil {
		return thereAlready(abs)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return fileFault(abs, err)
	}
	temp, drop, err := tempFolder(filepath.Dir(abs))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, drop()) }()
	part := filepath.Join(temp, "part.db")
	if s.engine == SQLite {
		err = s.vacuumInto(ctx, part)
	} else {
		err = s.writeSQLite(ctx, part)
	}
	if err != nil {
		return err
	}
	if err := finish(ctx, part); err != nil {
		return err
	}
	return publish(part, abs)
}

func thereAlready(path string) error {
	return record.Faultf(record.Conflict, path, "a file that is there already", "a new name", "name another file")
}

// vacuumInto copies an SQLite store; it reads one snapshot and does not hold up the writer.
func (s *Store) vacuumInto(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", fileURL(s.path)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := ownerOnly(path); err != nil { // made by SQLite, anybody could read it
		return err
	}
	_, err = db.ExecContext(ctx, `VACUUM INTO $1`, path)
	return s.fault("writing a backup", err)
}

// writeSQLite copies a store of any engine into a new SQLite file, from one snapshot.
func (s *Store) writeSQLite(ctx context.Context, path string) (err error) {
	to, err := Open(ctx, path, Options{Now: s.now})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	from, err := s.snapshot(ctx)
	if err != nil {
		return s.fault("writing a backup", err)
	}
	err = to.fill(ctx, from)
	return s.fault("writing a backup", end(from, err))
}

// finish takes the sessions out, leaves one file without a log beside it, verifies it and brings it to the disk.
func finish(ctx context.Context, path string) (err error) {
	lite := &Store{engine: SQLite}
	db, err := sql.Open("sqlite", fileURL(path)+"?_pragma=secure_delete(1)&_pragma=journal_mode(DELETE)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	db.SetMaxOpenConns(1)
	for _, name := range left {
		if err == nil {
			_, err = db.ExecContext(ctx, `DELETE FROM `+name)
		}
	}
	if err = errors.Join(lite.fault("writing a backup", err), db.Close()); err != nil {
		return err
	}
	if err := verifyFile(ctx, path); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fileFault(path, err)
	}
	if err := errors.Join(f.Chmod(0o600), f.Sync(), f.Close()); err != nil {
		return fileFault(path, err)
	}
	return nil
}

// verifyFile verifies an SQLite file without changing it.
func verifyFile(ctx context.Context, path string) error {
	return onFile(path, func(s *Store) error {
		r, err := s.Verify(ctx)
		if err != nil {
			return err
		}
		return r.Err()
	})
}

// HeadOf is the head of the chain in a backup, as Head gives it of a store.
func HeadOf(ctx context.Context, path string) (n int64, head record.Digest, err error) {
	err = onFile(path, func(s *Store) error {
		n, head, err = s.Head(ctx)
		return err
	})
	return n, head, err
}

// onFile reads an SQLite file without changing it.
func onFile(path string, fn func(*Store) error) (err error) {
	db, err := sql.Open("sqlite", fileURL(path)+"?mode=ro&_pragma=busy_timeout(10000)&_pragma=query_only(1)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return fn(&Store{engine: SQLite, path: path, read: db})
}

// publish gives a finished file its name, without writing over another.
func publish(part, path string) error {
	err := os.Link(part, path)
	switch {
	case errors.Is(err, fs.ErrExist):
		return thereAlready(path)
	case err != nil: // a disk without hard links, as a USB stick: hold the name, then rename over what holds it
		f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if errors.Is(err, fs.ErrExist) {
			return thereAlready(path)
		}
		if err == nil {
			err = errors.Join(f.Close(), os.Rename(part, path))
		}
		if err != nil {
			return fileFault(path, err)
		}
	}
	return syncFolder(filepath.Dir(path))
}
