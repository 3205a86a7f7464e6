package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What Verify reads of some subjects is checked apart from the reading, so that both processors have something to do. Nothing here
// asks the database.

// batch is what was read of subjects that follow each other, and what a check found in it.
type batch struct {
	kind    record.SubjectKind
	runs    [][]record.Entry
	origins map[int64]*Origin
	rows    []tableRow
	before  int64 // number of the row before the first
	words   []wordsRow

	problems []Problem
	sums     sums
	disorder bool            // the words are not in the order of their index
	photos   []record.Digest // that entries name
	done     chan struct{}
}

// tableRow is a row of job or item by its number.
type tableRow struct {
	number int64
	values []any
}

// wordsRow are the words under which a subject is found.
type wordsRow struct {
	id    int64
	words []string
}

func (b *batch) name(id int64) string { return record.Subject{Kind: b.kind, ID: id}.String() }

func (b *batch) wrong(id int64, format string, args ...any) {
	b.problems = append(b.problems, Problem{b.name(id), fmt.Sprintf(format, args...)})
}

// check compares what the entries say with the rows and words.
func (b *batch) check() {
	defer close(b.done)
	byID := make(map[int64]*said, len(b.runs))
	for _, run := range b.runs {
		s := check(run, b.origins)
		byID[s.id] = &s
		b.photos = append(b.photos, s.photos...)
		for _, w := range s.wrong {
			b.wrong(s.id, "%s", w)
		}
	}
	b.sum()
	b.checkRows(byID)
	b.checkWords(byID)
}

func (b *batch) checkRows(byID map[int64]*said) {
	names := strings.Split(columnsOf(b.kind), ", ")
	seen := make(map[int64]bool, len(b.rows))
	last := b.before
	for _, row := range b.rows {
		n := row.number
		if n != last+1 {
			b.wrong(n, "follows number %d: what was between is missing", last)
		}
		last, seen[n] = n, true
		s := byID[n]
		if s == nil {
			b.wrong(n, "has a row but no entries")
		} else if s.told {
			b.compare(s, names, row.values)
		}
	}
	for _, run := range b.runs {
		if id := run[0].Subject.ID; !seen[id] {
			b.wrong(id, "has entries but no row")
		}
	}
}

// compare compares a row with what it must be. The uid of a job is not in its entries: its two places must agree.
func (b *batch) compare(s *said, names []string, have []any) {
	uid, _ := have[1].(string)
	want, err := s.row(uid)
	if err != nil {
		b.wrong(s.id, "%v", err)
		return
	}
	for i, name := range names {
		switch {
		case b.kind == record.OfJob && name == "uid":
		case name == "summary":
			if text, ok := have[i].(string); !ok || text != want[i] && !sameSummary(text, want[i].(string), have[1]) {
				b.wrong(s.id, "its summary is not what its entries say: %v", have[i])
			}
		case !sameValue(have[i], want[i]):
			b.wrong(s.id, "its %s is %v, its entries say %v", name, have[i], want[i])
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

// sameSummary compares two summaries of a job in all but the way they are written.
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

func (b *batch) checkWords(byID map[int64]*said) {
	found := make(map[int64]int, len(byID)) // words that are right
	for _, row := range b.words {
		s := byID[row.id]
		for _, word := range row.words {
			if s == nil || s.told && !slices.Contains(s.words, word) {
				b.wrong(row.id, "is found under %q, which it does not have", word)
				continue
			}
			found[row.id]++
		}
	}
	for _, run := range b.runs {
		if s := byID[run[0].Subject.ID]; s.told && found[s.id] != len(s.words) {
			b.wrong(s.id, "is found under %d of its %d words", found[s.id], len(s.words))
		}
	}
}

// said is what the entries of one subject say.
type said struct {
	id     int64
	told   bool                            // whether they say anything
	row    func(uid string) ([]any, error) // of the table; the entries of a job do not say its uid
	words  []string
	photos []record.Digest
	wrong  []string
}

// check recomputes the chain of one subject and what follows from it.
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
	s.row = func(uid string) ([]any, error) {
		job.UID = uid
		return jobRow(&job.Summary, run[0].Key)
	}
	s.told = true
	return nil
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
	s.words = i.words()
	s.row = func(string) ([]any, error) { return i.row(), nil }
	s.told = true
	return nil
}
