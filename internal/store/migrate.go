package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"github.com/evenstroke/evenstroke/internal/record"
)

//go:embed migrations
var migrations embed.FS

// mark is the application_id of SQLite files of this program: "EVST". Migration 1 writes it.
const mark = 0x45565354

// sqliteOurs looks at a file, without changing it, and refuses one that another program made. An empty file is taken.
func sqliteOurs(path string) (err error) {
	db, err := sql.Open("sqlite", fileURL(path)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var id, tables int64
	err = db.QueryRow(`PRAGMA application_id`).Scan(&id)
	if err == nil {
		err = db.QueryRow(`SELECT count(*) FROM sqlite_schema`).Scan(&tables)
	}
	if err != nil {
		return (&Store{engine: SQLite}).fault(path, err)
	}
	if id != mark && tables > 0 {
		return record.Faultf(record.Invalid, path, "a database of another program", "a file that this program made", "name another file")
	}
	return nil
}

// ours refuses a PostgreSQL database that cannot hold every text.
func (s *Store) ours(ctx context.Context) error {
	if s.engine == SQLite {
		return nil
	}
	var code string
	if err := s.read.QueryRowContext(ctx, `SHOW server_encoding`).Scan(&code); err != nil {
		return s.fault("opening the database", err)
	}
	if code != "UTF8" {
		return record.Faultf(record.Invalid, "the database", "encoding "+code, "encoding UTF8", "make it with ENCODING 'UTF8'")
	}
	return nil
}

// migrator runs the schema scripts of the engine.
func (s *Store) migrator() (*goose.Provider, error) {
	dir, dialect := "migrations/sqlite", goose.DialectSQLite3
	var opts []goose.ProviderOption
	if s.engine == PostgreSQL {
		dir, dialect = "migrations/postgres", goose.DialectPostgres
		locker, err := lock.NewPostgresSessionLocker()
		if err != nil {
			return nil, fmt.Errorf("store: %w", err)
		}
		opts = append(opts, goose.WithSessionLocker(locker))
	}
	sub, err := fs.Sub(migrations, dir)
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	return goose.NewProvider(dialect, s.write, sub, opts...)
}

// migrate brings the schema up to the version of this program, forward only.
func (s *Store) migrate(ctx context.Context) error {
	p, err := s.migrator()
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	have, err := p.GetDBVersion(ctx)
	if err != nil {
		return s.fault("opening the database", err)
	}
	known := p.ListSources()
	if newest := known[len(known)-1].Version; have > newest {
		return record.Faultf(record.Newer, "the database", fmt.Sprintf("schema %d", have), fmt.Sprintf("at most %d, which this version knows", newest), "start the newer version of the program; nothing was changed")
	}
	if _, err := p.Up(ctx); err != nil {
		return s.fault("bringing the database up to date", err)
	}
	return nil
}
