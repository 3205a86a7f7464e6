package cli

import (
	"fmt"
	"io"
	"strings"
)

// table prints columns that fit their content and the width of the output: first the widest columns break into lines at their spaces;
// when that is not enough, each row is a block of its own.
type table struct {
	head []string
	rows [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// tableIndent stands before a table and between its columns.
const tableIndent = "  "

func (t *table) print(w io.Writer, room int) {
	width := t.natural()
	if !t.shrink(width, room) {
		t.blocks(w, room)
		return
	}
	t.line(w, width, t.head)
	rule := make([]string, len(width))
	for i, n := range width {
		rule[i] = strings.Repeat("─", n)
	}
	t.line(w, width, rule)
	for _, row := range t.rows {
		t.line(w, width, row)
	}
}

func (t *table) all() [][]string { return append([][]string{t.head}, t.rows...) }

// natural is the width of each column that holds its cells in one line.
func (t *table) natural() []int {
	width := make([]int, len(t.head))
	for _, row := range t.all() {
		for i, c := range row {
			width[i] = max(width[i], length(c))
		}
	}
	return width
}

// shrink takes from the widest columns until the table fits, no column below its longest word. It is false when that cannot be.
func (t *table) shrink(width []int, room int) bool {
	least := make([]int, len(width))
	for _, row := range t.all() {
		for i, c := range row {
			for _, word := range words(c) {
				least[i] = max(least[i], length(word))
			}
		}
	}
	for total(width) > room {
		widest := -1
		for i := range width {
			if width[i] > least[i] && (widest < 0 || width[i] > width[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return false
		}
		width[widest]--
	}
	return true
}

func total(width []int) int {
	n := 0
	for _, x := range width {
		n += len(tableIndent) + x
	}
	return n
}

// line prints a row, in as many lines as its longest cell takes.
func (t *table) line(w io.Writer, width []int, row []string) {
	cells, most := make([][]string, len(width)), 1
	for i, c := range row {
		cells[i] = strings.Split(wrap(c, "", "", width[i]), "\n")
		most = max(most, len(cells[i]))
	}
	for k := range most {
		var b strings.Builder
		for i, n := range width {
			c := ""
			if k < len(cells[i]) {
				c = cells[i][k]
			}
			b.WriteString(tableIndent + c + strings.Repeat(" ", max(0, n-length(c))))
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

// blocks prints each row as a block: its first cell, then the others with what they are.
func (t *table) blocks(w io.Writer, room int) {
	label := 0
	for _, h := range t.head[1:] {
		label = max(label, length(h))
	}
	label = min(label, room/2)
	for i, row := range t.rows {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, wrap(row[0], tableIndent, tableIndent+tableIndent, room))
		for k, c := range row {
			if k == 0 || c == "" {
				continue
			}
			head := t.head[k]
			first := strings.Repeat(tableIndent, 2) + head + strings.Repeat(" ", max(0, label-length(head))) + tableIndent
			fmt.Fprintln(w, wrap(c, first, strings.Repeat(" ", length(first)), room))
		}
	}
}
