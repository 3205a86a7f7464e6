package draw

import (
	"math"
	"strings"
)

// narrow draws the section with numbers and lists the paths below it, or beside it.
func (m *leakMap) narrow() string {
	top := m.above(20)
	m.frame(top)
	for _, l := range m.labels {
		l.h = 33
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
				m.badge(k.edge+side*15, l.y+l.h/2, l.n)
			}
		}
	}
	if m.f.list > 0 {
		bottom = math.Max(bottom, m.list(m.f.list, top)) + 12
	} else {
		bottom = m.list(m.f.margin, bottom+18)
	}
	h := m.legend(bottom + 6)
	return m.document(m.f.w, h, m.title(), m.describe())
}

// list sets the paths one below the other, groups first and joined, the likeliest on top.
func (m *leakMap) list(left, y float64) float64 {
	x := left + 46
	for _, set := range m.ranked() {
		group := set[0].group >= 0 && len(set) > 1
		if group {
			y += m.f.text * 1.2
			f := m.captionFont()
			y = m.lines(f, x, y, m.f.text*1.25, atStart, f.wrap(m.t(apart), m.f.w-m.f.margin-x)) - m.f.text*0.65
		}
		y0 := y
		for _, l := range set {
			y = m.entry(l, left, y)
		}
		if group {
			m.polyline("es-bracket", left+2, y0+4, left-4, y0+4, left-4, y-6, left+2, y-6)
		}
	}
	return y
}

// entry sets one path of the list and returns the level below it.
func (m *leakMap) entry(l *label, left, y float64) float64 {
	x := left + 46
	share := m.shareFont()
	if !l.big {
		share = font{"es-quiet", m.f.text, false}
	}
	room := m.f.w - m.f.margin - x
	name := m.nameFont(l)
	beside := true // the chance, where each word of the name still has room
	for _, word := range strings.Fields(l.path) {
		beside = beside && name.width(said(word)) <= room-share.width(l.share)-12
	}
	if beside {
		m.text(share, m.f.w-m.f.margin, y+28, atEnd, l.share)
		room -= share.width(l.share) + 12
	}
	m.badge(left+22, y+22, l.n)
	next := m.lines(name, x, y+27, m.f.name*1.25, atStart, name.wrap(said(l.path), room))
	if !beside {
		m.text(share, x, next+share.size*0.2, atStart, l.share)
		next += share.size * 1.2
	}
	if l.flow != "" {
		m.text(m.textFont(), x, next, atStart, l.flow)
		next += m.f.text * 1.35
	}
	return math.Max(next-m.f.name*0.6, y+42)
}
