package store

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

func testItems(t *testing.T, s *Store) {
	kind := record.Subject{Kind: record.OfCustomer}
	b, err := record.Keep(&record.Customer{Name: "Aldersay ferry yard", Note: "a <b> & c"})
	must(t, err)
	d := draft(b)
	d.Subject = kind
	first, err := s.Keep(t.Context(), AnySeq, d)
	must(t, err)
	again, err := s.Keep(t.Context(), AnySeq, d)
	must(t, err)
	if !again.Duplicate || cmp.Diff(first.Entry, again.Entry) != "" {
		t.Errorf("again %+v", again)
	}
	sub := first.Entry.Subject
	for i, err := range race(6, func(int) error {
		d := draft(b)
		d.Subject, d.Key = kind, "one-press"
		_, err := s.Keep(t.Context(), AnySeq, d)
		return err
	}) {
		if err != nil {
			t.Errorf("press %d: %v", i, err)
		}
	}
	if list, err := s.Items(t.Context(), record.OfCustomer, Page{Limit: 10}); err != nil || len(list) != 2 {
		t.Errorf("%d customers, %v", len(list), err)
	}
	edit, err := record.Keep(&record.Customer{Name: "Aldersay yard"})
	must(t, err)
	e := draft(edit)
	e.Subject = sub
	if _, err := s.Keep(t.Context(), 1, e); err != nil {
		t.Fatal(err)
	}
	e.Key = newKey()
	_, err = s.Keep(t.Context(), 1, e)
	wantCode(t, err, record.Conflict)
	got, err := s.Item(t.Context(), sub)
	must(t, err)
	if got.Label != "Aldersay yard" || got.Seq != 2 || got.Retired {
		t.Errorf("item %+v", got)
	}
	retire := draft(&record.Retired{Reason: "moved away"})
	retire.Subject = sub
	_, err = s.Keep(t.Context(), 2, retire)
	must(t, err)
	if got, err = s.Item(t.Context(), sub); err != nil || !got.Retired || got.Label != "Aldersay yard" {
		t.Errorf("retired %+v, %v", got, err)
	}
	if list, err := s.Items(t.Context(), record.OfCustomer, Page{Limit: 10, Retired: true}); err != nil || len(list) != 1 {
		t.Errorf("%d retired, %v", len(list), err)
	}
	keepItem(t, s, sub, &record.Customer{Name: "Aldersay yard"})
	if got, err = s.Item(t.Context(), sub); err != nil || got.Retired || got.Seq != 4 {
		t.Errorf("back again %+v, %v", got, err)
	}
	itemFaults(t, s, kind)
}

func itemFaults(t *testing.T, s *Store, kind record.Subject) {
	for _, c := range []struct {
		sub  record.Subject
		body record.Body
		code record.Code
	}{
		{record.Subject{Kind: record.OfCustomer, ID: 99}, &record.Kept{Value: []byte(`{"name": "x"}`)}, record.NotFound},
		{kind, &record.Retired{}, record.NotFound}, {kind, &record.Noted{Text: "x"}, record.Invalid}, {kind, &record.Kept{Value: []byte(`{"nome": "x"}`)}, record.Invalid},
		{kind, &record.Kept{Value: []byte(`{"name": ""}`)}, record.Invalid}, {record.JobSubject(1), &record.Kept{Value: []byte(`{}`)}, record.Invalid},
		{kind, &record.Kept{Value: []byte(`{"name": "a\u0000b"}`)}, record.Invalid},
	} {
		d := draft(c.body)
		d.Subject = c.sub
		_, err := s.Keep(t.Context(), AnySeq, d)
		wantCode(t, err, c.code)
	}
	_, err := s.Item(t.Context(), record.Subject{Kind: record.OfTool, ID: 1})
	wantCode(t, err, record.NotFound)
}

