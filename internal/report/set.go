//go:build !small

package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/carlos7ags/folio/layout"
)

// textStyle is how a text is set.
type textStyle struct {
	size, lead float64
	bold       bool
	ink        ink
}

// smallest is the smallest type on any paper, in points: what a reader of fifty still reads at arm's length.
const smallest = 8.0

// The styles of both reports.
var (
	body    = textStyle{9.6, 14, false, black}
	strong  = textStyle{9.6, 14, true, black}
	aside   = textStyle{9.6, 14, false, quiet}
	small   = textStyle{8.2, 11.5, false, quiet}
	smallB  = textStyle{8.2, 11.5, true, quiet}
	chapter = textStyle{17, 22, true, black}
	sub     = textStyle{11.5, 16, true, black}
)

func (s textStyle) in(c ink) textStyle              { s.ink = c; return s }
func (s textStyle) heavy() textStyle                { s.bold = true; return s }
func (s textStyle) at(size, lead float64) textStyle { s.size, s.lead = size, lead; return s }

// run is a text in one style.
type run struct {
	text string
	textStyle
}

// textLine is one line, ready to be drawn.
type textLine struct {
	runs        []run
	width, lead float64
}

// Alignments of a line in its column.
const (
	alignLeft = iota
	alignRight
	alignCentre
)

func (p *press) face(bold bool) *face {
	if bold {
		return p.bold
	}
	return p.regular
}

// word is what is not broken, unless it is wider than the line.
type word struct {
	runs  []run
	width float64
	space float64 // before it
	glue  string  // the space itself
}

// newLine as the text of a run begins a new line.
const newLine = "\n"

// lines breaks runs into lines no wider than width. Runs stand close to each other: write the space.
func (p *press) lines(width float64, runs ...run) []textLine {
	for i, r := range runs {
		if r.text == newLine {
			return append(p.lines(width, runs[:i]...), p.lines(width, runs[i+1:]...)...)
		}
	}
	var out []textLine
	var cur textLine
	push := func() {
		if len(cur.runs) > 0 {
			out = append(out, cur)
		}
		cur = textLine{}
	}
	for _, w := range p.split(runs) {
		for _, piece := range p.chop(w, width) {
			if len(cur.runs) > 0 && cur.width+piece.space+piece.width > width+0.01 {
				push()
			}
			cur.join(piece)
		}
	}
	push()
	return out
}

// join puts a word at the end of the line. Words of one style become one run.
func (l *textLine) join(w word) {
	for i, r := range w.runs {
		if i == 0 && len(l.runs) > 0 {
			l.runs[len(l.runs)-1].text += w.glue
			l.width += w.space
		}
		if n := len(l.runs); n > 0 && l.runs[n-1].textStyle == r.textStyle {
			l.runs[n-1].text += r.text
		} else {
			l.runs = append(l.runs, r)
		}
		l.lead = math.Max(l.lead, r.lead)
	}
	l.width += w.width
}

// split cuts runs into words at their spaces.
func (p *press) split(runs []run) []word {
	var out []word
	glued := false // the next piece belongs to the last word
	space := 0.0
	for _, r := range runs {
		r.size, r.lead = math.Max(smallest, r.size*p.zoom), math.Max(1.2*smallest, r.lead*p.zoom)
		f := p.face(r.bold)
		for i, piece := range strings.Split(p.clean(bind(r.text), r.bold), " ") {
			if i > 0 {
				glued, space = false, f.width(" ", r.size)
			}
			if piece == "" {
				continue
			}
			w := f.width(piece, r.size)
			if glued && len(out) > 0 {
				last := &out[len(out)-1]
				last.runs = append(last.runs, run{piece, r.textStyle})
				last.width += w
			} else {
				out = append(out, word{runs: []run{{piece, r.textStyle}}, width: w, space: space, glue: " "})
			}
			glued = true
		}
	}
	return out
}

