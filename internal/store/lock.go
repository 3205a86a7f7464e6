package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Two servers on one SQLite file would each answer from what they remember and not hear of what the other wrote. So whoever serves,
// restores or takes archives in holds the file for itself, by a lock of the operating system on a file beside it. The system lets go
// of such a lock when its process ends, however it ends: what stands in the file only says who, and never locks anybody out.

// lockSuffix is what the name of the lock file has after that of the database file.
const lockSuffix = ".lock"

// errHeld says that another process has the lock.
var errHeld = errors.New("store: held by another process")

// migration is what has the lock while it brings the schema up to date: some seconds. Whoever else has it keeps it.
const migration = "migration"

// holder is who has the lock, as it stands in the lock file.
type holder struct {
	What  string    `json:"what"` // the command
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

// heldError is errHeld with who it is.
type heldError struct{ holder }

func (heldError) Error() string { return errHeld.Error() }
func (heldError) Unwrap() error { return errHeld }

// soon says whether an error is of a lock that is let go soon.
func soon(err error) bool {
	var h heldError
	return errors.As(err, &h) && (h.What == migration || h.PID == 0)
}

func (h holder) String() string {
	if h.PID == 0 {
		return "another process"
	}
	return fmt.Sprintf("evenstroke %s (process %d on %s), since %s", h.What, h.PID, h.Host, h.Since.Local().Format(time.DateTime))
}

// lock is a lock that this process has.
type fileLock struct{ file *os.File }

// takeLock takes the lock of the database file at path for a command. Errors: a *record.Fault of code NotAllowed that says who has it.
func takeLock(path, what string, now time.Time) (*fileLock, error) {
	name := path + lockSuffix
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fileFault(name, err)
	}
	if err := tryLock(f); err != nil {
		var h holder
		if errors.Is(err, errHeld) {
			h = readHolder(f)
			err = &record.Fault{Code: record.NotAllowed, Where: path, Found: "it in use by " + h.String(), Want: "a database that no other process keeps",
				Mend: "stop that process, or name another folder; backup and verify work beside it", Err: heldError{h}}
		} else {
			err = fileFault(name, err)
		}
		return nil, errors.Join(err, f.Close())
	}
	l := &fileLock{f}
	host, err := os.Hostname()
	if err == nil {
		err = l.sign(holder{What: what, PID: os.Getpid(), Host: host, Since: now.UTC().Truncate(time.Second)})
	}
	if err != nil {
		return nil, errors.Join(fileFault(name, err), l.release())
	}
	return l, nil
}

func (l *fileLock) sign(h holder) error {
	text, err := json.Marshal(h)
	if err != nil {
		return err
	}
	if err := l.file.Truncate(0); err != nil {
		return err
	}
	_, err = l.file.WriteAt(append(text, '\n'), 0)
	return err
}

// readHolder reads who has the lock; nobody's name when it was taken just now and is not written yet, or cannot be read.
func readHolder(f *os.File) holder {
	var h holder
	text, err := io.ReadAll(io.NewSectionReader(f, 0, 4096))
	if err != nil || json.Unmarshal(text, &h) != nil {
		return holder{}
	}
	return h
}

// release lets go of the lock. The file stays: who removed it could remove one that another process has just locked.
func (l *fileLock) release() error {
	if l == nil {
		return nil
	}
	return errors.Join(l.file.Truncate(0), l.file.Close())
}
