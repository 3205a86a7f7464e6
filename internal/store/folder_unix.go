//go:build unix

package store

import (
	"errors"
	"os"
)

// syncFolder brings the names in a folder to the disk.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fileFault(dir, err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return fileFault(dir, err)
	}
	return nil
}
