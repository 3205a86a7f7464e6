//go:build !small

package report

import "math"

// cell is one column of a row: lines, or a picture above its lines.
type cell struct {
	tag   string
	x, w  float64
	align int
	lines []textLine
	art   *art
}

// art is a picture ready to be placed.
type art struct {
	w, h float64
	alt  string
	draw func(q *pen, x, y float64)
}

func (c *cell) artHeight() float64 {
	if c.art == nil {
		return 0
	}
	return c.art.h
}

func (c *cell) height() float64 { return c.artHeight() + height(c.lines) }

// row sets columns side by side, and goes on on the next page when they are too high for this one. keep says to rather begin on a
// new page. pad is the room above and below, and after is drawn under it.
func (p *press) row(tag string, cells []cell, pad float64, keep bool, after func(x0, y, x1 float64)) {
	if len(p.heads) > 0 {
		h := rowHeight(cells) + 2*pad
		if !keep {
			h = math.Min(h, whole*body.lead*p.zoom+2*pad)
		}
		p.need(h)
	}
	for {
		h := 0.0
		for i := range cells {
			h = math.Max(h, cells[i].height())
		}
		h += 2 * pad
		if p.y+h <= p.bottom+0.01 {
			p.place(tag, cells, pad)
			p.y += h
			break
		}
		room := p.bottom - p.y - 2*pad
		now, rest := cut(cells, room)
		fresh := p.y <= p.top+p.headRoom()
		if !fresh && (now == nil || keep && h < 0.5*(p.bottom-p.top)) {
			p.turn()
			continue
		}
		if now == nil { // a picture or a line higher than the page
			p.place(tag, cells, pad)
			p.y += h
			break
		}
		p.place(tag, now, pad)
		p.turn()
		cells = rest
	}
	if after != nil {
		after(p.left, p.y, p.right)
	}
}

// headRoom is what may stand above on a page that still counts as fresh: the head of a table.
func (p *press) headRoom() float64 { return 40 }

// cut divides cells at a height; now is nil when nothing fits.
func cut(cells []cell, room float64) (now, rest []cell) {
	any := false
	for _, c := range cells {
		a, b := c, c
		a.lines, b.lines = nil, nil
		h := c.artHeight()
		if h > room {
			a.art = nil
			b.lines = c.lines
		} else {
			b.art = nil
			any = any || c.art != nil
			for i, l := range c.lines {
				if h+l.lead > room {
					b.lines = c.lines[i:]
					break
				}
				h += l.lead
				a.lines = c.lines[:i+1]
				any = true
			}
		}
		now, rest = append(now, a), append(rest, b)
	}
	if !any {
		return nil, nil
	}
	return now, rest
}

func (p *press) place(tag string, cells []cell, pad float64) {
	end := func() {}
	if tag != "" {
		end = p.group(tag)
	}
	defer end()
	y := p.y + pad
	for _, c := range cells {
		top := y
		if c.art != nil {
			x := c.x
			switch c.align {
			case alignCentre:
				x += (c.w - c.art.w) / 2
			case alignRight:
				x += c.w - c.art.w
			}
			p.add(&node{tag: "Figure", alt: c.art.alt, paint: func(q *pen) { c.art.draw(q, x, y) }})
			top += c.art.h
		}
		if len(c.lines) > 0 || c.tag == "TD" || c.tag == "TH" {
			p.add(&node{tag: c.tag, paint: func(q *pen) { p.drawLines(q, c.lines, c.x, top, c.w, c.align) }})
		}
	}
}
