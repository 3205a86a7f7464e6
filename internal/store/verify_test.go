package store

import (
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Each damage is done by editing the database directly, as somebody would who wants a record to say something else.
var damages = []struct {
	name  string
	edits []string
	want  string // in a problem that Verify reports
}{
	{"changed body", []string{`UPDATE entry SET body = '{"text":"never said"}' WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 2 was changed"},
	{"changed time", []string{`UPDATE entry SET at = at + 1 WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 2 was changed"},
	{"changed person", []string{`UPDATE entry SET person = 9 WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 2 was changed"},
	{"unreadable body", []string{`UPDATE entry SET body = 'x' WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 2 was changed"},
	{"short digest", []string{`UPDATE entry SET hash = prev WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 2 was changed"},
	{"changed summary", []string{`UPDATE job SET summary = replace(summary, 'Ferry yard', 'Harbour xx') WHERE number = 1`}, "job 1: its summary"},
	{"changed stage", []string{`UPDATE job SET stage = 'prove' WHERE number = 1`}, "job 1: its stage"},
	{"changed key", []string{`UPDATE job SET key = 'x' WHERE number = 1`}, "job 1: its key"},
	{"changed uid", []string{`UPDATE job SET uid = 'x' WHERE number = 1`}, "job 1: its summary"},
	{"removed in the middle", []string{`DELETE FROM entry WHERE subject = 'job' AND subject_id = 1 AND seq = 2`}, "job 1: entry 3 stands at place 2"},
	{"removed at the end", []string{`DELETE FROM entry WHERE subject = 'job' AND subject_id = 2 AND seq = 3`}, "job 2: its seq"},
	{"removed verdict", []string{`DELETE FROM entry WHERE kind = 'judged' AND subject_id = 1`}, "which is missing"},
	{"swapped", []string{`UPDATE entry SET seq = 99 WHERE subject = 'job' AND subject_id = 1 AND seq = 2`, `UPDATE entry SET seq = 2 WHERE subject = 'job' AND subject_id = 1 AND seq = 3`,
		`UPDATE entry SET seq = 3 WHERE subject = 'job' AND subject_id = 1 AND seq = 99`}, "job 1: entry 2 does not follow"},
	{"removed job row", []string{`DELETE FROM job WHERE number = 1`}, "job 1: has entries but no row"},
	{"removed entries of a job", []string{`DELETE FROM entry WHERE subject = 'job' AND subject_id = 2`}, "job 2: has a row but no entries"},
	{"removed last job", []string{`DELETE FROM entry WHERE subject = 'job' AND subject_id = 3`, `DELETE FROM job WHERE number = 3`, `DELETE FROM word WHERE subject_id = 3 AND subject = 'job'`}, "numbers were given up to 3"},
	{"removed job", []string{`DELETE FROM entry WHERE subject = 'job' AND subject_id = 2`, `DELETE FROM job WHERE number = 2`, `DELETE FROM word WHERE subject_id = 2 AND subject = 'job'`}, "job 3: follows number 1"},
	{"removed link", []string{`DELETE FROM link WHERE n = 1`}, "links are missing"},
	{"removed last link", []string{`DELETE FROM link WHERE n = 2`}, "its head is at 2, its end at 1"},
	{"removed last link and head", []string{`DELETE FROM link WHERE n = 2`, `UPDATE chain SET n = 1, hash = (SELECT hash FROM link WHERE n = 1)`}, "is signed but not in the chain"},
	{"changed link", []string{`UPDATE link SET hash = prev WHERE n = 2`}, "link 2 does not follow"},
	{"forged photo", []string{`UPDATE photo SET data = thumb`}, "the picture was changed"},
	{"removed photo", []string{`DELETE FROM photo`}, "an entry names it"},
	{"missing word", []string{`DELETE FROM word WHERE subject = 'job' AND word = 'ferry' AND subject_id = 1`}, "job 1: is found under"},
	{"extra word", []string{`INSERT INTO word (subject, word, subject_id) VALUES ('job', 'xxx', 1)`}, `job 1: is found under "xxx"`},
	{"word of nothing", []string{`INSERT INTO word (subject, word, subject_id) VALUES ('tool', 'xxx', 5)`}, `tool 5: is found under "xxx"`},
	{"changed item", []string{`UPDATE item SET value = '{"name":"Other"}' WHERE kind = 'customer'`}, "customer 1: its value"},
	{"retired item", []string{`UPDATE item SET retired = 1 WHERE kind = 'customer'`}, "customer 1: its retired"},
	{"removed item", []string{`DELETE FROM item WHERE kind = 'customer'`}, "customer 1: has entries but no row"},
	{"counter set back", []string{`UPDATE counter SET last = 1 WHERE kind = 'job'`}, "numbers were given up to 1, the last that is kept is 3"},
	{"unknown subject", []string{`UPDATE entry SET subject = 'ghost' WHERE subject = 'customer'`}, `about a "ghost"`},
}

func TestVerifyFinds(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		hash, err := s.PutPhoto(t.Context(), Photo{Data: []byte("data"), Thumb: []byte("thumb")})
		must(t, err)
		add(t, s, aJob(t, s), &record.Noted{Text: "said"}, &record.Noted{Text: "more"}, &record.Pictured{Photo: hash}, judged(record.AsFound, "leaks"))
		add(t, s, aJob(t, s), &record.Did{Step: "s"}, &record.Noted{Text: "last"})
		aJob(t, s)
		keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Aldersay"})
		if r := sound(t, s); r.Entries != 10 || r.Jobs != 3 || r.Items != 1 || r.Links != 2 || r.Photos != 1 {
			t.Fatalf("report %+v", r)
		}
		for _, d := range damages {
			t.Run(d.name, func(t *testing.T) { damage(t, s, d.edits, d.want) })
		}
		sound(t, s)
	})
}

// damage edits the database in a transaction, looks through it, and takes the edits back.
func damage(t *testing.T, s *Store, edits []string, want string) {
	tx, err := s.write.BeginTx(t.Context(), nil)
	must(t, err)
	defer func() { must(t, tx.Rollback()) }()
	for _, e := range edits {
		res, err := tx.Exec(e)
		must(t, err)
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			t.Fatalf("%s: %d rows, %v", e, n, err)
		}
	}
	r := &Report{}
	v, err := s.verifier(t.Context(), tx, r)
	must(t, err)
	for _, step := range []func() error{v.subjects, v.links, v.photos} {
		must(t, step())
	}
	for _, p := range r.Problems {
		if strings.Contains(p.Where+": "+p.What, want) {
			wantCode(t, r.Err(), record.Damaged)
			return
		}
	}
	t.Errorf("no problem says %q: %v", want, r.Problems)
}

// Jobs and pages end at different entries: nothing may be lost between two pages, and none counted twice.
func TestVerifyPages(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		must(t, s.Bulk(t.Context(), 420, demoJob)) // 11 entries a job, 7 in each fiftieth: more than two pages
		long := aJob(t, s)
		var many []record.Body
		for range 2*pageRows + 5 {
			many = append(many, &record.Noted{Text: "n"})
		}
		add(t, s, long, many...)
		aJob(t, s)
		var entries int64
		must(t, s.read.QueryRow(`SELECT count(*) FROM entry`).Scan(&entries))
		r := sound(t, s)
		if r.Jobs != 422 || r.Entries != entries || r.Links != 411*5+9*2 {
			t.Errorf("report %+v of %d entries", r, entries)
		}
		damage(t, s, []string{`UPDATE entry SET body = '{"text":"m"}' WHERE subject = 'job' AND subject_id = 421 AND seq = 2000`}, "job 421: entry 2000 was changed")
	})
}
