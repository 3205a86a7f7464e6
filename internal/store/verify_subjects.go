package store

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/evenstroke/evenstroke/internal/record"
)

// pageRows is how many entries Verify reads at a time.
const pageRows = 1000

// subjects walks all entries, kind by kind, subject by subject.
func (v verifier) subjects() error {
	kinds := append([]record.SubjectKind{record.OfJob}, record.Catalogue()...)
	for _, k := range kinds {
		if err := v.kind(k); err != nil {
			return err
		}
	}
	return v.each(func(row scanner) error {
		var kind string
		var n int64
		if err := row.Scan(&kind, &n); err != nil {
			return err
		}
		if !slices.Contains(kinds, record.SubjectKind(kind)) {
			v.r.wrong("the entries", "%d are about a %q, which this version does not know", n, kind)
		}
		return nil
	}, `SELECT subject, count(*) FROM entry GROUP BY subject`)
}

// kind walks the entries of one kind of subject in pages. What is left of a page after its last whole subject goes before the next.
func (v verifier) kind(k record.SubjectKind) error {
	var buf []record.Entry
	id, seq, checked := int64(math.MinInt64), int64(0), int64(math.MinInt64)
	m := &merge{verifier: v, kind: k}
	for {
		n := 0
		err := v.each(func(row scanner) error {
			e, err := scanEntry(row)
			if record.CodeOf(err) == record.Damaged {
				v.r.wrong(e.Subject.String(), "entry %d: %v", e.Seq, err)
				err = nil
			}
			buf = append(buf, e)
			n++
			id, seq = e.Subject.ID, e.Seq
			return err
		}, `SELECT `+entryColumns+` FROM entry WHERE subject = $1 AND (subject_id, seq) > ($2, $3) ORDER BY subject_id, seq LIMIT $4`, string(k), id, seq, pageRows)
		if err != nil {
			return err
		}
		v.r.Entries += int64(n)
		if n < pageRows {
			if err := m.batch(runs(buf), checked, math.MaxInt64); err != nil {
				return err
			}
			return m.counter()
		}
		whole := len(buf)
		for whole > 0 && buf[whole-1].Subject.ID == id {
			whole--
		}
		if whole > 0 {
			if err := m.batch(runs(buf[:whole]), checked, buf[whole-1].Subject.ID); err != nil {
				return err
			}
			checked = buf[whole-1].Subject.ID
			buf = append([]record.Entry(nil), buf[whole:]...)
		}
	}
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

// said is what the entries of one subject say.
type said struct {
	id     int64
	row    []any // of the table, nil when it cannot be said
	words  []string
	photos []record.Digest
	wrong  []string
}

// check recomputes the chain of one subject and the row and words that follow from it.
func check(run []record.Entry, origins map[int64]*Origin) said {
	s := said{id: run[0].Subject.ID}
	var prev record.Digest
	for i := range run {
		e := &run[i]
		switch {
		case e.Seq != int64(i)+1:
			s.wrong = append(s.wrong, fmt.Sprintf("entry %d stands at place %d: entries are missing", e.Seq, i+1))
			return s
		case e.Prev != prev:
			s.wrong = append(s.wrong, fmt.Sprintf("entry %d does not follow the entry before it", e.Seq))
		case !intact(e, origins):
			s.wrong = append(s.wrong, fmt.Sprintf("entry %d was changed after it was written", e.Seq))
		case i > 0 && e.Stored.Before(run[i-1].Stored):
			s.wrong = append(s.wrong, fmt.Sprintf("entry %d was stored before the one before it", e.Seq))
		}
		prev = e.Hash
	}
	var err error
	if run[0].Subject.Kind == record.OfJob {
		err = s.job(run)
	} else {
		err = s.item(run)
	}
	if err != nil {
		s.wrong = append(s.wrong, err.Error())
	}
	return s
}

func (s *said) job(run []record.Entry) error {
	job, err := record.Fold(run)
	if err != nil {
		return err
	}
	for i := range run {
		if run[i].Kind == record.KindPictured {
			b, err := run[i].Open()
			if err != nil {
				return err
			}
			s.photos = append(s.photos, b.(*record.Pictured).Photo)
		}
	}
	s.words = job.Summary.Words()
	s.row, err = jobRow(&job.Summary, run[0].Key)
	return err
}

func (s *said) item(run []record.Entry) error {
	i := Item{key: run[0].Key}
	for k := range run {
		b, err := run[k].Open()
		if err != nil {
			return err
		}
		if err := i.apply(&run[k], b); err != nil {
			return err
		}
	}
	s.row, s.words = i.row(), i.words()
	return nil
}

// merge compares what the entries of one kind say with the rows and words of the store, by ascending number.
type merge struct {
	verifier
	kind record.SubjectKind
	last int64 // number of the last row
}

// batch compares the subjects of runs, whose numbers are above from and up to upTo.
func (m *merge) batch(runs [][]record.Entry, from, upTo int64) error {
	origins, err := m.origins(runs)
	if err != nil {
		return err
	}
	says := parallel(runs, origins)
	byID := make(map[int64]*said, len(says))
	var photos []record.Digest
	for i := range says {
		s := &says[i]
		byID[s.id] = s
		photos = append(photos, s.photos...)
		for _, w := range s.wrong {
			m.r.wrong(m.name(s.id), "%s", w)
		}
	}
	if m.kind == record.OfJob {
		m.r.Jobs += int64(len(says))
	} else {
		m.r.Items += int64(len(says))
	}
	if err := m.rows(byID, from, upTo); err != nil {
		return err
	}
	if err := m.words(byID, from, upTo); err != nil {
		return err
	}
	return m.pictures(photos)
}

// parallel checks runs on all processors.
func parallel(runs [][]record.Entry, origins map[int64]*Origin) []said {
	out := make([]said, len(runs))
	n := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for w := range n {
		wg.Go(func() {
			for i := w; i < len(runs); i += n {
				out[i] = check(runs[i], origins)
			}
		})
	}
	wg.Wait()
	return out
}

func (m *merge) name(id int64) string { return record.Subject{Kind: m.kind, ID: id}.String() }

func (m *merge) rows(byID map[int64]*said, from, upTo int64) error {
	columns, id, query, args := jobColumns, 0, `SELECT `+jobColumns+` FROM job WHERE number > $1 AND number <= $2 ORDER BY number`, []any{from, upTo}
	if m.kind != record.OfJob {
		columns, id, query, args = itemColumns, 1, `SELECT `+itemColumns+` FROM item WHERE id > $1 AND id <= $2 AND kind = $3 ORDER BY id`, []any{from, upTo, string(m.kind)}
	}
	names := strings.Split(columns, ", ")
	seen := map[int64]bool{}
	err := m.each(func(row scanner) error {
		have := make([]any, len(names))
		ptrs := make([]any, len(names))
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
		if n != m.last+1 {
			m.r.wrong(m.name(n), "follows number %d: what was between is missing", m.last)
		}
		m.last, seen[n] = n, true
		s := byID[n]
		if s == nil {
			m.r.wrong(m.name(n), "has a row but no entries")
		} else if s.row != nil {
			m.compare(n, names, have, s.row)
		}
		return nil
	}, query, args...)
	if err != nil {
		return err
	}
	for n := range byID {
		if !seen[n] {
			m.r.wrong(m.name(n), "has entries but no row")
		}
	}
	return nil
}

// compare compares a row with what it must be. The uid of a job is not in its entries: its two places must agree.
func (m *merge) compare(n int64, names []string, have, want []any) {
	for i, name := range names {
		switch {
		case m.kind == record.OfJob && name == "uid":
		case name == "summary":
			if text, ok := have[i].(string); !ok || !sameSummary(text, want[i].(string), have[1]) {
				m.r.wrong(m.name(n), "its summary is not what its entries say: %v", have[i])
			}
		case !sameValue(have[i], want[i]):
			m.r.wrong(m.name(n), "its %s is %v, its entries say %v", name, have[i], want[i])
		}
	}
}

func sameValue(a, b any) bool {
	if x, ok := a.([]byte); ok {
		y, ok := b.([]byte)
		return ok && bytes.Equal(x, y)
	}
	if _, ok := b.([]byte); ok {
		return false
	}
	return a == b
}

func sameSummary(have, want string, uid any) bool {
	var a, b record.Summary
	if json.Unmarshal([]byte(have), &a) != nil || json.Unmarshal([]byte(want), &b) != nil || a.UID != uid {
		return false
	}
	b.UID = a.UID
	x, errX := json.Marshal(&a)
	y, errY := json.Marshal(&b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

func (m *merge) words(byID map[int64]*said, from, upTo int64) error {
	have := make(map[int64]int, len(byID))
	err := m.each(func(row scanner) error {
		var id int64
		var w string
		if err := row.Scan(&id, &w); err != nil {
			return err
		}
		have[id]++
		if s := byID[id]; s == nil || s.row != nil && !slices.Contains(s.words, w) {
			m.r.wrong(m.name(id), "is found under %q, which it does not have", w)
			have[id]--
		}
		return nil
	}, `SELECT subject_id, word FROM word WHERE subject = $1 AND subject_id > $2 AND subject_id <= $3`, string(m.kind), from, upTo)
	if err != nil {
		return err
	}
	for id, s := range byID {
		if s.row != nil && have[id] != len(s.words) {
			m.r.wrong(m.name(id), "is found under %d of its %d words", have[id], len(s.words))
		}
	}
	return nil
}

// pictures looks whether the pictures that entries name are kept.
func (m *merge) pictures(named []record.Digest) error {
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
		err := m.each(func(row scanner) error {
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
			m.r.wrong("photo "+d.Mark(), "an entry names it, but it is not kept")
		}
	}
	return nil
}

// counter compares the last number with the counter that gave it.
func (m *merge) counter() error {
	var last int64
	err := m.tx.QueryRowContext(m.ctx, `SELECT last FROM counter WHERE kind = $1`, string(m.kind)).Scan(&last)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if last != m.last {
		m.r.wrong(m.name(last), "numbers were given up to %d, the last that is kept is %d", last, m.last)
	}
	return nil
}
