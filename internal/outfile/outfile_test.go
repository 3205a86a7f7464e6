package outfile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func write(t *testing.T, name, text string, mode fs.FileMode) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, mode); err != nil {
		t.Fatal(err)
	}
}

// holds checks what a file holds, its mode, and that nothing else was left in its folder.
func holds(t *testing.T, name, text string, mode fs.FileMode) {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil || string(data) != text {
		t.Errorf("%s holds %q (%v), want %q", name, data, err, text)
	}
	st, err := os.Lstat(name)
	if err != nil || st.Mode() != mode {
		t.Errorf("%s has the mode %v (%v), want %v", name, st.Mode(), err, mode)
	}
	clean(t, filepath.Dir(name))
}

func clean(t *testing.T, dir string) {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(dir, ".evenstroke-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v (%v)", left, err)
	}
}

func refusal(t *testing.T, err error, words string) {
	t.Helper()
	var r *Refusal
	if !errors.As(err, &r) || !strings.Contains(err.Error(), words) {
		t.Errorf("%v; want a refusal that says %q", err, words)
	}
}

func TestWriteReplaces(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.svg")
	write(t, name, "old and longer", 0o640)
	if err := Write(name, []byte("new")); err != nil {
		t.Fatal(err)
	}
	holds(t, name, "new", 0o640)
}

// A second name of a file, and what a link leads to, hold what was written; the link stays a link.
func TestWriteFollows(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write(t, at("file"), "old", 0o600)
	for link, to := range map[string]string{"link": "file", "absolute": at("file"), "second": "link", "dangling": "later"} {
		if err := os.Symlink(to, at(link)); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"link", "absolute", "second"} {
		if err := Write(at(name), []byte(name)); err != nil {
			t.Fatal(err)
		}
		holds(t, at("file"), name, 0o600)
		if st, err := os.Lstat(at(name)); err != nil || st.Mode()&fs.ModeSymlink == 0 {
			t.Errorf("%s is a link no more (%v)", name, err)
		}
	}
	if err := Write(at("dangling"), []byte("x")); err != nil {
		t.Fatal(err)
	}
	if data, err := os.ReadFile(at("later")); err != nil || string(data) != "x" {
		t.Errorf("what the dangling link leads to holds %q (%v)", data, err)
	}
	if err := os.Link(at("file"), at("hard")); err != nil {
		t.Fatal(err)
	}
	if err := Write(at("hard"), []byte("both")); err != nil {
		t.Fatal(err)
	}
	holds(t, at("file"), "both", 0o600)
	if err := errors.Join(os.Symlink("b", at("a")), os.Symlink("a", at("b"))); err != nil {
		t.Fatal(err)
	}
	refusal(t, Write(at("a"), nil), "round in a circle")
}

func TestWriteRefuses(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked")
	write(t, locked, "kept", 0o444)
	refusal(t, Write(locked, []byte("new")), "read-only")
	holds(t, locked, "kept", 0o444)
	refusal(t, Write(dir, nil), "a folder")
	refusal(t, Write(filepath.Join(dir, "no", "file"), nil), "no such folder")
	refusal(t, Write(filepath.Join(locked, "file"), nil), "no such folder")
	refusal(t, Write(filepath.Join(dir, strings.Repeat("x", 300)), nil), "does not open")
}

func TestNew(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "job.zip")
	text := func(w io.Writer) error { _, err := io.WriteString(w, "whole"); return err }
	broken := errors.New("broken")
	if err := New(name, func(w io.Writer) error { return errors.Join(text(w), broken) }); !errors.Is(err, broken) {
		t.Errorf("%v, want the error of the writer", err)
	}
	if _, err := os.Stat(name); err == nil {
		t.Error("half a file got its name")
	}
	if err := New(name, text); err != nil {
		t.Fatal(err)
	}
	holds(t, name, "whole", 0o600)
	refusal(t, New(name, text), "there already")
	refusal(t, New(dir, text), "there already")
	if err := os.Symlink("nowhere", filepath.Join(dir, "dangling")); err != nil {
		t.Fatal(err)
	}
	refusal(t, New(filepath.Join(dir, "dangling"), text), "there already")
	refusal(t, New(filepath.Join(dir, "no", "file"), text), "no such folder")
	if err := link(filepath.Join(dir, "gone"), filepath.Join(dir, "other")); err == nil {
		t.Error("a file that is not there was given a name")
	}
}
