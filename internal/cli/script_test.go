package cli

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"evenstroke": func() { os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScript runs the command line as a person would, in an empty folder each.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "", RequireExplicitExec: true})
}

// TestHelpExamples runs every example of every --help in a folder where the demo has been run.
func TestHelpExamples(t *testing.T) {
	var script strings.Builder
	script.WriteString("exec evenstroke demo\n")
	n := 0
	for _, c := range (&app{}).root().Commands() {
		if c.RunE != nil && c.Example == "" && c.Name() != "help" && c.Name() != "completion" {
			t.Errorf("%s has no examples", c.Name())
		}
		for _, line := range exampleLines(c) {
			script.WriteString("exec " + line + "\nstdout .\n! stderr .\n")
			n++
		}
	}
	if n < 15 {
		t.Fatalf("found only %d examples", n)
	}
	dir := t.TempDir()
	text := strings.ReplaceAll(script.String(), `"`, `'`)
	if err := os.WriteFile(filepath.Join(dir, "examples.txt"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{Dir: dir})
}

func exampleLines(c *cobra.Command) []string {
	var out []string
	s := bufio.NewScanner(strings.NewReader(c.Example))
	for s.Scan() {
		if line := strings.TrimSpace(s.Text()); line != "" {
			out = append(out, line)
		}
	}
	return out
}
