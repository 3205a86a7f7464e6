package draw

import (
	"math"
	"slices"
	"strings"
)

// bundle is labels that stay together: a group, or one alone.
type bundle struct {
	labels []*label
	side   int // −1 left, 1 right
}

// mostFree is the number of free bundles up to which every way to share them out is tried.
const mostFree = 8

// sides shares the labels out to the two columns. A label stands on the side of its marker; what stands on both sides of the axis
// may go either way, and goes where the leaders are least tangled and the columns most even. Groups stay together where their
// markers allow it.
func (m *leakMap) sides() {
	var fixed, free []bundle
	for _, set := range m.sets() {
		parts := map[int][]*label{}
		for _, l := range set {
			s := m.sideOf(l)
			parts[s] = append(parts[s], l)
		}
		switch {
		case len(parts[-1]) == 0 && len(parts[1]) == 0:
			free = append(free, bundle{parts[0], -1})
			continue
		case len(parts[-1]) > len(parts[1]):
			parts[-1] = append(parts[-1], parts[0]...)
		default:
			parts[1] = append(parts[1], parts[0]...)
		}
		for _, s := range []int{-1, 1} {
			if len(parts[s]) > 0 {
				fixed = append(fixed, bundle{parts[s], s})
			}
		}
	}
	m.even(fixed, free)
	if len(free) <= mostFree {
		m.choose(fixed, free)
	}
	m.arrange(append(slices.Clone(fixed), free...))
	m.left.untangle()
	m.right.untangle()
}

// choose tries every way to share out the free bundles and keeps the best.
func (m *leakMap) choose(fixed, free []bundle) {
	best, cost := 0, math.Inf(1)
	for bits := range 1 << len(free) {
		share(free, bits)
		m.arrange(append(slices.Clone(fixed), free...))
		if c := m.cost(); c < cost-1e-9 {
			best, cost = bits, c
		}
	}
	share(free, best)
}

// share gives each bundle the side of its bit.
func share(free []bundle, bits int) {
	for i := range free {
		free[i].side = 2*(bits>>i&1) - 1
	}
}

// sideOf is the side of a label's marker, 0 when it may stand on either.
func (m *leakMap) sideOf(l *label) int {
	d := m.s.drops[l.drip]
	switch {
	case d.mirrored || math.Abs(d.at[0].x) < 1:
		return 0
	case d.at[0].x < 0:
		return -1
	}
	return 1
}

// even gives the free bundles, the highest first, to the lower column.
func (m *leakMap) even(fixed, free []bundle) {
	slices.SortStableFunc(free, func(a, b bundle) int { return order(heightOf(b.labels), heightOf(a.labels)) })
	h := map[int]float64{}
	for _, b := range fixed {
		h[b.side] += heightOf(b.labels)
	}
	for i := range free {
		if h[1] < h[-1] {
			free[i].side = 1
		}
		h[free[i].side] += heightOf(free[i].labels)
	}
}

// arrange fills the columns and places their labels, with the section in the middle of the longer column.
func (m *leakMap) arrange(all []bundle) {
	m.left.clusters, m.right.clusters = nil, nil
	for _, b := range all {
		k := &m.right
		if b.side < 0 {
			k = &m.left
		}
		k.clusters = append(k.clusters, m.join(b))
	}
	section := m.k * m.s.bottom
	h := math.Max(section, math.Max(m.left.height(), m.right.height()))
	m.dy = m.top + (h-section)/2
	for _, b := range all {
		m.mark(b)
	}
	for _, k := range []*column{&m.left, &m.right} {
		k.top, k.bottom = m.top, m.top+h
		k.sort()
	}
}

// cost weighs tangled leaders against long columns and uneven ones.
func (m *leakMap) cost() float64 {
	l, r := m.left.height(), m.right.height()
	return 120*float64(m.left.tangle()+m.right.tangle()) + math.Max(m.left.bottom, m.right.bottom) + 0.2*math.Abs(l-r)
}

// sets returns the labels in groups, each that is in none alone.
func (m *leakMap) sets() [][]*label {
	var out [][]*label
	index := map[int]int{}
	for _, l := range m.labels {
		if l.group < 0 {
			out = append(out, []*label{l})
			continue
		}
		i, ok := index[l.group]
		if !ok {
			i = len(out)
			index[l.group] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], l)
	}
	return out
}

func heightOf(ls []*label) float64 {
	h := 0.0
	for _, l := range ls {
		h += l.h
	}
	return h
}

// join makes the cluster of a bundle.
func (m *leakMap) join(b bundle) *cluster {
	q := &cluster{labels: slices.Clone(b.labels), h: heightOf(b.labels)}
	if b.labels[0].group >= 0 && m.f.wide {
		q.words = m.captionFont().wrap(m.t(m.caption(b.labels)), m.width)
		q.caption, q.gap = m.f.text*(0.35+1.25*float64(len(q.words))), 8
		q.h += q.caption + q.gap*float64(len(b.labels)-1)
	}
	return q
}

// mark sets the markers of a bundle on its side.
func (m *leakMap) mark(b bundle) {
	for _, l := range b.labels {
		d := m.s.drops[l.drip]
		l.at = nil
		for _, a := range d.at {
			if d.mirrored {
				a.x *= float64(b.side)
			}
			l.at = append(l.at, m.at(a))
		}
	}
}

// caption says of a group that it cannot be split; members that stand in the other column are named.
func (m *leakMap) caption(ls []*label) string {
	var others []string
	for _, l := range m.labels {
		if l.group == ls[0].group && !slices.Contains(ls, l) {
			others = append(others, l.path)
		}
	}
	switch {
	case len(others) == 0:
		return apart
	case len(ls) == 1:
		return apart + " from " + strings.Join(others, ", ")
	}
	return apart + ", nor from " + strings.Join(others, ", ")
}
