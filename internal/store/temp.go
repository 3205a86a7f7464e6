package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// tempPrefix begins the name of a folder in which a copy is made.
const tempPrefix = ".evenstroke-"

// tempFolder makes a folder beside the target, so that a rename does not cross disks, and clears those of runs that were killed. drop
// removes it with all that is in it.
func tempFolder(dir string) (temp string, drop func() error, err error) {
	if err := sweep(dir); err != nil {
		return "", nil, err
	}
	temp, err = os.MkdirTemp(dir, tempPrefix)
	if err != nil {
		return "", nil, fileFault(dir, err)
	}
	l, err := takeLock(inUse(temp), "copy", time.Now())
	if err != nil {
		return "", nil, errors.Join(err, os.RemoveAll(temp))
	}
	return temp, func() error { return errors.Join(l.release(), os.RemoveAll(temp)) }, nil
}

// inUse is what is locked in a temporary folder while it is used.
func inUse(temp string) string { return filepath.Join(temp, "in-use") }

// sweep removes the temporary folders whose process has ended. One without a lock is left: it is just being made, or is none of ours.
func sweep(dir string) error {
	found, err := os.ReadDir(dir)
	if err != nil {
		return fileFault(dir, err)
	}
	var errs []error
	for _, d := range found {
		temp := filepath.Join(dir, d.Name())
		if !strings.HasPrefix(d.Name(), tempPrefix) {
			continue
		}
		if _, err := os.Lstat(inUse(temp) + lockSuffix); err != nil {
			continue
		}
		l, err := takeLock(inUse(temp), "copy", time.Now())
		if errors.Is(err, errHeld) || errors.Is(err, fs.ErrPermission) {
			continue // in use, or somebody else's
		}
		if err == nil {
			err = errors.Join(l.release(), os.RemoveAll(temp))
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}
