//go:build unix

package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// sitter sits at a pseudo-terminal in which the program runs.
type sitter struct {
	t    *testing.T
	tty  *os.File
	cmd  *exec.Cmd
	seen bytes.Buffer // since the last thing that was waited for

	before string // what was seen with that
}

// sit starts the program in a folder.
func sit(t *testing.T, dir string, args ...string) *sitter {
	t.Helper()
	self, err := exec.LookPath("evenstroke") // as testscript puts it there
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TERM=xterm", "NO_COLOR=1", "COLUMNS=100")
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 30, Cols: 100})
	if err != nil {
		t.Fatal(err)
	}
	p := &sitter{t: t, tty: tty, cmd: cmd}
	t.Cleanup(func() { tty.Close(); cmd.Process.Kill(); cmd.Wait() })
	return p
}

// sees reads the screen until a text stands on it.
func (p *sitter) sees(text string) {
	p.t.Helper()
	buf := make([]byte, 4096)
	for !strings.Contains(p.seen.String(), text) {
		n, err := p.tty.Read(buf)
		p.seen.Write(buf[:n])
		if err != nil {
			p.t.Fatalf("%q is not seen before the end (%v) of\n%s", text, err, p.seen.String())
		}
	}
	at := strings.Index(p.seen.String(), text) + len(text)
	p.before = string(p.seen.Next(at))
}

// types presses keys.
func (p *sitter) types(keys string) {
	p.t.Helper()
	if _, err := p.tty.WriteString(keys); err != nil {
		p.t.Fatal(err)
	}
}

// ends waits for the program and returns its exit code.
func (p *sitter) ends() int {
	p.t.Helper()
	if err := p.cmd.Wait(); err != nil && p.cmd.ProcessState == nil {
		p.t.Fatal(err)
	}
	return p.cmd.ProcessState.ExitCode()
}

const (
	enter     = "\r"
	left      = "\x1b[D"
	up        = "\x1b[A"
	backspace = "\x7f"
	ctrlA     = "\x01"
	ctrlC     = "\x03"
)

// TestAskAtTerminal fills a hold sheet in at a terminal: a line is edited, an earlier one recalled, a word completed; Ctrl-C loses nothing.
func TestAskAtTerminal(t *testing.T) {
	dir := t.TempDir()
	p := sit(t, dir, "hold", "--ask", "bay-3.yaml")
	p.sees("pump (")
	p.types("orin-30" + left + left + left + left + left + "r" + enter) // the letter that was left out
	p.sees("stage (")
	p.types("as f\t" + enter)
	p.sees("reading 1 [done]: ")
	p.types("creep" + enter)
	p.sees("creep (")
	p.types("up" + enter)
	p.sees("pressure (")
	p.types("330 psi" + ctrlA + "2" + enter)
	p.sees("travel (")
	p.types("60 mmm" + backspace + enter)
	p.sees("time (")
	p.types("14" + ctrlC)
	p.sees("go on with `evenstroke hold --ask bay-3.yaml`")
	if code := p.ends(); code != exitInput {
		t.Errorf("exit code %d after Ctrl-C", code)
	}
	holds(t, filepath.Join(dir, "bay-3.yaml"), "hold: 1\npump: orrin-30\nstage: as found\nreadings:\n  - creep: up\n    pressure: 2330 psi\n    travel: 60 mm\n")

	p = sit(t, dir, "hold", "--ask", "bay-3.yaml")
	p.sees("time (") // where it was left
	p.types("14.2 s" + enter)
	p.sees("anything else")
	p.types(enter)
	p.sees("reading 2")
	p.types("still" + enter)
	p.sees("still (")
	p.types("down" + enter)
	p.sees("pressure (")
	p.types(enter)
	p.sees("time (")
	p.types(up + up + up + enter) // "down", "still", "14.2 s"
	p.sees("anything else")
	p.types(enter)
	p.sees("reading 3")
	p.types("done" + enter)
	p.sees("DOES NOT HOLD")
	holds(t, filepath.Join(dir, "bay-3.yaml"), "hold: 1\npump: orrin-30\nstage: as found\nreadings:\n  - creep: up\n    pressure: 2330 psi\n    travel: 60 mm\n    time: 14.2 s\n"+
		"  - still: down\n    pressure: 2330 psi\n    time: 14.2 s\n")
}

// TestAskIsKilled ends the program without a word, as a dead battery does: what was answered is in the file.
func TestAskIsKilled(t *testing.T) {
	dir := t.TempDir()
	p := sit(t, dir, "hold", "--ask", "--pump", "orrin-30")
	p.sees("stage (")
	p.types("as left" + enter)
	p.sees("reading 1 [done]: ")
	p.types("note" + enter)
	p.sees("note (")
	p.types("wet floor" + enter)
	p.sees("reading 1 [done]: ")
	if err := p.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	p.ends()
	holds(t, filepath.Join(dir, "orrin-30-hold.yaml"), "hold: 1\npump: orrin-30\nstage: as left\nnote: wet floor\nreadings: []\n")
}

func holds(t *testing.T, file, want string) {
	t.Helper()
	have, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != want {
		t.Errorf("%s holds\n%s\nwant\n%s", file, have, want)
	}
}

// TestProgressAtTerminal looks on while records are read again and put back: how far that is stands on the screen, and goes when it is done.
func TestProgressAtTerminal(t *testing.T) {
	demoShop(t)
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	p := sit(t, dir, "verify")
	p.sees("verifying 100 %")
	p.sees("\r" + strings.Repeat(" ", len("verifying 100 %")) + "\r")
	p.sees("all sound")
	if code := p.ends(); code != 0 {
		t.Errorf("exit code %d", code)
	}
	var out, errw bytes.Buffer
	if code := Main([]string{"backup", "b.db"}, strings.NewReader(""), &out, &errw); code != 0 {
		t.Fatal(errw.String())
	}
	p = sit(t, dir, "restore", "b.db", "--data", "again")
	p.sees("copying 100 %")
	p.sees("verifying 100 %")
	p.sees("restored")
	p = sit(t, dir, "verify", "--json")
	p.sees("{\r\n") // nothing before it
	if strings.Contains(p.before, "%") {
		t.Errorf("with --json the screen shows %q", p.before)
	}
}
