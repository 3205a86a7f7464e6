package store

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

func TestContract(t *testing.T) { both(t, contract) }

// contract is what every engine must do.
func contract(t *testing.T, open func(t *testing.T) *Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, *Store)
	}{
		{"append", testAppend}, {"duplicate", testDuplicate}, {"key of another", testKeyOfAnother}, {"conflict", testConflict}, {"correction", testCorrection},
		{"strike", testStrike}, {"closed", testClosed}, {"reopened", testReopened}, {"links", testLinks}, {"new job", testNewJob},
		{"one job, many writers", testOneJob}, {"many jobs, many writers", testManyJobs}, {"items", testItems},
		{"item pages", testItemPages}, {"find items", testFindItems}, {"pump by serial", testPumpBySerial}, {"search", testSearch},
		{"search many", testSearchMany}, {"search deep", testSearchDeep}, {"search beginnings", testSearchBeginnings}, {"board", testBoard}, {"board after writes", testBoardAfterWrites}, {"lists", testLists}, {"filters", testFilters}, {"photos", testPhotos}, {"sessions", testSessions},
		{"devices", testDevices}, {"tokens", testTokens}, {"passkeys", testPasskeys}, {"lock-out", testLockOut}, {"lock-out of a known device", testLockOutKnown}, {"lock-out of one that becomes known", testLockOutBecomesKnown},
		{"lock-out of a device", testLockOutDevice}, {"lock-out of a device at once", testLockOutDeviceAtOnce}, {"wrong PINs", testWrongPINs}, {"changes", testChanges},
		{"clock set back", testClock}, {"texts", testTexts}, {"bulk", testBulk},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t)
			c.test(t, s)
			sound(t, s)
		})
	}
}

func testAppend(t *testing.T, s *Store) {
	job := aJob(t, s)
	got := add(t, s, job, &record.Noted{Text: "one"}, &record.Noted{Text: "two"})
	if got[0].Entry.Seq != 2 || got[1].Entry.Seq != 3 || got[0].Duplicate {
		t.Errorf("receipts %+v", got)
	}
	entries, err := s.Entries(t.Context(), record.JobSubject(job), 0, 0)
	must(t, err)
	if len(entries) != 3 {
		t.Fatalf("%d entries", len(entries))
	}
	var prev record.Digest
	for i, e := range entries {
		if e.Prev != prev || !e.Intact() || e.Seq != int64(i)+1 || e.By != 1 || e.Device != 2 || !e.At.Equal(noon) {
			t.Errorf("entry %+v", e)
		}
		prev = e.Hash
	}
	if d := cmp.Diff(got[1].Entry, entries[2]); d != "" {
		t.Errorf("what was receipted is not what is kept: %s", d)
	}
	after, err := s.Entries(t.Context(), record.JobSubject(job), 1, 1)
	must(t, err)
	if len(after) != 1 || after[0].Seq != 2 {
		t.Errorf("after 1: %+v", after)
	}
	sum, err := s.Summary(t.Context(), job)
	must(t, err)
	if sum.Seq != 3 || sum.Hash != prev || !sum.Changed.Equal(entries[2].Stored) || sum.Serial != "ALD-0417" {
		t.Errorf("summary %+v", sum)
	}
	_, err = s.Append(t.Context(), 999, AnySeq, draft(&record.Noted{Text: "x"}))
	wantCode(t, err, record.NotFound)
	_, err = s.Summary(t.Context(), 999)
	wantCode(t, err, record.NotFound)
	_, err = s.Job(t.Context(), 999)
	wantCode(t, err, record.NotFound)
	_, err = s.Append(t.Context(), job, AnySeq, draft(booking("B", "C", "D")))
	wantCode(t, err, record.NotAllowed)
	_, err = s.Append(t.Context(), job, AnySeq, draft(&record.Retired{}))
	wantCode(t, err, record.Invalid)
	// all or none
	_, err = s.Append(t.Context(), job, AnySeq, draft(&record.Noted{Text: "three"}), draft(&record.Pictured{Photo: record.Digest{1}}))
	wantCode(t, err, record.NotFound)
	if sum, err = s.Summary(t.Context(), job); err != nil || sum.Seq != 3 {
		t.Errorf("half of a refused append was kept: %+v, %v", sum, err)
	}
}

