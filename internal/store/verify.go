package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Problem is something that Verify found to be wrong.
type Problem struct{ Where, What string }

// Report is what Verify looked at and found.
type Report struct {
	Entries, Jobs, Items, Links, Photos int64
	Problems                            []Problem // the first hundred
	More                                int64     // how many further ones
}

// Sound says whether nothing was found to be wrong.
func (r *Report) Sound() bool { return len(r.Problems) == 0 }

// Err is nil for a sound store and otherwise a *record.Fault of code Damaged that names the first problem.
func (r *Report) Err() error {
	if r.Sound() {
		return nil
	}
	p := r.Problems[0]
	found := p.What
	if n := int64(len(r.Problems)) - 1 + r.More; n > 0 {
		found += fmt.Sprintf(" (and %d more)", n)
	}
	return record.Faultf(record.Damaged, p.Where, found, "a record that nobody changed", "restore a backup")
}

// most is how many problems a report names.
const most = 100

// Wrong adds a problem that the caller found.
func (r *Report) Wrong(where, what string) { r.add(Problem{where, what}) }

func (r *Report) wrong(where, format string, args ...any) {
	r.add(Problem{where, fmt.Sprintf(format, args...)})
}

func (r *Report) add(p Problem) {
	if len(r.Problems) >= most {
		r.More++
		return
	}
	r.Problems = append(r.Problems, p)
}

// Verify reads every row of the record and recomputes what can be: the digests and the chain of every subject, the chain of the
// shop, the summaries and words of the jobs, the items, the numbers (none may be missing), the digests of the photos; and it lets
// SQLite check its file. It works on one snapshot, so that it can run while the store is in use, and page by page, so that memory
// does not grow with the store.
//
// What it cannot see: somebody who may write the database and makes every digest anew from the place of a change to the end of the
// chain of the shop. The head of that chain on paper (Head) shows it. Small pictures of photos have no digest.
func (s *Store) Verify(ctx context.Context) (*Report, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	r := &Report{}
	file := s.whole(ctx) // beside the rest, on a connection of its own
	err := s.verify(ctx, r)
	if err != nil {
		stop()
	}
	of, ferr := file()
	if err = errors.Join(err, ferr); err != nil {
		return nil, s.fault("verifying", err)
	}
	for _, p := range of.Problems {
		r.add(p)
	}
	r.More += of.More
	tell(ctx, Verifying, 1)
	return r, nil
}

// verify looks through what the database says.
func (s *Store) verify(ctx context.Context, r *Report) error {
	tx, err := s.snapshot(ctx)
	if err != nil {
		return err
	}
	v, err := s.verifier(ctx, tx, r)
	if err != nil {
		return end(tx, err)
	}
	for _, step := range []func() error{v.subjects, v.links, v.photos} {
		if err := s.damage(r, step()); err != nil {
			return end(tx, err)
		}
	}
	return end(tx, nil)
}

// theFile is where SQLite finds damage.
const theFile = "the database file"

// damage reports an error that says that an SQLite file is damaged: what else is in the file is looked at all the same.
func (s *Store) damage(r *Report, err error) error {
	err = s.fault("verifying", err)
	if err != nil && s.engine == SQLite && record.CodeOf(err) == record.Damaged {
		r.wrong(theFile, "%v: %v", err, errors.Unwrap(err))
		return nil
	}
	return err
}

// whole begins to let SQLite check its file and gives what waits for it.
func (s *Store) whole(ctx context.Context) func() (*Report, error) {
	r := &Report{}
	if s.engine != SQLite {
		return func() (*Report, error) { return r, nil }
	}
	done := make(chan error, 1)
	go func() { done <- s.damage(r, integrity(ctx, s.read, r)) }()
	return func() (*Report, error) { return r, <-done }
}

// integrity lets SQLite look through its file, and through the indexes of all tables but those that are summed. It reports damage as rows, not as
// an error.
func integrity(ctx context.Context, db *sql.DB, r *Report) (err error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := cacheOf(ctx, conn, checkKB); err != nil { // each row is looked up in each index: what was read is soon needed again
		return err
	}
	defer func() { err = errors.Join(err, cacheOf(context.WithoutCancel(ctx), conn, cacheKB)) }()
	if err := check100(ctx, conn, "quick_check", r); err != nil {
		return err
	}
	return reported(ctx, conn, `SELECT found.integrity_check FROM sqlite_schema AS t, pragma_integrity_check(t.name) AS found
		WHERE t.type = 'table' AND t.name NOT IN ('entry', 'word')`, r)
}

