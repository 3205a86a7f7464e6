package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Whoever may write the database can make every digest anew, and then nothing in it shows that it was changed. What was kept elsewhere
// does: a backup, or a digest that was written down.

// leastMark is how many hexadecimal digits of a digest are enough to tell it from one that somebody made to look like it: 128 bits.
const leastMark = 32

// Expect looks whether a digest that was kept elsewhere still stands in the store: of a link of the chain of the shop, or of an entry. text is
// the digest, or its first 32 hexadecimal digits or more; dashes and spaces do not count. What is not found is a problem of the report.
func (s *Store) Expect(ctx context.Context, text string, r *Report) error {
	want := strings.ToLower(strings.NewReplacer("-", "", " ", "").Replace(text))
	if _, err := hex.DecodeString(want + strings.Repeat("0", len(want)%2)); err != nil || len(want) < leastMark || len(want) > hex.EncodedLen(len(record.Digest{})) {
		return record.Faultf(record.Invalid, "the expected digest", quoted(text), "32 to 64 hexadecimal digits", "copy it as it was printed")
	}
	for _, table := range []string{"link", "entry"} {
		found := false
		err := each(ctx, s.read, func(row scanner) error {
			var hash []byte
			err := row.Scan(&hash)
			found = found || strings.HasPrefix(hex.EncodeToString(hash), want)
			return err
		}, `SELECT hash FROM `+table)
		if err != nil {
			return s.fault("looking for a digest", err)
		}
		if found {
			return nil
		}
	}
	r.wrong("the expected digest", "%s stands nowhere: what it was the digest of was changed or removed", want)
	return nil
}

// kept is a table of which each row of a backup must stand in the store as it is, by its first column.
type kept struct{ table, columns, what string }

var keptForGood = []kept{
	{"entry", entryColumns, "entry"},
	{"origin", originColumns, "the origin of entry"},
	{"link", "n, entry, entry_hash, prev, hash", "link"},
}

// Against looks whether each entry, each link and each origin of a backup stands unchanged in the store. What does not is a problem of the
// report. The backup is not changed.
func (s *Store) Against(ctx context.Context, file string, r *Report) (err error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return fmt.Errorf("store: %s: %w", file, err)
	}
	if err := sqliteOurs(file); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", fileURL(abs)+"?mode=ro&_pragma=busy_timeout(10000)&_pragma=query_only(1)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	lite := &Store{engine: SQLite}
	for _, k := range keptForGood {
		var there int64
		if err := db.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema WHERE name = $1`, k.table).Scan(&there); err != nil {
			return lite.fault(file, err)
		}
		if there == 0 {
			continue // a backup of an earlier version
		}
		if err := s.stands(ctx, db, file, k, r); err != nil {
			return lite.fault(file, err)
		}
	}
	return nil
}

// stands compares the rows of a table in pages.
func (s *Store) stands(ctx context.Context, backup *sql.DB, file string, k kept, r *Report) error {
	id, _, _ := strings.Cut(k.columns, ",")
	query := `SELECT ` + k.columns + ` FROM ` + k.table + ` WHERE ` + id + ` > $1 AND ` + id + ` <= $2 ORDER BY ` + id
	last := int64(-1)
	for {
		var upTo sql.NullInt64
		err := backup.QueryRowContext(ctx, `SELECT max(i) FROM (SELECT `+id+` AS i FROM `+k.table+` WHERE `+id+` > $1 ORDER BY `+id+` LIMIT $2)`, last, pageRows).Scan(&upTo)
		if err != nil || !upTo.Valid {
			return err
		}
		was, err := rowsByID(ctx, backup, query, last, upTo.Int64)
		if err != nil {
			return err
		}
		is, err := rowsByID(ctx, s.read, query, last, upTo.Int64)
		if err != nil {
			return s.fault("reading", err)
		}
		here := make(map[int64][]any, len(is))
		for _, row := range is {
			here[row.number] = row.values
		}
		for _, row := range was {
			switch have, ok := here[row.number]; {
			case !ok:
				r.wrong("against "+file, "%s %d of the store is missing", k.what, row.number)
			case !sameRow(have, row.values):
				r.wrong("against "+file, "%s %d of the store is not what it was", k.what, row.number)
			}
		}
		last = upTo.Int64
	}
}

func rowsByID(ctx context.Context, q querier, query string, from, upTo int64) ([]tableRow, error) {
	var out []tableRow
	rows, err := q.QueryContext(ctx, query, from, upTo)
	if err != nil {
		return nil, err
	}
	columns, err := rows.Columns()
	if err != nil {
		return nil, errors.Join(err, rows.Close())
	}
	err = eachOf(func(row scanner) error {
		vals, ptrs := make([]any, len(columns)), make([]any, len(columns))
		for i := range vals {
			ptrs[i] = &vals[i]
		}
		if err := row.Scan(ptrs...); err != nil {
			return err
		}
		n, ok := vals[0].(int64)
		if !ok {
			return fmt.Errorf("store: a number of type %T", vals[0])
		}
		out = append(out, tableRow{n, vals})
		return nil
	})(rows, nil)
	return out, err
}

func sameRow(a, b []any) bool {
	for i := range a {
		x, okX := a[i].([]byte)
		y, okY := b[i].([]byte)
		if okX != okY || okX && !bytes.Equal(x, y) || !okX && a[i] != b[i] {
			return false
		}
	}
	return true
}
