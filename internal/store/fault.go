package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"io"
	"io/fs"
	"net"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"github.com/evenstroke/evenstroke/internal/record"
)

// fault turns an error of a database into one that says what to do. A fault passes as it is. That the database is damaged is noted.
func (s *Store) fault(doing string, err error) error { return s.hears(s.faultOf(doing, err)) }

func (s *Store) faultOf(doing string, err error) error {
	var f *record.Fault
	if err == nil || errors.As(err, &f) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	code, found, mend := otherFault()
	var lite *sqlite.Error
	var pg *pgconn.PgError
	switch {
	case errors.Is(err, sql.ErrNoRows):
		code, found, mend = record.NotFound, "nothing", ""
	case errors.As(err, &lite):
		code, found, mend = sqliteFault(lite.Code())
	case errors.As(err, &pg):
		code, found, mend = postgresFault(pg.Code)
	case errors.Is(err, syscall.ENOSPC):
		code, found, mend = fullFault()
	case strings.Contains(err.Error(), "sql: Scan error on column"): // a row whose value is of another type than its column
		code, found, mend = record.Damaged, "a damaged database", "restore a backup"
	case s.engine == PostgreSQL && gone(err):
		code, found, mend = awayFault()
	}
	return &record.Fault{Code: code, Where: doing, Found: found, Mend: mend, Err: err}
}

func otherFault() (record.Code, string, string) {
	return record.Internal, "an error of the database", "see the log of the server"
}

func awayFault() (record.Code, string, string) {
	return record.Away, "a database server that does not answer", "try again; when it stays away, look whether it runs"
}

// gone says whether an error is of a server that could not be reached, or that went away in between.
func gone(err error) bool {
	var ne net.Error
	var ce *pgconn.ConnectError
	return errors.As(err, &ce) || errors.As(err, &ne) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.EOF) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || pgconn.SafeToRetry(err) ||
		strings.Contains(err.Error(), "conn closed")
}

func fullFault() (record.Code, string, string) {
	return record.Full, "no space left on the disk", "free some space; what was entered before is safe, this entry was not taken"
}

func sqliteFault(code int) (record.Code, string, string) {
	switch code {
	case sqlite3.SQLITE_CONSTRAINT_UNIQUE, sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY:
		return taken()
	}
	switch code & 0xff {
	case sqlite3.SQLITE_FULL:
		return fullFault()
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return record.ReadOnly, "a file or folder that cannot be written", "let the program's user write there; what was entered before is safe, this entry was not taken"
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return record.Damaged, "a damaged database file", "restore a backup"
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return record.TooMany, "a database busy with something else", "try again"
	case sqlite3.SQLITE_IOERR:
		return record.Full, "a disk that does not write or read", "look at the disk; what was entered before is safe, this entry was not taken"
	}
	return otherFault()
}

func postgresFault(code string) (record.Code, string, string) {
	switch code {
	case "53100":
		return fullFault()
	case "25006", "42501":
		return record.ReadOnly, "a database that cannot be written", "let the program's user write there; what was entered before is safe, this entry was not taken"
	case "XX001", "XX002":
		return record.Damaged, "a damaged database", "restore a backup"
	case "53300", "55P03":
		return record.TooMany, "a database busy with something else", "try again"
	case "57P01", "57P02", "57P03":
		return awayFault()
	case "22021", "22P05", "22003":
		return record.Invalid, "a value that cannot be kept", "type it again"
	case "23505":
		return taken()
	}
	if strings.HasPrefix(code, "08") {
		return awayFault()
	}
	return otherFault()
}

func taken() (record.Code, string, string) {
	return record.Conflict, "something that is there already", "make a new one"
}

func fileFault(path string, err error) error {
	code, mend := record.ReadOnly, "let the program's user write there, or name another file"
	if errors.Is(err, syscall.ENOSPC) {
		code, mend = record.Full, "free some space"
	}
	var pe *fs.PathError
	found := "an error"
	if errors.As(err, &pe) {
		found = pe.Err.Error()
	}
	return &record.Fault{Code: code, Where: path, Found: found, Want: "a file that can be written", Mend: mend, Err: err}
}

// unique says whether an error is of a row that is there already.
func unique(err error) bool {
	var lite *sqlite.Error
	var pg *pgconn.PgError
	if errors.As(err, &lite) {
		return lite.Code() == sqlite3.SQLITE_CONSTRAINT_UNIQUE || lite.Code() == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY
	}
	return errors.As(err, &pg) && pg.Code == "23505"
}

// again says whether a transaction may be tried again as it is.
func again(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && (pg.Code == "40001" || pg.Code == "40P01") || unique(err)
}
