package hold

import (
	"math"
	"slices"
	"sort"
)

const (
	ownShare     = 0.4  // share of the draws of a set that come from kernels around its own draws
	subsetShare  = 0.35 // share from kernels around the draws of the same set less one path; the rest stays fresh
	kernelCount  = 8    // kernels of a set
	kernelWidth  = 0.5  // width of a kernel over the spread of the set's draws
	kernelStay   = 0.75 // chance that a kernel keeps its variant
	kernelNeeds  = 12   // draws that a set must have
	kernelFloor  = 0.02 // least width in ln q
	unknownFloor = 0.15 // least width in an unknown, of its standard deviation
)

// kernels is a mixture of Gaussians around draws of one set that carry weight: what the first draws have learnt
// (population Monte Carlo, Cappé et al. 2004). It proposes leaks, variants and unknowns together. Used for a set with one
// path more, that path's leak is drawn afresh: a leak that the readings hardly see is then found beside one that they pin down,
// and beside the unknowns of the locked holds, which they pin down even when nothing leaks.
type kernels struct {
	paths int
	at    []*draw
	width []float64 // by coordinate: ln q of each path, then the unknowns
}

// proposal is one way of proposing draws of a set: fresh (k nil) or by kernels, whose coordinate of path a is pos[a], −1 for
// the path that is drawn afresh.
type proposal struct {
	share float64
	k     *kernels
	pos   [3]int
}

// proposals lists the ways for set i; their shares add up to 1, and the first is fresh.
func (s *sampler) proposals(post *posterior, i int) []proposal {
	set := s.b.sets[i].paths
	out := []proposal{{share: 1}}
	if len(s.b.obs) == 0 || len(set) == 0 && s.unknownsOf() == 0 {
		return out
	}
	if k := s.kernelsOf(post, i); k != nil {
		out = append(out, proposal{ownShare, k, [3]int{0, 1, 2}})
	}
	if k, gone := s.subset(post, set); k != nil {
		pos := [3]int{0, 1, 2}
		pos[gone] = -1
		for a := gone + 1; a < 3; a++ {
			pos[a]--
		}
		out = append(out, proposal{subsetShare, k, pos})
	}
	for _, p := range out[1:] {
		out[0].share -= p.share
	}
	return out
}

// subset returns the kernels of the likeliest set with one path less, and which path that is.
func (s *sampler) subset(post *posterior, set []int8) (*kernels, int) {
	if len(set) == 0 || len(set) == 1 && s.unknownsOf() == 0 {
		return nil, 0
	}
	best, gone, top := -1, 0, 0.0
	for a := range set {
		rest := slices.Delete(slices.Clone(set), a, a+1)
		j, ok := s.b.index[setKey(rest)]
		if !ok || post.tally[j].n == 0 {
			continue
		}
		if z := post.tally[j].sum / float64(post.tally[j].n); z > top {
			best, gone, top = j, a, z
		}
	}
	if best < 0 {
		return nil, 0
	}
	return s.kernelsOf(post, best), gone
}

// kernelsOf builds the kernels of a set, or returns nil when it has too few draws or is exact. They are kept for the round.
func (s *sampler) kernelsOf(post *posterior, i int) *kernels {
	if k, ok := s.kept[i]; ok {
		return k
	}
	k := s.buildKernels(post, i)
	s.kept[i] = k
	return k
}

func (s *sampler) buildKernels(post *posterior, i int) *kernels {
	set := s.b.sets[i].paths
	if len(set)+s.unknownsOf() == 0 || post.tally[i].n < kernelNeeds || post.tally[i].sum == 0 {
		return nil
	}
	var own []*draw
	for _, k := range post.own[i] {
		own = append(own, &post.draws[k])
	}
	sort.Slice(own, func(a, b int) bool { return own[a].weight > own[b].weight })
	own = own[:min(len(own), 400)]
	k := &kernels{paths: len(set), width: make([]float64, len(set)+s.unknownsOf())}
	k.spread(own)
	var sum, total float64
	for _, d := range own {
		total += d.weight
	}
	step := total / kernelCount
	next := step * s.rng.Float64()
	for _, d := range own {
		sum += d.weight
		for sum > next && len(k.at) < kernelCount {
			c := *d
			k.at = append(k.at, &c)
			next += step
		}
	}
	if len(k.at) == 0 {
		return nil
	}
	return k
}

// spread sets the widths from the weighted spread of the draws.
func (k *kernels) spread(own []*draw) {
	for c := range k.width {
		var w, m, m2 float64
		for _, d := range own {
			x := k.coordinate(d, c)
			w += d.weight
			m += d.weight * x
			m2 += d.weight * x * x
		}
		floor := kernelFloor
		if c >= k.paths {
			floor = unknownFloor
		}
		k.width[c] = math.Max(floor, kernelWidth*math.Sqrt(math.Max(0, m2/w-sq(m/w))))
	}
}

func (k *kernels) coordinate(d *draw, c int) float64 {
	if c < k.paths {
		return d.u[c]
	}
	return d.x[c-k.paths]
}

// draw fills d by a kernel; the path without a place in it is drawn afresh.
func (p *proposal) draw(s *sampler, set []int8, d *draw) {
	k := p.k
	at := k.at[s.rng.IntN(len(k.at))]
	for c := range d.x {
		d.x[c] = at.x[c] + k.width[k.paths+c]*s.rng.NormFloat64()
	}
	s.flip(d)
	for a, j := range set {
		o := p.pos[a]
		if o < 0 {
			s.freshLeak(set, a, d)
			continue
		}
		d.v[a] = at.v[o]
		if s.rng.Float64() > kernelStay {
			d.v[a] = s.pickVariant(int(j))
		}
		d.u[a] = at.u[o] + k.width[o]*s.rng.NormFloat64()
		d.q[a] = math.Exp(d.u[a])
	}
}

// density returns the density of the proposal at d over the prior of variants and unknowns, in the units of normal; fresh[a]
// is the density of a fresh draw of path a.
func (p *proposal) density(s *sampler, set []int8, d *draw, fresh *[3]float64) float64 {
	if p.k == nil {
		return fresh[0] * fresh[1] * fresh[2]
	}
	var sum float64
	for _, at := range p.k.at {
		sum += p.kernel(s, set, d, at)
	}
	g := sum / float64(len(p.k.at))
	for a := range set {
		if p.pos[a] < 0 {
			g *= fresh[a]
		}
	}
	return g
}

func (p *proposal) kernel(s *sampler, set []int8, d, at *draw) float64 {
	k := p.k
	z2, scale := 0.0, 1.0
	for a := range set {
		if o := p.pos[a]; o >= 0 {
			z2 += sq((d.u[a] - at.u[o]) / k.width[o])
			scale *= k.width[o]
		}
	}
	for c, x := range d.x { // over the standard normal prior of the unknown
		w := k.width[k.paths+c]
		z2 += sq((x-at.x[c])/w) - x*x
		scale *= w
	}
	if z2 > 80 {
		return 0
	}
	g := math.Exp(-0.5*z2) / scale
	for a, j := range set {
		o := p.pos[a]
		if o < 0 {
			continue
		}
		w := s.b.vars[j][d.v[a]].weight
		keep := (1 - kernelStay) * w
		if d.v[a] == at.v[o] {
			keep += kernelStay
		}
		g *= keep / w
	}
	return g
}
