package cli

import (
	"html"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/demo"
)

// plainSpaces is a text as it reads, whatever keeps its words together.
func plainSpaces(s string) string { return strings.ReplaceAll(html.UnescapeString(s), "\u00a0", " ") }

// TestTerminalAndPictureSayTheSame runs each demo hold in both systems of units and wants every chance, range, limit and time of the
// terminal in the picture that the same command draws.
func TestTerminalAndPictureSayTheSame(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("COLUMNS", "400")
	figure := regexp.MustCompile(`(?:over |under )?\d[\d.]* %|(?:over )?\d[\d.–]* ?(?:mL/min|L/min|fl oz/min|gpm|s|min|h)\b(?: or more)?`)
	n := 0
	for _, name := range demo.Names() {
		if !strings.Contains(name, "-as-") {
			continue
		}
		for _, units := range []string{"metric", "imperial"} {
			svg := dir + "/" + units + name + ".svg"
			out, errw, code := runLine("hold " + name + " --no-next --units " + units + " --svg " + svg)
			if code != 0 {
				t.Fatalf("%s: %s", name, errw)
			}
			data, err := os.ReadFile(svg)
			if err != nil {
				t.Fatal(err)
			}
			picture := plainSpaces(string(data))
			head, rest, _ := strings.Cut(out, "leak map")
			map_, _, _ := strings.Cut(rest, "what is at fault")
			for _, line := range strings.Split(head+map_, "\n") {
				if strings.Contains(line, "to settle it") || strings.HasPrefix(line, "  flow:") {
					continue
				}
				for _, f := range figure.FindAllString(line, -1) {
					if n++; !strings.Contains(picture, f) {
						t.Errorf("%s, %s: the terminal says %q, the picture does not:\n%s", name, units, f, line)
					}
				}
			}
			if bad := regexp.MustCompile(`\bhours\b|[<>] ?\d`).FindString(out); bad != "" {
				t.Errorf("%s: %q is said otherwise in the picture", name, bad)
			}
		}
	}
	if n < 60 {
		t.Errorf("compared only %d figures", n)
	}
}

// TestIntervalsHaveOneUnit looks for intervals whose ends have two units, in all that is printed for people.
func TestIntervalsHaveOneUnit(t *testing.T) {
	t.Chdir(t.TempDir())
	between := regexp.MustCompile(`\d ?([A-Za-z°µ·/%]+)(?: to |–| and )\d[\d., ]*?([A-Za-z°µ·/%]+)`)
	for _, line := range prints {
		words, _ := shellLine(line)
		if len(words) == 0 || !strings.Contains("demo sheet hold stroke torque stack work", words[0]) {
			continue
		}
		for _, units := range []string{" --units metric", " --units imperial"} {
			out, _, _ := runLine(line + units)
			for _, m := range between.FindAllStringSubmatch(out, -1) {
				if m[1] != m[2] {
					t.Errorf("%s: %q has two units", line+units, m[0])
				}
			}
		}
	}
}

// TestNothingIsWiderThanTheTerminal runs what prints text at widths of terminals, in both systems of units.
func TestNothingIsWiderThanTheTerminal(t *testing.T) {
	demoShop(t)
	for _, line := range append([]string{"help", "help hold", "help stroke", "token make --help", "work orrin-30 --all replace --build orrin-build.yaml", "schema"}, prints...) {
		if strings.HasPrefix(line, "completion") || strings.HasPrefix(line, "schema ") || strings.HasPrefix(line, "new ") || strings.Contains(line, "restore") || strings.Contains(line, "token end") {
			continue // scripts and documents, and what changed with the line before
		}
		for i, width := range []int{80, 60, 60} {
			t.Setenv("COLUMNS", strconv.Itoa(width))
			out, errw, code := runLine(fresh(line, i) + []string{"", "", " --units imperial"}[i])
			if code != 0 {
				t.Fatalf("%s: exit %d %s", line, code, errw)
			}
			for _, l := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
				if length(l) > width && !oneWord(l) {
					t.Errorf("%s: %d characters in a terminal of %d:\n%s", line, length(l), width, l)
				}
			}
		}
	}
}

// oneWord says whether a line cannot be broken, or should not be: a path, a secret, a digest, an example to be copied.
func oneWord(l string) bool {
	l = strings.TrimSpace(l)
	return regexp.MustCompile(`[0-9a-f]{64}$`).MatchString(l) || !strings.Contains(l, " ") || strings.HasPrefix(l, "evenstroke ") || strings.HasPrefix(l, "echo ") || strings.Contains(l, "/001")
}
