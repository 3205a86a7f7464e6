package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

func testBoard(t *testing.T, s *Store) {
	var jobs []int64
	for range 5 {
		jobs = append(jobs, aJob(t, s))
	}
	add(t, s, jobs[0], &record.Noted{Text: "the latest"})
	add(t, s, jobs[1], &record.Moved{To: record.StageProve})
	add(t, s, jobs[2], &record.Closed{Reason: "scrapped"})
	lanes, err := s.Board(t.Context(), 2)
	must(t, err)
	if len(lanes) != len(record.OpenStages()) {
		t.Fatalf("%d lanes", len(lanes))
	}
	var got []string
	for _, l := range lanes {
		var n []string
		for _, j := range l.Jobs {
			n = append(n, fmt.Sprint(j.Number))
		}
		if len(n) > 0 {
			got = append(got, fmt.Sprintf("%s: %s of %d, more %v", l.Stage, strings.Join(n, " "), l.Total, l.More()))
		}
	}
	want := []string{fmt.Sprintf("booked in: %d %d of 3, more true", jobs[3], jobs[4]), fmt.Sprintf("prove: %d of 1, more false", jobs[1])}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

// After each write the board is what it is when all of it is read anew.
func testBoardAfterWrites(t *testing.T, s *Store) {
	var jobs []int64
	look := func(after string) {
		t.Helper()
		got, err := s.Board(t.Context(), 2)
		must(t, err)
		s.board.Store(nil)
		want, err := s.Board(t.Context(), 2)
		must(t, err)
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("after %s: %s", after, d)
		}
	}
	look("nothing")
	for range 5 {
		jobs = append(jobs, aJob(t, s))
		look("a booking")
	}
	for _, b := range []record.Body{&record.Noted{Text: "one"}, &record.Moved{To: record.StageBuild}, judged(record.AsLeft, record.Holds), &record.Moved{To: record.StageStrip}, &record.Closed{Reason: "scrapped"},
		&record.Noted{Text: "after it"}, &record.Moved{To: record.StageHand, Reason: "back again"}} {
		add(t, s, jobs[1], b)
		look("an entry " + string(b.Kind()))
	}
	_, err := s.Append(t.Context(), jobs[0], 7, draft(&record.Noted{Text: "refused"}))
	wantCode(t, err, record.Conflict)
	look("a refusal")
	keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Brennock"})
	look("a customer")
}

