//go:build !linux && !darwin && !freebsd && !windows

package store

// freeBytes is not known here.
func freeBytes(string) (uint64, bool) { return 0, false }
