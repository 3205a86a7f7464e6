// Command licences writes one text with the licences of everything that is linked into a binary, or that it carries inside: the
// modules that `go version -m` names, Go itself, and the fonts and scripts whose licence files stand beside them in this tree.
package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "licences: expected one argument, the binary")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "licences:", err)
		os.Exit(1)
	}
}

func run(binary string, w io.Writer) error {
	modules, err := linked(binary)
	if err != nil {
		return err
	}
	sections := map[string]string{}
	for _, m := range modules {
		if sections[m], err = moduleText(m); err != nil {
			return err
		}
	}
	root, err := output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	if sections["Go, its runtime and standard library"], err = folderText(strings.TrimSpace(root)); err != nil {
		return err
	}
	if err := carried(sections); err != nil {
		return err
	}
	var names []string
	for name := range sections {
		names = append(names, name)
	}
	sort.Strings(names)
	fmt.Fprintf(w, "evenstroke carries or is linked with the following, each under its own licence.\n\n")
	for _, name := range names {
		fmt.Fprintf(w, "  %s\n", name)
	}
	for _, name := range names {
		fmt.Fprintf(w, "\n%s\n%s\n%s\n\n%s\n", strings.Repeat("=", 100), name, strings.Repeat("=", 100), strings.TrimSpace(sections[name]))
	}
	return nil
}

func output(name string, args ...string) (string, error) {
	var errw bytes.Buffer
	c := exec.Command(name, args...)
	c.Stderr = &errw
	out, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w: %s", name, strings.Join(args, " "), err, errw.String())
	}
	return string(out), nil
}

// linked lists the modules of a binary as path@version.
func linked(binary string) ([]string, error) {
	out, err := output("go", "version", "-m", binary)
	if err != nil {
		return nil, err
	}
	var list []string
	for _, line := range strings.Split(out, "\n") {
		f := strings.Fields(line)
		if len(f) >= 3 && f[0] == "dep" {
			list = append(list, f[1]+"@"+f[2])
		}
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%s: found no modules; expected a binary built with modules", binary)
	}
	return list, nil
}

func moduleText(m string) (string, error) {
	path, _, _ := strings.Cut(m, "@")
	dir, err := output("go", "list", "-m", "-f", "{{.Dir}}", path)
	if err != nil {
		return "", err
	}
	return folderText(strings.TrimSpace(dir))
}

// folderText joins the licence files of a folder.
func folderText(dir string) (string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	var out []string
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		if e.IsDir() || !strings.HasPrefix(name, "LICEN") && !strings.HasPrefix(name, "COPYING") && !strings.HasPrefix(name, "NOTICE") && !strings.HasPrefix(name, "UNLICENSE") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return "", err
		}
		out = append(out, string(text))
	}
	if len(out) == 0 {
		return "", fmt.Errorf("%s: found no licence file; expected one", dir)
	}
	return strings.Join(out, "\n\n"), nil
}

// carried adds the licence files that stand in this tree beside what they are about.
func carried(sections map[string]string) error {
	found := 0
	err := filepath.WalkDir("internal", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.Contains(strings.ToUpper(d.Name()), "LICEN") || strings.HasSuffix(path, ".go") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		found++
		sections["carried inside: "+filepath.ToSlash(path)] = string(text)
		return nil
	})
	if err == nil && found == 0 {
		err = errors.New("found no licence of the fonts and scripts inside; expected to be run at the root of the tree")
	}
	return err
}