func testDuplicate(t *testing.T, s *Store) {
	job := aJob(t, s)
	d := draft(&record.Noted{Text: "pressed once, the answer was dropped"})
	first, err := s.Append(t.Context(), job, AnySeq, d)
	must(t, err)
	add(t, s, job, &record.Noted{Text: "another"})
	_, err = s.Append(t.Context(), job, 1, d, draft(&record.Noted{Text: "x"})) // as it was sent first
	wantCode(t, err, record.Conflict)                                          // the second of them is new
	again, err := s.Append(t.Context(), job, 1, d)
	must(t, err)
	if !again[0].Duplicate || cmp.Diff(first[0].Entry, again[0].Entry) != "" {
		t.Errorf("again %+v, first %+v", again, first)
	}
	changed := d
	changed.Body = &record.Noted{Text: "something else under the same key"}
	_, err = s.Append(t.Context(), job, AnySeq, changed)
	wantCode(t, err, record.Conflict)
	for i, err := range race(8, func(int) error {
		r, err := s.Append(t.Context(), job, AnySeq, d)
		if err == nil && !r[0].Duplicate {
			err = fmt.Errorf("taken twice")
		}
		return err
	}) {
		if err != nil {
			t.Errorf("press %d: %v", i, err)
		}
	}
	fresh := draft(&record.Noted{Text: "eight at once"})
	race(8, func(int) error { _, err := s.Append(t.Context(), job, AnySeq, fresh); return err })
	if sum, err := s.Summary(t.Context(), job); err != nil || sum.Seq != 4 {
		t.Errorf("summary %+v, %v", sum, err)
	}
	other := aJob(t, s)
	if r, err := s.Append(t.Context(), other, AnySeq, d); err != nil || r[0].Duplicate {
		t.Errorf("the same key in another job: %+v, %v", r, err)
	}
}

// The key of one person says nothing to another, who may have guessed it: a conflict, whatever else is alike.
func testKeyOfAnother(t *testing.T, s *Store) {
	d := draft(&record.Noted{Text: "pressed once"})
	job := aJob(t, s)
	item, err := record.Keep(&record.Customer{Name: "Ferry yard"})
	must(t, err)
	first := map[string]func(record.Draft) error{
		"entry": func(d record.Draft) error { _, err := s.Append(t.Context(), job, AnySeq, d); return err },
		"job": func(d record.Draft) error {
			d.Body = booking("ALD-0417", "Ferry yard", "creeps")
			_, err := s.NewJob(t.Context(), "uid-"+newKey(), d)
			return err
		},
		"item": func(d record.Draft) error {
			d.Body, d.Subject = item, record.Subject{Kind: record.OfCustomer}
			_, err := s.Keep(t.Context(), AnySeq, d)
			return err
		},
	}
	for name, send := range first {
		other := d
		other.By = 2
		must(t, send(d))
		must(t, send(d))
		err := send(other)
		wantCode(t, err, record.Conflict)
		if f := new(record.Fault); !errors.As(err, &f) || strings.Contains(f.Error(), "pressed once") || f.Seq != 0 {
			t.Errorf("%s: %v tells of it", name, err)
		}
	}
}

func testConflict(t *testing.T, s *Store) {
	job := aJob(t, s)
	if _, err := s.Append(t.Context(), job, 1, draft(&record.Noted{Text: "a"}), draft(&record.Noted{Text: "b"})); err != nil {
		t.Fatal(err)
	}
	_, err := s.Append(t.Context(), job, 1, draft(&record.Noted{Text: "c"}))
	wantCode(t, err, record.Conflict)
	if f := err.(*record.Fault); f.Seq != 3 {
		t.Errorf("the entry in between is %d", f.Seq)
	}
	// of many that have seen the same last entry, one wins
	won := 0
	for _, err := range race(8, func(int) error { _, err := s.Append(t.Context(), job, 3, draft(&record.Noted{Text: "d"})); return err }) {
		if err == nil {
			won++
		} else {
			wantCode(t, err, record.Conflict)
		}
	}
	if won != 1 {
		t.Errorf("%d writers won", won)
	}
}

func testCorrection(t *testing.T, s *Store) {
	job := aJob(t, s)
	add(t, s, job, &record.Noted{Text: "one"}, judged(record.AsFound, "leaks"))
	d := draft(&record.Noted{Text: "won"})
	d.Corrects = 2
	_, err := s.Append(t.Context(), job, AnySeq, d)
	must(t, err)
	j, err := s.Job(t.Context(), job)
	must(t, err)
	if len(j.Notes) != 1 || j.Notes[0].Body.Text != "won" || j.Notes[0].First.Seq != 2 || j.UID == "" {
		t.Errorf("notes %+v, uid %q", j.Notes, j.UID)
	}
	for _, c := range []struct {
		corrects int64
		body     record.Body
		code     record.Code
	}{
		{99, &record.Noted{Text: "x"}, record.NotFound}, {-1, &record.Noted{Text: "x"}, record.NotFound}, {1, &record.Noted{Text: "x"}, record.Invalid},
		{3, judged(record.AsFound, "holds"), record.NotAllowed},
	} {
		d := draft(c.body)
		d.Corrects = c.corrects
		_, err := s.Append(t.Context(), job, AnySeq, d)
		wantCode(t, err, c.code)
	}
	b := draft(booking("ALD-0418", "Harbour office", "creeps"))
	b.Corrects = 1
	_, err = s.Append(t.Context(), job, AnySeq, b)
	must(t, err)
	for query, want := range map[string]int{"ald-0417": 0, "ferry": 0, "ald-0418": 1, "harbour": 1, "creeps": 1, "stall": 0} {
		if f, err := s.Search(t.Context(), query, 5); err != nil || len(f.Jobs) != want {
			t.Errorf("after the correction %q finds %d jobs, %v", query, len(f.Jobs), err)
		}
	}
}

