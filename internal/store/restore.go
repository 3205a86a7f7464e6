package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Restore checks a backup and copies it into a store: a file, or a PostgreSQL database, which are made ready when they are empty.
// A store that has a job is refused with code Conflict; people, devices and what else a new shop entered before its first job are
// replaced. The backup may be of an earlier version; it is not changed. It is all or nothing, and the copy is verified.
func Restore(ctx context.Context, file, where string) (err error) {
	dir := os.TempDir()
	if !isAddress(where) { // a large store may not fit where temporary files are
		dir = filepath.Dir(where)
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return fileFault(dir, err)
		}
	}
	temp, drop, err := tempFolder(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, drop()) }()
	from, err := openCopy(ctx, file, filepath.Join(temp, "copy.db"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	to, err := Open(ctx, where, Options{Alone: "restore"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	snap, err := from.snapshot(ctx)
	if err != nil {
		return from.fault("reading the backup", err)
	}
	if err := end(snap, to.fill(ctx, snap)); err != nil {
		return to.fault("restoring", err)
	}
	if err := to.analyse(ctx); err != nil {
		return err
	}
	r, err := to.Verify(ctx)
	if err != nil {
		return err
	}
	return r.Err()
}

// openCopy checks a backup and opens a copy of it, brought up to date.
func openCopy(ctx context.Context, file, path string) (*Store, error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return nil, fmt.Errorf("store: %s: %w", file, err)
	}
	info, err := os.Stat(abs)
	if err != nil {
		return nil, &record.Fault{Code: record.NotFound, Where: abs, Found: "nothing that can be read", Want: "a backup", Mend: "name the file", Err: err}
	}
	if !info.Mode().IsRegular() || info.Size() == 0 {
		return nil, record.Faultf(record.Invalid, abs, "no file, or an empty one", "a backup", "name the file")
	}
	if err := sqliteOurs(abs); err != nil {
		return nil, err
	}
	if err := soundFile(ctx, abs); err != nil {
		return nil, err
	}
	if err := (&Store{engine: SQLite, path: abs}).vacuumInto(ctx, path); err != nil {
		return nil, err
	}
	s, err := Open(ctx, path, Options{})
	if err != nil {
		return nil, err
	}
	r, err := s.Verify(ctx)
	if err == nil {
		err = r.Err()
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// soundFile lets SQLite check a file as it is.
func soundFile(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", fileURL(path)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	r := &Report{}
	if err := integrity(ctx, db, r); err != nil {
		return (&Store{engine: SQLite}).fault(path, err)
	}
	return r.Err()
}

// fill puts all rows of another store, read through one snapshot, in the place of what a store without jobs holds.
func (s *Store) fill(ctx context.Context, from *sql.Tx) error {
	return once(ctx, s.write, func(ctx context.Context, tx *sql.Tx) error {
		if s.engine == PostgreSQL {
			if _, err := tx.ExecContext(ctx, `LOCK TABLE job, entry, counter IN EXCLUSIVE MODE`); err != nil {
				return err
			}
		}
		var jobs int64
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM (SELECT 1 FROM job LIMIT 1) AS j`).Scan(&jobs); err != nil {
			return err
		}
		if jobs > 0 {
			return record.Faultf(record.Conflict, "the target", "a store that has jobs", "an empty one", "restore into a new file or database")
		}
		for _, name := range left {
			if _, err := tx.ExecContext(ctx, `DELETE FROM `+name); err != nil {
				return err
			}
		}
		for _, t := range tables {
			if err := s.copyTable(ctx, from, tx, t); err != nil {
				return fmt.Errorf("table %s: %w", t.name, err)
			}
		}
		if s.engine == PostgreSQL {
			_, err := tx.ExecContext(ctx, `SELECT setval('entry_id_seq', (SELECT greatest(max(id), 1) FROM entry), (SELECT count(*) > 0 FROM (SELECT 1 FROM entry LIMIT 1) AS e))`)
			return err
		}
		return nil
	})
}

func (s *Store) copyTable(ctx context.Context, from, to *sql.Tx, t table) error {
	if _, err := to.ExecContext(ctx, `DELETE FROM `+t.name); err != nil {
		return err
	}
	in := s.newInserter(to, t.name, t.columns)
	if t.bytes {
		in.most = 4
	}
	ptrs := make([]any, in.cols)
	err := each(ctx, from, func(row scanner) error {
		vals := make([]any, in.cols)
		for i := range vals {
			ptrs[i] = &vals[i]
		}
		if err := row.Scan(ptrs...); err != nil {
			return err
		}
		return in.add(ctx, vals)
	}, `SELECT `+t.columns+` FROM `+t.name+` ORDER BY `+t.order)
	if err != nil {
		return err
	}
	return in.flush(ctx)
}
