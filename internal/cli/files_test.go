package cli

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/pump"
)

// readers are the ways in which a file comes to a command: the words before its name, and files of the kind that the command expects.
var readers = []struct {
	line string // FILE is the name
	kind string
}{
	{"sheet FILE", "pump"},
	{"stroke FILE --for '1 s'", "pump"},
	{"torque FILE --length '400 mm'", "pump"},
	{"stack FILE", "pump"},
	{"work FILE --all replace", "pump"},
	{"hold orrin-as-found.yaml --no-next --pump FILE", "pump"},
	{"hold FILE --no-next", "hold"},
	{"hold FILE --ask --no-next", "hold"},
	{"hold trace.yaml --no-next", "trace"},
	{"hold orrin-as-found.yaml --no-next --prior FILE", "prior"},
	{"import FILE", "archive"},
	{"restore FILE --data restored", "backup"},
	{"verify --against FILE", "backup"},
	{"verify --head FILE --head-key x", "head"},
	{"verify --config FILE", "config"},
	{"serve --config FILE", "config"},
}

// whole gives one sound file of each kind. It is run where the demo workshop is.
func whole(t *testing.T) map[string][]byte {
	t.Helper()
	files := map[string][]byte{"config": []byte("data: here\nlisten: 127.0.0.1:0\n")}
	for _, line := range []string{"backup whole.db", "export 1 whole.zip"} {
		if _, errw, code := runLine(line); code != 0 {
			t.Fatal(errw)
		}
	}
	for kind, name := range map[string]string{"backup": "whole.db", "archive": "whole.zip"} {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files[kind] = data
	}
	var err error
	if files["pump"], err = pump.DemoSheet("orrin-30"); err != nil {
		t.Fatal(err)
	}
	for kind, name := range map[string]string{"hold": "orrin-as-found.yaml", "prior": "shop-prior.yaml"} {
		data, ok := demo.File(name)
		if !ok {
			t.Fatalf("there is no demo file %s", name)
		}
		files[kind] = data
	}
	files["trace"] = []byte("time (s);pressure (bar)\n0;200\n1;199\n2;198\n3;197\n4;196\n5;195\n")
	files["head"] = []byte(`{"head":1,"link":1,"digest":"","at":"2026-01-01T00:00:00Z","key":"","signature":""}`)
	return files
}

var figure = regexp.MustCompile(`[0-9]+`)

// broken makes broken files of a whole one, by what is wrong with them.
func broken(kind string, data []byte, others map[string][]byte) map[string][]byte {
	out := map[string][]byte{
		"empty":        {},
		"a space":      []byte(" \n"),
		"one byte":     {0},
		"zeros":        make([]byte, 4096),
		"binary":       bytes.Repeat([]byte{0x89, 'P', 'N', 'G', 0, 0xff, 0xd8, 0x1b}, 64),
		"UTF-16":       {0xff, 0xfe, 'p', 0, 'u', 0, 'm', 0, 'p', 0},
		"not UTF-8":    append(slices.Clone(data), "x: \xff\xfe\n"...),
		"twice":        append(append(slices.Clone(data), '\n'), data...),
		"unknown key":  append(slices.Clone(data), "\nnonsense: 1\n"...),
		"deep":         []byte(strings.Repeat("[", 5000)),
		"long line":    []byte(strings.Repeat("a", 1<<20)),
		"tabs":         []byte("pump: 1\n\tname: x\n"),
		"alias":        []byte("pump: &a [*a]\n"),
		"a number":     []byte("1e999\n"),
		"JSON, cut":    []byte(`{"hold":1,"pump":"orrin-30","readings":[{"creep":`),
		"control":      []byte("\x1b[2J\x07name: x\n"),
		"carriage":     bytes.ReplaceAll(data, []byte("\n"), []byte("\r")),
		"half of PEM":  []byte("-----BEGIN CERTIFICATE-----\nAAAA"),
		"only a ZIP":   []byte("PK\x05\x06" + strings.Repeat("\x00", 18)),
		"only SQLite":  []byte("SQLite format 3\x00" + strings.Repeat("\x00", 100)),
		"zeros within": slices.Concat(data[:len(data)/3], make([]byte, 40), data[min(len(data), len(data)/3+40):]),
	}
	for n := 1; n < 12; n++ {
		out[fmt.Sprintf("cut off at %d/12", n)] = data[:len(data)*n/12]
		flipped := slices.Clone(data)
		flipped[len(data)*n/12] ^= 0x41
		out[fmt.Sprintf("changed at %d/12", n)] = flipped
	}
	for _, other := range slices.Sorted(maps.Keys(others)) {
		if other != kind {
			out["of another kind: "+other] = others[other]
		}
	}
	if bytes.IndexByte(data, 0) >= 0 { // not text
		return out
	}
	for i, at := range figure.FindAllIndex(data, -1) {
		for what, with := range map[string]string{"huge": "9" + strings.Repeat("0", 400), "large": "7e12", "negative": "-3", "none": "NaN", "no number": "x"} {
			if i%7 == len(what)%7 { // a share of them
				out[fmt.Sprintf("figure %d %s", i+1, what)] = slices.Concat(data[:at[0]], []byte(with), data[at[1]:])
			}
		}
	}
	lines := bytes.SplitAfter(data, []byte("\n"))
	for i := range lines {
		if i%3 == 0 {
			out[fmt.Sprintf("line %d twice", i+1)] = bytes.Join(slices.Insert(slices.Clone(lines), i, lines[i]), nil)
		} else {
			out[fmt.Sprintf("without line %d", i+1)] = bytes.Join(slices.Delete(slices.Clone(lines), i, i+1), nil)
		}
	}
	return out
}

