package store

import (
	"errors"
	"math"
	"os"

	"golang.org/x/sys/windows"
)

// tryLock locks a file for this process without waiting. The byte that is locked lies far behind the end, so that others can read who
// has the lock: what is locked here nobody else can read.
func tryLock(f *os.File) error {
	at := &windows.Overlapped{Offset: 0, OffsetHigh: math.MaxInt32}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errHeld
	}
	return os.NewSyscallError("LockFileEx", err)
}
