// Verify compares how fast two versions of the program verify the records of a shop: the same invented jobs, one after the other, in turn.
// It prints times and ratios; it judges nothing.
//
//	go run ./bench/verify [-base COMMIT] [-jobs N] [-rounds N]
//
// The base is built, and fills the store, in a worktree of its own; each version then works on its own copy, so that a newer schema does not
// get in the way of the older program. Processor time is the better figure on a machine that does other things as well.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"time"
)

func main() {
	base := flag.String("base", "c53cc8f", "commit to compare with")
	jobs := flag.Int("jobs", 20000, "jobs in the store")
	rounds := flag.Int("rounds", 3, "how often each verifies")
	flag.Parse()
	if err := run(*base, *jobs, *rounds); err != nil {
		fmt.Fprintln(os.Stderr, "verify:", err)
		os.Exit(1)
	}
}

func run(base string, jobs, rounds int) (err error) {
	if jobs < 500 || rounds < 1 {
		return fmt.Errorf("found %d jobs and %d rounds; expected 500 jobs and a round, or more", jobs, rounds)
	}
	dir, err := os.MkdirTemp("", "evenstroke-verify-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	tree := filepath.Join(dir, "base")
	if err := command("", "git", "worktree", "add", "--quiet", "--detach", tree, base); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, command("", "git", "worktree", "remove", "--force", tree)) }()
	versions, err := prepare(dir, tree, jobs)
	if err != nil {
		return err
	}
	for range rounds {
		for _, v := range versions {
			if err := v.verify(); err != nil {
				return err
			}
		}
	}
	report(base, jobs, versions)
	return nil
}

// version is one of the two programs with its copy of the store.
type version struct {
	name, program, data string
	wall, cpu           []time.Duration
}

// prepare builds both programs and fills a store for each.
func prepare(dir, tree string, jobs int) ([]*version, error) {
	versions := []*version{{name: "base", program: filepath.Join(dir, "evenstroke-base"), data: filepath.Join(dir, "data-base")},
		{name: "now", program: filepath.Join(dir, "evenstroke-now"), data: filepath.Join(dir, "data-now")}}
	for i, from := range []string{tree, ""} {
		if err := command(from, "go", "build", "-o", versions[i].program, "./cmd/evenstroke"); err != nil {
			return nil, err
		}
	}
	fill := exec.Command("go", "run", "./bench/load", "-fill", "-engines", "sqlite", "-jobs", strconv.Itoa(jobs), "-program", versions[0].program)
	fill.Dir, fill.Env = tree, append(os.Environ(), "EVENSTROKE_LOAD="+dir)
	if err := shown(fill); err != nil {
		return nil, err
	}
	filled := filepath.Join(dir, fmt.Sprintf("sqlite-%d", jobs))
	for _, v := range versions {
		if err := os.CopyFS(v.data, os.DirFS(filled)); err != nil {
			return nil, err
		}
		if err := v.verify(); err != nil { // brings the schema up to date and the file into memory
			return nil, err
		}
		v.wall, v.cpu = nil, nil
	}
	return versions, nil
}

// verify runs the program once and notes its times.
func (v *version) verify() error {
	cmd := exec.Command(v.program, "verify", "--data", v.data)
	begin := time.Now()
	out, err := cmd.CombinedOutput()
	if err != nil {
		return fmt.Errorf("%s: %w: %s", v.name, err, out)
	}
	v.wall = append(v.wall, time.Since(begin))
	v.cpu = append(v.cpu, cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime())
	return nil
}

// report prints the least of each, which other work on the machine disturbs least, and the ratios.
func report(base string, jobs int, versions []*version) {
	fmt.Printf("verify of %d jobs on SQLite, the least of %d rounds each\n\n", jobs, len(versions[0].wall))
	fmt.Printf("| | %s | now | faster by |\n|---|---|---|---|\n", base)
	row := func(what string, of func(*version) []time.Duration) {
		a, b := slices.Min(of(versions[0])), slices.Min(of(versions[1]))
		fmt.Printf("| %s | %.1f s | %.1f s | %.2f |\n", what, a.Seconds(), b.Seconds(), a.Seconds()/b.Seconds())
	}
	row("on the clock", func(v *version) []time.Duration { return v.wall })
	row("processors", func(v *version) []time.Duration { return v.cpu })
}

func command(dir, name string, args ...string) error {
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	return shown(cmd)
}

func shown(cmd *exec.Cmd) error {
	cmd.Stdout, cmd.Stderr = os.Stderr, os.Stderr
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s: %w", cmd, err)
	}
	return nil
}
