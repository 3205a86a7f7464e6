package store

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
)

func TestPrepared(t *testing.T) {
	db, err := openPrepared(sqliteDSN(filepath.Join(t.TempDir(), "x.db"), "_txlock=immediate"))
	must(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	exec := func(query string, args ...any) {
		t.Helper()
		_, err := db.ExecContext(t.Context(), query, args...)
		must(t, err)
	}
	sum := func(query string, args ...any) (n int) {
		t.Helper()
		must(t, db.QueryRowContext(t.Context(), query, args...).Scan(&n))
		return n
	}
	const put, from = `INSERT INTO x (a) VALUES ($1)`, `SELECT a FROM x WHERE a >= $1 ORDER BY a`
	exec(`CREATE TABLE x (a INTEGER PRIMARY KEY); CREATE TABLE y (a INTEGER)`)
	for i := range 5 {
		exec(put, i+1)
	}
	if _, err := db.ExecContext(t.Context(), put, 3); err == nil {
		t.Error("a key can be put in twice")
	}
	exec(put, 6) // the statement that failed is whole again

	t.Run("its rows are still read", func(t *testing.T) {
		must(t, once(t.Context(), db, func(ctx context.Context, tx *sql.Tx) error {
			var got [][2]int
			err := each(ctx, tx, func(outer scanner) error {
				var a int
				if err := outer.Scan(&a); err != nil {
					return err
				}
				return each(ctx, tx, func(inner scanner) error {
					var b int
					defer func() { got = append(got, [2]int{a, b}) }()
					return inner.Scan(&b)
				}, from, 5)
			}, from, 4)
			if fmt.Sprint(got) != "[[4 5] [4 6] [5 5] [5 6] [6 5] [6 6]]" {
				t.Errorf("%v", got)
			}
			return err
		}))
	})
	t.Run("more than are kept", func(t *testing.T) {
		for i := range 3 * statementsKept {
			if n := sum(fmt.Sprintf(`SELECT count(*) + %d FROM x`, i)); n != 6+i {
				t.Fatalf("query %d gives %d", i, n)
			}
		}
	})
	t.Run("the tables change", func(t *testing.T) {
		all := `SELECT count(*) FROM x WHERE a > $1`
		if n := sum(all, 0); n != 6 {
			t.Error(n)
		}
		exec(`DROP TABLE y`)
		exec(`ALTER TABLE x ADD COLUMN b INTEGER DEFAULT 7`)
		exec(`CREATE INDEX by_b ON x (b)`)
		if n := sum(all, 2); n != 4 || sum(`SELECT sum(b) FROM x`) != 42 {
			t.Error(n)
		}
	})
	t.Run("a call that is called off", func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		rows, err := db.QueryContext(ctx, from, 0)
		must(t, err)
		rows.Next()
		stop()
		for rows.Next() {
		}
		if err := rows.Close(); err != nil && ctx.Err() == nil {
			t.Error(err)
		}
		if n := sum(from, 2); n != 2 {
			t.Error(n)
		}
	})
}
