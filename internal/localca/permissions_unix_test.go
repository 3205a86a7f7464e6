//go:build !windows

package localca

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Windows has no mode bits.
func TestPermissions(t *testing.T) {
	dir, c := filepath.Join(t.TempDir(), "a", "tls"), newClock()
	a := open(t, dir, c)
	if err := handshakeOnce(a); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]os.FileMode{dir: 0o700, a.path(authorityFile): 0o600, a.path(serverFile): 0o600} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != want {
			t.Errorf("%s has mode %04o, want %04o", name, info.Mode().Perm(), want)
		}
		for _, loose := range []os.FileMode{want | 0o040, want | 0o004, want | 0o020, want | 0o001} {
			if err := os.Chmod(name, loose); err != nil {
				t.Fatal(err)
			}
			_, err := Open(dir, c.now)
			var fe *FileError
			if !errors.As(err, &fe) || fe.File != name || !strings.Contains(err.Error(), "chmod") {
				t.Errorf("%s with mode %04o: %v", name, loose, err)
			}
		}
		if err := os.Chmod(name, want); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Open(dir, c.now); err != nil {
		t.Error(err)
	}
}
