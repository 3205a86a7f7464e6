package cli

import (
	"bufio"
	"bytes"
	"math/rand/v2"
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

// TestHelpExamples runs every example of every manual page, which are those of --help, in a folder where the demo has been run.
func TestHelpExamples(t *testing.T) {
	var script strings.Builder
	script.WriteString("exec evenstroke demo\n")
	n := 0
	pages := manPages(t)
	each((&app{}).root(), func(c *cobra.Command) {
		if !c.HasSubCommands() && c.Example == "" && !strings.HasPrefix(name(c), "completion") {
			t.Errorf("%s has no examples", name(c))
		}
		if c.Annotations["on"] == "shop" {
			return // TestShopExamples
		}
		for _, line := range pageExamples(pages[name(c)]) {
			script.WriteString("exec " + line + "\nstdout .\n! stderr .\n")
			n++
		}
	})
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

// TestNoise feeds every command that reads a file noise, a huge file, a cut-off file and a folder: exit code 2, one line, no
// stack trace, nothing written.
func TestNoise(t *testing.T) {
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(1, 2))
	noise := make([]byte, 10<<20)
	for i := range noise {
		noise[i] = byte(rng.Uint32())
	}
	whole, _, err := loadText("orrin-as-found.yaml")
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"noise.yaml": noise, "text.yaml": bytes.Repeat([]byte("a: b\n"), 400000), "cut.yaml": whole[:len(whole)-25], "empty.yaml": nil}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for name := range files {
		path := filepath.Join(dir, name)
		svg := filepath.Join(dir, "never.svg")
		for _, args := range [][]string{{"hold", path, "--svg", svg}, {"sheet", path}, {"hold", "orrin-as-found.yaml", "--prior", path}, {"work", "orrin-30", "--build", path},
			{"hold", "orrin-as-found.yaml", "--pump", path}, {"sheet", dir}} {
			var out, errw bytes.Buffer
			if code := Main(args, bytes.NewReader(nil), &out, &errw); code != exitInput {
				t.Errorf("%v: exit %d, want %d: %.200s", args, code, exitInput, errw.String())
			}
			if text := errw.String(); !strings.HasPrefix(text, "evenstroke: ") || strings.Contains(text, "goroutine") || len(text) > 8000 {
				t.Errorf("%v: says %.300q", args, text)
			}
			if _, err := os.Stat(svg); err == nil || out.Len() > 0 {
				t.Errorf("%v: something was written", args)
			}
		}
	}
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