func testItemPages(t *testing.T, s *Store) {
	names := []string{"zinc", "Zebra", "ärmel", "Arm", "arm", "Älter", "10", "b_%", "b", "Øre", "ore"}
	for _, n := range names {
		keepItem(t, s, record.Subject{Kind: record.OfFluid}, &record.Fluid{Name: n})
	}
	var got []string
	p := Page{Limit: 3}
	for {
		list, err := s.Items(t.Context(), record.OfFluid, p)
		must(t, err)
		for _, i := range list {
			got = append(got, i.Label)
		}
		if len(list) < p.Limit {
			break
		}
		p.Label, p.ID = list[len(list)-1].Label, list[len(list)-1].Subject.ID
	}
	want := []string{"10", "Älter", "Arm", "arm", "ärmel", "b", "b_%", "ore", "Zebra", "zinc", "Øre"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	_, err := s.Items(t.Context(), record.OfFluid, Page{Label: "a\x00", Limit: 3})
	wantCode(t, err, record.Invalid)
}

func testFindItems(t *testing.T, s *Store) {
	for _, c := range []record.Customer{{Name: "Aldersay Ferry Yard", Contact: "Mate of the watch"}, {Name: "Aldersay Boat Club"}, {Name: "Müller & Søn"}} {
		keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &c)
	}
	gone := keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Aldersay Rowing"})
	d := draft(&record.Retired{})
	d.Subject = gone.Entry.Subject
	_, err := s.Keep(t.Context(), AnySeq, d)
	must(t, err)
	for query, want := range map[string]string{
		"alder": "Aldersay Boat Club, Aldersay Ferry Yard", "aldersay f": "Aldersay Ferry Yard", "yard aldersay": "Aldersay Ferry Yard",
		"watch": "Aldersay Ferry Yard", "mull": "Müller & Søn", "MÜLLER": "Müller & Søn", "mu\u0308ller": "Müller & Søn", "": "", "%": "", "'": "", "alder%": "Aldersay Boat Club, Aldersay Ferry Yard",
		"dersay": "", "al boat": "", "\x00": "", "\xff": "",
	} {
		list, err := s.FindItems(t.Context(), record.OfCustomer, query, 10)
		must(t, err)
		var got []string
		for _, i := range list {
			got = append(got, i.Label)
		}
		if g := strings.Join(got, ", "); g != want {
			t.Errorf("%q finds %q, want %q", query, g, want)
		}
	}
}

func testPumpBySerial(t *testing.T, s *Store) {
	pump := record.Subject{Kind: record.OfPump}
	keepItem(t, s, pump, &record.Pump{Serial: "ALD-0417", Model: "Aldersay 30:1"})
	keepItem(t, s, pump, &record.Pump{Serial: "ald-0417", Model: "Aldersay 45:1"})
	keepItem(t, s, pump, &record.Pump{Serial: "ALD-04170", Model: "Aldersay 30:1"})
	keepItem(t, s, pump, &record.Pump{Serial: "--/%", Model: "Aldersay 30:1"})
	keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Müller"})
	for serial, want := range map[string]string{" Ald-0417 ": "Aldersay 45:1", "--/%": "Aldersay 30:1", "ALD": "", "": "", "ALD_0417": "", "a\x00": "", "\xff": ""} {
		i, err := s.PumpBySerial(t.Context(), serial)
		must(t, err)
		got := ""
		if i != nil {
			got = i.Value.(*record.Pump).Model
		}
		if got != want {
			t.Errorf("serial %q: %q, want %q", serial, got, want)
		}
	}
	for name, want := range map[string]bool{"müller": true, "MU\u0308LLER": true, "Muller": false} {
		if i, err := s.CustomerByName(t.Context(), name); err != nil || (i != nil) != want {
			t.Errorf("customer %q: %v, %v", name, i, err)
		}
	}
}

func testSearch(t *testing.T, s *Store) {
	newJob(t, s, booking("ALD-0417", "Ferry yard", "Creeps down, 1450 psi"))
	newJob(t, s, booking("ALD-0418", "Müller", "creeps up"))
	newJob(t, s, booking("X_1%", "O'Hara \"Paints\"", "Überdruck am Ventil "+strings.Repeat("w", 100)))
	for query, want := range map[string]string{
		"creeps": "2 1", "creep": "2 1", "cree": "2 1", "creeps down": "1", "down creeps": "1", "creep down": "", "CREEPS UP": "2",
		"ald-04": "2 1", "ald-0418": "2", "0418": "2", "0417 ferry": "1", "muller": "2", "MÜLLER": "2", "uberd": "3", "o'hara": "3",
		"x_1%": "3", "%": "", "_": "", "'": "", `"`: "", "": "", "   ": "", "psi 1450": "1", "3": "3 2 1", "2": "2", "none": "", "ald none": "",
		strings.Repeat("w", 100): "3", strings.Repeat("w", 70): "3", strings.Repeat("w", 20): "3", "a\x00b": "", "\xff": "", "aldersay 30": "3 2 1",
	} {
		f, err := s.Search(t.Context(), query, 10)
		must(t, err)
		var got []string
		for _, j := range f.Jobs {
			got = append(got, fmt.Sprint(j.Number))
		}
		if g := strings.Join(got, " "); g != want || f.Part {
			t.Errorf("%q finds %q, want %q, part %v", query, g, want, f.Part)
		}
	}
	if f, err := s.Search(t.Context(), "creeps", 1); err != nil || len(f.Jobs) != 1 || f.Jobs[0].Number != 2 {
		t.Errorf("limited: %+v, %v", f, err)
	}
}

