package store

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/record"
)

// filled makes a store with something in every table.
func filled(t *testing.T, s *Store) (job int64, photo record.Digest) {
	photo, err := s.PutPhoto(t.Context(), Photo{Data: bytes.Repeat([]byte{0, 1, 2, 0xff}, 70_000), Thumb: []byte("small")})
	must(t, err)
	must(t, s.Bulk(t.Context(), 120, demoJob))
	job = aJob(t, s)
	for _, text := range oddTexts {
		add(t, s, job, &record.Noted{Text: text})
	}
	add(t, s, job, &record.Pictured{Photo: photo}, judged(record.AsFound, "leaks"))
	keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Müller"})
	must(t, s.SetPIN(t.Context(), 1, "$slow$hash"))
	must(t, s.PutPasskey(t.Context(), Passkey{ID: "k", Person: 1, Name: "tablet", Credential: "{}"}))
	must(t, s.StartDevice(t.Context(), "device secret", 5))
	must(t, s.StartSession(t.Context(), "session", Session{Person: 1, Device: 5, Expires: noon.Add(1000 * time.Hour)}))
	_, err = s.Failed(t.Context(), 1, 5, Pauses{Known: from(5), Strange: from(5), Device: from(8)})
	must(t, err)
	must(t, s.WrongPIN(t.Context(), 1, 5))
	must(t, s.Enrol(t.Context(), "code", 1, noon.Add(1000*time.Hour)))
	_, err = s.AddToken(t.Context(), "token", Token{Person: 1, Name: "n", Scope: "read", Expires: noon.Add(1000 * time.Hour)})
	must(t, err)
	return job, photo
}

func TestBackupAndRestore(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		job, photo := filled(t, s)
		must(t, s.GivePIN(t.Context(), 2, "$given$hash"))
		acked, copied := backupWhileWriting(t, s)
		for _, where := range []string{filepath.Join(t.TempDir(), "new folder", "shop.db"), pgtest.Start(t)} {
			must(t, Restore(t.Context(), copied, where))
			got := openAt(t, where)
			sound(t, got)
			for person, given := range map[int64]bool{1: false, 2: true} {
				if v, err := got.Secret(t.Context(), person); err != nil || v.PIN == "" || v.Given != given {
					t.Errorf("person %d: %+v, %v", person, v, err)
				}
			}
			wrongKept(t, got)
			for _, r := range acked {
				e, err := got.Entries(t.Context(), r.Entry.Subject, r.Entry.Seq-1, 1)
				must(t, err)
				if len(e) != 1 || e[0].Hash != r.Entry.Hash || e[0].ID != r.Entry.ID {
					t.Fatalf("%s entry %d was acknowledged before the backup and is %+v in it", r.Entry.Subject, r.Entry.Seq, e)
				}
			}
			sameStore(t, s, got, job, photo)
			restoredGoesOn(t, got)
			wantCode(t, Restore(t.Context(), copied, where), record.Conflict)
		}
	})
}

