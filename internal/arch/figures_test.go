package arch

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// markOfPractice stands beside a fact of the trade that no source was found for.
const markOfPractice = "common practice, no published source"

// borrowed finds the two figures that are facts of the trade and not of this project (common practice, no published source): a
// rating of 3,300 psi, which is 227.5 bar, and 37 N·m (27 lbf·ft) on a piston valve joint, in the ways in which people write them.
var borrowed = regexp.MustCompile(`(?i)(^|[^0-9.,])(` +
	`3[,.' \x{a0}\x{2009}\x{202f}’]?300(\.0)?\s?(psi|lb|"|\*|$|\s\*\s)|3[.,]3\s?(k(psi|si)|(e\+?3|[x×·] ?10(\^3|³)) psi)` +
	`|22[78]([.,][0-9]+)?\s?(bar|e5)|22[.,][78][0-9]*\s?(MPa|N/mm|e6)|2275[0-9]{4}` +
	`|37([.,]0+)?\s?(N[·⋅*. -]?m($|[^m])|newton)|3[67][.,][0-9]+ N·m ± 4|27([.,][0-9])?\s?(lbf|lb|ft|foot)[-·. ]*(ft|lb|pound)` +
	`|torque: 37[^0-9.])`)

// TestBorrowedFigures: the two figures stand in tests, as check values that are marked, and nowhere else; the demo pumps and every
// example have figures of their own.
func TestBorrowedFigures(t *testing.T) {
	files := 0
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && slices.Contains([]string{".git", "node_modules", "dist", "rapid", "evenstroke-demo"}, name) {
			return fs.SkipDir
		}
		if !d.Type().IsRegular() || name == ".git" || name == "go.sum" || name == "package-lock.json" {
			return nil
		}
		files++
		data, err := os.ReadFile(path)
		if err != nil || !utf8.Valid(data) {
			return err
		}
		for _, line := range unmarked(filepath.ToSlash(path), string(data)) {
			t.Errorf("%s: a borrowed figure without its mark (%q): %.160s", path, markOfPractice, line)
		}
		return nil
	})
	if err != nil || files < 800 {
		t.Fatalf("%d files looked at, %v", files, err)
	}
}

// unmarked returns the lines with a borrowed figure that are not allowed: the mark has to stand in the same case of a reference
// file, in the same declaration of a Go test, or in the same row of a page of validation.
func unmarked(path, text string) []string {
	var out []string
	for _, part := range parts(path, text) {
		for _, line := range strings.Split(part, "\n") {
			if borrowed.MatchString(line) && !(inTest(path) && strings.Contains(strings.ToLower(part), markOfPractice)) {
				out = append(out, strings.TrimSpace(line))
			}
		}
	}
	return out
}

func inTest(path string) bool {
	return strings.HasSuffix(path, "_test.go") || strings.Contains(path, "testdata/ref/") || strings.Contains(path, "docs/validation/")
}

func parts(path, text string) []string {
	switch {
	case strings.HasSuffix(path, "_test.go"):
		return strings.Split(text, "\n}\n")
	case strings.HasSuffix(path, ".ref"):
		return strings.Split(text, "\n\n")
	}
	return strings.Split(text, "\n")
}

// The figures here are the borrowed ones, to see that they are found: common practice, no published source.
func TestBorrowedFiguresAreFound(t *testing.T) {
	for text, want := range map[string]bool{
		"pressure: 3300 psi": true, "a rating of 3,300 psi": true, "3\u202f300 psi": true, `"3300"`: true, "3300*6894.757": true, "3.3e3 psi": true,
		"228 bar": true, "227.5 bar": true, "22.75e6": true, "22.8 MPa": true, "228e5": true, "torque: 37 N·m": true, "37 Nm": true, "27 ft-lb": true,
		"27.3 lbf·ft": true, `{"torque", "N·m", 37 N.m}`: true,
		"y=\"228.68\"": false, "13300 psi": false, "137 N·m": false, "37 mm": false, "x=22.75": false, "228,": false, "0.37 N·m": false, "27 mm": false,
	} {
		if got := borrowed.MatchString(text); got != want {
			t.Errorf("%q: found %v, want %v", text, got, want)
		}
	}
	for path, c := range map[string]struct {
		text string
		want int
	}{
		"a/x_test.go":          {"// Common practice, no published source.\nfunc A() {\n\t// 37 N·m\n}\n\nfunc B() {\n\t// 37 N·m\n}\n", 1},
		"a/x.go":               {"// Common practice, no published source: 37 N·m.\n", 1},
		"a/testdata/ref/x.ref": {"source  common practice, no published source: 37 N·m\ngiven   M=37 N·m\n\ncase b\ngiven   M=37 N·m\n", 1},
		"docs/validation/x.md": {"| common practice, no published source: 37 N·m |\n| 37 N·m |\n", 1},
	} {
		if got := unmarked(path, c.text); len(got) != c.want {
			t.Errorf("%s: %q, want %d lines", path, got, c.want)
		}
	}
}
