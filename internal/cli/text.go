package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"
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

// table prints columns that fit their content.
type table struct {
	head []string
	rows [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

func (t *table) print(w io.Writer) {
	width := make([]int, len(t.head))
	for _, row := range append([][]string{t.head}, t.rows...) {
		for i, c := range row {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	line := func(row []string) {
		var b strings.Builder
		for i, c := range row {
			b.WriteString("  " + c + strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
	line(t.head)
	rule := make([]string, len(width))
	for i, n := range width {
		rule[i] = strings.Repeat("─", n)
	}
	line(rule)
	for _, row := range t.rows {
		line(row)
	}
}

// wrap breaks a text into lines of at most n characters, each with the indent.
func wrap(s, indent string, n int) string {
	var lines []string
	cur := indent
	for _, word := range strings.Fields(s) {
		if utf8.RuneCountInString(cur)+1+utf8.RuneCountInString(word) > n && cur != indent {
			lines = append(lines, cur)
			cur = indent
		}
		if cur != indent {
			cur += " "
		}
		cur += word
	}
	return strings.Join(append(lines, cur), "\n")
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

// percent prints a probability without false certainty.
func percent(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "<1 %"
	case p > 0.99 && p < 1:
		return ">99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
