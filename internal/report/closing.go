//go:build !small

package report

import (
	"math"

	folioimage "github.com/carlos7ags/folio/image"
)

// signed sets the signature and the mark of the record side by side.
func (p *press) signed(v *signatureView, mark string) error {
	if v == nil && mark == "" {
		return nil
	}
	const gap = 28
	w := (p.right - p.left - gap) / 2
	var cells []cell
	p.gap(20 * p.zoom)
	if v != nil {
		a, err := v.art(w, 50*p.zoom)
		if err != nil {
			return err
		}
		a.alt = p.clean(a.alt, false)
		lines := append([]textLine{{lead: 4}}, p.lines(w, run{v.Name + " \u00a0", strong}, run{v.By, small})...)
		cells = append(cells, cell{tag: "P", x: p.left, w: w, art: a, lines: lines})
	}
	if mark != "" {
		x := p.left
		if v != nil {
			x += w + gap
		}
		lines := append(p.lines(w, run{p.words.t("mark"), small}), p.lines(w, inLines(mark, textStyle{13, 19, true, black})...)...)
		cells = append(cells, cell{tag: "P", x: x, w: w, lines: append(lines, p.lines(w, run{p.words.t("mark.text"), small})...)})
	}
	if v != nil {
		title := p.lines(w, run{p.words.t("signature"), small})
		p.need(rowHeight(cells) + height(title) + 8)
		p.row("", []cell{{tag: "P", x: p.left, w: w, lines: title}}, 0, true, nil)
		if mark != "" {
			p.y -= height(title)
			cells[0].lines, cells[0].art = append([]textLine{}, cells[0].lines...), cells[0].art.lower(height(title))
		}
	}
	p.row("", cells, 0, true, nil)
	return nil
}

// lower moves a picture down in its own box.
func (a *art) lower(by float64) *art {
	draw := a.draw
	return &art{w: a.w, h: a.h + by, alt: a.alt, draw: func(q *pen, x, y float64) { draw(q, x, y+by) }}
}

// art makes a signature ready: the picture, the outline, or a line to sign on.
func (v *signatureView) art(w, h float64) (*art, error) {
	if v.segs == nil && v.png == nil {
		return &art{w: w, h: h, alt: v.Alt, draw: func(q *pen, x, y float64) { q.rule(black, x, y+h-2, x+w, y+h-2, 0.8) }}, nil
	}
	pw, ph := v.box[2], v.box[3]
	k := math.Min(w/pw, h/ph)
	out := &art{w: pw * k, h: ph * k, alt: v.Alt}
	if v.png != nil {
		img, err := folioimage.NewPNG(v.png)
		if err != nil {
			return nil, &DocumentError{"Signature", err.Error()}
		}
		out.draw = func(q *pen, x, y float64) { q.image(img, 1, x, y, pw*k, ph*k) }
		return out, nil
	}
	out.draw = func(q *pen, x, y float64) {
		q.s.SaveState()
		q.s.Rectangle(round2(x), q.up(y+ph*k), round2(pw*k), round2(ph*k))
		q.s.ClipNonZero()
		q.s.EndPath()
		q.stroke(black)
		q.s.SetLineWidth(round2(math.Max(0.8, v.Stroke*k)))
		q.s.SetLineCap(1)
		q.s.SetLineJoin(1)
		q.trace(v.segs, func(px, py float64) (float64, float64) { return x + k*(px-v.box[0]), y + k*(py-v.box[1]) })
		q.s.Stroke()
		q.s.RestoreState()
	}
	return out, nil
}