// numberUnit is a number, or ±, with a short word after it.
var numberUnit = regexp.MustCompile(`([0-9±]) ([\p{L}°%±µ0-9][^ ]{0,8})`)

// bind keeps numbers and their units on one line.
func bind(s string) string {
	return numberUnit.ReplaceAllString(numberUnit.ReplaceAllString(s, "$1\u00a0$2"), "$1\u00a0$2") // twice: "± 4 mm" overlaps itself
}

// chop cuts a word that is wider than the line where a sign ends.
func (p *press) chop(w word, width float64) []word {
	if w.width <= width {
		return []word{w}
	}
	var out []word
	cur := word{space: w.space, glue: w.glue}
	for _, r := range w.runs {
		f := p.face(r.bold)
		breaks := layout.GraphemeBreaks(r.text)
		from := 0
		for _, to := range append(breaks, len(r.text)) {
			if to <= from || to > len(r.text) {
				continue
			}
			sign := r.text[from:to]
			from = to
			a := f.width(sign, r.size)
			if cur.width+a > width && len(cur.runs) > 0 {
				out = append(out, cur)
				cur = word{}
			}
			cur.width += a
			if n := len(cur.runs); n > 0 && cur.runs[n-1].textStyle == r.textStyle {
				cur.runs[n-1].text += sign
			} else {
				cur.runs = append(cur.runs, run{sign, r.textStyle})
			}
		}
	}
	return append(out, cur)
}

// drawLines draws lines into a column, the first one with its upper edge at y.
func (p *press) drawLines(q *pen, lines []textLine, x, y, w float64, align int) {
	for n, l := range lines {
		at := x
		switch align {
		case alignRight:
			at = x + w - l.width
		case alignCentre:
			at = x + (w-l.width)/2
		}
		size := 0.0
		for _, r := range l.runs {
			size = math.Max(size, r.size)
		}
		base := y + (l.lead-size)/2 + 0.8*size
		for i, r := range l.runs {
			f, text := p.face(r.bold), r.text
			if i == len(l.runs)-1 && n < len(lines)-1 { // so that the words of two lines do not grow together for who cannot see them
				text += " "
			}
			at = q.text(f, round2(r.size), r.ink, at, base, text)
		}
		y += l.lead
	}
}

func height(lines []textLine) float64 {
	h := 0.0
	for _, l := range lines {
		h += l.lead
	}
	return h
}

// para sets a paragraph.
func (p *press) para(runs ...run) {
	lines := p.lines(p.right-p.left, runs...)
	p.row("", []cell{{tag: "P", x: p.left, w: p.right - p.left, lines: lines}}, 0, len(lines) <= whole, nil)
}

// whole is how many lines are not divided between two pages.
const whole = 4

// least is how much of some lines stands together at the foot of a page.
func (p *press) least(lines []textLine) float64 {
	return height(lines[:min(whole, len(lines))]) + 4*p.zoom
}

// heading is a heading that waits for what it stands over or beside, so that it never ends a page.
type heading struct {
	with func(h float64) float64 // height of the heading and of a beginning of h
	set  func()
}

// head sets a heading of level 2 or 3 with the next thing that is set.
func (p *press) head(level int, text string) {
	st, above, below := chapter, 30.0, 10.0
	if level == 3 {
		st, above, below = sub, 16, 4
	}
	lines := p.lines(p.right-p.left, run{text, st})
	if len(lines) == 0 {
		return
	}
	above, below = above*p.zoom, below*p.zoom
	p.heads = append(p.heads, heading{
		with: func(h float64) float64 { return above + height(lines) + below + h },
		set: func() {
			p.gap(above)
			if level == 2 && p.y > p.top {
				y, x0, x1 := p.y-0.4*above, p.left, p.right
				p.decorate(func(q *pen) { q.rule(black, x0, y, x1, y, 1.2) })
			}
			p.setHead(level, text, lines)
			p.y += below
		},
	})
}

