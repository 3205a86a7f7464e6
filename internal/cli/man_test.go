package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/evenstroke/evenstroke/internal/outside"
	"github.com/evenstroke/evenstroke/packaging/man"
)

// manPages writes the manual pages and returns the text of each by the name of its command.
func manPages(t *testing.T) map[string]string {
	t.Helper()
	dir := t.TempDir()
	if err := man.Write(Commands(), Version, time.Unix(0, 0), dir); err != nil {
		t.Fatal(err)
	}
	pages := map[string]string{}
	each(Commands(), func(c *cobra.Command) {
		if !c.IsAvailableCommand() && c.HasParent() {
			return
		}
		text, err := os.ReadFile(filepath.Join(dir, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"))
		if err != nil && name(c) != "help" { // which is what a page is
			t.Errorf("%s has no page: %v", name(c), err)
		}
		pages[name(c)] = string(text)
	})
	return pages
}

// TestManPages finds on the page of each command what it does, its flags and its examples.
func TestManPages(t *testing.T) {
	pages := manPages(t)
	plain := strings.NewReplacer(`\fB`, "", `\fP`, "", `\-`, "-", `\\`, `\`)
	each(Commands(), func(c *cobra.Command) {
		text := plain.Replace(pages[name(c)])
		if text == "" {
			return
		}
		wants := append(exampleLines(c), c.Short)
		c.NonInheritedFlags().VisitAll(func(f *pflag.Flag) { wants = append(wants, "--"+f.Name) })
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("the page of %s lacks %q", name(c), want)
			}
		}
	})
}

// TestManPagesAreSound has the formatter of the system read each page.
func TestManPagesAreSound(t *testing.T) {
	groff := outside.Program(t, "groff", "groff-base")
	for command, text := range manPages(t) {
		cmd := exec.Command(groff, "-man", "-Tutf8", "-k", "-ww", "-z")
		cmd.Stdin = strings.NewReader(text)
		if out, err := cmd.CombinedOutput(); err != nil || len(out) > 0 {
			t.Errorf("%s: %v %s", command, err, out)
		}
	}
}

// pageExamples are the lines under EXAMPLE of a page.
func pageExamples(page string) []string {
	_, text, ok := strings.Cut(page, ".SH EXAMPLE\n.EX\n")
	if !ok {
		return nil
	}
	text, _, _ = strings.Cut(text, "\n.EE")
	var out []string
	for _, line := range strings.Split(text, "\n") {
		out = append(out, strings.TrimSpace(strings.NewReplacer(`\-`, "-", `\\`, `\`).Replace(line)))
	}
	return out
}
