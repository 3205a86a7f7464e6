package claims

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// Outcome is what came of a row.
type Outcome string

const (
	Red   Outcome = "red"         // the named test failed: the break is seen
	Green Outcome = "STILL GREEN" // the named test passed on the broken source
	Wrong Outcome = "ROW IS WRONG"
)

// Result is a row that was run. Why says what is wrong with the row itself: its text does not stand in the file once, the broken
// source does not compile, or the test did not run.
type Result struct {
	Break
	Outcome Outcome
	Why     string
	Took    time.Duration
}

// longest is how long a test may take before it is ended; its failing is then not known, so the row is wrong.
const longest = 4 * time.Minute

// Tree is a folder with the source.
type Tree struct{ Root string }

// Broken is the file of a row with its break in it. The text must stand there exactly once.
func (t Tree) Broken(b Break) ([]byte, error) {
	src, err := os.ReadFile(filepath.Join(t.Root, filepath.FromSlash(b.File)))
	if err != nil {
		return nil, err
	}
	if n := bytes.Count(src, []byte(b.Old)); n != 1 {
		return nil, fmt.Errorf("%s holds %q %d times, want once", b.File, b.Old, n)
	}
	return bytes.Replace(src, []byte(b.Old), []byte(b.New), 1), nil
}

// Folder is where the package of a test lies, from the root.
func (t Tree) Folder(pkg string) (string, error) {
	for _, dir := range []string{"internal/" + pkg, pkg} {
		if s, err := os.Stat(filepath.Join(t.Root, filepath.FromSlash(dir))); err == nil && s.IsDir() {
			return dir, nil
		}
	}
	return "", fmt.Errorf("no folder internal/%s or %s", pkg, pkg)
}

// Run breaks, tests, and says what came of it.
func (t Tree) Run(ctx context.Context, b Break) Result {
	began := time.Now()
	out, err := t.try(ctx, &b)
	r := Result{Break: b, Took: time.Since(began)}
	if err != nil {
		r.Outcome, r.Why = Wrong, err.Error()
		return r
	}
	r.Outcome, r.Why = judge(b.Test, out)
	return r
}

// Sound runs the named tests of one package on the source as it is: a test that is red anyhow shows nothing.
func (t Tree) Sound(ctx context.Context, pkg string, names []string) error {
	dir, err := t.Folder(pkg)
	if err != nil {
		return err
	}
	out, err := t.test(ctx, dir, "^("+strings.Join(names, "|")+")$", nil)
	if err != nil {
		return err
	}
	for _, n := range names {
		if o, why := judge(pkg+"."+n, out); o != Green {
			return fmt.Errorf("%s.%s on the source as it is: %s %s\n%s", pkg, n, o, why, tail(out))
		}
	}
	return nil
}

// try runs the test of a row on the broken source, and gives its output.
func (t Tree) try(ctx context.Context, b *Break) (string, error) {
	broken, err := t.Broken(*b)
	if err != nil {
		return "", err
	}
	pkg, name, ok := strings.Cut(b.Test, ".")
	if !ok {
		return "", fmt.Errorf("%q is no package.TestName", b.Test)
	}
	dir, err := t.Folder(pkg)
	if err != nil {
		return "", err
	}
	temp, err := os.MkdirTemp("", "claims")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(temp)
	overlay, err := t.overlay(temp, b.File, broken)
	if err != nil {
		return "", err
	}
	return t.test(ctx, dir, "^"+name+"$", []string{"-overlay", overlay})
}

// overlay writes the broken file and the list that has the compiler read it in place of the sound one.
func (t Tree) overlay(temp, file string, broken []byte) (string, error) {
	instead := filepath.Join(temp, "broken"+filepath.Ext(file))
	if err := os.WriteFile(instead, broken, 0o600); err != nil {
		return "", err
	}
	sound, err := filepath.Abs(filepath.Join(t.Root, filepath.FromSlash(file)))
	if err != nil {
		return "", err
	}
	list, err := json.Marshal(map[string]map[string]string{"Replace": {sound: instead}})
	if err != nil {
		return "", err
	}
	name := filepath.Join(temp, "overlay.json")
	return name, os.WriteFile(name, list, 0o600)
}

// test runs go test -v and gives what it wrote. That it failed is no error here: judge reads it from the output.
func (t Tree) test(ctx context.Context, dir, pattern string, args []string) (string, error) {
	args = append([]string{"test", "-vet=off", "-count=1", "-v", "-timeout", longest.String(), "-run", pattern}, args...)
	c := exec.CommandContext(ctx, "go", append(args, "./"+dir)...)
	c.Dir = t.Root
	c.Cancel = func() error { return c.Process.Signal(os.Interrupt) } // go test ends its tests by it
	c.WaitDelay = 20 * time.Second
	c.Env = os.Environ()
	for i, a := range args { // tests that read the source as text see the break as well
		if a == "-overlay" {
			c.Env = append(c.Env, OverlayIn+"="+args[i+1])
		}
	}
	out, err := c.CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		return "", fmt.Errorf("go test: %w", err)
	}
	return string(out), ctx.Err()
}

// OverlayIn is the variable that names the overlay to tests that read the source of the tree as text.
const OverlayIn = "EVENSTROKE_OVERLAY"

var (
	verdict  = regexp.MustCompile(`(?m)^--- (PASS|FAIL|SKIP): (\S+) `)
	compiled = regexp.MustCompile(`\[(build|setup) failed\]`)
)

// judge reads the output of go test -v: red when the named test is said to have failed, green when it passed, wrong in all other cases.
func judge(test, out string) (Outcome, string) {
	_, name, _ := strings.Cut(test, ".")
	if compiled.MatchString(out) {
		return Wrong, "the broken source does not compile: " + tail(out)
	}
	if strings.Contains(out, "panic: test timed out") {
		return Wrong, "the test took longer than " + longest.String()
	}
	for _, m := range verdict.FindAllStringSubmatch(out, -1) {
		if m[2] != name {
			continue
		}
		switch m[1] {
		case "FAIL":
			return Red, ""
		case "PASS":
			return Green, ""
		default:
			return Wrong, "the test was skipped"
		}
	}
	return Wrong, "no test of that name ended: " + tail(out)
}

// tail is the end of an output, on few lines.
func tail(out string) string {
	lines := strings.Split(strings.TrimSpace(out), "\n")
	return strings.Join(lines[max(0, len(lines)-6):], "\n\t")
}
