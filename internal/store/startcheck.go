package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"

	"github.com/evenstroke/evenstroke/internal/record"
)

// WholeUpTo is up to which size of an SQLite file, bytes, Check reads all of it before anything is served: some seconds.
const WholeUpTo = 16 << 20

// recently is how many of the newest entries and links Check recomputes of a database that it does not read as a whole.
const recently = 1000

// Check looks for damage before a store is used, in a time that does not grow with it. An SQLite file of at most most bytes is verified as
// Verify does (whole). Of a larger one, and of PostgreSQL, the newest entries and links with the head of the chain are recomputed, and SQLite
// looks through the tables of the catalogue and of those who may sign in; CheckFile does the rest while it is served. PostgreSQL has checksums
// of its own for its pages, see PageChecksums. What is wrong is in the report, and is a trouble of the store from then on.
func (s *Store) Check(ctx context.Context, most int64) (r *Report, whole bool, err error) {
	if s.engine == SQLite {
		info, err := os.Stat(s.path)
		if err != nil {
			return nil, false, fileFault(s.path, err)
		}
		if info.Size() <= most {
			r, err := s.Verify(ctx)
			return r, true, s.found(r, err)
		}
	}
	r = &Report{}
	steps := []func(context.Context, *Report) error{s.newestEntries, s.newestLinks}
	if s.engine == SQLite {
		steps = append(steps, s.smallTables)
	}
	for _, step := range steps {
		if err := s.damage(r, step(ctx, r)); err != nil {
			return nil, false, err
		}
	}
	return r, false, s.found(r, nil)
}

// CheckFile lets SQLite look through all pages of its file, however large, while it is in use. What is wrong is a trouble of the store.
func (s *Store) CheckFile(ctx context.Context) (*Report, error) {
	r := &Report{}
	if s.engine != SQLite {
		return r, nil
	}
	err := s.damage(r, check100(ctx, s.read, "quick_check", r))
	return r, s.found(r, err)
}

// found notes what is wrong.
func (s *Store) found(r *Report, err error) error {
	if err == nil {
		_ = s.hears(r.Err()) // it is in the report
	}
	return err
}

// newestEntries recomputes the digests of the newest entries.
func (s *Store) newestEntries(ctx context.Context, r *Report) error {
	var entries []record.Entry
	err := each(ctx, s.read, func(row scanner) error {
		e, err := scanEntry(row)
		entries = append(entries, e)
		return err
	}, `SELECT `+entryColumns+` FROM entry ORDER BY id DESC LIMIT $1`, recently)
	if err != nil || len(entries) == 0 {
		return err
	}
	origins, err := originsOf(ctx, s.read, `entry >= $1`, entries[len(entries)-1].ID)
	if err != nil {
		return err
	}
	for i := range entries {
		if e := &entries[i]; !intact(e, origins) {
			r.wrong(e.Subject.String(), "entry %d was changed after it was written", e.Seq)
		}
	}
	r.Entries = int64(len(entries))
	return nil
}

// newestLinks recomputes the end of the chain of the shop, from its head back.
func (s *Store) newestLinks(ctx context.Context, r *Report) error {
	const where = "the chain of the shop"
	n, head, err := s.Head(ctx)
	if err != nil {
		return err
	}
	want := head[:]
	return each(ctx, s.read, func(row scanner) error {
		var at int64
		var sealed, prev, hash []byte
		var have sql.Null[[]byte]
		if err := row.Scan(&at, &sealed, &prev, &hash, &have); err != nil {
			return err
		}
		if at != n-r.Links || !bytes.Equal(hash, want) || len(sealed) != len(record.Digest{}) || !bytes.Equal(hash, linkHash(prev, record.Digest(sealed))) || !bytes.Equal(sealed, have.V) {
			r.wrong(where, "link %d does not fit its entry, or those beside it", at)
		}
		want = prev
		r.Links++
		return nil
	}, `SELECT l.n, l.entry_hash, l.prev, l.hash, e.hash FROM link l LEFT JOIN entry e ON e.id = l.entry ORDER BY l.n DESC LIMIT $1`, recently)
}

// smallTables lets SQLite look through the tables that do not grow with the jobs.
func (s *Store) smallTables(ctx context.Context, r *Report) error {
	for _, name := range []string{"item", "item_alias", "counter", "chain", "secret", "pin_count", "passkey", "device_secret", "token"} {
		if err := checkTable(ctx, s.read, name, r); err != nil {
			return err
		}
	}
	return nil
}

// PageChecksums says whether the database keeps a checksum of each page: PostgreSQL that was set up with them. SQLite has none.
func (s *Store) PageChecksums(ctx context.Context) (bool, error) {
	if s.engine != PostgreSQL {
		return false, nil
	}
	var on string
	err := s.read.QueryRowContext(ctx, `SHOW data_checksums`).Scan(&on)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return on == "on", s.fault("asking the database", err)
}
