package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"github.com/evenstroke/evenstroke/internal/record"
)

//go:embed migrations
var migrations embed.FS

// mark is the application_id of SQLite files of this program: "EVST". Migration 1 writes it.
const mark = 0x45565354

// sqliteOurs looks at a file, without changing it, and refuses one that another program made. An empty file is taken, and one in which there
// is only the table of versions: whoever made it was killed before the first script.
func sqliteOurs(path string) (err error) {
	db, err := sql.Open("sqlite", fileURL(path)+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var id, tables int64
	err = db.QueryRow(`SELECT (SELECT application_id FROM pragma_application_id), count(*) FROM sqlite_schema WHERE name NOT LIKE 'goose%' AND name NOT LIKE 'sqlite%'`).Scan(&id, &tables)
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

// Schema is the version of the schema of a database: what it was when it was opened, and what it is now.
type Schema struct{ From, To int64 }

// Schema says which version of the schema the database has, and had when it was opened; 0 is a new database.
func (s *Store) Schema() Schema { return s.schema }

// migrate brings the schema up to the version of this program, forward only. An SQLite file is locked meanwhile: who serves it with an
// earlier version does not know the new schema.
func (s *Store) migrate(ctx context.Context, tell func(Schema)) error {
	p, err := s.migrator()
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	have, err := s.version(ctx, p)
	if err != nil {
		return err
	}
	known := p.ListSources()
	s.schema = Schema{have, known[len(known)-1].Version}
	if have == s.schema.To {
		return nil
	}
	if have > s.schema.To {
		return newer(s.schema)
	}
	if tell != nil {
		tell(s.schema)
	}
	return s.alone(ctx, func() error {
		have, err := s.version(ctx, p) // another process may have done it meanwhile
		if err == nil && have > s.schema.To {
			err = newer(Schema{have, s.schema.To})
		}
		if err != nil {
			return err
		}
		_, err = p.Up(ctx)
		return s.fault("bringing the database up to date", err)
	})
}

func newer(v Schema) error {
	return record.Faultf(record.Newer, "the database", fmt.Sprintf("schema %d", v.From), fmt.Sprintf("at most %d, which this version knows", v.To), "start the newer version of the program; nothing was changed")
}

// version reads the version of the schema. A new SQLite file is left as it is: what asks for its version makes the table of versions, and
// two that do so at once get in each other's way.
func (s *Store) version(ctx context.Context, p *goose.Provider) (int64, error) {
	if s.engine == SQLite {
		var tables int64
		err := s.read.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&tables)
		if err != nil || tables == 0 {
			return 0, s.fault("opening the database", err)
		}
	}
	have, err := p.GetDBVersion(ctx)
	return have, s.fault("opening the database", err)
}

// Commands that open a file of an earlier version, or a new one, at the same time take turns.
const (
	turns    = 50
	turnTime = 100 * time.Millisecond
)

// alone runs fn while this process keeps the SQLite file for itself. It waits some seconds for others that do the same.
func (s *Store) alone(ctx context.Context, fn func() error) error {
	if s.engine != SQLite || s.lock != nil {
		return fn()
	}
	for n := 1; ; n++ {
		l, err := takeLock(s.path, migration, s.now())
		if err == nil {
			return errors.Join(fn(), l.release())
		}
		if !soon(err) || n == turns {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(turnTime):
		}
	}
}
