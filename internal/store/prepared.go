package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"

	"modernc.org/sqlite"
)

// SQLite has to read and plan each query anew, which takes longer than most of them run. So each connection keeps its statements, as
// pgx does with PostgreSQL.

// statementsKept is how many a connection keeps, some 10 kB each. Nearly all texts come again and again.
const statementsKept = 150

// openPrepared opens a database whose connections keep their statements.
func openPrepared(dsn string) (*sql.DB, error) {
	c, err := sqlite.NewConnector(dsn)
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	return sql.OpenDB(connector{c}), nil
}

type connector struct{ driver.Connector }

func (c connector) Connect(ctx context.Context) (driver.Conn, error) {
	inner, err := c.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	conn, ok := inner.(connection)
	if !ok {
		return nil, fmt.Errorf("store: a connection of type %T cannot keep statements", inner)
	}
	return &prepared{connection: conn, kept: map[string]*statement{}}, nil
}

// connection is what package sql uses of a connection.
type connection interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
}

// prepared is a connection with the statements it has run. One goroutine at a time uses it, as package sql promises.
type prepared struct {
	connection
	kept map[string]*statement
}

type statement struct {
	driver.Stmt
	run interface {
		driver.StmtExecContext
		driver.StmtQueryContext
	}
	busy bool // its rows are being read
}

// statement gives the statement of a text; nil when it is busy: the text is then run as if it were new.
func (p *prepared) statement(ctx context.Context, query string) (*statement, error) {
	if s, ok := p.kept[query]; ok {
		if s.busy {
			return nil, nil
		}
		return s, nil
	}
	if len(p.kept) >= statementsKept {
		if err := p.forget(); err != nil {
			return nil, err
		}
	}
	inner, err := p.PrepareContext(ctx, query)
	if err != nil {
		return nil, err
	}
	s := &statement{Stmt: inner}
	var ok bool
	if s.run, ok = inner.(interface {
		driver.StmtExecContext
		driver.StmtQueryContext
	}); !ok {
		return nil, fmt.Errorf("store: a statement of type %T cannot be kept", inner)
	}
	p.kept[query] = s
	return s, nil
}

// forget drops the statements that are not busy.
func (p *prepared) forget() error {
	for query, s := range p.kept {
		if s.busy {
			continue
		}
		delete(p.kept, query)
		if err := s.Close(); err != nil {
			return err
		}
	}
	return nil
}

// ExecContext runs a kept statement.
func (p *prepared) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	s, err := p.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return p.connection.ExecContext(ctx, query, args)
	}
	return s.run.ExecContext(ctx, args)
}

// QueryContext runs a kept statement.
func (p *prepared) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	s, err := p.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	if s == nil {
		return p.connection.QueryContext(ctx, query, args)
	}
	r, err := s.run.QueryContext(ctx, args)
	if err != nil {
		return nil, err
	}
	s.busy = true
	return &rowsOf{r, s}, nil
}

// Unwrap gives the connection inside, for package sqlite.
func (p *prepared) Unwrap() driver.Conn { return p.connection }

// Close drops the statements and closes the connection.
func (p *prepared) Close() error {
	for _, s := range p.kept {
		s.busy = false
	}
	err := p.forget()
	if e := p.connection.Close(); err == nil {
		err = e
	}
	return err
}

// rowsOf are rows that make their statement free when they are closed.
type rowsOf struct {
	driver.Rows
	s *statement
}

func (r *rowsOf) Close() error {
	err := r.Rows.Close()
	r.s.busy = false
	return err
}
