package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// everyTable fills a file with at least two rows of each table that the schema has, and gives its path.
func everyTable(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := Open(t.Context(), path, Options{Now: newClock().now})
	must(t, err)
	must(t, s.Bulk(t.Context(), 12, demoJob))
	for i := range 3 {
		hash, err := s.PutPhoto(t.Context(), Photo{Data: fmt.Appendf(nil, "data %d", i), Thumb: []byte("thumb")})
		must(t, err)
		add(t, s, aJob(t, s), &record.Pictured{Photo: hash})
		keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: fmt.Sprint("Aldersay ", i)})
	}
	for i := range 3 {
		for table, row := range map[string]string{
			"secret": `(?, 'x', 0, 0, 0, 0)`, "passkey": `('p' || ?, 1, 'n', 'c', 0, 0)`, "device_secret": `(zeroblob(30 + ?), 1, 0, 0)`, "session": `(zeroblob(30 + ?), 1, 1, 0, 0, 0)`,
			"enrolment": `(zeroblob(30 + ?), 1, 0)`, "token": `(?1 + 1, zeroblob(30 + ?1), 1, 'n', 's', 0, 0, 0, 0)`, "pin_count": `(?, 1, 0, 0, 0, 0)`, "wrong_pin": `(?1, 1, ?1, 1, 0)`,
			"item_alias": `('customer', zeroblob(30 + ?1), ?1)`,
		} {
			_, err := s.write.Exec(`INSERT INTO `+table+` VALUES `+row, i)
			must(t, err)
		}
	}
	must(t, s.Close())
	return path
}

// onCopy damages a copy of a file by statements behind the back of the store, and gives what Verify finds.
func onCopy(t *testing.T, file []byte, statements ...string) *Report {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	must(t, os.WriteFile(path, file, 0o600))
	for _, one := range statements {
		edit(t, path, one)
	}
	r := &Report{}
	must(t, onFile(path, func(s *Store) error {
		var err error
		r, err = s.Verify(t.Context())
		return err
	}))
	return r
}

// place is where a table or an index stands in the file.
type place struct {
	name, table string
	root        int
}

func places(t *testing.T, path, kind string) []place {
	t.Helper()
	db, err := sql.Open("sqlite", fileURL(path))
	must(t, err)
	defer func() { must(t, db.Close()) }()
	var out []place
	must(t, each(t.Context(), db, func(row scanner) error {
		var p place
		err := row.Scan(&p.name, &p.table, &p.root)
		out = append(out, p)
		return err
	}, `SELECT name, tbl_name, rootpage FROM sqlite_schema WHERE type = $1 ORDER BY name`, kind))
	return out
}

// The root page of each table and of each index is overwritten once.
func TestEachBadPageIsFound(t *testing.T) {
	path := everyTable(t)
	file, err := os.ReadFile(path)
	must(t, err)
	if r := onCopy(t, file); !r.Sound() {
		t.Fatalf("a sound file has problems: %v", r.Problems)
	}
	for _, p := range slices.Concat(places(t, path, "table"), places(t, path, "index")) {
		bad := bytes.Clone(file)
		for i := range page {
			bad[(p.root-1)*page+i] ^= 0xff
		}
		if r := onCopy(t, bad); r.Sound() {
			t.Errorf("%s: nothing is found", p.name)
		}
	}
}

// Of each index an entry is taken away, changed in each of its columns, and put where nobody looks for it. That is done through a table that is
// made to stand on the pages of the index for a while.
func TestEachIndexIsCompared(t *testing.T) {
	path := everyTable(t)
	file, err := os.ReadFile(path)
	must(t, err)
	indexes := places(t, path, "index")
	if len(indexes) < 25 {
		t.Fatalf("only %d indexes", len(indexes))
	}
	for _, p := range places(t, path, "table") {
		if p.name == "word" { // it stands in the order of its key
			indexes = append(indexes, place{"sqlite_autoindex_word_1", "word", p.root})
		}
	}
	for _, x := range indexes {
		m := maskOf(t, path, x)
		if r := onCopy(t, file, m.edit(everyWay, `SELECT 1`)...); !r.Sound() {
			t.Fatalf("%s: what was not changed has problems: %v", x.name, r.Problems)
		}
		first := `(` + m.all() + `) = (SELECT ` + m.all() + ` FROM mask LIMIT 1)`
		misplaced := func(from int, one string) []string {
			return slices.Concat(m.edit(everyWay, `CREATE TABLE moved AS SELECT * FROM mask `+one+` LIMIT 1; DELETE FROM mask WHERE (`+m.all()+`) = (SELECT `+m.all()+` FROM moved)`),
				m.edit(from, `INSERT INTO mask SELECT * FROM moved; DROP TABLE moved`))
		}
		damages := map[string][]string{"removed": m.edit(everyWay, `DELETE FROM mask WHERE `+first), "misplaced": misplaced(0, "")}
		if (x.table == "entry" || x.table == "word") && x.name != firstIndex { // kind and number, or word, are those of others too
			damages["misplaced among its like"] = misplaced(2, `WHERE c0 = 'job' AND c1 = (SELECT c1 FROM mask WHERE c0 = 'job' GROUP BY c1 HAVING count(*) > 5)`)
		}
		for i := range m.columns {
			damages[fmt.Sprint("changed column ", i)] = m.edit(everyWay, fmt.Sprintf(`UPDATE mask SET c%[1]d = CASE typeof(c%[1]d) WHEN 'integer' THEN c%[1]d + 1000 WHEN 'text' THEN c%[1]d || 'x' ELSE zeroblob(99) END WHERE %[2]s`, i, first))
		}
		for name, steps := range damages {
			if onCopy(t, file, steps...).Sound() {
				t.Errorf("%s of %s, %s: nothing is found", x.name, x.table, name)
			}
		}
	}
}