// backupWhileWriting makes a backup beside eight writers. It gives what they had been told is kept when the backup began.
func backupWhileWriting(t *testing.T, s *Store) ([]Receipt, string) {
	var mu sync.Mutex
	var acked []Receipt
	var jobs []int64
	for range 8 {
		jobs = append(jobs, aJob(t, s))
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan []error)
	go func() {
		done <- race(8, func(i int) error {
			for ctx.Err() == nil {
				r, err := s.Append(context.WithoutCancel(ctx), jobs[i], AnySeq, draft(&record.Noted{Text: "n"}), draft(&record.Did{Step: "s"}))
				if err != nil {
					return err
				}
				mu.Lock()
				acked = append(acked, r...)
				mu.Unlock()
			}
			return nil
		})
	}()
	for {
		mu.Lock()
		n := len(acked)
		mu.Unlock()
		if n > 100 {
			break
		}
		time.Sleep(time.Millisecond)
	}
	mu.Lock()
	before := slices.Clone(acked)
	mu.Unlock()
	path := filepath.Join(t.TempDir(), "backup.db")
	err := s.Backup(t.Context(), path)
	stop()
	for _, e := range <-done {
		must(t, e)
	}
	must(t, err)
	old, err := os.ReadFile(path)
	must(t, err)
	wantCode(t, s.Backup(t.Context(), path), record.Conflict)
	if now, err := os.ReadFile(path); err != nil || !bytes.Equal(old, now) {
		t.Errorf("a backup was written over: %v", err)
	}
	if bytes.Contains(old, digest("session")) || bytes.Contains(old, digest("code")) || !bytes.Contains(old, digest("device secret")) {
		t.Error("sessions and codes must not be in a backup, devices must")
	}
	if files, err := os.ReadDir(filepath.Dir(path)); err != nil || len(files) != 1 {
		t.Errorf("beside the backup: %v, %v", files, err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	sound(t, s)
	return before, path
}

// sameStore compares what a shop sees of two stores.
func sameStore(t *testing.T, a, b *Store, job int64, photo record.Digest) {
	t.Helper()
	ea, errA := a.Entries(t.Context(), record.JobSubject(job), 0, 0)
	eb, errB := b.Entries(t.Context(), record.JobSubject(job), 0, 0)
	if d := cmp.Diff(ea, eb); d != "" || errA != nil || errB != nil {
		t.Errorf("entries: %s %v %v", d, errA, errB)
	}
	pa, errA := a.GetPhoto(t.Context(), photo, false)
	pb, errB := b.GetPhoto(t.Context(), photo, false)
	if errA != nil || errB != nil || !bytes.Equal(pa.Data, pb.Data) {
		t.Errorf("photos differ: %v %v", errA, errB)
	}
	sa, errA := a.Secret(t.Context(), 1)
	sb, errB := b.Secret(t.Context(), 1)
	if errA != nil || errB != nil || sa != sb || sb.PIN == "" {
		t.Errorf("PIN %+v %+v, %v %v", sa, sb, errA, errB)
	}
	dev, _, err := b.Visit(t.Context(), "device secret", "session")
	tok, err2 := b.TokenBySecret(t.Context(), "token")
	keys, err3 := b.Passkeys(t.Context(), 1)
	ses, err4 := b.GetSession(t.Context(), "session")
	if dev != 5 || tok == nil || len(keys) != 1 || ses != nil || err != nil || err2 != nil || err3 != nil || err4 != nil {
		t.Errorf("device %d, token %v, passkeys %v, session %v, %v %v %v %v", dev, tok, keys, ses, err, err2, err3, err4)
	}
}

// restoredGoesOn writes to a restored store: numbers follow on.
func restoredGoesOn(t *testing.T, s *Store) {
	t.Helper()
	last, err := s.Last(t.Context())
	must(t, err)
	jobs, err := s.Jobs(t.Context(), 0, 1)
	must(t, err)
	r, err := s.NewJob(t.Context(), "after", draft(booking("S", "C", "X")))
	must(t, err)
	if r.Entry.ID <= last || r.Entry.Subject.ID != jobs[0].Number+1 {
		t.Errorf("after entry %d and job %d came entry %d of job %d", last, jobs[0].Number, r.Entry.ID, r.Entry.Subject.ID)
	}
	add(t, s, r.Entry.Subject.ID, &record.Did{Step: "s"})
	if c, err := s.Changes(t.Context(), last, 9); err != nil || len(c) != 2 {
		t.Errorf("changes %+v, %v", c, err)
	}
	sound(t, s)
}

// A new shop has entered its name and its people before somebody restores: they are replaced.
func TestRestoreReplacesBeginnings(t *testing.T) {
	from := openLite(t)
	keepItem(t, from, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "from the backup"})
	aJob(t, from)
	path := filepath.Join(t.TempDir(), "b.db")
	must(t, from.Backup(t.Context(), path))
	both(t, func(t *testing.T, _ func(t *testing.T) *Store) {
		where := filepath.Join(t.TempDir(), "shop.db")
		if strings.HasSuffix(t.Name(), "postgres") {
			where = pgtest.Start(t)
		}
		s := openAt(t, where)
		for i := range 3 {
			keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: fmt.Sprint("new ", i)})
		}
		must(t, Restore(t.Context(), path, where))
		list, err := s.Items(t.Context(), record.OfCustomer, Page{Limit: 9})
		must(t, err)
		if len(list) != 1 || list[0].Label != "from the backup" {
			t.Errorf("customers %+v", list)
		}
		restoredGoesOn(t, s)
	})
}

