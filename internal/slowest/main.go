// Command slowest runs `go test -json` with the arguments given, and again with those behind each "--". It prints what the tests print as usual, and at
// the end the ten that took longest, the slowest packages and how many passed. It ends with 1 when anything failed.
//
// The time of a parallel test is that from its start to its end, waiting for its turn not counted, as the go command counts it.
package main

import (
	"bufio"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// most is how many tests are named.
const most = 10

// event is a line of `go test -json` (go doc test2json).
type event struct {
	Action, Package, Test, Output string
	Elapsed                       float64 // s
}

// timed is a test or a package with its time.
type timed struct {
	name string
	s    float64
}

// count is what came out of a run.
type count struct {
	passed, failed, skipped int
	tests, packages         []timed
}

func (c *count) add(e event) {
	switch e.Action {
	case "pass", "fail", "skip":
	default:
		return
	}
	name := strings.TrimPrefix(e.Package, "github.com/evenstroke/evenstroke/")
	if e.Test == "" {
		c.packages = append(c.packages, timed{name, e.Elapsed})
		if e.Action == "fail" {
			c.failed++
		}
		return
	}
	switch e.Action {
	case "pass":
		c.passed++
	case "fail":
		c.failed++
	default:
		c.skipped++
	}
	c.tests = append(c.tests, timed{name + " " + e.Test, e.Elapsed})
}

// slowest gives the first n by time; of a test and its parts only the parts.
func slowest(all []timed, n int) []timed {
	all = slices.DeleteFunc(slices.Clone(all), func(t timed) bool {
		return slices.ContainsFunc(all, func(u timed) bool { return strings.HasPrefix(u.name, t.name+"/") })
	})
	slices.SortStableFunc(all, func(a, b timed) int { return cmp.Compare(b.s, a.s) })
	return all[:min(n, len(all))]
}

// read passes the output of the tests on as they print it: of those that fail all, else only what packages say of themselves.
func (c *count) read(in io.Reader, out io.Writer) error {
	kept := map[string]*strings.Builder{}
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var e event
		if json.Unmarshal(lines.Bytes(), &e) != nil { // a build that failed speaks plainly
			fmt.Fprintln(out, lines.Text())
			continue
		}
		c.add(e)
		key := e.Package + " " + e.Test
		switch e.Action {
		case "output", "build-output":
			if e.Test == "" && !strings.HasPrefix(e.Output, "=== ") && e.Output != "PASS\n" {
				fmt.Fprint(out, e.Output)
				continue
			}
			if kept[key] == nil {
				kept[key] = &strings.Builder{}
			}
			kept[key].WriteString(e.Output)
		case "fail":
			if kept[key] != nil {
				fmt.Fprint(out, kept[key].String())
			}
			delete(kept, key)
		case "pass", "skip":
			delete(kept, key)
		}
	}
	return lines.Err()
}

func (c *count) print(out io.Writer) {
	fmt.Fprintln(out, "\nthe ten slowest tests:")
	for _, t := range slowest(c.tests, most) {
		fmt.Fprintf(out, "%8.1f s  %s\n", t.s, t.name)
	}
	fmt.Fprintln(out, "the slowest packages:")
	for _, t := range slowest(c.packages, 5) {
		fmt.Fprintf(out, "%8.1f s  %s\n", t.s, t.name)
	}
	word := "ok"
	if c.failed > 0 {
		word = "FAIL"
	}
	fmt.Fprintf(out, "%s: %d passed, %d failed, %d left out\n", word, c.passed, c.failed, c.skipped)
}

// run runs the tests once with these arguments and counts them.
func (c *count) run(args []string) error {
	cmd := exec.Command("go", append([]string{"test", "-json"}, args...)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	before := c.failed
	err = errors.Join(c.read(out, os.Stdout), cmd.Wait())
	if err != nil && c.failed == before {
		c.failed++ // what could not be built, or was killed
	}
	return err
}

// runs splits the arguments of several runs at "--".
func runs(args []string) [][]string {
	out := [][]string{nil}
	for _, a := range args {
		if a == "--" {
			out = append(out, nil)
			continue
		}
		out[len(out)-1] = append(out[len(out)-1], a)
	}
	return out
}

func main() {
	var c count
	var errs []error
	for _, args := range runs(os.Args[1:]) {
		errs = append(errs, c.run(args))
	}
	c.print(os.Stdout)
	if err := errors.Join(errs...); err != nil {
		fmt.Fprintln(os.Stderr, "slowest:", err)
		os.Exit(1)
	}
}
