// Package outside finds programs of others with which tests check what this one made: readers of PDF, of ZIP, of certificates.
package outside

import (
	"os"
	"os/exec"
	"testing"
)

// Program gives the path of a program that comes with a package of Debian. Where there is none the test is left out; but it fails in
// continuous integration (CI=true) and where the tests were asked to install what they need (EVENSTROKE_INSTALL=1, by root), so that no
// check stays away unseen.
func Program(t testing.TB, name, pkg string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" || os.Getenv("EVENSTROKE_INSTALL") == "1" && os.Getuid() == 0 {
		t.Fatalf("%s is not there; install the package %s", name, pkg)
	}
	t.Skipf("%s is not there (package %s): what it would have said was not asked", name, pkg)
	return ""
}
