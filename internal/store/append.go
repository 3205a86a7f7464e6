package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
)

// AnySeq takes an entry whatever came before it.
const AnySeq int64 = -1

// Receipt says that an entry is kept.
type Receipt struct {
	Entry     record.Entry
	Duplicate bool // the same entry had been taken before; nothing was added
}

// Append adds entries to a job, all or none, durably. Each carries the key its device made: an entry whose key was taken
// before is not added again, and its first receipt is given. ifSeq, unless AnySeq, is the last entry that the writer has seen;
// if another came in between, nothing is added and the error is a *record.Fault of code Conflict.
func (s *Store) Append(ctx context.Context, number int64, ifSeq int64, drafts ...record.Draft) ([]Receipt, error) {
	entries := make([]record.Entry, len(drafts))
	for i, d := range drafts {
		d.Subject = record.JobSubject(number)
		e, err := d.Entry()
		if err != nil {
			return nil, err
		}
		entries[i] = e
	}
	var out []Receipt
	var was, is record.Stage
	defer func() { s.lanes.write(was, is) }() // also after an error: it may have been kept all the same
	err := s.transact(ctx, "keeping an entry", func(ctx context.Context, tx *sql.Tx) error {
		sum, err := s.lockJob(ctx, tx, number)
		if err != nil {
			return err
		}
		was = sum.Stage
		out, err = s.appendAll(ctx, tx, sum, ifSeq, entries, drafts)
		is = sum.Stage
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (s *Store) appendAll(ctx context.Context, tx *sql.Tx, sum *record.Summary, ifSeq int64, entries []record.Entry, drafts []record.Draft) ([]Receipt, error) {
	out := make([]Receipt, 0, len(entries))
	words := sum.Words()
	added := false
	for i, e := range entries {
		old, err := byKey(ctx, tx, e)
		if err != nil {
			return nil, err
		}
		if old != nil {
			out = append(out, Receipt{Entry: *old, Duplicate: true})
			continue
		}
		if !added && ifSeq != AnySeq && ifSeq != sum.Seq {
			return nil, between(e.Subject, sum.Seq, ifSeq)
		}
		if err := s.addToJob(ctx, tx, sum, &e, drafts[i].Body); err != nil {
			return nil, err
		}
		added = true
		out = append(out, Receipt{Entry: e})
	}
	if !added {
		return out, nil
	}
	if err := s.saveJob(ctx, tx, sum); err != nil {
		return nil, err
	}
	now := sum.Words()
	if slices.Equal(now, words) {
		return out, nil
	}
	return out, saveWords(ctx, tx, record.JobSubject(sum.Number), words, now)
}

func between(sub record.Subject, have, ifSeq int64) error {
	return &record.Fault{Code: record.Conflict, Where: sub.String(), Found: fmt.Sprintf("entry %d", have),
		Want: fmt.Sprintf("entry %d as the last", ifSeq), Mend: "look at what came in between and send it again", Seq: have}
}

// addToJob numbers, seals and inserts one entry and brings the summary up to date.
func (s *Store) addToJob(ctx context.Context, tx *sql.Tx, sum *record.Summary, e *record.Entry, b record.Body) error {
	if err := guard(ctx, tx, sum, e, b); err != nil {
		return err
	}
	e.Seq = sum.Seq + 1
	e.Stored = micro(s.stamp(sum.Changed.UnixMicro()))
	e.Seal(sum.Hash)
	if err := s.insert(ctx, tx, e); err != nil {
		return err
	}
	sum.Apply(e, b)
	return nil
}

// guard refuses what the entries before it do not allow. Only what refers to other entries needs to read them.
func guard(ctx context.Context, tx *sql.Tx, sum *record.Summary, e *record.Entry, b record.Body) error {
	if err := sum.Allows(e, b); err != nil {
		return err
	}
	refers := e.Corrects != 0
	switch b := b.(type) {
	case *record.Pictured:
		if err := havePhoto(ctx, tx, b.Photo); err != nil {
			return err
		}
	case *record.Struck:
		refers = true
	case *record.Closed:
		refers = refers || b.Good
	case *record.Pressed:
		refers = refers || b.Press == record.PressStart
	}
	if !refers {
		return nil
	}
	entries, err := entriesOf(ctx, tx, e.Subject, 0, 0)
	if err != nil {
		return err
	}
	job, err := record.Fold(entries)
	if err != nil {
		return err
	}
	return job.Takes(e, b)
}

const entryColumns = `id, ` + newEntryColumns

const newEntryColumns = `subject, subject_id, seq, kind, at, stored, person, device, key, corrects, body, prev, hash`

func entryRow(e *record.Entry) []any {
	return []any{string(e.Subject.Kind), e.Subject.ID, e.Seq, string(e.Kind), e.At.UnixMicro(), e.Stored.UnixMicro(), e.By, e.Device, e.Key,
		e.Corrects, string(e.Body), e.Prev[:], e.Hash[:]}
}

func (s *Store) insert(ctx context.Context, tx *sql.Tx, e *record.Entry) error {
	if err := s.promise(ctx, tx); err != nil {
		return err
	}
	err := tx.QueryRowContext(ctx, `INSERT INTO entry (`+newEntryColumns+`)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) RETURNING id`, entryRow(e)...).Scan(&e.ID)
	if err != nil || !e.Kind.Linked() {
		return err
	}
	return s.link(ctx, tx, e)
}

// link adds a signed entry or a verdict to the chain of the whole shop: H = SHA-256(previous link ‖ digest of the entry).
func (s *Store) link(ctx context.Context, tx *sql.Tx, e *record.Entry) error {
	var n int64
	var prev []byte
	if err := tx.QueryRowContext(ctx, `SELECT n, hash FROM chain WHERE id = 1`+s.forUpdate()).Scan(&n, &prev); err != nil {
		return err
	}
	hash := linkHash(prev, e.Hash)
	if _, err := tx.ExecContext(ctx, `INSERT INTO link (n, entry, entry_hash, prev, hash) VALUES ($1, $2, $3, $4, $5)`, n+1, e.ID, e.Hash[:], prev, hash); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `UPDATE chain SET n = $1, hash = $2 WHERE id = 1`, n+1, hash)
	return err
}

func linkHash(prev []byte, entry record.Digest) []byte {
	h := sha256.New()
	h.Write(prev)
	h.Write(entry[:])
	return h.Sum(nil)
}

// byKey finds the entry that was taken with the same key, nil when there is none. The same key with another body, or of another person, is
// refused: the answer would tell one what another wrote, and credit the one's words to the other.
func byKey(ctx context.Context, q querier, e record.Entry) (*record.Entry, error) {
	old, err := scanEntry(q.QueryRowContext(ctx, `SELECT `+entryColumns+` FROM entry WHERE subject = $1 AND subject_id = $2 AND key = $3`,
		string(e.Subject.Kind), e.Subject.ID, e.Key))
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if old.By != e.By || old.Kind != e.Kind || string(old.Body) != string(e.Body) || old.Corrects != e.Corrects {
		return nil, record.Faultf(record.Conflict, "key", "a key that another entry has", "a new key for each entry", "make a new key and send it again")
	}
	return &old, nil
}

func scanEntry(row scanner) (record.Entry, error) { return newEntryReader().read(row) }

// entryReader reads many entries into the same places before they are copied: what a row is read into would else be made anew for each.
type entryReader struct {
	e          record.Entry
	at, stored int64
	prev, hash []byte
	to         []any
}

// newEntryReader makes a reader of the entryColumns, and of more.
func newEntryReader(more ...*int64) *entryReader {
	r := &entryReader{}
	e := &r.e
	r.to = []any{&e.ID, (*string)(&e.Subject.Kind), &e.Subject.ID, &e.Seq, (*string)(&e.Kind), &r.at, &r.stored, &e.By, &e.Device, &e.Key, &e.Corrects, (*[]byte)(&e.Body), &r.prev, &r.hash}
	for _, m := range more {
		r.to = append(r.to, m)
	}
	return r
}

func (r *entryReader) read(row scanner) (record.Entry, error) {
	if err := row.Scan(r.to...); err != nil {
		return r.e, err
	}
	e := r.e
	e.At, e.Stored = micro(r.at), micro(r.stored)
	if len(r.prev) != len(e.Prev) || len(r.hash) != len(e.Hash) {
		e.Prev, e.Hash = record.Digest{}, record.Digest{}
		return e, record.Faultf(record.Damaged, e.Subject.String(), "a digest of another length", "32 bytes", "restore a backup")
	}
	e.Prev, e.Hash = record.Digest(r.prev), record.Digest(r.hash)
	return e, nil
}

// entriesOf reads the entries of a subject after a number; limit 0 is all.
func entriesOf(ctx context.Context, q querier, sub record.Subject, after int64, limit int) ([]record.Entry, error) {
	query := `SELECT ` + entryColumns + ` FROM entry WHERE subject = $1 AND subject_id = $2 AND seq > $3 ORDER BY seq`
	args := []any{string(sub.Kind), sub.ID, after}
	if limit > 0 {
		query += ` LIMIT $4`
		args = append(args, limit)
	}
	var out []record.Entry
	err := each(ctx, q, func(row scanner) error {
		e, err := scanEntry(row)
		out = append(out, e)
		return err
	}, query, args...)
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Entries reads the entries of a subject after a number, at most limit of them; 0 is all.
func (s *Store) Entries(ctx context.Context, sub record.Subject, after int64, limit int) ([]record.Entry, error) {
	out, err := entriesOf(ctx, s.read, sub, after, limit)
	return out, s.fault("reading entries", err)
}
