package cli

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"github.com/evenstroke/evenstroke/unit"
)

// bold marks a word when the output is a terminal.
func (a *app) bold(s string) string {
	if !a.terminal() {
		return s
	}
	return "\x1b[1m" + s + "\x1b[0m"
}

// red marks what would not stand, when the output is a terminal.
func (a *app) red(s string) string {
	if !a.terminal() {
		return s
	}
	return "\x1b[1;31m" + s + "\x1b[0m"
}

func (a *app) terminal() bool { return os.Getenv("NO_COLOR") == "" && isTerminal(a.out.w) }

// isTerminal says whether a stream is a person's screen.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// Widths in characters: of what is no terminal, the least that is kept to, the most that a line of text runs on.
const (
	defaultWidth = 100
	leastWidth   = 50
	mostText     = 100
)

// width is how wide the output may be: COLUMNS when it is set, else that of the terminal.
func (a *app) width() int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return max(n, leastWidth)
	}
	if f, ok := a.out.w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			return max(n, leastWidth)
		}
	}
	return defaultWidth
}

// wrap breaks a text into lines that fit the output, each with the indent.
func (a *app) wrap(s, indent string) string { return wrap(s, indent, indent, min(a.width(), mostText)) }

// hang is wrap with another beginning of the first line.
func (a *app) hang(s, first, indent string) string {
	return wrap(s, first, indent, min(a.width(), mostText))
}

// para prints a text in lines that fit the output.
func (a *app) para(indent, format string, args ...any) {
	fmt.Fprintln(a.out, a.wrap(fmt.Sprintf(format, args...), indent))
}

// show writes a quantity that does not break in two at the end of a line.
func (a *app) show(si float64, d unit.Dim) string { return firm(a.sys.Show(si, d)) }

func firm(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// count writes how many there are of something.
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// either names words of which one is meant: "stall, run or locked".
func either(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// column writes values that stand under each other in one unit, that of the largest.
func (a *app) column(d unit.Dim, values ...float64) []string {
	largest := 0.0
	for _, v := range values {
		largest = max(largest, math.Abs(v))
	}
	u := a.sys.UnitFor(largest, d)
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = firm(unit.Format(v, d, u, 3))
	}
	return out
}

// wrap breaks a text at its spaces, but not at those that do not break, into lines of at most n characters.
func wrap(s, first, indent string, n int) string {
	var lines []string
	cur, empty := first, true
	for _, word := range words(s) {
		if !empty && length(cur)+1+length(word) > n {
			lines = append(lines, cur)
			cur, empty = indent, true
		}
		if !empty {
			cur += " "
		}
		cur, empty = cur+word, false
	}
	return strings.Join(append(lines, cur), "\n")
}

// words parts a text at its breaking spaces.
func words(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' })
}

// length counts the characters that show: not the marks that make a word bold.
func length(s string) int {
	s = strings.NewReplacer("\x1b[1m", "", "\x1b[1;31m", "", "\x1b[0m", "").Replace(s)
	return utf8.RuneCountInString(s)
}

// bar draws a share from 0 to 1 in n cells, with eighths.
func bar(share float64, n int) string {
	eighths := int(share*float64(n)*8 + 0.5)
	if share > 0.004 && eighths == 0 {
		eighths = 1
	}
	s := strings.Repeat("█", eighths/8)
	if r := eighths % 8; r > 0 {
		s += string([]rune("▏▎▍▌▋▊▉")[r-1])
	}
	return s + strings.Repeat("·", max(0, n-utf8.RuneCountInString(s)))
}