func TestRestoreRefuses(t *testing.T) {
	s := openLite(t)
	aJob(t, s)
	dir := t.TempDir()
	good := filepath.Join(dir, "good.db")
	must(t, s.Backup(t.Context(), good))
	data, err := os.ReadFile(good)
	must(t, err)
	write := func(name string, data []byte) string {
		p := filepath.Join(dir, name)
		must(t, os.WriteFile(p, data, 0o600))
		return p
	}
	forged := write("forged.db", data)
	edit(t, forged, `UPDATE entry SET body = replace(body, 'Ferry', 'Furry')`)
	newer := write("newer.db", data)
	edit(t, newer, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (999, 1)`)
	for file, code := range map[string]record.Code{
		filepath.Join(dir, "none.db"): record.NotFound, dir: record.Invalid, write("empty.db", nil): record.Invalid, write("text.db", []byte(strings.Repeat("no database ", 500))): record.Damaged,
		write("half.db", data[:len(data)/2]): record.Damaged, forged: record.Damaged, newer: record.Newer,
	} {
		target := filepath.Join(t.TempDir(), "shop.db")
		err := Restore(t.Context(), file, target)
		if record.CodeOf(err) != code {
			t.Errorf("%s: %v, expected code %q", filepath.Base(file), err, code)
		}
		if _, err := os.Stat(target); err == nil {
			t.Errorf("%s: a target was made", filepath.Base(file))
		}
	}
}

// A store that is not sound gives no backup that looks like one.
func TestBackupOfDamagedStore(t *testing.T) {
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		s := open(t)
		aJob(t, s)
		if _, err := s.write.Exec(`UPDATE entry SET body = replace(body, 'Ferry', 'Furry')`); err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		wantCode(t, s.Backup(t.Context(), filepath.Join(dir, "b.db")), record.Damaged)
		if files, err := os.ReadDir(dir); err != nil || len(files) > 0 {
			t.Errorf("left behind: %v, %v", files, err)
		}
	})
}

// Every table is in a backup or left out on purpose.
func TestBackupHasEveryTable(t *testing.T) {
	s := openLite(t)
	var names, known []string
	must(t, each(t.Context(), s.read, func(row scanner) error {
		var n string
		err := row.Scan(&n)
		names = append(names, n)
		return err
	}, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE 'goose%'`))
	for _, tb := range tables {
		known = append(known, tb.name)
		var n int
		must(t, s.read.QueryRow(`SELECT count(*) FROM pragma_table_info('`+tb.name+`')`).Scan(&n))
		if n != strings.Count(tb.columns, ",")+1 {
			t.Errorf("table %s has %d columns, a backup copies %s", tb.name, n, tb.columns)
		}
	}
	known = append(known, left...)
	slices.Sort(names)
	slices.Sort(known)
	if d := cmp.Diff(known, names); d != "" {
		t.Error(d)
	}
}

// wrongKept sees to it that a backup keeps which device is known to whom, what was counted there, and what is to be told.
func wrongKept(t *testing.T, s *Store) {
	t.Helper()
	if v, err := s.Failed(t.Context(), 1, 5, Pauses{Known: from(5), Strange: from(5), Device: from(8)}); err != nil || !v.Known || v.Wrong != 2 {
		t.Errorf("wrong PINs %+v, %v", v, err)
	}
	if v, err := s.WrongUntold(t.Context(), 1); err != nil || len(v) != 1 || v[0].Count != 1 {
		t.Errorf("to be told %+v, %v", v, err)
	}
}
