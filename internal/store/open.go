package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/stdlib"
	_ "modernc.org/sqlite" // registers the driver "sqlite"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Engine is the database behind a store.
type Engine string

// The engines.
const (
	SQLite     Engine = "sqlite"
	PostgreSQL Engine = "postgresql"
)

// Store keeps the records. It is safe for concurrent use.
type Store struct {
	engine  Engine
	path    string    // of the SQLite file
	place   string    // for people
	lock    *fileLock //  of the SQLite file, when this process keeps it for itself
	schema  Schema
	write   *sql.DB // one connection with SQLite
	read    *sql.DB
	queue   *queue // of SQLite
	now     func() time.Time
	newest  atomic.Int64 // the latest time given to an entry, µs: shows a clock that was set back
	health  health
	free    func(dir string) (uint64, bool) // bytes free on a disk
	decoded *Recent[string, record.Summary] // by their text
	kept    atomic.Int64                    // writes of this process that may have changed the catalogue
	lanes   lanes
	common  *Recent[sought, glimpse[spread]]
	board   atomic.Pointer[boardOf]
	glances glances
}

// summariesKept is half of how many summaries are kept decoded, some 1 kB each.
const summariesKept = 1500

// Options for Open.
type Options struct {
	Now func() time.Time // the clock; nil is time.Now

	// Alone is the command that keeps an SQLite file for itself until Close, as "serve"; "" shares it. Another that wants the same is
	// refused with code NotAllowed. With PostgreSQL any number of processes keep one database.
	Alone string

	// Migrating is told before the schema is brought up to date; nil is nobody.
	Migrating func(Schema)

	// Ails is told once when a grave trouble begins, see Troubles; nil is nobody.
	Ails func(Trouble)
}

// Open opens a store and brings its schema up to date. where is a file for SQLite (made when it is not there) or an address
// as postgres://user@host/database?sslmode=verify-full. Errors: a *record.Fault of code Newer for a database written by a newer version, of
// ReadOnly, Full or Damaged for a file that cannot be used.
func Open(ctx context.Context, where string, opt Options) (*Store, error) {
	s := &Store{now: opt.Now, free: freeBytes, health: health{tell: opt.Ails}, decoded: NewRecent[string, record.Summary](summariesKept), common: NewRecent[sought, glimpse[spread]](commonKept)}
	if s.now == nil {
		s.now = time.Now
	}
	var err error
	if isAddress(where) {
		err = s.openPostgres(where)
	} else {
		err = s.openSQLite(where, opt.Alone)
	}
	if err != nil {
		return nil, err
	}
	migrate := func(ctx context.Context) error { return s.migrate(ctx, opt.Migrating) }
	for _, step := range []func(context.Context) error{s.ours, migrate, s.warm} {
		if err := step(ctx); err != nil {
			return nil, errors.Join(err, s.Close())
		}
	}
	return s, nil
}

// isAddress says whether where is an address of a PostgreSQL database and not a file.
func isAddress(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

func (s *Store) openPostgres(where string) error {
	conf, err := postgresConfig(where)
	if err != nil {
		return err
	}
	conf.RuntimeParams["jit"] = "off" // no query here is so long that compiling it, or sharing it out, pays
	conf.RuntimeParams["max_parallel_workers_per_gather"] = "0"
	db := stdlib.OpenDB(*conf)
	db.SetMaxOpenConns(16)
	db.SetMaxIdleConns(16)
	db.SetConnMaxIdleTime(5 * time.Minute)
	s.engine, s.write, s.read = PostgreSQL, db, db
	s.place = fmt.Sprintf("database %s on %s", conf.Database, conf.Host)
	return nil
}

func (s *Store) openSQLite(path, alone string) (err error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("store: %s: %w", path, err)
	}
	if err := os.MkdirAll(filepath.Dir(abs), 0o700); err != nil {
		return fileFault(abs, err)
	}
	if alone != "" {
		if s.lock, err = takeLock(abs, alone, s.now()); err != nil {
			return err
		}
		defer func() {
			if err != nil {
				err = errors.Join(err, s.lock.release())
			}
		}()
	}
	if err := ownerOnly(abs); err != nil {
		return err
	}
	if err := sqliteOurs(abs); err != nil {
		return err
	}
	s.engine, s.path, s.place = SQLite, abs, abs
	if s.write, err = openPrepared(sqliteDSN(abs, "_txlock=immediate")); err != nil {
		return err
	}
	s.write.SetMaxOpenConns(1)
	if s.read, err = openPrepared(sqliteDSN(abs, "_pragma=query_only(1)")); err != nil {
		return errors.Join(err, s.write.Close())
	}
	n := max(4, 2*runtime.NumCPU())
	s.read.SetMaxOpenConns(n)
	s.read.SetMaxIdleConns(n)
	s.queue = newQueue(s.write)
	return nil
}

// ownerOnly makes the file when it is not there, readable for its owner only: it holds customers and their pumps.
func ownerOnly(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return fileFault(path, err)
	}
	return f.Close()
}

func fileURL(path string) string {
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath()}
	return u.String()
}

func sqliteDSN(path, extra string) string {
	return fileURL(path) + "?" + extra + "&_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)" +
		"&_pragma=foreign_keys(1)&_pragma=temp_store(MEMORY)&_pragma=" + fmt.Sprintf("cache_size(%d)", -cacheKB)
}

// warm reads the time of the newest entries, against which the clock is compared.
func (s *Store) warm(ctx context.Context) error {
	var at sql.NullInt64
	if err := s.read.QueryRowContext(ctx, `SELECT max(stored) FROM (SELECT stored FROM entry ORDER BY id DESC LIMIT 100) AS newest`).Scan(&at); err != nil {
		return s.fault("reading the newest entry", err)
	}
	s.newest.Store(at.Int64)
	return nil
}

// Engine says which database is behind the store.
func (s *Store) Engine() Engine { return s.engine }

// Path is the SQLite file, "" with PostgreSQL.
func (s *Store) Path() string { return s.path }

// Place says where the records are, for people: the file, or the database and its host.
func (s *Store) Place() string { return s.place }

// Ping asks the database for an answer.
func (s *Store) Ping(ctx context.Context) error {
	var one int
	return s.fault("asking the database", s.read.QueryRowContext(ctx, `SELECT 1`).Scan(&one))
}

// ClockBehind says by how much the server's clock is behind the newest entry; 0 is well.
func (s *Store) ClockBehind() time.Duration {
	late := time.UnixMicro(s.newest.Load()).Sub(s.now())
	if late <= slack {
		return 0
	}
	return late
}

// Close closes the store; a transaction that has begun is brought to its end.
func (s *Store) Close() error {
	if s.engine == PostgreSQL {
		return s.write.Close()
	}
	s.queue.close()
	return errors.Join(s.read.Close(), s.write.Close(), s.lock.release())
}