// More jobs have the words than a search looks at.
func testSearchMany(t *testing.T, s *Store) {
	old := newJob(t, s, booking("RARE-1", "Ferry yard", "creeps down"))
	must(t, s.Bulk(t.Context(), looked+100, func(i int) BulkJob {
		b := booking(fmt.Sprintf("ALD-%05d", i), "Ferry yard", "creeps down")
		if i == 5 {
			b.Complaint = "creeps sideways"
		}
		return BulkJob{UID: fmt.Sprint("u", i), Entries: []record.Draft{{At: noon, By: 1, Device: 1, Key: fmt.Sprint("k", i), Body: b}}}
	}))
	last := int64(looked + 101)
	for _, c := range []struct {
		query string
		first int64
		n     int
		part  bool
	}{
		{"creeps", last, 10, false}, {"cree", last, 10, false}, {"ald", last, 10, false}, {"yard creeps", last, 10, false}, {"creeps sideways", 7, 1, false},
		{"rare creeps", old, 1, false}, {"creeps yard rare-1", old, 1, false}, {"ald-00003", 5, 1, false}, {"ald-000", 101, 10, false}, {"ferry nothing", 0, 0, false},
	} {
		f, err := s.Search(t.Context(), c.query, 10)
		must(t, err)
		if len(f.Jobs) != c.n || c.n > 0 && f.Jobs[0].Number != c.first || f.Part != c.part {
			t.Errorf("%q: %d jobs, part %v, %+v", c.query, len(f.Jobs), f.Part, f.Jobs)
		}
	}
}

// A common beginning of few words is looked for in all jobs, one of many words in the newest.
func testSearchBeginnings(t *testing.T, s *Store) {
	must(t, s.Bulk(t.Context(), rare+200, func(i int) BulkJob {
		b := booking(fmt.Sprintf("ALD-%05d", i), "Ferry yard", "knocks")
		switch {
		case i < 3:
			b.Complaint = "knocking"
		case i%3 == 0:
			b.Complaint = "knock knocks"
		}
		return BulkJob{UID: fmt.Sprint("u", i), Entries: []record.Draft{{At: noon, By: 1, Device: 1, Key: fmt.Sprint("k", i), Body: b}}}
	}))
	last := int64(rare + 200)
	for _, c := range []struct {
		query       string
		limit, n    int
		first, then int64
		part        bool
	}{
		{"knoc", 10, 10, last, last - 9, false}, {"knoc", rare + 300, rare + 200, last, 1, false}, {"knocki", 10, 3, 3, 1, false}, {"ald", 10, 10, last, last - 9, false},
		{"ald", looked + 5, looked, last, last - looked + 1, true}, {"yard knoc", 10, 10, last, last - 9, false},
	} {
		f, err := s.Search(t.Context(), c.query, c.limit)
		must(t, err)
		if len(f.Jobs) != c.n || f.Jobs[0].Number != c.first || f.Jobs[c.n-1].Number != c.then || f.Part != c.part {
			t.Errorf("%q, at most %d: %d jobs, part %v", c.query, c.limit, len(f.Jobs), f.Part)
		}
	}
}

// Of the rarest word the newest jobs are looked at first; those with all words are older.
func testSearchDeep(t *testing.T, s *Store) {
	must(t, s.Bulk(t.Context(), 3*glanced, func(i int) BulkJob {
		b := booking(fmt.Sprintf("ALD-%05d", i), "Ferry yard", "")
		if i < 2*glanced-50 {
			b.Complaint += " creeps"
		}
		if i < 20 || i >= 2*glanced-50 {
			b.Complaint += " knocks"
		}
		return BulkJob{UID: fmt.Sprint("u", i), Entries: []record.Draft{{At: noon, By: 1, Device: 1, Key: fmt.Sprint("k", i), Body: b}}}
	}))
	for _, c := range []struct {
		query    string
		limit, n int
		first    int64
	}{
		{"creeps knocks", 15, 15, 20}, {"creeps knocks", 100, 20, 20}, {"knocks cree", 100, 20, 20}, {"creeps", 10, 10, 150}, {"creeps ald", 10, 10, 150}, {"knoc", 200, 170, 300},
	} {
		f, err := s.Search(t.Context(), c.query, c.limit)
		must(t, err)
		if len(f.Jobs) != c.n || f.Jobs[0].Number != c.first || f.Part {
			t.Errorf("%q finds %d jobs from %d on, part %v; want %d from %d on", c.query, len(f.Jobs), f.Jobs[0].Number, f.Part, c.n, c.first)
		}
	}
}
