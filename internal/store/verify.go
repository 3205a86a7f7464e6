package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

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

func (r *Report) wrong(where, format string, args ...any) {
	if len(r.Problems) >= 100 {
		r.More++
		return
	}
	r.Problems = append(r.Problems, Problem{where, fmt.Sprintf(format, args...)})
}

// Verify reads every row of the record and recomputes what can be: the digests and the chain of every subject, the chain of the
// shop, the summaries and words of the jobs, the items, the numbers (none may be missing), the digests of the photos; and it lets
// SQLite check its file. It works on one snapshot, so that it can run while the store is in use, and page by page, so that memory
// does not grow with the store.
//
// What it cannot see: somebody who may write the database and makes every digest anew from the place of a change to the end of the
// chain of the shop. The head of that chain on paper (Head) shows it. Small pictures of photos have no digest.
func (s *Store) Verify(ctx context.Context) (*Report, error) {
	tx, err := s.snapshot(ctx)
	if err != nil {
		return nil, s.fault("verifying", err)
	}
	r := &Report{}
	v := verifier{ctx, tx, r}
	steps := []func() error{v.subjects, v.links, v.photos}
	if s.engine == SQLite {
		steps = append(steps, v.sqlite)
	}
	for _, step := range steps {
		err := s.fault("verifying", step())
		if err != nil && s.engine == SQLite && record.CodeOf(err) == record.Damaged {
			r.wrong("the database file", "%v: %v", err, errors.Unwrap(err))
			continue
		}
		if err != nil {
			return nil, end(tx, err)
		}
	}
	return r, s.fault("verifying", end(tx, nil))
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

type verifier struct {
	ctx context.Context
	tx  *sql.Tx
	r   *Report
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

// sqlite reads the rows that the engine's own check gives: it reports damage as rows, not as an error.
func (v verifier) sqlite() error {
	err := v.each(func(row scanner) error {
		var line string
		if err := row.Scan(&line); err != nil {
			return err
		}
		if line != "ok" {
			v.r.wrong("the database file", "%s", line)
		}
		return nil
	}, `PRAGMA integrity_check(100)`)
	return err
}