func testLists(t *testing.T, s *Store) {
	for i := range 7 {
		b := booking("S", "C", "X")
		b.Pump, b.Customer = int64(i%2)+1, int64(i%3)+1
		newJob(t, s, b)
	}
	page := func(got []record.Summary, err error) string {
		must(t, err)
		var n []string
		for _, j := range got {
			n = append(n, fmt.Sprint(j.Number))
		}
		return strings.Join(n, " ")
	}
	for _, c := range []struct{ got, want string }{
		{page(s.Jobs(t.Context(), 0, 3)), "7 6 5"}, {page(s.Jobs(t.Context(), 5, 3)), "4 3 2"}, {page(s.Jobs(t.Context(), 2, 3)), "1"},
		{page(s.Jobs(t.Context(), 1, 3)), ""}, {page(s.Jobs(t.Context(), -4, 0)), ""}, {page(s.Jobs(t.Context(), 0, -1)), ""},
		{page(s.OfPump(t.Context(), 1, 0, 3)), "7 5 3"}, {page(s.OfPump(t.Context(), 1, 3, 3)), "1"}, {page(s.OfPump(t.Context(), 9, 0, 3)), ""},
		{page(s.OfCustomer(t.Context(), 2, 0, 9)), "5 2"}, {page(s.OfCustomer(t.Context(), 1<<40, 0, 9)), ""},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func testFilters(t *testing.T, s *Store) {
	for i := range 12 { // pumps 1 and 2, customers 1 to 3; 3, 6, 9, 12 closed, 2, 5, 8, 11 proved
		b := booking(fmt.Sprintf("ALD-%04d", i), "Customer", "creeps")
		if i%4 == 0 {
			b.Complaint = "surges"
		}
		b.Pump, b.Customer = int64(i%2)+1, int64(i%3)+1
		n := newJob(t, s, b)
		switch i % 3 {
		case 1:
			add(t, s, n, &record.Moved{To: record.StageProve})
		case 2:
			add(t, s, n, &record.Closed{Reason: "scrapped"})
		}
	}
	for _, c := range []struct {
		f      Filter
		before int64
		limit  int
		want   string
	}{
		{Filter{}, 0, 3, "12 11 10"}, {Filter{}, 3, 9, "2 1"}, {Filter{}, 0, 0, ""}, {Filter{}, 0, -1, ""}, {Filter{}, -3, 1, "12"},
		{Filter{Open: true}, 0, 9, "11 10 8 7 5 4 2 1"}, {Filter{Open: true}, 10, 3, "8 7 5"}, {Filter{Closed: true}, 0, 9, "12 9 6 3"}, {Filter{Closed: true}, 9, 1, "6"},
		{Filter{Stage: record.StageProve}, 0, 9, "11 8 5 2"}, {Filter{Stage: record.StageProve}, 8, 1, "5"}, {Filter{Stage: record.StageProve, Open: true}, 0, 9, "11 8 5 2"},
		{Filter{Stage: record.StageClosed, Closed: true}, 12, 9, "9 6 3"}, {Filter{Stage: record.StageClosed, Open: true}, 0, 9, ""}, {Filter{Stage: record.StageProve, Closed: true}, 0, 9, ""},
		{Filter{Open: true, Closed: true}, 0, 9, ""}, {Filter{Stage: record.StageStrip}, 0, 9, ""}, {Filter{Stage: "no stage"}, 0, 9, ""},
		{Filter{Pump: 1}, 0, 9, "11 9 7 5 3 1"}, {Filter{Pump: 1, Open: true}, 0, 9, "11 7 5 1"}, {Filter{Pump: 2, Stage: record.StageProve}, 0, 9, "8 2"}, {Filter{Pump: 9}, 0, 9, ""},
		{Filter{Pump: 1, Customer: 2}, 0, 9, "11 5"}, {Filter{Customer: 3, Closed: true}, 0, 2, "12 9"}, {Filter{Customer: 3, Open: true}, 0, 9, ""},
		{Filter{Words: "surg"}, 0, 9, "9 5 1"}, {Filter{Words: "surges", Open: true}, 0, 9, "5 1"}, {Filter{Words: "surges"}, 5, 9, "1"}, {Filter{Words: "surges customer"}, 0, 2, "9 5"},
		{Filter{Words: "surges", Stage: record.StageProve, Pump: 1, Customer: 2}, 0, 9, "5"}, {Filter{Words: "nothing"}, 0, 9, ""}, {Filter{Words: "?!"}, 0, 9, ""},
	} {
		got, err := s.List(t.Context(), c.f, c.before, c.limit)
		must(t, err)
		n := []string{}
		for _, j := range got {
			n = append(n, fmt.Sprint(j.Number))
		}
		if strings.Join(n, " ") != c.want {
			t.Errorf("%+v before %d, at most %d: %v, want %s", c.f, c.before, c.limit, n, c.want)
		}
	}
}

// TestListsUseAnIndex asks each engine how it would read a list: through the index of the filter that leaves the fewest, and in its order.
func TestListsUseAnIndex(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		must(t, s.Bulk(t.Context(), 300, demoJob))
		must(t, s.analyse(t.Context()))
		for _, c := range []struct {
			f     Filter
			index []string
		}{
			{Filter{Stage: record.StageProve}, []string{"job_stage"}}, {Filter{Stage: record.StageClosed, Closed: true}, []string{"job_stage", "job_pkey"}}, // nearly all: either way
			{Filter{Open: true}, []string{"job_is_open"}}, {Filter{Closed: true}, []string{"job_is_open", "job_pkey"}},
			{Filter{Pump: 7, Stage: record.StageProve}, []string{"job_pump"}}, {Filter{Pump: 7, Customer: 7, Open: true}, []string{"job_pump"}},
			{Filter{Customer: 7, Open: true}, []string{"job_customer"}},
			{Filter{}, []string{"INTEGER PRIMARY KEY", "job_pkey"}},
		} {
			plan := planOf(t, s, c.f)
			if !slices.ContainsFunc(c.index, func(name string) bool { return strings.Contains(plan, name) }) || strings.Contains(plan, "SCAN job") || strings.Contains(plan, "B-TREE") || strings.Contains(plan, "Seq Scan") || strings.Contains(plan, "Sort") {
				t.Errorf("%+v:\n%s", c.f, plan)
			}
		}
	})
}

