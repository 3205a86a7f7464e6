package arch

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// A test that the run with the race detector leaves out (HEAVY of the Makefile) is run without it: it is in a package of APART, and in no other,
// where it would not be run at all.
func TestWhatIsSkippedIsRunApart(t *testing.T) {
	root := filepath.Join("..", "..")
	makefile, err := os.ReadFile(filepath.Join(root, "Makefile"))
	if err != nil {
		t.Fatal(err)
	}
	line := func(pattern string) string {
		m := regexp.MustCompile(`(?m)^` + pattern).FindSubmatch(makefile)
		if m == nil {
			t.Fatalf("the Makefile has no line %s", pattern)
		}
		return string(m[1])
	}
	names := strings.Split(line(`HEAVY = \^\((.*)\)\$\$$`), "|")
	apart := strings.Fields(line(`APART = .*-timeout 60m (.*)$`))
	in := map[string][]string{}
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && d.Name() == "node_modules" {
			return fs.SkipDir
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(path)
		for _, n := range names {
			if strings.Contains(string(text), "\nfunc "+n+"(t *testing.T)") {
				rel, _ := filepath.Rel(root, filepath.Dir(path))
				in[n] = append(in[n], "./"+filepath.ToSlash(rel))
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if len(in[n]) != 1 || !slices.Contains(apart, in[n][0]) {
			t.Errorf("%s is in %v; expected one of %v", n, in[n], apart)
		}
	}
}
