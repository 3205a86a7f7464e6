package draw

import "math"

// narrow draws the section with numbers and lists the paths below it.
func (m *leakMap) narrow() string {
	top := m.above(20)
	m.frame(top)
	for _, l := range m.labels {
		l.h = 30
	}
	m.sides()
	bottom := m.left.bottom
	m.push(m.dx, m.dy, m.k)
	m.s.draw(&m.canvas)
	m.pop()
	for _, k := range []*column{&m.left, &m.right} {
		m.leaders(k)
	}
	for _, k := range []*column{&m.left, &m.right} {
		side := 1.0
		if k == &m.left {
			side = -1
		}
		for _, q := range k.clusters {
			for _, l := range q.labels {
				m.badge(k.edge+side*14, l.y+l.h/2, l.n)
			}
		}
	}
	y := m.list(bottom + 18)
	h := m.legend(y + 6)
	return m.document(m.f.w, h, m.title(), m.describe())
}

// list sets the paths one below the other, groups first and joined, the likeliest on top.
func (m *leakMap) list(y float64) float64 {
	x := m.f.margin + 46
	for _, set := range m.ranked() {
		group := set[0].group >= 0 && len(set) > 1
		if group {
			y += m.f.text * 1.2
			m.text(m.captionFont(), x, y, atStart, m.t(apart))
			y += m.f.text * 0.6
		}
		y0 := y
		for _, l := range set {
			y = m.entry(l, x, y)
		}
		if group {
			m.polyline("es-bracket", m.f.margin+2, y0+4, m.f.margin-4, y0+4, m.f.margin-4, y-6, m.f.margin+2, y-6)
		}
	}
	return y
}

// entry sets one path of the list and returns the level below it.
func (m *leakMap) entry(l *label, x, y float64) float64 {
	share := m.shareFont()
	if !l.big {
		share = font{"es-quiet", m.f.text, false}
	}
	room := m.f.w - m.f.margin - x - share.width(l.share) - 12
	name := m.nameFont(l)
	names := name.wrap(said(l.path), room, 3)
	m.badge(m.f.margin+22, y+22, l.n)
	m.text(share, m.f.w-m.f.margin, y+28, atEnd, l.share)
	next := m.lines(name, x, y+27, m.f.name*1.25, atStart, names)
	if l.flow != "" {
		m.text(m.textFont(), x, next, atStart, l.flow)
		next += m.f.text * 1.35
	}
	return math.Max(next-m.f.name*0.6, y+42)
}