func testStrike(t *testing.T, s *Store) {
	job := aJob(t, s)
	add(t, s, job, &record.Noted{Text: "one"}, &record.Noted{Text: "two"}, &record.Moved{To: record.StageStrip}, &record.Struck{Seq: 2, Reason: "wrong pump"})
	j, err := s.Job(t.Context(), job)
	must(t, err)
	if len(j.Notes) != 1 || j.Notes[0].Body.Text != "two" || j.Struck[2] == nil {
		t.Errorf("notes %+v struck %+v", j.Notes, j.Struck)
	}
	for seq, code := range map[int64]record.Code{99: record.NotFound, 1: record.NotAllowed, 2: record.Conflict, 4: record.NotAllowed, 5: record.NotAllowed} {
		_, err := s.Append(t.Context(), job, AnySeq, draft(&record.Struck{Seq: seq, Reason: "r"}))
		wantCode(t, err, code)
	}
	d := draft(&record.Noted{Text: "x"})
	d.Corrects = 2
	_, err = s.Append(t.Context(), job, AnySeq, d)
	wantCode(t, err, record.Conflict)
}

func testClosed(t *testing.T, s *Store) {
	job := aJob(t, s)
	good := func() error {
		_, err := s.Append(t.Context(), job, AnySeq, draft(&record.Closed{Good: true}))
		return err
	}
	wantCode(t, good(), record.NotAllowed) // no hold
	add(t, s, job, read(record.AsLeft), judged(record.AsLeft, "does not hold"))
	wantCode(t, good(), record.NotAllowed)
	add(t, s, job, judged(record.AsLeft, record.Holds), read(record.AsLeft))
	wantCode(t, good(), record.NotAllowed) // a reading after the verdict
	add(t, s, job, judged(record.AsLeft, record.Holds), &record.Struck{Seq: 2, Reason: "the gauge was not read"})
	wantCode(t, good(), record.NotAllowed) // a reading struck after the verdict
	add(t, s, job, judged(record.AsLeft, record.Holds))
	must(t, good())
	sum, err := s.Summary(t.Context(), job)
	must(t, err)
	if sum.Open() || !sum.Good || sum.Left != record.Holds {
		t.Errorf("summary %+v", sum)
	}
	_, err = s.Append(t.Context(), job, AnySeq, draft(read(record.AsLeft)))
	wantCode(t, err, record.NotAllowed)
	add(t, s, job, &record.Noted{Text: "called for"})
	other := aJob(t, s)
	add(t, s, other, &record.Overrode{Reason: "held on the old bench"}, &record.Closed{Good: true})
	third := aJob(t, s)
	add(t, s, third, &record.Closed{Reason: "scrapped"})
}

func testReopened(t *testing.T, s *Store) {
	job := aJob(t, s)
	add(t, s, job, &record.Overrode{Reason: "r"}, &record.Closed{Good: true}, &record.Moved{To: record.StageBuild, Reason: "came back"})
	j, err := s.Job(t.Context(), job)
	must(t, err)
	if !j.Open() || j.Good || j.Closed != nil {
		t.Errorf("reopened: open %v, good %v, closed %v", j.Open(), j.Good, j.Closed)
	}
	add(t, s, job, read(record.AsLeft))
}

func testLinks(t *testing.T, s *Store) {
	job := aJob(t, s)
	add(t, s, job, &record.Noted{Text: "not linked"}, judged(record.AsFound, "leaks"), &record.Did{Step: "seat the ball"})
	for i, err := range race(8, func(int) error {
		_, err := s.Append(t.Context(), aJob(t, s), AnySeq, draft(&record.Did{Step: "torque"}), draft(&record.Handed{To: "the mate"}))
		return err
	}) {
		if err != nil {
			t.Errorf("writer %d: %v", i, err)
		}
	}
	n, head, err := s.Head(t.Context())
	if r := sound(t, s); r.Links != 18 || n != 18 || head == (record.Digest{}) || err != nil {
		t.Errorf("%d links, head %d %s, %v", r.Links, n, head, err)
	}
}

