//go:build unix

package outfile

import (
	"io/fs"
	"os"
	"syscall"
)

// alone says whether a file has one name and belongs to who runs the program: another would lose its owner, or its other names, when a
// new file took its place.
func alone(st fs.FileInfo) bool {
	s, ok := st.Sys().(*syscall.Stat_t)
	return ok && s.Nlink == 1 && int(s.Uid) == os.Geteuid() && int(s.Gid) == os.Getegid()
}