// planOf is how an engine reads a list. PostgreSQL may well read so few rows one after another: here it may not.
func planOf(t *testing.T, s *Store, f Filter) string {
	t.Helper()
	q := &jobQuery{}
	q.filter(f)
	q.and("number", int64(250), "<", "+ 0")
	query := fmt.Sprintf(`SELECT summary FROM job WHERE %s ORDER BY number DESC LIMIT 20`, strings.Join(q.conds, " AND "))
	var plan strings.Builder
	must(t, once(t.Context(), s.write, func(ctx context.Context, tx *sql.Tx) error {
		explain := `EXPLAIN QUERY PLAN `
		if s.engine == PostgreSQL {
			explain = `EXPLAIN `
			if _, err := tx.ExecContext(ctx, `SET LOCAL enable_seqscan = off; SET LOCAL enable_sort = off; SET LOCAL enable_bitmapscan = off`); err != nil {
				return err
			}
		}
		return each(ctx, tx, func(row scanner) error {
			var line string
			var n int
			to := []any{&line}
			if s.engine == SQLite {
				to = []any{&n, &n, &n, &line}
			}
			err := row.Scan(to...)
			plan.WriteString(line + "\n")
			return err
		}, explain+query, q.args...)
	}))
	return plan.String()
}

func testClock(t *testing.T, s *Store) {
	c := newClock()
	s.now = c.now
	job := aJob(t, s)
	before := add(t, s, job, &record.Noted{Text: "before"})[0].Entry
	if s.ClockBehind() != 0 {
		t.Errorf("behind by %v", s.ClockBehind())
	}
	c.set(noon.Add(-time.Hour))
	after := add(t, s, job, &record.Noted{Text: "after"})[0].Entry
	if after.Stored.Before(before.Stored) {
		t.Errorf("stored %v, after %v", after.Stored, before.Stored)
	}
	if d := s.ClockBehind(); d < 59*time.Minute || d > 61*time.Minute {
		t.Errorf("behind by %v", d)
	}
	keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "x"})
	if s.ClockBehind() < 59*time.Minute {
		t.Errorf("behind by %v", s.ClockBehind())
	}
	c.set(noon.Add(time.Hour))
	add(t, s, job, &record.Noted{Text: "mended"})
	if s.ClockBehind() != 0 {
		t.Errorf("behind by %v", s.ClockBehind())
	}
	s.newest.Store(0)
	must(t, s.warm(t.Context()))
	c.set(noon)
	aJob(t, s)
	if s.ClockBehind() < 59*time.Minute {
		t.Errorf("after a start behind by %v", s.ClockBehind())
	}
}

// odd texts that a shop may type, and some that only a program sends
var oddTexts = []string{
	"ordinary", "Ärger mit der Dichtung", "Jose\u0301", "日本の塗装", "مضخة", "👩🏽‍🔧 said so", "a\tb\r\nc", `100 % "sure" \ 'x' ; DROP TABLE job; --`,
	"$1 %s {{.}} <b>&amp;</b>", "a\u2028b\u2029", "\ufeffbom", strings.Repeat("ü", 4000), "\U0010FFFD",
}

