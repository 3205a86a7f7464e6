package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Restore checks a backup and copies it into a store: a file, or a PostgreSQL database, which are made ready when they are empty.
// A store that has a job is refused with code Conflict; people, devices and what else a new shop entered before its first job are
// replaced. The backup may be of an earlier version; it is not changed. It is all or nothing, and the copy is verified.
func Restore(ctx context.Context, file, where string) (err error) {
	dir, fresh := os.TempDir(), false
	if !isAddress(where) { // a large store may not fit where temporary files are
		if where, fresh, err = target(where); err != nil {
			return err
		}
		dir = filepath.Dir(where)
	}
	temp, drop, err := tempFolder(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, drop()) }()
	copied := filepath.Join(temp, "copy.db")
	if err := bring(ctx, file, copied); err != nil {
		return err
	}
	if fresh { // the copy is the store
		return publish(copied, where)
	}
	return refill(ctx, copied, where)
}

// target makes the folder of an SQLite file ready and says whether the file is still to be made. One that another process keeps is
// refused before any work is done.
func target(where string) (abs string, fresh bool, err error) {
	if abs, err = filepath.Abs(where); err != nil {
		return "", false, fmt.Errorf("store: %s: %w", where, err)
	}
	if err := os.MkdirAll(filepath.Dir(abs), 0o700); err != nil {
		return "", false, fileFault(abs, err)
	}
	if _, err := os.Lstat(abs); errors.Is(err, fs.ErrNotExist) {
		return abs, true, nil
	}
	l, err := takeLock(abs, "restore", time.Now())
	if err != nil {
		return "", false, err
	}
	return abs, false, l.release()
}

// bring copies a backup page by page, brings the copy up to date and verifies it.
func bring(ctx context.Context, file, path string) error {
	abs, err := filepath.Abs(file)
	if err != nil {
		return fmt.Errorf("store: %s: %w", file, err)
	}
	info, err := os.Stat(abs)
	if err != nil {
		return &record.Fault{Code: record.NotFound, Where: abs, Found: "nothing that can be read", Want: "a backup", Mend: "name the file", Err: err}
	}
	if !info.Mode().IsRegular() || info.Size() == 0 {
		return record.Faultf(record.Invalid, abs, "no file, or an empty one", "a backup", "name the file")
	}
	if err := sqliteOurs(abs); err != nil {
		return err
	}
	if err := copyPages(ctx, abs, path); err != nil {
		return err
	}
	if err := structure(ctx, path, abs); err != nil {
		return err
	}
	s, err := Open(ctx, path, Options{})
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	return finish(ctx, path)
}

// copiedAtOnce is how many pages are copied between two looks at how far it is. A write to the backup meanwhile would begin it anew.
const copiedAtOnce = 10_000

// copyPages copies an SQLite file as it is, with what its log holds: a copy that was built anew would not show every damage.
func copyPages(ctx context.Context, from, to string) (err error) {
	lite := &Store{engine: SQLite}
	if err := ownerOnly(to); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", fileURL(from)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return lite.fault(from, err)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	return lite.fault(from, conn.Raw(func(driverConn any) error {
		c, ok := driverConn.(interface {
			NewBackup(string) (*sqlite.Backup, error)
		})
		if !ok {
			return fmt.Errorf("store: a connection of type %T cannot copy pages", driverConn)
		}
		b, err := c.NewBackup(fileURL(to))
		if err != nil {
			return err
		}
		for more := true; more && err == nil; {
			more, err = b.Step(copiedAtOnce)
			if n := b.PageCount(); n > 0 {
				tell(ctx, Copying, 1-float64(b.Remaining())/float64(n))
			}
		}
		return errors.Join(err, b.Finish())
	}))
}

// structure lets SQLite look through the pages of a copy of the file called name: a damaged one is named before anything reads it. Its indexes
// are checked when it is verified.
func structure(ctx context.Context, path, name string) (err error) {
	db, err := sql.Open("sqlite", fileURL(path)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	r := &Report{}
	if err := check100(ctx, db, "quick_check", r); err != nil {
		return (&Store{engine: SQLite}).fault(name, err)
	}
	return r.Err()
}

// refill puts a verified copy into a store that is there.
func refill(ctx context.Context, copied, where string) (err error) {
	from, err := Open(ctx, copied, Options{})
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
