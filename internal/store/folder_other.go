//go:build !unix

package store

// syncFolder does nothing: this system has no such call, and keeps names itself.
func syncFolder(string) error { return nil }
