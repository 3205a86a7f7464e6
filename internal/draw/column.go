package draw

import (
	"math"
	"slices"
)

// label is the note on one path beside the section.
type label struct {
	path  string
	drip  int // index in section.drops
	n     int // number, from 1
	group int // −1: none
	name  []said
	words []said
	share said // probability
	flow  said
	big   bool
	at    []pt // markers
	h, y  float64
}

// cluster is one label, or several that stand together under a caption.
type cluster struct {
	labels  []*label
	words   []said  // of the caption
	caption float64 // height of the caption, 0 when there is none
	gap     float64 // between its labels
	h, y    float64 // with caption and gaps
}

// want is the level at which the cluster would stand if it were alone.
func (k *cluster) want() float64 {
	sum := 0.0
	for _, l := range k.labels {
		sum += l.level()
	}
	return sum/float64(len(k.labels)) - (k.h+k.caption)/2
}

// level is the mean height of the markers.
func (l *label) level() float64 {
	sum := 0.0
	for _, a := range l.at {
		sum += a.y
	}
	return sum / float64(len(l.at))
}

// column is the labels on one side, from top to bottom, with the edge x that leaders end at.
type column struct {
	clusters []*cluster
	edge     float64
	gap      float64
	top      float64
	bottom   float64
}

// height is the least height that the labels need.
func (k *column) height() float64 {
	h := -k.gap
	for _, q := range k.clusters {
		h += q.h + k.gap
	}
	return math.Max(0, h)
}

// place puts the clusters as near to their markers as they go without overlapping: least squares under the order, by pooling
// neighbours that would overlap (isotonic regression), then held between top and bottom.
func (k *column) place() {
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	offset := make([]float64, len(k.clusters))
	at := 0.0
	for i, q := range k.clusters {
		offset[i] = at
		pools = append(pools, pool{q.want() - at, 1})
		for n := len(pools); n > 1 && pools[n-2].sum/float64(pools[n-2].n) >= pools[n-1].sum/float64(pools[n-1].n); n = len(pools) {
			pools[n-2] = pool{pools[n-2].sum + pools[n-1].sum, pools[n-2].n + pools[n-1].n}
			pools = pools[:n-1]
		}
		at += q.h + k.gap
	}
	i := 0
	for _, o := range pools {
		for range o.n {
			z := math.Max(k.top, math.Min(k.bottom-k.height(), o.sum/float64(o.n)))
			k.clusters[i].put(z + offset[i])
			i++
		}
	}
}

// put sets the level of a cluster and of its labels.
func (k *cluster) put(y float64) {
	k.y = y
	y += k.caption
	for _, l := range k.labels {
		l.y = y
		y += l.h + k.gap
	}
}

// sort orders clusters, and labels within them, by their markers, and then swaps neighbours as long as that untangles leaders.
func (k *column) sort() {
	for _, q := range k.clusters {
		slices.SortStableFunc(q.labels, func(a, b *label) int { return order(a.level(), b.level()) })
	}
	slices.SortStableFunc(k.clusters, func(a, b *cluster) int { return order(a.want()+a.h/2, b.want()+b.h/2) })
	k.place()
	best := k.tangle()
	for range len(k.clusters) + 4 {
		before := best
		for i := 0; i+1 < len(k.clusters); i++ {
			best = k.try(best, func() { k.clusters[i], k.clusters[i+1] = k.clusters[i+1], k.clusters[i] })
		}
		for _, q := range k.clusters {
			for i := 0; i+1 < len(q.labels); i++ {
				best = k.try(best, func() { q.labels[i], q.labels[i+1] = q.labels[i+1], q.labels[i] })
			}
		}
		if best == before {
			break
		}
	}
	k.place()
}

// untangle moves single clusters to other places as long as that untangles leaders.
func (k *column) untangle() {
	best := k.tangle()
	for again := best > 0; again; {
		again = false
		for from := range k.clusters {
			for to := range k.clusters {
				before := slices.Clone(k.clusters)
				q := k.clusters[from]
				k.clusters = slices.Insert(slices.Delete(slices.Clone(k.clusters), from, from+1), to, q)
				k.place()
				if n := k.tangle(); n < best {
					best, again = n, true
				} else {
					k.clusters = before
				}
			}
		}
	}
	k.place()
}

// try makes a swap and takes it back when it does not help.
func (k *column) try(best int, swap func()) int {
	swap()
	k.place()
	if n := k.tangle(); n < best {
		return n
	}
	swap()
	return best
}

func order(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// leader is the line from a marker to its label.
type leader struct{ from, knee, to pt }

func (k *column) leader(l *label) leader {
	y := l.y + l.h/2
	dir := 20.0
	if l.at[0].x < k.edge {
		dir = -20
	}
	from := l.at[0]
	for _, a := range l.at {
		if math.Abs(a.y-y) < math.Abs(from.y-y) {
			from = a
		}
	}
	return leader{from, pt{k.edge + dir, y}, pt{k.edge, y}}
}

// tangle counts leaders that cross each other or run over another marker.
func (k *column) tangle() int {
	crossed, over := k.crossings()
	return crossed + over
}

// crossings counts pairs of leaders that cross, and leaders that run over the marker of another label.
func (k *column) crossings() (crossed, over int) {
	var all []*label
	for _, q := range k.clusters {
		all = append(all, q.labels...)
	}
	for i, a := range all {
		la := k.leader(a)
		for _, b := range all[i+1:] {
			if lb := k.leader(b); crosses(la.from, la.knee, lb.from, lb.knee) {
				crossed++
			}
		}
		for _, b := range all {
			if a != b && distance(b.at[0], la.from, la.knee) < 16 {
				over++
			}
		}
	}
	return crossed, over
}

// crosses says whether two segments cross.
func crosses(a, b, c, d pt) bool {
	side := func(p, q, r pt) float64 { return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// distance of a point from a segment.
func distance(p, a, b pt) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = within(((p.x-a.x)*dx+(p.y-a.y)*dy)/l, 0, 1)
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}
