//go:build !small

package report

import (
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	folioimage "github.com/carlos7ags/folio/image"
)

// PDF writes the report as PDF/A-2a (ISO 19005-2): tagged, with its language, its fonts inside. The same document gives the same
// bytes. It says what HTML says, in the same order. Errors: those of HTML.
func PDF(w io.Writer, doc Document) error {
	p, err := pressed(doc)
	if err != nil {
		return err
	}
	if err := doc.settle(); err != nil {
		return err
	}
	return p.send(w, info{title: doc.Title + ": " + doc.Pump.Name, author: doc.Shop, lang: doc.Lang, at: doc.At})
}

// pressed sets a report on pages.
func pressed(doc Document) (*press, error) {
	v, err := newView(doc)
	if err != nil {
		return nil, err
	}
	if err := doc.settle(); err != nil {
		return nil, err
	}
	p, err := newPress(doc.Paper, doc.Words)
	if err != nil {
		return nil, err
	}
	s := &sheets{press: p, v: v, doc: &doc}
	for _, part := range []func() error{s.cover, s.holds, s.stacks, s.cautions, s.steps, s.torques, s.departures, s.signOffs, s.curves, s.photos, s.unknown, s.prices, s.closing} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	p.running(doc.Running, doc.Draft)
	p.footers(joinPresent(" · ", v.Title, v.Pump), v.Generated, v.RecordMark)
	return p, nil
}

// sheets sets a report.
type sheets struct {
	*press
	v   *view
	doc *Document
}

func (s *sheets) width() float64 { return s.right - s.left }

// masthead sets the shop, the title and the QR code.
func (p *press) masthead(shop string, shopLines []string, title string, under []string, code *codeView) {
	y0, right := p.y, p.right
	if code != nil {
		const size = 84
		quiet := size * quietZone / float64(code.Size)
		x, y := p.right-size+quiet, p.y-quiet
		p.right -= size
		defer func() {
			p.add(&node{tag: "Figure", alt: p.clean(code.Alt, false), paint: func(q *pen) { code.draw(q, x, y, size) }})
			p.y = math.Max(p.y, y0+size-2*quiet)
		}()
	}
	if shop != "" {
		p.para(run{shop, strong.at(10.5, 15)})
	}
	for _, l := range shopLines {
		p.para(run{l, small})
	}
	p.y += 12 * p.zoom
	lines := p.lines(p.right-p.left, run{title, textStyle{27, 33, true, black}})
	y := p.y
	if h := height(lines); h < p.bottom-p.y && len(lines) > 0 {
		x, w := p.left, p.right-p.left
		p.add(&node{tag: "H1", head: p.clean(title, true), paint: func(q *pen) { p.drawLines(q, lines, x, y, w, alignLeft) }})
		p.y += h
	} else {
		p.para(run{title, sub})
	}
	for _, l := range under {
		if l != "" {
			p.para(run{l, aside})
		}
	}
	p.right = right
}

// draw draws the dark modules as one outline, so that no seam shows between them.
func (v *codeView) draw(q *pen, x, y, size float64) {
	m := size / float64(v.Size)
	q.fill(0x000000)
	v.bars(func(cx, cy, n int) {
		q.s.Rectangle(round3(x+m*float64(cx)), round3(q.h-y-m*float64(cy+1)), round3(m*float64(n)), round3(m))
	})
	q.s.Fill()
}

func (s *sheets) cover() error {
	v := s.v
	under := v.Running
	if under == "" {
		under = v.Pump
	}
	s.masthead(v.Shop, v.ShopLines, v.Title, []string{under, v.Made}, v.Code)
	s.y += 16
	s.draft(v.Draft)
	if v.Invented {
		s.framed(warning, 1.4, []float64{5, 4}, func() {
			s.para(run{s.words.t("invented") + " ", strong}, run{v.Note, body})
		})
		s.y += 14
	} else if v.Note != "" {
		s.para(run{v.Note, aside})
		s.y += 12
	}
	if n := len(v.Summary); n > 0 {
		s.band(v.Summary[n-1], true)
		for _, k := range v.Summary[:n-1] {
			s.band(k, false)
		}
		s.y += 8
	}
	s.overrides(v.Overrides)
	s.facts(v.Facts, 3)
	return nil
}

