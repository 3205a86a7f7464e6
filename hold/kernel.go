package hold

import (
	"math"
	"sort"
)

const (
	kernelShare  = 0.6  // share of the later draws of a set that come from kernels; the rest stays fresh and keeps weights bounded
	kernelCount  = 12   // kernels of a set
	kernelWidth  = 0.5  // width of a kernel over the spread of the set's draws
	kernelStay   = 0.75 // chance that a kernel keeps its variant
	kernelNeeds  = 12   // draws that a set must have
	kernelFloor  = 0.02 // least width in ln q
	unknownFloor = 0.15 // least width in an unknown, of its standard deviation
)

// kernels is a mixture of Gaussians around draws of one set that carry weight: what the first draws have learnt
// (population Monte Carlo, Cappé et al. 2004). It proposes leaks, variants and unknowns together.
type kernels struct {
	set   []int8
	at    []*draw
	width []float64 // by coordinate: ln q of each path, then the unknowns
}

// kernelsOf builds the kernels of a set, or nil when it has too few draws or is exact.
func (s *sampler) kernelsOf(post *posterior, i int) *kernels {
	set := s.b.sets[i].paths
	if len(set) == 0 || len(s.b.obs) == 0 || post.tally[i].n < kernelNeeds || post.tally[i].sum == 0 {
		return nil
	}
	var own []*draw
	for _, k := range post.own[i] {
		own = append(own, &post.draws[k])
	}
	sort.Slice(own, func(a, b int) bool { return own[a].weight > own[b].weight })
	own = own[:min(len(own), 400)]
	k := &kernels{set: set, width: make([]float64, len(set)+s.unknownsOf())}
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
		if c >= len(k.set) {
			floor = unknownFloor
		}
		k.width[c] = math.Max(floor, kernelWidth*math.Sqrt(math.Max(0, m2/w-sq(m/w))))
	}
}

func (k *kernels) coordinate(d *draw, c int) float64 {
	if c < len(k.set) {
		return d.u[c]
	}
	return d.x[c-len(k.set)]
}

// draw fills d from one of the kernels.
func (k *kernels) draw(s *sampler, d *draw) {
	at := k.at[s.rng.IntN(len(k.at))]
	for a, j := range k.set {
		d.u[a] = at.u[a] + k.width[a]*s.rng.NormFloat64()
		d.q[a] = math.Exp(d.u[a])
		d.v[a] = at.v[a]
		if s.rng.Float64() > kernelStay {
			d.v[a] = s.pickVariant(int(j))
		}
	}
	for c := range d.x {
		d.x[c] = at.x[c] + k.width[len(k.set)+c]*s.rng.NormFloat64()
	}
	for h := range s.b.net.holds {
		if s.rng.Float64() < 0.5 {
			d.down |= 1 << h
		}
	}
}

// density returns the density of the kernels at d over the prior of its variants and unknowns, in the units of normal: the
// factors 1/√2π of ln q cancel against those of the prior.
func (k *kernels) density(s *sampler, d *draw) float64 {
	var sum float64
	for _, at := range k.at {
		z2, scale := 0.0, 1.0
		for c := range k.width {
			x := k.coordinate(d, c)
			z := (x - k.coordinate(at, c)) / k.width[c]
			z2 += z * z
			scale *= k.width[c]
			if c >= len(k.set) { // over the standard normal prior of the unknown
				z2 -= x * x
			}
		}
		if z2 > 80 {
			continue
		}
		g := math.Exp(-0.5*z2) / scale
		for a, j := range k.set {
			w := s.b.vars[j][d.v[a]].weight
			keep := (1 - kernelStay) * w
			if d.v[a] == at.v[a] {
				keep += kernelStay
			}
			g *= keep / w
		}
		sum += g
	}
	return sum / float64(len(k.at))
}
