package store

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// pageRows is how many entries Verify reads at a time.
const pageRows = 1000

// subjects walks all entries, kind by kind, subject by subject.
func (v verifier) subjects() error {
	kinds, strange := allKinds(), false
	for _, k := range kinds {
		if err := v.kind(k); err != nil {
			return err
		}
	}
	err := v.each(func(row scanner) error {
		var kind string
		var n int64
		if err := row.Scan(&kind, &n); err != nil {
			return err
		}
		if !slices.Contains(kinds, record.SubjectKind(kind)) {
			v.r.wrong("the entries", "%d are about a %q, which this version does not know", n, kind)
			strange = true
		}
		return nil
	}, `SELECT subject, count(*) FROM entry GROUP BY subject`)
	if err != nil || strange { // the indexes say more than what was read
		return err
	}
	return v.indexes()
}

// allKinds are the kinds of subjects that this version knows.
func allKinds() []record.SubjectKind {
	return append([]record.SubjectKind{record.OfJob}, record.Catalogue()...)
}

// kind walks the entries of one kind of subject in pages. What is left of a page after its last whole subject goes before the next.
func (v verifier) kind(k record.SubjectKind) error {
	w := &walk{verifier: v, kind: k}
	err := w.pages()
	if err == nil {
		err = w.settle(0)
	}
	if err == nil {
		return w.counter()
	}
	for _, b := range w.under { // what was found before the error counts all the same
		w.take(b)
	}
	return err
}

func (w *walk) pages() error {
	var buf []record.Entry
	id, seq, checked := int64(math.MinInt64), int64(0), int64(math.MinInt64)
	var at, seqAt int64
	reader := newEntryReader(&at, &seqAt)
	for {
		n, fromID, fromSeq := 0, id, seq
		err := w.each(func(row scanner) error {
			e, err := reader.read(row)
			if record.CodeOf(err) == record.Damaged {
				w.found = append(w.found, Problem{e.Subject.String(), fmt.Sprintf("entry %d: %v", e.Seq, err)})
				err = nil
			}
			n++
			if e.Subject != (record.Subject{Kind: w.kind, ID: at}) || e.Seq != seqAt || cmp.Or(cmp.Compare(at, id), cmp.Compare(seqAt, seq)) <= 0 {
				w.found = append(w.found, Problem{e.Subject.String(), fmt.Sprintf("entry %d stands elsewhere in its index", e.Seq)})
				return err
			}
			buf = append(buf, e)
			id, seq = at, seqAt
			return err
		}, w.pageQuery(), string(w.kind), id, seq, pageRows)
		if err != nil {
			return err
		}
		w.r.Entries += int64(n)
		w.tell()
		if n < pageRows || id == fromID && seq == fromSeq { // an index out of its order could lead round for ever
			return w.batch(runs(buf), checked, math.MaxInt64)
		}
		whole := len(buf)
		for whole > 0 && buf[whole-1].Subject.ID == id {
			whole--
		}
		if whole > 0 {
			if err := w.batch(runs(buf[:whole]), checked, buf[whole-1].Subject.ID); err != nil {
				return err
			}
			checked = buf[whole-1].Subject.ID
			buf = append([]record.Entry(nil), buf[whole:]...)
		}
	}
}

// pageQuery is the query for the entries of a kind after one, each with the numbers under which its index has it: SQLite would else give those
// for the ones of the row.
func (v verifier) pageQuery() string {
	if !v.lite {
		return `SELECT ` + entryColumns + `, subject_id, seq FROM entry WHERE subject = $1 AND (subject_id, seq) > ($2, $3) ORDER BY subject_id, seq LIMIT $4`
	}
	return `SELECT e.id, e.subject, e.subject_id, e.seq, e.kind, e.at, e.stored, e.person, e.device, e.key, e.corrects, e.body, e.prev, e.hash, i.subject_id, i.seq
		FROM entry i INDEXED BY sqlite_autoindex_entry_1 CROSS JOIN entry e ON e.id = i.id
		WHERE i.subject = $1 AND (i.subject_id, i.seq) > ($2, $3) ORDER BY i.subject_id, i.seq LIMIT $4`
}

// runs cuts entries in their order into those of one subject each.
func runs(entries []record.Entry) [][]record.Entry {
	var out [][]record.Entry
	for from, i := 0, 1; i <= len(entries); i++ {
		if i == len(entries) || entries[i].Subject != entries[from].Subject {
			out = append(out, entries[from:i])
			from = i
		}
	}
	return out
}

// walk reads the subjects of one kind by ascending number. What it has read is checked while it reads on.
type walk struct {
	verifier
	kind  record.SubjectKind
	last  int64     // number of the last row
	found []Problem // while reading, since the last batch
	under []*batch  // that are being checked, in their order
}

