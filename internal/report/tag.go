//go:build !small

package report

import (
	"io"
	"math"
	"time"
)

// Tag is what is tied to a pump: whose it is, and a QR code that opens its job. Texts come in the language of the shop; what is empty is
// left out.
type Tag struct {
	Number   string // of the job, the largest thing on the tag
	Serial   string
	Model    string
	Customer string
	Under    []string // small, at the foot: the day, the shop
	QR       string   // what the QR code says
	Words    Words    // the fixed words; English when nil
	Lang     string   // BCP 47; "en" when empty
	At       time.Time
}

// A label is 105 × 74 mm (ISO 216 A7, long side across), of which eight make a sheet of A4.
const (
	labelWidth  = 105 * 72 / 25.4
	labelHeight = 74.25 * 72 / 25.4
	perSheet    = 8
)

// TagPDF writes a tag as PDF/A-2a: one label, or with a place from 1 to 8 that label of a sheet of A4, in rows of two from the top left,
// so that a sheet can be used up. Errors: *DocumentError for a place that is none and a code that cannot be written; those of w.
func TagPDF(w io.Writer, t Tag, place int) error {
	if place < 0 || place > perSheet {
		return &DocumentError{"Place", "found a place that is not on the sheet; expected one from 1 to 8, or 0 for a label of its own"}
	}
	if t.Lang == "" {
		t.Lang = "en"
	}
	p, err := newPress(A4, t.Words)
	if err != nil {
		return err
	}
	x, y := 0.0, 0.0
	if place == 0 {
		p.w, p.h = labelWidth, labelHeight
	} else {
		x, y = float64((place-1)%2)*labelWidth, float64((place-1)/2)*labelHeight
	}
	if err := p.tag(t, x, y); err != nil {
		return err
	}
	return p.send(w, info{title: joinPresent(" · ", t.Number, t.Serial), lang: t.Lang, at: t.At})
}

// tag sets a tag with its upper left corner at x, y: number and serial at the left, the code at the right, the hole above.
func (p *press) tag(t Tag, x, y float64) error {
	const margin, hole, gap = 17.0, 8.5, 12.0 // the hole is of 6 mm, for wire
	code, err := newCode(t.QR, t.Words)
	if err != nil {
		return err
	}
	p.top, p.bottom = y+margin, y+labelHeight-margin
	p.left, p.right = x+margin, x+labelWidth-margin
	p.decorate(func(q *pen) { q.frame(quiet, x+labelWidth/2-hole, y+margin-hole+2, 2*hole, 2*hole, hole, 0.8) })
	top := y + margin + hole + 6
	if code != nil {
		size := math.Min(112, p.bottom-top)
		p.right -= size + gap
		cx, cy := p.right+gap, top+(p.bottom-top-size)/2
		p.add(&node{tag: "Figure", alt: p.clean(code.Alt, false), paint: func(q *pen) { code.draw(q, cx, cy, size) }})
	}
	p.y = top
	p.fitted("H1", t.Number, 46, true)
	p.fitted("P", t.Serial, 30, true)
	p.fitted("P", t.Model, 15, false)
	p.fitted("P", t.Customer, 13, false)
	for _, l := range t.Under {
		p.fitted("P", l, 9.5, false)
	}
	return nil
}

// fitted sets one line as large as the room allows, up to size, never broken: a serial with a gap in it is another serial. Only what does
// not fit in the smallest type goes on on a second line.
func (p *press) fitted(tag, text string, size float64, bold bool) {
	if text == "" {
		return
	}
	f, w := p.face(bold), p.right-p.left
	whole := p.clean(text, bold)
	if wide := f.width(whole, 1); wide*size > w {
		size = math.Max(smallest, w/wide)
	}
	st := textStyle{size, size * 1.22, bold, black}
	lines := []textLine{{runs: []run{{whole, st}}, width: f.width(whole, size), lead: st.lead}}
	if lines[0].width > w+0.01 {
		lines = p.lines(w, run{text, st})
	}
	y, x := p.y, p.left
	p.add(&node{tag: tag, head: headText(tag, whole), paint: func(q *pen) { p.drawLines(q, lines, x, y, w, alignLeft) }})
	p.y += height(lines)
}

func headText(tag, text string) string {
	if tag == "H1" {
		return text
	}
	return ""
}
