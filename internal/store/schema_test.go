package store

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/pgtest"
)

// The data of each schema are kept in testdata/schema/NNNN.jsonl.gz, one row a line, so that the present program is tried on them with
// both engines. A schema that was given out is never changed, nor are its data. For a new schema:
//
//	EVENSTROKE_SNAPSHOT=1 go test ./internal/store -run TestEarlierSchemas
//
// writes the files that are missing, and only those.

// savedRow is a row of a table: bytes as {"b": base64}, numbers and texts as they are.
type savedRow struct {
	Table   string
	Columns []string
	Values  []any
}

// dump reads all tables that a backup holds and the store has.
func dump(t *testing.T, s *Store) []savedRow {
	t.Helper()
	var out []savedRow
	for _, tb := range tables {
		rows, err := s.read.Query(`SELECT * FROM ` + tb.name + ` ORDER BY ` + tb.order)
		if err != nil && (strings.Contains(err.Error(), "no such table") || strings.Contains(err.Error(), "does not exist")) {
			continue // of a later schema
		}
		must(t, err)
		columns, err := rows.Columns()
		must(t, err)
		must(t, eachOf(func(row scanner) error {
			vals := make([]any, len(columns))
			ptrs := make([]any, len(columns))
			for i := range vals {
				ptrs[i] = &vals[i]
			}
			err := row.Scan(ptrs...)
			for i := range vals {
				if b, ok := vals[i].([]byte); ok {
					vals[i] = map[string]any{"b": base64.StdEncoding.EncodeToString(b)}
				}
			}
			out = append(out, savedRow{tb.name, columns, vals})
			return err
		})(rows, nil))
	}
	return out
}

// openSchema opens a new store whose schema is of a version.
func openSchema(t *testing.T, where string, version int64) *Store {
	t.Helper()
	s := &Store{now: newClock().now}
	var err error
	if isAddress(where) {
		err = s.openPostgres(where)
	} else {
		err = s.openSQLite(where, "")
	}
	must(t, err)
	p, err := s.migrator()
	must(t, err)
	_, err = p.UpTo(t.Context(), version)
	must(t, err)
	return s
}

func snapshotFile(version int64) string {
	return filepath.Join("testdata", "schema", fmt.Sprintf("%04d.jsonl.gz", version))
}

func writeSnapshot(t *testing.T, version int64) {
	s := openSchema(t, filepath.Join(t.TempDir(), "old.db"), version)
	filled(t, s)
	var buf bytes.Buffer
	z := gzip.NewWriter(&buf)
	for _, r := range dump(t, s) {
		line, err := json.Marshal(r)
		must(t, err)
		_, err = z.Write(append(line, '\n'))
		must(t, err)
	}
	must(t, errors.Join(z.Close(), s.Close(), os.MkdirAll(filepath.Dir(snapshotFile(version)), 0o755)))
	must(t, os.WriteFile(snapshotFile(version), buf.Bytes(), 0o644))
}

// load puts the rows of a snapshot into a store of its schema.
func load(t *testing.T, s *Store, version int64) (rows int) {
	t.Helper()
	f, err := os.Open(snapshotFile(version))
	must(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	must(t, err)
	lines := bufio.NewScanner(z)
	lines.Buffer(nil, 64<<20)
	must(t, once(t.Context(), s.write, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.Exec(`DELETE FROM chain`); err != nil {
			return err
		}
		for lines.Scan() {
			var r savedRow
			dec := json.NewDecoder(bytes.NewReader(lines.Bytes()))
			dec.UseNumber()
			if err := dec.Decode(&r); err != nil {
				return err
			}
			marks := make([]string, len(r.Values))
			for i, v := range r.Values {
				marks[i] = fmt.Sprintf("$%d", i+1)
				switch v := v.(type) {
				case json.Number:
					if r.Values[i], err = v.Int64(); err != nil {
						return err
					}
				case map[string]any:
					if r.Values[i], err = base64.StdEncoding.DecodeString(v["b"].(string)); err != nil {
						return err
					}
				}
			}
			if _, err := tx.Exec(`INSERT INTO `+r.Table+` (`+strings.Join(r.Columns, ", ")+`) VALUES (`+strings.Join(marks, ", ")+`)`, r.Values...); err != nil {
				return fmt.Errorf("%s: %w", r.Table, err)
			}
			rows++
		}
		if s.engine == PostgreSQL {
			if _, err := tx.Exec(`SELECT setval('entry_id_seq', (SELECT max(id) FROM entry))`); err != nil {
				return err
			}
		}
		return lines.Err()
	}))
	return rows
}

func TestEarlierSchemas(t *testing.T) {
	newest := map[string]int64{}
	both(t, func(t *testing.T, open func(t *testing.T) *Store) {
		p, err := open(t).migrator()
		must(t, err)
		for _, src := range p.ListSources() {
			newest[t.Name()] = src.Version
			if _, err := os.Stat(snapshotFile(src.Version)); err != nil && os.Getenv("EVENSTROKE_SNAPSHOT") == "1" {
				writeSnapshot(t, src.Version)
			}
			t.Run(fmt.Sprint(src.Version), func(t *testing.T) {
				where := filepath.Join(t.TempDir(), "old.db")
				if strings.Contains(t.Name(), "postgres") {
					where = pgtest.Start(t)
				}
				old := openSchema(t, where, src.Version)
				n := load(t, old, src.Version)
				before := dump(t, old)
				must(t, old.Close())
				s := openAt(t, where)
				r := sound(t, s)
				if n < 1000 || len(before) != n || r.Jobs < 100 || r.Photos != 1 || r.Links < 100 {
					t.Errorf("%d rows, %d of them in the old store, report %+v", n, len(before), r)
				}
				if after := dump(t, s); len(after) < n {
					t.Errorf("of %d rows %d are left", n, len(after))
				}
				restoredGoesOn(t, s)
				if v, _, err := s.Visit(t.Context(), "device secret", ""); err != nil || v != 5 {
					t.Errorf("device %d, %v", v, err)
				}
				if v, err := s.Secret(t.Context(), 1); err != nil || v.PIN != "$slow$hash" || v.Given { // nobody has to choose again because of an update
					t.Errorf("PIN %+v, %v", v, err)
				}
				known := int64(2) // who wrote from there signed in there
				if src.Version >= 5 {
					known = 5
				}
				if v, err := s.Failed(t.Context(), 1, known, Pauses{Known: from(5), Strange: from(5), Device: from(8)}); err != nil || !v.Known {
					t.Errorf("a guess at a device from which the person wrote: %+v, %v", v, err)
				}
				if l, err := s.List(t.Context(), Filter{Closed: true}, 0, 3); err != nil || len(l) != 3 {
					t.Errorf("list %+v, %v", l, err)
				}
				f, err := s.Search(t.Context(), "ald-00003", 3)
				if err != nil || len(f.Jobs) != 1 {
					t.Errorf("search %+v, %v", f, err)
				}
			})
		}
	})
	if lite, pg := newest["TestEarlierSchemas/sqlite"], newest["TestEarlierSchemas/postgres"]; pg != 0 && lite != pg {
		t.Errorf("the engines have schemas of different versions: %v", newest)
	}
}
