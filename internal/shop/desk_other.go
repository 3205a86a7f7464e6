//go:build !linux

package shop

// standBack does nothing: only Linux gives each thread a priority of its own.
func standBack() {}
