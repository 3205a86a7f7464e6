package draw

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// form is the size of a picture: for a desk and paper, or for a hand-held screen.
type form struct {
	wide                    bool
	w, margin               float64
	head, share, name, text float64 // font sizes
	sign                    float64 // half size of the verdict's symbol
	scale                   float64 // of the section, at most
	column                  float64 // least width of a column of labels
	drop                    float64 // scale of the markers
	gap                     float64 // between labels
	list                    float64 // where the list of paths begins beside the section; 0: below it
}

// No text is smaller than 18 px where it is shown: a narrow picture on a telephone of 390 px, that of a page from 600 px.
var (
	wideForm   = form{wide: true, w: 1000, margin: 30, head: 40, share: 30, name: 20, text: 18, sign: 26, scale: 1, column: 250, drop: 1, gap: 18}
	narrowForm = form{w: 360, margin: 16, head: 26, share: 26, name: 20, text: 18.5, sign: 17, scale: 0.86, column: 32, drop: 0.72, gap: 8}
	pageForm   = form{w: 650, margin: 12, head: 30, share: 28, name: 21, text: 19.5, sign: 20, scale: 0.9, column: 32, drop: 0.8, gap: 8, list: 308}
)

// suspect is the probability from which a path gets a large label.
const suspect = 0.05

// Suspect says whether a path is so probably at fault that its flow is told.
func Suspect(p float64) bool { return p >= suspect }

// LeakMap draws the section of a pump with the chance and the flow of every leak path at its place, for a desk, for paper, or
// as a picture of its own. r may be nil: then it shows where the pump can leak. Flows and pressures are in the units of sys.
func LeakMap(p *pump.Pump, r *hold.Result, sys unit.System, opts ...Option) string {
	m := newLeakMap(p, r, sys, wideForm, opts...)
	return m.wide()
}

// LeakMapNarrow is LeakMap for a hand-held screen of 360 px: numbers at the section, the words below it.
func LeakMapNarrow(p *pump.Pump, r *hold.Result, sys unit.System, opts ...Option) string {
	m := newLeakMap(p, r, sys, narrowForm, opts...)
	return m.narrow()
}

type leakMap struct {
	canvas
	bare        bool // without the verdict across the top
	f           form
	p           *pump.Pump
	r           *hold.Result
	sys         unit.System
	s           *section
	labels      []*label
	left, right column
	width       float64 // of the labels
	top         float64 // of the columns
	k           float64 // scale of the section
	dx, dy      float64 // where its axis and its top stand
}

func newLeakMap(p *pump.Pump, r *hold.Result, sys unit.System, f form, opts ...Option) *leakMap {
	m := &leakMap{canvas: with(opts), f: f, p: p, r: r, sys: sys, s: newSection(p)}
	for i, d := range m.s.drops {
		l := &label{path: d.path, drip: i, group: -1, h: 1}
		m.labels = append(m.labels, l)
		if r == nil {
			continue
		}
		if q, ok := m.share(d.path); ok {
			l.share, l.big = m.t(Chance(q.P)), Suspect(q.P)
			if l.big {
				l.flow = said(FlowRange(q.Flow, sys))
			}
		}
		for g, names := range r.Groups {
			if slices.Contains(names, d.path) {
				l.group = g
			}
		}
	}
	n := 0
	for _, set := range m.ranked() {
		for _, l := range set {
			n++
			l.n = n
		}
	}
	return m
}

func (m *leakMap) share(path string) (hold.PathShare, bool) {
	if m.r != nil {
		for _, q := range m.r.Paths {
			if q.Path == path {
				return q, true
			}
		}
	}
	return hold.PathShare{}, false
}

// extent returns the half widths of the section to the left and to the right of its axis.
func (s *section) extent() (left, right float64) {
	left, right = 118, pipeX+44
	for _, k := range s.valves {
		if k.place == atLeft {
			left = pipeX + 24
		}
		if k.place == between {
			left = math.Max(left, valveX+36)
		}
	}
	return left, right
}

// frame scales the section and finds its axis between the two columns.
func (m *leakMap) frame(top float64) {
	left, right := m.s.extent()
	lead := 22.0
	if m.f.wide {
		lead = 40
	}
	w := m.f.w
	if m.f.list > 0 {
		w = m.f.list
	}
	room := w - 2*(m.f.column+lead)
	if m.f.wide {
		room -= 2 * m.f.margin
	}
	m.k = math.Min(m.f.scale, room/(left+right))
	m.dx = w/2 + m.k*(left-right)/2
	m.top, m.dy = top, top
	m.left.edge, m.right.edge = m.dx-m.k*left-lead, m.dx+m.k*right+lead
	m.left.gap, m.right.gap = m.f.gap, m.f.gap
}

// at moves a point of the section into the picture.
func (m *leakMap) at(p pt) pt { return pt{m.dx + m.k*p.x, m.dy + m.k*p.y} }

// marker draws the drops of a label.
func (m *leakMap) marker(l *label) {
	r, class := 8.0, "es-drop-slight"
	if q, ok := m.share(l.path); ok {
		r = 6 + 15*math.Sqrt(within(q.P, 0, 1))
		if Suspect(q.P) {
			class = "es-drop"
		}
	}
	d := m.s.drops[l.drip]
	for i, a := range l.at {
		m.path(class, teardrop(a, d.dir[i], r*m.f.drop))
	}
}

// teardrop is a drop around c that runs in the direction dir.
func teardrop(c, dir pt, r float64) string {
	const long, cos = 1.9, 1 / 1.9
	sin := math.Sqrt(1 - cos*cos)
	n := pt{-dir.y, dir.x}
	on := func(s float64) (float64, float64) {
		return c.x + r*(-cos*dir.x+s*sin*n.x), c.y + r*(-cos*dir.y+s*sin*n.y)
	}
	x1, y1 := on(1)
	x2, y2 := on(-1)
	return "M" + num(c.x-long*r*dir.x) + " " + num(c.y-long*r*dir.y) + "L" + num(x1) + " " + num(y1) +
		"A" + num(r) + " " + num(r) + " 0 1 0 " + num(x2) + " " + num(y2) + "Z"
}

// leaders draws the lines from the markers to the labels of a column, then the markers.
func (m *leakMap) leaders(k *column) {
	for _, class := range []string{"es-lead-halo", ""} {
		for _, q := range k.clusters {
			for _, l := range q.labels {
				c := class
				if c != "" && !l.big {
					continue
				}
				if c == "" {
					c = "es-lead"
					if !l.big {
						c = "es-lead-slight"
					}
				}
				g := k.leader(l)
				m.polyline(c, g.from.x, g.from.y, g.knee.x, g.knee.y, g.to.x, g.to.y)
			}
		}
	}
	for _, q := range k.clusters {
		for _, l := range q.labels {
			m.marker(l)
		}
	}
}
