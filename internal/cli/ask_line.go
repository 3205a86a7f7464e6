package cli

import (
	"bufio"
	"errors"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// liner reads answers, one a line. words are those that may stand first, for the Tab key. The error is io.EOF when the answers have ended.
type liner interface {
	line(prompt string, words []string) (string, error)
}

// liner returns one that edits lines and recalls earlier ones when a person sits at a terminal, else one that reads plain lines.
func (a *app) liner() liner {
	in, ok := a.in.(*os.File)
	if !ok || !isTerminal(in) || !isTerminal(a.err) {
		return &plainLines{bufio.NewReader(a.in), a.err}
	}
	t := term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{in, a.err}, "")
	t.History = &earlier{}
	return &editedLines{t, int(in.Fd()), a.err}
}

// plainLines reads the lines of a pipe or a file.
type plainLines struct {
	in  *bufio.Reader
	out io.Writer
}

func (p *plainLines) line(prompt string, _ []string) (string, error) {
	if _, err := io.WriteString(p.out, prompt); err != nil {
		return "", err
	}
	s, err := p.in.ReadString('\n')
	if s = strings.TrimSpace(s); s != "" && errors.Is(err, io.EOF) {
		err = nil // a last line without its end
	}
	return s, err
}

// editedLines reads the lines of a terminal, which is in raw mode only while somebody types.
type editedLines struct {
	t   *term.Terminal
	fd  int
	out io.Writer
}

func (e *editedLines) line(prompt string, words []string) (string, error) {
	cooked, err := term.MakeRaw(e.fd)
	if err != nil {
		return "", err
	}
	e.t.AutoCompleteCallback = tab(words)
	e.t.SetPrompt(prompt)
	if w, h, err := term.GetSize(e.fd); err == nil && w > 0 {
		err = e.t.SetSize(w, h)
		if err != nil {
			return "", errors.Join(err, term.Restore(e.fd, cooked))
		}
	}
	s, err := e.t.ReadLine()
	if err := term.Restore(e.fd, cooked); err != nil {
		return "", err
	}
	if err != nil {
		_, lost := io.WriteString(e.out, "\n") // Ctrl-C leaves the cursor in the line
		return "", errors.Join(err, lost)
	}
	return strings.TrimSpace(s), nil
}

// tab completes a line to the one word that begins with it.
func tab(words []string) func(string, int, rune) (string, int, bool) {
	return func(line string, at int, key rune) (string, int, bool) {
		hits := beginning(line, words)
		if key != '\t' || at != len(line) || len(hits) != 1 {
			return "", 0, false
		}
		return hits[0], len(hits[0]), true
	}
}

// beginning returns the words that begin with s, "" with none.
func beginning(s string, words []string) []string {
	var hits []string
	for _, w := range words {
		if s != "" && strings.HasPrefix(w, s) {
			hits = append(hits, w)
		}
	}
	return hits
}

// earlier are the lines that were typed, for the arrow keys: none empty and none twice in a row.
type earlier struct{ lines []string }

func (e *earlier) Add(s string) {
	if s != "" && (len(e.lines) == 0 || e.lines[len(e.lines)-1] != s) {
		e.lines = append(e.lines, s)
	}
}

func (e *earlier) Len() int { return len(e.lines) }

// At returns a line, 0 for the last one.
func (e *earlier) At(i int) string { return e.lines[len(e.lines)-1-i] }