// overrides says with weight that the job was closed without proof.
func (p *press) overrides(lines []string) {
	if len(lines) == 0 {
		return
	}
	p.y += 4
	p.framed(warning, 2.6, nil, func() {
		p.para(run{p.words.t("overrides"), sub.in(warning).at(13, 19)})
		p.para(run{p.words.t("overridesText"), body})
		p.y += 2
		p.list(dot, plain(lines, strong)...)
	})
	p.y += 12
}

// band sets a verdict in its colour: the last one large, those before it in one line.
func (p *press) band(k summary, large bool) {
	if large {
		const w = 165
		p.plate(k.Class, 15, 34, w, func(room float64) (words, figure []textLine) {
			words = append(p.lines(room, run{k.Heading, body.in(white)}), p.lines(room, run{k.Word, textStyle{24, 29, true, white}})...)
			figure = append(p.lines(w, run{k.Figure, textStyle{24, 29, true, white}}), p.lines(w, run{p.words.t("chanceWords"), textStyle{9, 12.5, false, white}})...)
			return words, figure
		})
		return
	}
	const w = 200
	text := textStyle{9, 16, false, white}
	p.plate(k.Class, 6, 12, w, func(room float64) (words, figure []textLine) {
		return p.lines(room, run{k.Heading + " \u00a0", text}, run{k.Word, textStyle{11.5, 16, true, white}}), p.lines(w, run{k.Chance, text})
	})
}

// plate sets white words beside the sign of a verdict on its colour, and at the right a figure, if so wide.
func (p *press) plate(class string, pad, mark, figureW float64, set func(room float64) (words, figure []textLine)) {
	pad, mark = pad*p.zoom, mark*p.zoom
	x := p.left + pad*1.2 + mark + 12
	w := p.right - x - figureW - pad*1.2
	words, figure := set(w)
	h := math.Max(math.Max(height(words), height(figure)), mark) + 2*pad
	p.need(math.Min(h, p.bottom-p.top))
	y, left, right := p.y, p.left, p.right
	p.decorate(func(q *pen) {
		q.box(classInk(class), left, y, right-left, h, 7)
		q.sign(class, left+pad*1.2+mark/2, y+h/2, mark/2)
	})
	at := func(lines []textLine, x, w float64, align int) {
		if len(lines) > 0 {
			top := y + (h-height(lines))/2
			p.add(&node{tag: "P", paint: func(q *pen) { p.drawLines(q, lines, x, top, w, align) }})
		}
	}
	at(words, x, w, alignLeft)
	at(figure, p.right-figureW-pad*1.2, figureW, alignRight)
	p.y += h + 5
}

// sign draws a tick, a cross or an hourglass round a point.
func (q *pen) sign(class string, x, y, r float64) {
	q.s.SaveState()
	q.stroke(white)
	q.s.SetLineWidth(round2(r * 0.24))
	q.s.SetLineCap(1)
	q.s.SetLineJoin(1)
	move := func(first bool, dx, dy float64) {
		px, py := round2(x+dx*r), q.up(y+dy*r)
		if first {
			q.s.MoveTo(px, py)
		} else {
			q.s.LineTo(px, py)
		}
	}
	switch class {
	case "holds":
		move(true, -0.8, 0.05)
		move(false, -0.2, 0.65)
		move(false, 0.85, -0.65)
	case "fails":
		move(true, -0.65, -0.65)
		move(false, 0.65, 0.65)
		move(true, 0.65, -0.65)
		move(false, -0.65, 0.65)
	case "open":
		move(true, -0.6, -0.75)
		move(false, 0.6, -0.75)
		move(false, -0.6, 0.75)
		move(false, 0.6, 0.75)
		q.s.ClosePath()
	default:
		move(true, -0.6, 0)
		move(false, 0.6, 0)
	}
	q.s.Stroke()
	q.s.RestoreState()
}

