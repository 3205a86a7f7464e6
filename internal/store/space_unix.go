//go:build linux || darwin || freebsd

package store

import "syscall"

// freeBytes is how many bytes the user of the process may still write to the disk of a folder.
func freeBytes(dir string) (uint64, bool) {
	var at syscall.Statfs_t
	if err := syscall.Statfs(dir, &at); err != nil {
		return 0, false
	}
	return uint64(at.Bavail) * uint64(at.Bsize), true //nolint:unconvert // the types differ by system
}