// A row that is in no index, words of a kind that this version does not know, and a page that belongs to nothing are found as well.
func TestRowsBesideTheIndexes(t *testing.T) {
	path := everyTable(t)
	file, err := os.ReadFile(path)
	must(t, err)
	var steps []string
	for _, x := range places(t, path, "index") {
		if x.table == "entry" {
			m := maskOf(t, path, x)
			last := fmt.Sprint("c", len(m.columns)-1)
			steps = append(steps, m.edit(everyWay, `DELETE FROM mask WHERE `+last+` = (SELECT id FROM entry NOT INDEXED WHERE subject = 'job' AND subject_id = 15 AND seq = 2)`)...)
		}
	}
	steps = append(steps, `UPDATE job SET seq = 1, hash = (SELECT hash FROM entry WHERE subject = 'job' AND subject_id = 15 AND seq = 1) WHERE number = 15`)
	for want, steps := range map[string][]string{
		"wrong # of entries in index sqlite_autoindex_entry_1":       steps,
		`"xxx" is about a "ghost", which this version does not know`: {`INSERT INTO word (subject, word, subject_id) VALUES ('ghost', 'xxx', 5)`},
		"never used": {`CREATE TABLE other (n)`, `PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = 'other'`},
	} {
		r := onCopy(t, file, steps...)
		if !slices.ContainsFunc(r.Problems, func(p Problem) bool { return strings.Contains(p.What, want) }) {
			t.Errorf("no problem says %q: %v", want, r.Problems)
		}
	}
}

// mask is a table by the name of mask that can stand on the pages of an index: whether each of its columns goes down.
type mask struct {
	root    int
	columns []bool
}

func maskOf(t *testing.T, path string, x place) mask {
	t.Helper()
	db, err := sql.Open("sqlite", fileURL(path))
	must(t, err)
	defer func() { must(t, db.Close()) }()
	m := mask{root: x.root}
	must(t, each(t.Context(), db, func(row scanner) error {
		var down bool
		err := row.Scan(&down)
		m.columns = append(m.columns, down)
		return err
	}, `SELECT "desc" FROM pragma_index_xinfo($1) ORDER BY seqno`, x.name))
	return m
}

func (m mask) all() string {
	var names []string
	for i := range m.columns {
		names = append(names, fmt.Sprint("c", i))
	}
	return strings.Join(names, ", ")
}

// everyWay has a mask take each column as it is.
const everyWay = 99

// edit gives the statements that put the mask on, each for a connection of its own, change what is under it, and take it off again. It takes the
// columns from turned on for ones that go the other way.
func (m mask) edit(turned int, statement string) []string {
	var order []string
	for i, down := range m.columns {
		order = append(order, fmt.Sprintf("c%d %s", i, map[bool]string{true: "DESC", false: "ASC"}[down != (i >= turned)]))
	}
	return []string{
		`CREATE TABLE mask (` + m.all() + `, PRIMARY KEY (` + strings.Join(order, ", ") + `)) WITHOUT ROWID;
			CREATE TABLE away AS SELECT rootpage AS root FROM sqlite_schema WHERE name = 'mask'`,
		fmt.Sprintf(`PRAGMA writable_schema = ON; UPDATE sqlite_schema SET rootpage = %d WHERE name = 'mask'`, m.root),
		statement,
		`PRAGMA writable_schema = ON; UPDATE sqlite_schema SET rootpage = (SELECT root FROM away) WHERE name = 'mask'`,
		`DROP TABLE mask; DROP TABLE away`,
	}
}