// facts sets names with their values in so many columns.
func (p *press) facts(facts []Fact, columns int) {
	const gap = 18
	w := (p.right - p.left - gap*float64(columns-1)) / float64(columns)
	for len(facts) > 0 {
		n := min(columns, len(facts))
		cells := make([]cell, n)
		for i, f := range facts[:n] {
			lines := append(p.lines(w, run{f.Name, small}), p.lines(w, run{f.Value, strong})...)
			cells[i] = cell{tag: "P", x: p.left + float64(i)*(w+gap), w: w, lines: lines}
		}
		facts = facts[n:]
		p.row("", cells, 4.5*p.zoom, true, func(x0, y, _ float64) {
			p.decorate(func(q *pen) {
				for i := range n {
					x := x0 + float64(i)*(w+gap)
					q.rule(hair, x, y, x+w, y, 0.6)
				}
			})
		})
	}
}

// running writes which pump and job it is, and that a draft is one, at the head of every page.
func (p *press) running(text string, draft bool) {
	p.zoom = 1
	st := textStyle{8.2, 10.5, false, quiet}
	left, right := p.lines((p.right-p.left)*0.7, run{text, st}), []textLine(nil)
	if draft {
		right = p.lines((p.right-p.left)*0.3, run{p.words.t("draft"), st.in(warning).heavy()})
	}
	for _, pg := range p.pages {
		pg.nodes = append(pg.nodes, &node{paint: func(q *pen) {
			y := p.top - 22
			p.drawLines(q, left[:min(1, len(left))], p.left, y, p.right-p.left, alignLeft)
			p.drawLines(q, right[:min(1, len(right))], p.left, y, p.right-p.left, alignRight)
		}})
	}
}

// draft says that the paper is one of a job that is not closed.
func (p *press) draft(draft bool) {
	if !draft {
		return
	}
	p.framed(warning, 1.4, nil, func() { p.para(run{p.words.t("draft") + ". ", strong.in(warning)}, run{p.words.t("draftText"), body}) })
	p.y += 10 * p.zoom
}

// footers writes what paper it is, the mark of the record and the page number under every page.
func (p *press) footers(title, generated, mark string) {
	if mark != "" {
		mark = p.words.t("record", "mark", mark)
	}
	p.zoom = 1
	for i, pg := range p.pages {
		no := p.words.t("page", "page", strconv.Itoa(i+1), "pages", strconv.Itoa(len(p.pages)))
		room := (p.right - p.left - 20) / 3
		st := textStyle{8.2, 10.5, false, quiet}
		parts := [3][]textLine{p.lines(room, run{title, st}, run{newLine, st}, run{generated, st}), p.lines(room, inLines(mark, st)...), p.lines(room, run{no, st})}
		pg.nodes = append(pg.nodes, &node{paint: func(q *pen) {
			y := p.h - foot
			q.rule(hair, p.left, y-6, p.right, y-6, 0.6)
			for k, lines := range parts {
				p.drawLines(q, lines[:min(2, len(lines))], p.left+float64(k)*(room+10), y-3, room, []int{alignLeft, alignCentre, alignRight}[k])
			}
		}})
	}
}

// inLines sets a mark in two lines when it has two halves, so that no group of digits is broken.
func inLines(mark string, st textStyle) []run {
	first, second := mark, ""
	if i := strings.LastIndexFunc(mark, unicode.IsSpace); i >= 0 && strings.Count(mark, "-") > 1 {
		first, second = mark[:i], strings.TrimSpace(mark[i:])
	}
	if second == "" {
		return []run{{first, st}}
	}
	return []run{{first, st}, {newLine, st}, {second, st}}
}

// photo makes a photograph ready, no wider and no higher than said.
func (v *photoView) art(w, most float64) (*art, error) {
	img, err := folioimage.NewJPEG(v.jpeg)
	if err != nil {
		return nil, &DocumentError{"Photos", v.Caption + ": " + err.Error()}
	}
	pw, ph := v.size()
	w = math.Min(w, most*pw/ph)
	h := w * ph / pw
	return &art{w: w, h: h, alt: v.Caption, draw: func(q *pen, x, y float64) { q.image(img, v.turn, x, y, w, h) }}, nil
}
