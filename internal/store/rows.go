package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
)

// maxParams is how many parameters one statement takes: SQLite 32,766, PostgreSQL 65,535.
const maxParams = 30000

// inserter adds many rows to a table with few statements.
type inserter struct {
	tx     *sql.Tx
	head   string // INSERT … VALUES
	tail   string // RETURNING …, or ""
	cols   int
	most   int  // rows a statement
	lite   bool // SQLite: "?" is found at once, "$n" is looked up by its name among all the others
	args   []any
	full   *sql.Stmt
	answer func(scanner) error // reads what RETURNING gives; nil when there is no tail
}

func (s *Store) newInserter(tx *sql.Tx, table, columns string) *inserter {
	cols := strings.Count(columns, ",") + 1
	return &inserter{tx: tx, lite: s.engine == SQLite, head: `INSERT INTO ` + table + ` (` + columns + `) VALUES `, cols: cols, most: min(100, maxParams/cols)}
}

// add adds a row; it is sent with others.
func (n *inserter) add(ctx context.Context, row []any) error {
	if len(row) != n.cols {
		return fmt.Errorf("store: %d values for %d columns", len(row), n.cols)
	}
	n.args = append(n.args, row...)
	if len(n.args) < n.cols*n.most {
		return nil
	}
	return n.flush(ctx)
}

// flush sends the rows that wait.
func (n *inserter) flush(ctx context.Context) error {
	if len(n.args) == 0 {
		return nil
	}
	rows := len(n.args) / n.cols
	if rows == n.most && n.full == nil {
		var err error
		if n.full, err = n.tx.PrepareContext(ctx, n.text(rows)); err != nil {
			return err
		}
	}
	args := n.args
	n.args = n.args[:0]
	switch {
	case n.answer != nil && rows == n.most:
		return eachOf(n.answer)(n.full.QueryContext(ctx, args...))
	case n.answer != nil:
		return each(ctx, n.tx, n.answer, n.text(rows), args...)
	case rows == n.most:
		_, err := n.full.ExecContext(ctx, args...)
		return err
	}
	_, err := n.tx.ExecContext(ctx, n.text(rows), args...)
	return err
}

func (n *inserter) text(rows int) string {
	var b strings.Builder
	b.WriteString(n.head)
	for r := range rows {
		for c := range n.cols {
			switch {
			case c > 0:
				b.WriteString(", ")
			case r > 0:
				b.WriteString("), (")
			default:
				b.WriteString("(")
			}
			if n.lite {
				b.WriteString("?")
			} else {
				fmt.Fprintf(&b, "$%d", r*n.cols+c+1)
			}
		}
	}
	b.WriteString(") ")
	b.WriteString(n.tail)
	return b.String()
}
