package store

import (
	"fmt"
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
			got = append(got, fmt.Sprintf("%s: %s %v", l.Stage, strings.Join(n, " "), l.More))
		}
	}
	want := []string{fmt.Sprintf("booked in: %d %d true", jobs[0], jobs[4]), fmt.Sprintf("prove: %d false", jobs[1])}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
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
		d(&record.Moved{To: record.StageStrip}), d(&record.Found{Part: "piston ball", Text: "pitted"}), d(&record.Did{Step: "throat nut", Torque: "37 N·m"})}
	if i%50 != 0 {
		entries = append(entries, d(read(record.AsLeft)), d(judged(record.AsLeft, record.Holds)), d(&record.Handed{To: "the mate"}), d(&record.Closed{Good: true}))
	}
	return BulkJob{UID: fmt.Sprintf("demo-%d", i), Entries: entries}
}
