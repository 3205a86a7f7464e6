//go:build !unix

package outfile

import "io/fs"

// alone is always true where files carry neither owner nor count of names in their mode.
func alone(fs.FileInfo) bool { return true }