func (p *press) setHead(level int, text string, lines []textLine) {
	c := cell{tag: "H" + string(rune('0'+level)), x: p.left, w: p.right - p.left, lines: lines}
	h := height(lines)
	if p.y+h > p.bottom { // a heading longer than a page
		p.row("", []cell{c}, 0, false, nil)
		return
	}
	y := p.y
	p.add(&node{tag: c.tag, head: p.clean(text, true), paint: func(q *pen) { p.drawLines(q, lines, c.x, y, c.w, alignLeft) }})
	p.y += h
}

// list sets items, each of one or more paragraphs, with a mark before each.
func (p *press) list(mark func(i int) run, items ...[][]run) {
	if len(items) == 0 {
		return
	}
	w := 0.0
	marks := make([][]textLine, len(items))
	for i := range items {
		marks[i] = p.lines(60, mark(i))
		for _, l := range marks[i] {
			w = math.Max(w, l.width)
		}
	}
	indent := w + 7
	sets := make([][]textLine, len(items))
	for i, it := range items {
		for _, para := range it {
			sets[i] = append(sets[i], p.lines(p.right-p.left-indent, para...)...)
		}
	}
	p.need(p.least(sets[0]))
	end := p.group("L")
	defer end()
	for i, lines := range sets {
		p.row("LI", []cell{
			{tag: "Lbl", x: p.left, w: w, align: alignRight, lines: marks[i]},
			{tag: "LBody", x: p.left + indent, w: p.right - p.left - indent, lines: lines},
		}, 1.3*p.zoom, len(lines) <= whole, nil)
	}
}

func dot(int) run { return run{"•", aside} }

func numbered(i int) run { return run{strconv.Itoa(i + 1), strong.in(quiet)} }

// plain makes a list of texts in one style.
func plain(texts []string, st textStyle) [][][]run {
	out := make([][][]run, len(texts))
	for i, s := range texts {
		out[i] = [][]run{{{s, st}}}
	}
	return out
}

// framed draws a frame round what set sets, on each page that it reaches.
func (p *press) framed(c ink, width float64, dash []float64, set func()) {
	const pad = 12
	p.need(70)
	x, w, y, from := p.left, p.right-p.left, p.y, len(p.pages)-1
	p.left, p.right, p.y = p.left+pad+2, p.right-pad-2, p.y+pad
	set()
	p.left, p.right, p.y = x, x+w, p.y+pad
	for i := from; i < len(p.pages); i++ {
		y0, y1 := p.top-pad, p.bottom+pad
		if i == from {
			y0 = y
		}
		if i == len(p.pages)-1 {
			y1 = p.y
		}
		p.pages[i].nodes = append(p.pages[i].nodes, &node{paint: func(q *pen) { q.frame(c, x, y0, w, y1-y0, 7, width, dash...) }})
	}
}

// figure sets a picture as wide as the text, or smaller so that it is no higher than most.
func (p *press) figure(pic *picture, most float64) {
	a := p.art(pic, p.right-p.left, most)
	p.need(a.h)
	x, y := p.left+(p.right-p.left-a.w)/2, p.y
	p.add(&node{tag: "Figure", alt: a.alt, paint: func(q *pen) { a.draw(q, x, y) }})
	p.y += a.h
}

// art makes a picture ready, no wider and no higher than said.
func (p *press) art(pic *picture, w, most float64) *art {
	for _, d := range pic.ops {
		if d.text != "" {
			p.clean(d.text, d.bold) // notes missing signs
		}
	}
	w = math.Min(w, most*pic.w/pic.h)
	return &art{w: w, h: w * pic.h / pic.w, alt: p.clean(joinPresent(". ", pic.title, pic.desc), false), draw: func(q *pen, x, y float64) {
		pic.draw(q, p.regular, p.bold, x, y, w)
	}}
}
