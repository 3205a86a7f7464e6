package archive

import (
	"database/sql"
	"strings"
	"testing"

	_ "modernc.org/sqlite" // opens the file of a store behind its back

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// TestTampered changes what an import kept, behind the back of the store: Verify sees it.
func TestTampered(t *testing.T) {
	data, _ := sample(t)
	for _, c := range []string{
		`UPDATE entry SET person = person + 1 WHERE subject = 'job' AND seq = 2`,
		`UPDATE entry SET body = '{"text":"other"}' WHERE subject = 'job' AND seq = 2`,
		`UPDATE entry SET body = replace(body, 'worn', 'good') WHERE subject = 'job' AND seq = 3`,
		`UPDATE origin SET body = replace(body, 'worn', 'good')`,
		`UPDATE origin SET person = person + 1 WHERE entry IN (SELECT id FROM entry WHERE seq = 2)`,
		`UPDATE origin SET here = zeroblob(32) WHERE entry IN (SELECT id FROM entry WHERE seq = 2)`,
		`DELETE FROM origin WHERE entry IN (SELECT id FROM entry WHERE seq = 2)`,
	} {
		w := newWorkshop(t, "sqlite", "Tarn", 2)
		w.mustTake(data)
		w.sound()
		db, err := sql.Open("sqlite", w.st.Path())
		if err != nil {
			t.Fatal(err)
		}
		res, err := db.Exec(c)
		if err != nil {
			t.Fatal(err)
		}
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			t.Fatalf("%s changed nothing (%v)", c, err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := w.st.Verify(ctx())
		if err != nil {
			t.Fatal(err)
		}
		if r.Sound() || !strings.Contains(r.Err().Error(), "entry") {
			t.Errorf("%s was not noticed: %v", c, r.Err())
		}
	}
}

// TestBackup: a backup of a shop with a job of another shop is whole, and gives the same archive.
func TestBackup(t *testing.T) {
	data, w := sample(t)
	n := w.mustTake(data).Number
	path := t.TempDir() + "/backup.db"
	if err := w.st.Backup(ctx(), path); err != nil {
		t.Fatal(err)
	}
	to := t.TempDir() + "/restored.db"
	if err := store.Restore(ctx(), path, to); err != nil {
		t.Fatal(err)
	}
	st, err := store.Open(ctx(), to, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	}()
	old := w.st
	first := w.export(n)
	w.st = st
	second := w.export(n)
	w.st = old
	if string(first) != string(second) {
		t.Error("the restored shop gives another archive")
	}
	all, err := st.Written(ctx(), n)
	if err != nil || len(all) == 0 || all[0].Origin == nil || all[0].Origin.Shop != "Aldersay" || all[0].Origin.TakenBy != w.people[0] {
		t.Errorf("where it came from: %+v %v", all, err)
	}
	if all[0].Here.Subject.Kind != record.OfJob {
		t.Error("no entry of a job")
	}
}