// batch reads what stands beside the entries of runs, whose numbers are above from and up to upTo, and lets it be checked.
func (w *walk) batch(runs [][]record.Entry, from, upTo int64) error {
	b := &batch{kind: w.kind, runs: runs, before: w.last, problems: w.found, done: make(chan struct{})}
	w.found = nil
	var err error
	if b.origins, err = w.origins(runs); err != nil {
		return err
	}
	if err := w.rows(b, from, upTo); err != nil {
		return err
	}
	if err := w.words(b, from, upTo); err != nil {
		return err
	}
	go b.check()
	w.under = append(w.under, b)
	return w.settle(2 * runtime.GOMAXPROCS(0))
}

// settle reports what was found in the oldest batches until only some are being checked.
func (w *walk) settle(some int) error {
	for len(w.under) > some {
		b := w.under[0]
		w.under = w.under[1:]
		w.take(b)
		if err := w.pictures(b.photos); err != nil {
			return err
		}
	}
	return nil
}

// take waits for the check of a batch and reports what it found.
func (w *walk) take(b *batch) {
	<-b.done
	w.sums.add(b.sums)
	if w.lite && b.disorder {
		w.disorder(wordIndex)
	}
	for _, p := range b.problems {
		w.r.add(p)
	}
	if w.kind == record.OfJob {
		w.r.Jobs += int64(len(b.runs))
	} else {
		w.r.Items += int64(len(b.runs))
	}
}

// columnsOf are the columns of the table of a kind of subject.
func columnsOf(k record.SubjectKind) string {
	if k == record.OfJob {
		return jobColumns
	}
	return itemColumns
}

func (w *walk) rows(b *batch, from, upTo int64) error {
	id, query, args := 0, `SELECT `+jobColumns+` FROM job WHERE number > $1 AND number <= $2 ORDER BY number`, []any{from, upTo}
	if w.kind != record.OfJob {
		id, query, args = 1, `SELECT `+itemColumns+` FROM item WHERE id > $1 AND id <= $2 AND kind = $3 ORDER BY id`, []any{from, upTo, string(w.kind)}
	}
	columns := strings.Count(columnsOf(w.kind), ",") + 1
	ptrs := make([]any, columns)
	return w.each(func(row scanner) error {
		have := make([]any, columns)
		for i := range have {
			ptrs[i] = &have[i]
		}
		if err := row.Scan(ptrs...); err != nil {
			return err
		}
		n, ok := have[id].(int64)
		if !ok {
			return fmt.Errorf("store: a number of type %T", have[id])
		}
		b.rows = append(b.rows, tableRow{n, have})
		w.last = n
		return nil
	}, query, args...)
}

// wordSplit stands between the words of a subject that are read together; no word has it.
const wordSplit = "\x1f"

// words reads the words of each subject as one row: there are more of them than of anything else.
func (w *walk) words(b *batch, from, upTo int64) error {
	return w.each(func(row scanner) error {
		var id int64
		var words string
		err := row.Scan(&id, &words)
		b.words = append(b.words, wordsRow{id, strings.Split(words, wordSplit)})
		return err
	}, `SELECT subject_id, string_agg(word, $4) FROM word WHERE subject = $1 AND subject_id > $2 AND subject_id <= $3 GROUP BY subject_id`, string(w.kind), from, upTo, wordSplit)
}

// pictures looks whether the pictures that entries name are kept.
func (w *walk) pictures(named []record.Digest) error {
	const most = 500
	for len(named) > 0 {
		part := named[:min(most, len(named))]
		named = named[len(part):]
		missing := map[record.Digest]bool{}
		var marks []string
		var args []any
		for _, d := range part {
			if !missing[d] {
				missing[d] = true
				args = append(args, d[:])
				marks = append(marks, fmt.Sprintf("$%d", len(args)))
			}
		}
		err := w.each(func(row scanner) error {
			var hash []byte
			err := row.Scan(&hash)
			if len(hash) == len(record.Digest{}) {
				delete(missing, record.Digest(hash))
			}
			return err
		}, `SELECT hash FROM photo WHERE hash IN (`+strings.Join(marks, ", ")+`)`, args...)
		if err != nil {
			return err
		}
		for d := range missing {
			w.r.wrong("photo "+d.Short(), "an entry names it, but it is not kept")
		}
	}
	return nil
}

// counter compares the last number with the counter that gave it.
func (w *walk) counter() error {
	var last int64
	err := w.tx.QueryRowContext(w.ctx, `SELECT last FROM counter WHERE kind = $1`, string(w.kind)).Scan(&last)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if last != w.last {
		w.r.wrong(record.Subject{Kind: w.kind, ID: last}.String(), "numbers were given up to %d, the last that is kept is %d", last, w.last)
	}
	return nil
}
