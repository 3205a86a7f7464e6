package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// forge changes what a verdict says as somebody would who may write the database and knows how it is made: the entry, all that follow it, the
// chain of the shop and the summary are made anew.
func forge(t *testing.T, s *Store, job int64, from, to string) {
	t.Helper()
	must(t, once(t.Context(), s.write, func(ctx context.Context, tx *sql.Tx) error {
		entries, err := entriesOf(ctx, tx, record.JobSubject(job), 0, 0)
		if err != nil {
			return err
		}
		var prev record.Digest
		for i := range entries {
			e := &entries[i]
			e.Body = json.RawMessage(strings.ReplaceAll(string(e.Body), from, to))
			e.Seal(prev)
			prev = e.Hash
			if _, err := tx.Exec(`UPDATE entry SET body = $1, prev = $2, hash = $3 WHERE id = $4`, string(e.Body), e.Prev[:], e.Hash[:], e.ID); err != nil {
				return err
			}
		}
		j, err := record.Fold(entries)
		if err != nil {
			return err
		}
		if err := tx.QueryRow(`SELECT uid FROM job WHERE number = $1`, job).Scan(&j.UID); err != nil {
			return err
		}
		if err := s.saveJob(ctx, tx, &j.Summary); err != nil {
			return err
		}
		head := make([]byte, len(record.Digest{}))
		links, err := rowsByID(ctx, tx, `SELECT l.n, e.hash FROM link l JOIN entry e ON e.id = l.entry WHERE l.n > $1 AND l.n <= $2 ORDER BY l.n`, 0, 1<<40)
		if err != nil {
			return err
		}
		for _, l := range links {
			sealed := l.values[1].([]byte)
			next := linkHash(head, record.Digest(sealed))
			if _, err := tx.Exec(`UPDATE link SET entry_hash = $1, prev = $2, hash = $3 WHERE n = $4`, sealed, head, next, l.number); err != nil {
				return err
			}
			head = next
		}
		_, err = tx.Exec(`UPDATE chain SET hash = $1 WHERE id = 1`, head)
		return err
	}))
}

// Whoever makes all digests anew fools a check that knows nothing but the database; a backup, and a digest that was written down, show it.
func TestForgedVerdict(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		job := aJob(t, s)
		add(t, s, job, judged(record.AsFound, "leaks"), &record.Did{Step: "s"})
		mark := add(t, s, job, &record.Noted{Text: "n"})[0].Entry.Hash
		add(t, s, aJob(t, s), &record.Did{Step: "s"})
		backup := filepath.Join(t.TempDir(), "b.db")
		must(t, s.Backup(t.Context(), backup))
		_, head, err := s.Head(t.Context())
		must(t, err)
		add(t, s, job, &record.Did{Step: "after the backup"})
		anchors := map[string]func(*Report) error{
			"against":        func(r *Report) error { return s.Against(t.Context(), backup, r) },
			"head":           func(r *Report) error { return s.Expect(t.Context(), head.String(), r) },
			"mark of a job":  func(r *Report) error { return s.Expect(t.Context(), mark.String(), r) },
			"128 bits of it": func(r *Report) error { return s.Expect(t.Context(), mark.String()[:16]+"-"+mark.String()[16:32], r) },
			"as on paper":    func(r *Report) error { return s.Expect(t.Context(), mark.Mark(), r) },
			"signed head": func(r *Report) error {
				ok, err := s.Stands(t.Context(), 3, head)
				if !ok {
					r.wrong("head", "does not stand")
				}
				return err
			},
		}
		for name, look := range anchors {
			r := &Report{}
			must(t, look(r))
			if !r.Sound() {
				t.Errorf("%s: %v before anybody changed anything", name, r.Problems)
			}
		}
		wantCode(t, s.Expect(t.Context(), mark.String()[:31], &Report{}), record.Invalid)
		forge(t, s, job, "leaks", "holds")
		sound(t, s) // that is the attack
		for name, look := range anchors {
			r := &Report{}
			must(t, look(r))
			if r.Sound() {
				t.Errorf("%s does not show the forgery", name)
			}
		}
	})
}
