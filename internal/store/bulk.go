package store

import (
	"context"
	"database/sql"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
)

// BulkJob is a job as Bulk takes it: its entries in their order, the booking first.
type BulkJob struct {
	UID     string
	Entries []record.Draft
}

// bulkJobs is how many jobs Bulk keeps in one transaction.
const bulkJobs = 250

// Bulk adds n jobs, make(0) to make(n-1), numbered on from the last job: for imports of old records and for benchmarks. It is many
// times faster than NewJob and Append, and keeps the same chains, summaries, words and links. What differs: the time of an entry is
// the time at which it was stored; it is not looked whether a key or uid was taken before (then it is an error, not a duplicate),
// whether a picture is kept, nor whether a job may be closed as good. After an error the jobs of earlier transactions are kept.
func (s *Store) Bulk(ctx context.Context, n int, make func(i int) BulkJob) error {
	for from := 0; from < n; from += bulkJobs {
		to := min(from+bulkJobs, n)
		err := s.do(ctx, "adding jobs", func(ctx context.Context, tx *sql.Tx) error {
			last, err := take(ctx, tx, string(record.OfJob), int64(to-from))
			if err != nil {
				return err
			}
			b := s.newBulk(tx, last-int64(to-from)+1)
			if err := s.promise(ctx, tx); err != nil {
				return err
			}
			for i := from; i < to; i++ {
				if err := b.job(ctx, make(i)); err != nil {
					return err
				}
			}
			return b.finish(ctx, s)
		})
		if err != nil {
			return err
		}
	}
	return s.analyse(ctx)
}

// analyse lets PostgreSQL count its rows anew after many were added at once; it plans badly until it has.
func (s *Store) analyse(ctx context.Context) error {
	if s.engine != PostgreSQL {
		return nil
	}
	_, err := s.write.ExecContext(ctx, `ANALYZE`)
	return s.fault("counting rows", err)
}

// bulk is one transaction of Bulk.
type bulk struct {
	number        int64 // of the next job
	entries, jobs *inserter
	words, links  *inserter
	signed        []*record.Entry // in their order
	ids           map[[2]int64]int64
	newest        int64
}

func (s *Store) newBulk(tx *sql.Tx, number int64) *bulk {
	b := &bulk{number: number, entries: s.newInserter(tx, "entry", newEntryColumns), jobs: s.newInserter(tx, "job", jobColumns),
		words: s.newInserter(tx, "word", "subject, subject_id, word"), links: s.newInserter(tx, "link", "n, entry, entry_hash, prev, hash"),
		ids: map[[2]int64]int64{}}
	b.entries.tail = `RETURNING id, subject_id, seq`
	b.entries.answer = func(row scanner) error {
		var id, sub, seq int64
		err := row.Scan(&id, &sub, &seq)
		if _, ok := b.ids[[2]int64{sub, seq}]; ok {
			b.ids[[2]int64{sub, seq}] = id
		}
		return err
	}
	return b
}

func (b *bulk) job(ctx context.Context, j BulkJob) error {
	sub := record.JobSubject(b.number)
	b.number++
	entries := make([]record.Entry, len(j.Entries))
	for i, d := range j.Entries {
		d.Subject = sub
		e, err := d.Entry()
		if err != nil {
			return err
		}
		e.Seq, e.Stored = int64(i)+1, e.At
		var prev record.Digest
		if i > 0 {
			before := &entries[i-1]
			prev = before.Hash
			if e.Stored.Before(before.Stored) {
				e.Stored = before.Stored
			}
		}
		e.Seal(prev)
		entries[i] = e
	}
	job, err := record.Fold(entries)
	if err != nil {
		return err
	}
	for i := range entries {
		e := &entries[i]
		b.newest = max(b.newest, e.Stored.UnixMicro())
		if e.Kind.Linked() {
			b.signed = append(b.signed, e)
			b.ids[[2]int64{sub.ID, e.Seq}] = 0
		}
		if err := b.entries.add(ctx, entryRow(e)); err != nil {
			return err
		}
	}
	job.UID = j.UID
	row, err := jobRow(&job.Summary, entries[0].Key)
	if err != nil {
		return err
	}
	if err := b.jobs.add(ctx, row); err != nil {
		return err
	}
	for _, w := range job.Summary.Words() {
		if err := b.words.add(ctx, []any{string(sub.Kind), sub.ID, w}); err != nil {
			return err
		}
	}
	return nil
}

// finish sends what waits and adds the signed entries to the chain of the shop.
func (b *bulk) finish(ctx context.Context, s *Store) error {
	for _, in := range []*inserter{b.entries, b.jobs, b.words} {
		if err := in.flush(ctx); err != nil {
			return err
		}
	}
	s.seen(b.newest)
	if len(b.signed) == 0 {
		return nil
	}
	var n int64
	var head []byte
	if err := b.links.tx.QueryRowContext(ctx, `SELECT n, hash FROM chain WHERE id = 1`+s.forUpdate()).Scan(&n, &head); err != nil {
		return err
	}
	for _, e := range b.signed {
		id := b.ids[[2]int64{e.Subject.ID, e.Seq}]
		if id == 0 {
			return fmt.Errorf("store: entry %d of %s has no number", e.Seq, e.Subject)
		}
		hash := linkHash(head, e.Hash)
		n++
		if err := b.links.add(ctx, []any{n, id, e.Hash[:], head, hash}); err != nil {
			return err
		}
		head = hash
	}
	if err := b.links.flush(ctx); err != nil {
		return err
	}
	_, err := b.links.tx.ExecContext(ctx, `UPDATE chain SET n = $1, hash = $2 WHERE id = 1`, n, head)
	return err
}