func testNewJob(t *testing.T, s *Store) {
	d := draft(booking("A1", "B", "C"))
	first, err := s.NewJob(t.Context(), "uid-1", d)
	must(t, err)
	again, err := s.NewJob(t.Context(), "uid-1", d)
	must(t, err)
	if !again.Duplicate || cmp.Diff(first.Entry, again.Entry) != "" {
		t.Errorf("again %+v, first %+v", again, first)
	}
	_, err = s.NewJob(t.Context(), "uid-1", draft(booking("A1", "B", "C")))
	wantCode(t, err, record.Conflict)
	other := d
	other.Body = booking("A2", "B", "C")
	_, err = s.NewJob(t.Context(), "uid-2", other)
	wantCode(t, err, record.Conflict)
	_, err = s.NewJob(t.Context(), "uid-3", draft(&record.Noted{Text: "x"}))
	wantCode(t, err, record.Invalid)
	_, err = s.NewJob(t.Context(), "", draft(booking("A1", "B", "C")))
	wantCode(t, err, record.Invalid)
	if sum, err := s.JobByUID(t.Context(), "uid-1"); err != nil || sum == nil || sum.Number != first.Entry.Subject.ID {
		t.Errorf("by uid: %+v, %v", sum, err)
	}
	for _, uid := range []string{"none", "", "a\x00b", "\xff"} {
		if sum, err := s.JobByUID(t.Context(), uid); err != nil || sum != nil {
			t.Errorf("by uid %q: %+v, %v", uid, sum, err)
		}
	}
	// the same press eight times at once books one job; eight presses number eight jobs without a gap
	same := draft(booking("A3", "B", "C"))
	for _, err := range race(8, func(int) error { _, err := s.NewJob(t.Context(), "uid-4", same); return err }) {
		must(t, err)
	}
	for _, err := range race(8, func(i int) error {
		_, err := s.NewJob(t.Context(), fmt.Sprintf("many-%d", i), draft(booking("A4", "B", "C")))
		return err
	}) {
		must(t, err)
	}
	jobs, err := s.Jobs(t.Context(), 0, 100)
	must(t, err)
	for i, j := range jobs {
		if j.Number != int64(10-i) {
			t.Errorf("place %d has job %d", i, j.Number)
		}
	}
	if len(jobs) != 10 {
		t.Errorf("%d jobs", len(jobs))
	}
}

func testOneJob(t *testing.T, s *Store) {
	job := aJob(t, s)
	const writers, each = 8, 10
	for i, err := range race(writers, func(int) error {
		for range each {
			if _, err := s.Append(t.Context(), job, AnySeq, draft(&record.Noted{Text: "n"}), draft(&record.Did{Step: "s"})); err != nil {
				return err
			}
		}
		return nil
	}) {
		if err != nil {
			t.Errorf("writer %d: %v", i, err)
		}
	}
	if sum, err := s.Summary(t.Context(), job); err != nil || sum.Seq != 1+2*writers*each {
		t.Errorf("summary %+v, %v", sum, err)
	}
}

func testManyJobs(t *testing.T, s *Store) {
	const writers, jobs = 8, 4
	for i, err := range race(writers, func(w int) error {
		for k := range jobs {
			r, err := s.NewJob(t.Context(), fmt.Sprintf("u-%d-%d", w, k), draft(booking("S", "C", "X")))
			if err != nil {
				return err
			}
			seq := int64(1)
			for range 3 {
				got, err := s.Append(t.Context(), r.Entry.Subject.ID, seq, draft(&record.Noted{Text: "n"}))
				if err != nil {
					return err
				}
				seq = got[0].Entry.Seq
			}
			b, err := record.Keep(&record.Customer{Name: fmt.Sprintf("customer %d %d", w, k)})
			if err != nil {
				return err
			}
			d := draft(b)
			d.Subject = record.Subject{Kind: record.OfCustomer}
			if _, err := s.Keep(t.Context(), AnySeq, d); err != nil {
				return err
			}
			if _, err := s.Board(t.Context(), 5); err != nil {
				return err
			}
		}
		return nil
	}) {
		if err != nil {
			t.Errorf("writer %d: %v", i, err)
		}
	}
	if r := sound(t, s); r.Jobs != writers*jobs || r.Items != writers*jobs || r.Entries != writers*jobs*5 {
		t.Errorf("report %+v", r)
	}
}
