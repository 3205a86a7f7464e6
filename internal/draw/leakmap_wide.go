package draw

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// apart is what joins paths that the readings cannot split.
const apart = "cannot be told apart"

// fonts of the labels.
func (m *leakMap) nameFont(l *label) font { return font{"es-ink", m.f.name, l.big || m.r == nil} }
func (m *leakMap) textFont() font         { return font{"es-quiet", m.f.text, false} }
func (m *leakMap) captionFont() font      { return font{"es-drop-ink", m.f.text, true} }
func (m *leakMap) shareFont() font        { return font{"es-ink", m.f.share, true} }

// measure breaks the names into lines and finds the height of each label.
func (m *leakMap) measure(width float64) {
	for _, l := range m.labels {
		f := m.nameFont(l)
		l.name = f.wrap(said(l.path), width)
		l.h = float64(len(l.name)) * m.f.name * 1.25
		switch {
		case l.big:
			l.h += m.f.share*1.15 + m.f.text*1.3
		case l.share != "":
			l.h += m.f.text * 1.3
		}
	}
}

// wide draws the picture with the labels in columns beside the section.
func (m *leakMap) wide() string {
	top := m.above(26)
	m.frame(top)
	m.width = math.Min(m.left.edge, m.f.w-m.right.edge) - m.f.margin - 18
	m.measure(m.width)
	m.sides()
	bottom := m.left.bottom
	m.push(m.dx, m.dy, m.k)
	m.s.draw(&m.canvas)
	m.pop()
	for _, k := range []*column{&m.left, &m.right} {
		m.leaders(k)
	}
	m.columnText(&m.left, -1)
	m.columnText(&m.right, 1)
	h := m.legend(bottom + 24)
	return m.document(m.f.w, h, m.title(), m.describe())
}

// columnText sets the labels of a column; side is −1 for the left one.
func (m *leakMap) columnText(k *column, side float64) {
	anchor := atStart
	if side < 0 {
		anchor = atEnd
	}
	x := k.edge + side*14
	for _, q := range k.clusters {
		if q.caption > 0 {
			m.bracket(q, k.edge+side*4, side)
			m.lines(m.captionFont(), x, q.y+m.f.text*0.95, m.f.text*1.25, anchor, q.words)
		}
		for _, l := range q.labels {
			y := m.lines(m.nameFont(l), x, l.y+m.f.name*0.95, m.f.name*1.25, anchor, l.name) - m.f.name*1.25
			if !l.big {
				m.text(m.textFont(), x, y+m.f.text*1.35, anchor, l.share)
				continue
			}
			y += m.f.share * 1.1
			m.text(m.shareFont(), x, y, anchor, l.share)
			m.text(m.textFont(), x, y+m.f.text*1.3, anchor, l.flow)
		}
	}
}

// bracket joins the labels of a group.
func (m *leakMap) bracket(q *cluster, x, side float64) {
	y0, y1 := q.y+q.caption, q.y+q.h
	m.polyline("es-bracket", x+side*6, y0, x, y0, x, y1, x+side*6, y1)
}

// legend explains tints, drops and flows, and returns the height of the picture.
func (m *leakMap) legend(y float64) float64 {
	f := font{"es-quiet", m.f.text, false}
	pitch := m.f.text * 1.5
	m.line("es-grid", m.f.margin, y, m.f.w-m.f.margin, y)
	y += pitch
	x, limit := m.f.margin, m.f.w-m.f.margin
	item := func(icon float64, draw func(x, y float64), s string) {
		if icon > 0 {
			icon += 10
		}
		lines := f.wrap(m.t(s), limit-m.f.margin-icon)
		if len(lines) == 0 {
			return
		}
		w := icon
		for _, t := range lines {
			w = math.Max(w, icon+f.width(t))
		}
		if x > m.f.margin && x+w > limit {
			x, y = m.f.margin, y+pitch
		}
		draw(x, y-m.f.text*0.32)
		end := m.lines(f, x+icon, y, m.f.text*1.3, atStart, lines)
		x += w + 34
		if len(lines) > 1 {
			x, y = m.f.margin, end+m.f.text*0.3
		}
	}
	for _, ch := range m.p.Chambers {
		item(44, func(x, y float64) { m.swatch(ch, x, y) }, ch.Name+": "+m.pressureWords(ch.Name))
	}
	if m.r != nil {
		item(44, func(x, y float64) {
			m.path("es-drop-slight", teardrop(pt{x + 8, y + 3}, pt{0, 1}, 5))
			m.path("es-drop", teardrop(pt{x + 28, y + 3}, pt{0, 1}, 9))
		}, "the larger the drop, the likelier the leak")
		item(0, func(x, y float64) {}, "flows: what leaks at "+m.sys.Show(m.p.Limits.Rated, unit.Pressure)+" if the path leaks, with 9 chances in 10 inside; no fault at all: "+m.noFault())
	}
	return y + m.f.text
}

// noFault is the chance that nothing is at fault.
func (m *leakMap) noFault() string {
	for _, s := range m.r.Sets {
		if len(s.Paths) == 0 {
			return Chance(s.P)
		}
	}
	return Chance(0)
}

// swatch shows the tint of a chamber with the strokes on which it is under pressure.
func (m *leakMap) swatch(ch pump.Chamber, x, y float64) {
	m.s.fill(&m.canvas, m.s.tone(ch.Name), x, x+44, y-11, y+11)
	m.polyline("es-edge", x, y-11, x+44, y-11, x+44, y+11, x, y+11, x, y-11)
	at := x + 13
	for _, d := range pump.Dirs {
		if m.s.m.Pressed[d][ch.Name] {
			m.triangle("es-ink", at, y, 7, d == pump.Up)
		}
		at += 18
	}
}

// pressureWords says on which strokes a node is under pressure.
func (m *leakMap) pressureWords(node string) string {
	up, down := m.s.m.Pressed[pump.Up][node], m.s.m.Pressed[pump.Down][node]
	switch {
	case up && down:
		return "under pressure on both strokes"
	case up:
		return "under pressure on the upstroke"
	case down:
		return "under pressure on the downstroke"
	}
	return "never under pressure"
}
