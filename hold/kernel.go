package hold

import (
	"math"
	"slices"
)

const (
	ownShare     = 0.4  // share of the draws of a set that at first come from kernels around its own draws
	subsetShare  = 0.35 // share that at first comes from kernels around the draws of the same set less one path; the rest is fresh
	leastShare   = 0.15 // least share of each way, once they have shown what they are worth
	kernelCount  = 16   // kernels of a set
	kernelWidth  = 0.5  // width of a kernel over the spread of the set's draws
	kernelStay   = 0.75 // chance that a kernel keeps its variant, and the stroke of a locked hold
	kernelNeeds  = 12   // draws that a set must have
	kernelFloor  = 0.02 // least width in ln q
	unknownFloor = 0.15 // least width in an unknown, of its standard deviation
)

// kernels is a mixture of Gaussians around draws of one set that carry weight: what the first draws have learnt
// (population Monte Carlo, Cappé et al. 2004). It proposes leaks, variants, strokes and unknowns together. Its Gaussians have the shape of
// the draws, covariance h² S = L Lᵀ: the readings pin down a sum of leaks much better than each of them. Used for a set with one
// path more, that path's leak is drawn afresh: a leak that the readings hardly see is then found beside one that they pin down,
// and beside the unknowns of the locked holds, which they pin down even when nothing leaks.
type kernels struct {
	paths, n int // coordinates: ln q of each path, then the unknowns
	at       []centre
	chol     [maxUnknown][maxUnknown]float64 // L
	det      float64                         // of L
}

// maxUnknown is the most coordinates of a set: three leaks and the compliance.
const maxUnknown = 4

// centre is the draw that a kernel lies around.
type centre struct {
	z     [maxUnknown]float64
	white [maxUnknown]float64 // L⁻¹ z
	v     [3]int8
	down  uint64
}

// The ways of proposing draws of a set.
const (
	fresh  = iota // from the prior and what one reading leaves
	around        // from kernels around the draws of the set
	beside        // from kernels around the draws of a set with one path less
	wayKinds
)

// proposal is one way of proposing draws of a set. Coordinate pos[a] of its kernels is path a, −1 for the path that is drawn afresh.
type proposal struct {
	way   int
	share float64
	k     *kernels // nil when fresh
	pos   [3]int
}

// proposals lists the ways for set i, the first of them fresh; their shares add up to 1.
func (s *sampler) proposals(post *posterior, i int) []proposal {
	set := s.b.sets[i].paths
	out := append(make([]proposal, 0, wayKinds), proposal{way: fresh, share: 1})
	if len(s.b.obs) == 0 || len(set) == 0 && s.unknownsOf() == 0 {
		return out
	}
	if k := s.kernelsOf(post, i); k != nil {
		out = append(out, proposal{around, ownShare, k, [3]int{0, 1, 2}})
	}
	if k, gone := s.subset(post, set); k != nil {
		pos := [3]int{0, 1, 2}
		pos[gone] = -1
		for a := gone + 1; a < 3; a++ {
			pos[a]--
		}
		out = append(out, proposal{beside, subsetShare, k, pos})
	}
	for _, p := range out[1:] {
		out[0].share -= p.share
	}
	share(out, post.tally[i].credit)
	return out
}

// share shares the draws out by how much of the weight so far each way would have proposed, which brings the mixture closer to the
// posterior with each round (Cappé et al. 2008, "Adaptive importance sampling in general mixture classes"). No way gets less than
// leastShare, so that none is forgotten and the weights stay bounded.
func share(ways []proposal, credit [wayKinds]float64) {
	var sum float64
	for _, p := range ways {
		if credit[p.way] == 0 {
			return
		}
		sum += credit[p.way]
	}
	for k := range ways {
		ways[k].share = leastShare + (1-float64(len(ways))*leastShare)*credit[ways[k].way]/sum
	}
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
	k := &kernels{paths: len(set), n: len(set) + s.unknownsOf(), at: make([]centre, 0, kernelCount)}
	own := post.own[i]
	k.shape(post, own)
	step := post.tally[i].sum / kernelCount
	sum, next := 0.0, step*s.rng.Float64()
	for _, at := range own {
		d := &post.draws[at]
		sum += d.weight
		for sum > next && len(k.at) < kernelCount {
			c := centre{z: k.coordinates(d), v: d.v, down: d.down}
			c.white = k.whiten(c.z)
			k.at = append(k.at, c)
			next += step
		}
	}
	if len(k.at) == 0 {
		return nil
	}
	return k
}