// checkTable lets SQLite look through one table and its indexes.
func checkTable(ctx context.Context, q querier, table string, r *Report) error {
	return reported(ctx, q, `PRAGMA quick_check('`+table+`')`, r)
}

// check100 runs one of SQLite's own checks and reports what it finds, at most a hundred lines.
func check100(ctx context.Context, q querier, name string, r *Report) error {
	return reported(ctx, q, `PRAGMA `+name+`(100)`, r)
}

func reported(ctx context.Context, q querier, pragma string, r *Report) error {
	return each(ctx, q, func(row scanner) error {
		var line string
		if err := row.Scan(&line); err != nil {
			return err
		}
		if p := (Problem{theFile, line}); line != "ok" && !slices.Contains(r.Problems, p) { // more than one check finds a bad page
			r.add(p)
		}
		return nil
	}, pragma)
}

// cacheKB is how many kB of an SQLite file each connection keeps in memory, checkKB while the whole file is looked through.
const cacheKB, checkKB = 8000, 64000

func cacheOf(ctx context.Context, conn *sql.Conn, kB int) error {
	_, err := conn.ExecContext(ctx, fmt.Sprintf(`PRAGMA cache_size = %d`, -kB))
	return err
}

// Head is the number and the digest of the last link of the chain of the shop.
func (s *Store) Head(ctx context.Context) (int64, record.Digest, error) {
	var n int64
	var hash []byte
	err := s.read.QueryRowContext(ctx, `SELECT n, hash FROM chain WHERE id = 1`).Scan(&n, &hash)
	if err == nil && len(hash) != len(record.Digest{}) {
		err = record.Faultf(record.Damaged, "the chain of the shop", "a digest of another length", "32 bytes", "restore a backup")
	}
	if err != nil {
		return 0, record.Digest{}, s.fault("reading the chain of the shop", err)
	}
	return n, record.Digest(hash), nil
}

// Stands says whether a head that was read earlier still stands in the chain of the shop. Link 0 is the head of an empty chain.
func (s *Store) Stands(ctx context.Context, link int64, digest record.Digest) (bool, error) {
	if link == 0 {
		return digest == record.Digest{}, nil
	}
	var hash []byte
	err := s.read.QueryRowContext(ctx, `SELECT hash FROM link WHERE n = $1`, link).Scan(&hash)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return bytes.Equal(hash, digest[:]), s.fault("reading the chain of the shop", err)
}

type verifier struct {
	ctx     context.Context
	tx      *sql.Tx
	r       *Report
	lite    bool  // of SQLite
	imports bool  // whether there are entries of other shops
	entries int64 // about how many there are
	sums    *sums // of what was read
}

// verifier begins: about how many entries there are is read first.
func (s *Store) verifier(ctx context.Context, tx *sql.Tx, r *Report) (verifier, error) {
	v := verifier{ctx: ctx, tx: tx, r: r, lite: s.engine == SQLite, imports: true, sums: &sums{}}
	err := tx.QueryRowContext(ctx, `SELECT coalesce(max(id), 0), EXISTS (SELECT 1 FROM origin) FROM entry`).Scan(&v.entries, &v.imports)
	return v, s.damage(r, err)
}

// tell says how far it is. Most of the work is in the entries; the chain of the shop, the photos and the file come after them.
func (v verifier) tell() {
	const entries = 0.9
	if v.entries > 0 {
		tell(v.ctx, Verifying, entries*min(1, float64(v.r.Entries)/float64(v.entries)))
	}
}

func (v verifier) each(see func(scanner) error, query string, args ...any) error {
	return each(v.ctx, v.tx, see, query, args...)
}

// photos reads every picture and compares its digest.
func (v verifier) photos() error {
	return v.each(func(row scanner) error {
		var hash, data []byte
		if err := row.Scan(&hash, &data); err != nil {
			return err
		}
		v.r.Photos++
		if string(hash) != string(digest(string(data))) {
			v.r.wrong(fmt.Sprintf("photo %x", hash[:min(6, len(hash))]), "the picture was changed")
		}
		return nil
	}, `SELECT hash, data FROM photo ORDER BY hash`)
}
