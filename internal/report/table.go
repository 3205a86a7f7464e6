//go:build !small

package report

import "math"

// column is one column of a table.
type column struct {
	head  string
	align int
	least float64 // width at least
}

// table sets rows under their heads. The first column names its row. Heads come again on each page; the last last rows stand under a
// heavy line. A table that is not longer than two fifths of a page stays whole; of a longer one at least three rows begin it, and at least
// two rows, with the last ones, end it.
func (p *press) table(caption string, cols []column, rows [][][]run, last int) {
	if len(rows) == 0 {
		return
	}
	widths := p.columns(cols, rows)
	pad := rowPad * p.zoom
	sets := make([][]cell, len(rows))
	heights := make([]float64, len(rows))
	for i, r := range rows {
		sets[i] = p.cells(cols, widths, r)
		heights[i] = rowHeight(sets[i]) + 2*pad
	}
	heads := p.tableHeads(cols, widths)
	var said []textLine
	if caption != "" {
		said = p.lines(p.right-p.left, run{caption, small})
	}
	top := height(said) + 4 + rowHeight(heads) + 6
	begin := top + sum(heights)
	if begin > 0.4*(p.bottom-p.top) {
		begin = top + sum(heights[:min(3, len(rows))])
	}
	p.need(math.Min(begin, p.bottom-p.top))
	end := p.group("Table")
	defer end()
	if caption != "" {
		p.row("", []cell{{tag: "Caption", x: p.left, w: p.right - p.left, lines: said}}, 2, false, nil)
	}
	header := func() {
		p.row("TR", heads, 3, true, func(x0, y, x1 float64) { p.decorate(func(q *pen) { q.rule(black, x0, y, x1, y, 0.9) }) })
	}
	header()
	ending := max(0, len(rows)-max(2, last+1)) // from this row on all stay together
	for i, cells := range sets {
		together := heights[i]
		if i == ending {
			together = sum(heights[i:])
		}
		if p.y+together > p.bottom && together < 0.5*(p.bottom-p.top) {
			p.turn()
			header()
		}
		heavy := i == len(rows)-last-1 && last > 0
		p.row("TR", cells, pad, true, func(x0, y, x1 float64) {
			c, w := hair, 0.6
			if heavy {
				c, w = black, 0.9
			}
			p.decorate(func(q *pen) { q.rule(c, x0, y, x1, y, w) })
		})
	}
}

func (p *press) tableHeads(cols []column, widths []float64) []cell {
	cells := make([]cell, len(cols))
	x := p.left
	for i, c := range cols {
		cells[i] = cell{tag: "TH", x: x, w: widths[i] - gutter, align: c.align, lines: p.lines(widths[i]-gutter, run{c.head, smallB})}
		if c.align == alignRight {
			cells[i].x += gutter * edge(i, len(cols))
		}
		x += widths[i]
	}
	return cells
}

func sum(v []float64) (s float64) {
	for _, x := range v {
		s += x
	}
	return s
}

const (
	gutter = 12.0 // between columns
	rowPad = 2.7
)

// edge moves a column that is set to the right to the edge of the table when it is the last.
func edge(i, n int) float64 {
	if i == n-1 {
		return 1
	}
	return 0
}

func rowHeight(cells []cell) float64 {
	h := 0.0
	for i := range cells {
		h = math.Max(h, cells[i].height())
	}
	return h
}

func (p *press) cells(cols []column, widths []float64, r [][]run) []cell {
	cells := make([]cell, len(cols))
	x := p.left
	for i, c := range cols {
		cells[i] = cell{tag: "TD", x: x, w: widths[i] - gutter, align: c.align}
		if i == 0 {
			cells[i].tag = "TH"
		}
		if c.align == alignRight {
			cells[i].x += gutter * edge(i, len(cols))
		}
		if i < len(r) {
			cells[i].lines = p.lines(widths[i]-gutter, r[i]...)
		}
		x += widths[i]
	}
	return cells
}

// columns shares the width of the text out: each column gets what its longest word needs, and of the rest as much as its texts want.
func (p *press) columns(cols []column, rows [][][]run) []float64 {
	least, want := make([]float64, len(cols)), make([]float64, len(cols))
	measure := func(i int, runs []run) {
		total := 0.0
		for _, w := range p.split(runs) {
			least[i] = math.Max(least[i], math.Min(w.width, 150))
			total += w.space + w.width
		}
		want[i] = math.Max(want[i], math.Min(total, 320))
	}
	for i, c := range cols {
		measure(i, []run{{c.head, smallB}})
		least[i] = math.Max(least[i], c.least)
		for _, r := range rows {
			if i < len(r) {
				measure(i, r[i])
			}
		}
		least[i] += gutter
		want[i] = math.Max(want[i]+gutter, least[i])
		if i == 0 { // what names the row stays on one line when it is short
			least[i] = math.Max(least[i], math.Min(want[i], 0.26*(p.right-p.left)))
		}
	}
	room := p.right - p.left
	out := make([]float64, len(cols))
	switch a, b := sum(least), sum(want); {
	case b <= room: // all on one line: the first column takes what is left
		copy(out, want)
		out[0] += room - b
	case a >= room:
		for i := range out {
			out[i] = least[i] * room / a
		}
	default:
		for i := range out {
			out[i] = least[i] + (room-a)*(want[i]-least[i])/(b-a)
		}
	}
	return out
}