// shape sets L from the weighted covariance of the draws, those with the same variants taken about a mean of their own.
func (k *kernels) shape(post *posterior, own []int32) {
	var groups [maxVariants * maxVariants * maxVariants]struct {
		weight float64
		mean   [maxUnknown]float64
	}
	group := func(d *draw) int { return (int(d.v[0])*maxVariants+int(d.v[1]))*maxVariants + int(d.v[2]) }
	var total float64
	for _, at := range own {
		d := &post.draws[at]
		g := &groups[group(d)]
		total += d.weight
		g.weight += d.weight
		for c, z := range k.coordinates(d) {
			g.mean[c] += (z - g.mean[c]) * d.weight / g.weight
		}
	}
	var cov [maxUnknown][maxUnknown]float64
	for _, at := range own {
		d := &post.draws[at]
		z, mean := k.coordinates(d), &groups[group(d)].mean
		for i := range k.n {
			w := d.weight * (z[i] - mean[i])
			for j := range i + 1 {
				cov[i][j] += w * (z[j] - mean[j])
			}
		}
	}
	for i := range k.n {
		for j := range i + 1 {
			cov[i][j] *= sq(kernelWidth) / total
		}
		floor := kernelFloor
		if i >= k.paths {
			floor = unknownFloor
		}
		cov[i][i] += sq(floor)
	}
	k.factor(&cov)
}

// factor is the Cholesky decomposition; the floors keep the covariance well away from singular.
func (k *kernels) factor(cov *[maxUnknown][maxUnknown]float64) {
	k.det = 1
	for i := range k.n {
		for j := range i + 1 {
			sum := cov[i][j]
			for l := range j {
				sum -= k.chol[i][l] * k.chol[j][l]
			}
			if i > j {
				k.chol[i][j] = sum / k.chol[j][j]
				continue
			}
			k.chol[i][i] = math.Sqrt(sum)
			k.det *= k.chol[i][i]
		}
	}
}

// coordinates are ln q of each path, then the unknowns.
func (k *kernels) coordinates(d *draw) (z [maxUnknown]float64) {
	copy(z[:], d.u[:k.paths])
	copy(z[k.paths:], d.x)
	return z
}

// whiten solves L y = z.
func (k *kernels) whiten(z [maxUnknown]float64) (y [maxUnknown]float64) {
	for i := range k.n {
		sum := z[i]
		for j := range i {
			sum -= k.chol[i][j] * y[j]
		}
		y[i] = sum / k.chol[i][i]
	}
	return y
}

// draw fills d by a kernel; the path without a place in it is drawn afresh.
func (p *proposal) draw(s *sampler, set []int8, d *draw) {
	k := p.k
	at := &k.at[s.rng.IntN(len(k.at))]
	z := at.z
	for i := range k.n {
		e := s.rng.NormFloat64()
		for r := i; r < k.n; r++ {
			z[r] += k.chol[r][i] * e
		}
	}
	copy(d.x, z[k.paths:k.n])
	d.down = at.down
	for _, h := range s.free {
		if s.rng.Float64() > (1+kernelStay)/2 {
			d.down ^= 1 << h
		}
	}
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
		d.u[a] = z[o]
		d.q[a] = math.Exp(d.u[a])
	}
}

// density returns the density of the proposal at d over the prior of variants, strokes and unknowns, in the units of normal;
// afresh[a] is the density of a fresh draw of path a.
func (p *proposal) density(s *sampler, set []int8, d *draw, afresh *[3]float64) float64 {
	if p.k == nil {
		return afresh[0] * afresh[1] * afresh[2]
	}
	k := p.k
	var z [maxUnknown]float64
	rest := 1.0
	for a := range set {
		if o := p.pos[a]; o >= 0 {
			z[o] = d.u[a]
		} else {
			rest *= afresh[a]
		}
	}
	over := 0.0 // the standard normal prior of the unknowns
	for c, x := range d.x {
		z[k.paths+c] = x
		over += x * x
	}
	white := k.whiten(z)
	var sum float64
	for i := range k.at {
		at := &k.at[i]
		z2 := 0.0
		for c := range k.n {
			z2 += sq(white[c] - at.white[c])
		}
		if z2 > 50 {
			continue
		}
		sum += math.Exp(0.5*(over-z2)) * p.discrete(s, set, d, at)
	}
	return rest * sum / (k.det * float64(len(k.at)))
}

// discrete is the chance of the variants and strokes of d from a centre over that from the prior.
func (p *proposal) discrete(s *sampler, set []int8, d *draw, at *centre) float64 {
	g := 1.0
	for a, j := range set {
		o := p.pos[a]
		if o < 0 {
			continue
		}
		if d.v[a] == at.v[o] {
			g *= 1 - kernelStay + kernelStay/s.b.vars[j][d.v[a]].weight
		} else {
			g *= 1 - kernelStay
		}
	}
	for _, h := range s.free {
		if (d.down^at.down)>>h&1 == 0 {
			g *= 1 + kernelStay
		} else {
			g *= 1 - kernelStay
		}
	}
	return g
}
