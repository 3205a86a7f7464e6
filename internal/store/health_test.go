package store

import (
	"bytes"
	"context"
	"database/sql"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

const page = 4096 // of an SQLite file, bytes: its default

// aShopFile is a closed database file with jobs and their photos.
func aShopFile(t *testing.T) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := Open(t.Context(), path, Options{Now: newClock().now})
	must(t, err)
	must(t, s.Bulk(t.Context(), 60, demoJob))
	job := aJob(t, s)
	rnd := rand.New(rand.NewPCG(7, 1))
	for range 6 {
		data := make([]byte, 5*page)
		for i := range data {
			data[i] = byte(rnd.Uint32())
		}
		hash, err := s.PutPhoto(t.Context(), Photo{Data: data, Thumb: data[:500]})
		must(t, err)
		add(t, s, job, &record.Pictured{Photo: hash})
	}
	keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Aldersay"})
	must(t, s.Close())
	file, err := os.ReadFile(path)
	must(t, err)
	return file
}

// noticed starts a store on a file and says whether it is noticed that it is damaged, by not opening or by its troubles.
func noticed(t *testing.T, file []byte, most int64) bool {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	must(t, os.WriteFile(path, file, 0o600))
	told := 0
	s, err := Open(t.Context(), path, Options{Now: newClock().now, Ails: func(tr Trouble) {
		if tr.Code == record.Damaged {
			told++
		}
	}})
	if err != nil {
		return true
	}
	defer func() { must(t, s.Close()) }()
	_, whole, err := s.Check(t.Context(), most)
	if err != nil {
		return true
	}
	if !whole {
		_, err := s.CheckFile(t.Context())
		must(t, err)
	}
	ails := slices.ContainsFunc(s.Troubles(t.Context()), func(tr Trouble) bool { return tr.Code == record.Damaged && tr.Grave })
	if ails != (told == 1) {
		t.Errorf("damaged %v, told %d times", ails, told)
	}
	return ails
}

// Damage at places that chance chose is noticed at the start. What is not is in free pages, in the small pictures of photos and in bytes that
// no row uses.
func TestDamageIsNoticedAtStart(t *testing.T) {
	file := aShopFile(t)
	if noticed(t, file, WholeUpTo) || noticed(t, file, 0) {
		t.Fatal("a sound file is taken for a damaged one")
	}
	pages := len(file) / page
	flipPage := func(rnd *rand.Rand, f []byte) {
		n := rnd.IntN(pages)
		for i := n * page; i < (n+1)*page; i++ {
			f[i] ^= 0xff
		}
	}
	flipByte := func(rnd *rand.Rand, f []byte) { f[rnd.IntN(len(f))] ^= 1 << rnd.IntN(8) }
	for _, c := range []struct {
		name  string
		flip  func(*rand.Rand, []byte)
		most  int64
		least int // of 60
	}{
		{"a page, small file", flipPage, WholeUpTo, 60},
		{"a page, large file", flipPage, 0, 60},
		{"a bit, small file", flipByte, WholeUpTo, 20},
		{"a bit, large file", flipByte, 0, 12},
	} {
		n := 0
		for seed := range uint64(60) {
			f := bytes.Clone(file)
			c.flip(rand.New(rand.NewPCG(seed, 3)), f)
			if noticed(t, f, c.most) {
				n++
			}
		}
		t.Logf("%s: %d of 60 noticed", c.name, n)
		if n < c.least {
			t.Errorf("%s: %d of 60 noticed, expected %d", c.name, n, c.least)
		}
	}
}

// What is read of a damaged page makes the store say that it is damaged, though it looked sound when it was opened.
func TestDamageIsNoticedAtRead(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		job := aJob(t, s)
		if got := s.Troubles(t.Context()); len(got) != 0 {
			t.Fatalf("troubles %v", got)
		}
		_, err := s.write.Exec(`UPDATE job SET summary = 'x'`)
		must(t, err)
		_, err = s.Summary(t.Context(), job)
		wantCode(t, err, record.Damaged)
		wantTroubles(t, s, record.Damaged)
		if _, err := s.Summary(t.Context(), 99); record.CodeOf(err) != record.NotFound {
			t.Errorf("%v", err)
		}
		wantTroubles(t, s, record.Damaged)
	})
}

func wantTroubles(t *testing.T, s *Store, want ...record.Code) {
	t.Helper()
	var got []record.Code
	for _, tr := range s.Troubles(t.Context()) {
		got = append(got, tr.Code)
	}
	if !slices.Equal(got, want) {
		t.Errorf("troubles %v, expected %v", got, want)
	}
}

// The newest entries and links are recomputed on both engines, whatever the size.
func TestCheckFindsChangedEntries(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		for want, edit := range map[string]string{
			"job 1: entry 2 was changed after it was written":                           `UPDATE entry SET at = at + 1 WHERE subject = 'job' AND seq = 2`,
			"the chain of the shop: link 2 does not fit its entry, or those beside it":  `UPDATE chain SET hash = (SELECT hash FROM link WHERE n = 1)`,
			"the chain of the shop: link 1 does not fit its entry, or those beside it ": `UPDATE link SET prev = hash WHERE n = 1`,
		} {
			s := open(t)
			add(t, s, aJob(t, s), judged(record.AsFound, "leaks"), judged(record.AsFound, "leaks"))
			r, whole, err := s.Check(t.Context(), 0)
			must(t, err)
			if whole || !r.Sound() || r.Entries != 3 || r.Links != 2 {
				t.Fatalf("%v %+v", whole, r)
			}
			_, err = s.write.Exec(edit)
			must(t, err)
			r, _, err = s.Check(t.Context(), 0)
			must(t, err)
			if len(r.Problems) == 0 || r.Problems[0].Where+": "+r.Problems[0].What != strings.TrimSpace(want) {
				t.Errorf("%s: %v", edit, r.Problems)
			}
			wantTroubles(t, s, record.Damaged)
		}
	})
}

func TestClockBehindIsATrouble(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		c := newClock()
		s.now = c.now
		aJob(t, s)
		wantTroubles(t, s)
		c.set(noon.Add(-time.Hour)) // and nobody writes anything
		wantTroubles(t, s, ClockBehind)
	})
}

// An archive with another picture than it says is not the fault of the records.
func TestDamagedArchiveIsNoTrouble(t *testing.T) {
	s := openLite(t)
	err := s.transact(t.Context(), "taking a job in", func(context.Context, *sql.Tx) error {
		return notOurs{record.Faultf(record.Damaged, "photo", "another picture", "the picture", "")}
	})
	wantCode(t, err, record.Damaged)
	wantTroubles(t, s)
}