func testTexts(t *testing.T, s *Store) {
	job := aJob(t, s)
	for _, text := range oddTexts {
		r := add(t, s, job, &record.Noted{Text: text})[0]
		got, err := s.Entries(t.Context(), record.JobSubject(job), r.Entry.Seq-1, 1)
		must(t, err)
		b, err := got[0].Open()
		must(t, err)
		if b.(*record.Noted).Text != text {
			t.Errorf("%q came back as %q", text, b.(*record.Noted).Text)
		}
	}
	for _, text := range []string{"a\x00b", "a\x1bb", "\xff", "\xed\xa0\x80"} {
		_, err := s.Append(t.Context(), job, AnySeq, draft(&record.Noted{Text: text}))
		wantCode(t, err, record.Invalid)
		_, err = s.Append(t.Context(), job, AnySeq, draft(&record.Read{Hold: record.AsLeft, Reading: []byte(`{"time": "` + text + `"}`)}))
		wantCode(t, err, record.Invalid)
		_, err = s.NewJob(t.Context(), text, draft(booking("S", "C", "X")))
		wantCode(t, err, record.Invalid)
	}
	_, err := s.Append(t.Context(), job, AnySeq, draft(&record.Read{Hold: record.AsLeft, Reading: []byte(`{"time": "a\u0000b"}`)}))
	wantCode(t, err, record.Invalid)
	add(t, s, job, &record.Read{Hold: record.AsLeft, Reading: []byte(`{"time": "a\\u0000b"}`)}) // a backslash and u0000
	_, err = s.Append(t.Context(), job, AnySeq, draft(&record.Noted{Text: strings.Repeat("ü", 4001)}))
	wantCode(t, err, record.TooLarge)
}

func testBulk(t *testing.T, s *Store) {
	before := aJob(t, s)
	add(t, s, before, judged(record.AsFound, "leaks"))
	must(t, s.Bulk(t.Context(), 600, demoJob))
	after := aJob(t, s)
	if after != 602 {
		t.Errorf("the job after is %d", after)
	}
	add(t, s, 302, judged(record.AsLeft, record.Holds), &record.Closed{Good: true})
	j, err := s.Job(t.Context(), 302)
	must(t, err)
	if !j.Good || j.UID == "" {
		t.Errorf("job %+v", j.Summary)
	}
	if r := sound(t, s); r.Jobs != 602 {
		t.Errorf("report %+v", r)
	}
	err = s.Bulk(t.Context(), 1, func(int) BulkJob { return demoJob(5) })
	wantCode(t, err, record.Conflict) // its key was taken
}

// demoJob is an invented job with the entries of an ordinary visit.
func demoJob(i int) BulkJob {
	at := noon.Add(-time.Duration(1_000_000-i) * time.Minute)
	n := 0
	d := func(b record.Body) record.Draft {
		n++
		return record.Draft{At: at.Add(time.Duration(n) * time.Minute), By: 1 + int64(i%7), Device: 1, Key: fmt.Sprintf("d%d-%d", i, n), Body: b}
	}
	complaints := []string{"creeps down at the stall", "short of pressure at the gun", "paint in the wet cup", "will not prime", "changeover sticks at the top"}
	b := booking(fmt.Sprintf("ALD-%05d", i%40_000), fmt.Sprintf("Customer %d of the yard", i%2_000), complaints[i%5])
	b.Pump, b.Customer = int64(i%40_000)+1, int64(i%2_000)+1
	entries := []record.Draft{d(b), d(&record.Moved{To: record.StageFound}), d(read(record.AsFound)), d(judged(record.AsFound, "does not hold")),
		d(&record.Moved{To: record.StageStrip}), d(&record.Found{Part: "piston ball", Text: "pitted"}), d(&record.Did{Step: "throat nut", Torque: "52 N·m"})}
	if i%50 != 0 {
		entries = append(entries, d(read(record.AsLeft)), d(judged(record.AsLeft, record.Holds)), d(&record.Handed{To: "the mate"}), d(&record.Closed{Good: true}))
	}
	return BulkJob{UID: fmt.Sprintf("demo-%d", i), Entries: entries}
}