// finds are the inputs that fuzzing found anywhere in this tree.
func finds(t *testing.T) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.Contains(filepath.ToSlash(path), "/testdata/fuzz/") {
			return err
		}
		text, err := os.ReadFile(path)
		for i, line := range strings.Split(string(text), "\n") {
			quoted := strings.TrimSuffix(strings.TrimPrefix(strings.TrimPrefix(line, "[]byte("), "string("), ")")
			if data, err := strconv.Unquote(quoted); err == nil {
				out[fmt.Sprintf("find %s %d", d.Name(), i)] = []byte(data)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Whatever is wrong with a file, the error names it: exit code 2, and the name in each line that is said of it.
func TestRefusedFilesAreNamed(t *testing.T) {
	found := finds(t)
	demoShop(t)
	files := whole(t)
	sheet := "hold: 1\npump: orrin-30\nreadings:\n  - {trace: broken.txt, drive: locked}\n"
	if err := os.WriteFile("trace.yaml", []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	const name = "broken.txt"
	about := []string{name, "trace.yaml"} // the sheet leads to its trace
	refused, nameless, seen := 0, 0, map[string]int{}
	run := func(line, what string) {
		line = strings.ReplaceAll(line, "FILE", name)
		out, errw, code := runLine(line)
		if err := os.RemoveAll("restored"); err != nil {
			t.Fatal(err)
		}
		if code == 0 {
			return
		}
		refused++
		if code == exitInput && everyLine(errw, about) || strings.HasPrefix(line, "verify") && code == exitFailed && strings.Contains(out, name) {
			return // verify prints what is wrong as its result
		}
		nameless++
		if seen[line]++; seen[line] <= 6 {
			t.Errorf("%s, %s: exit %d\n%s", line, what, code, errw)
		}
	}
	for i, r := range readers {
		cases := broken(r.kind, files[r.kind], files)
		maps.Copy(cases, found)
		for j, what := range slices.Sorted(maps.Keys(cases)) {
			if r.kind == "pump" && i > 0 && j%5 != 0 {
				continue // all read it alike
			}
			if strings.HasPrefix(r.line, "serve") && !strings.HasPrefix(what, "of another") && what != "binary" {
				continue // what can be read is served
			}
			if err := os.WriteFile(name, cases[what], 0o600); err != nil {
				t.Fatal(err)
			}
			run(r.line, what)
		}
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
		run(r.line, "no such file")
		if err := os.Mkdir(name, 0o700); err != nil {
			t.Fatal(err)
		}
		run(r.line, "a folder")
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d files refused, %d of them by an error that does not name the file", refused, nameless)
	if refused < 500 {
		t.Errorf("only %d files were refused", refused)
	}
}

// everyLine says whether each line of an error has one of the names. Other lines are questions.
func everyLine(errw string, names []string) bool {
	for _, line := range strings.Split(strings.TrimSpace(errw), "\n") {
		if strings.Contains(line, "evenstroke: ") && !slices.ContainsFunc(names, func(name string) bool { return strings.Contains(line, name) }) {
			return false
		}
	}
	return strings.Contains(errw, "evenstroke: ")
}
