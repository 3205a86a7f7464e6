package hold

import (
	"math"
	"math/rand/v2"
	"sync"

	"github.com/evenstroke/evenstroke/pump"
)

// draw is one weighted draw from the posterior.
type draw struct {
	set    int
	q      [3]float64 // m³/s at rated pressure, in the order of the set's paths
	u      [3]float64 // ln q
	v      [3]int8    // variant
	down   uint64     // bit k: locked hold k stopped on a downstroke (for holds whose stroke was not noted)
	x      []float64  // unknowns of the locked holds in units of their standard deviation, see unknowns
	weight float64
}

// posterior is the pool of draws and the evidence of each set.
type posterior struct {
	draws  []draw
	tally  []tally   // by set
	own    [][]int32 // by set, indices of its draws
	total  float64   // Σ π_S Z_S
	ess    float64   // effective number of draws with a fault
	faulty float64   // probability of a fault
	se     float64   // largest standard error of a set's probability
}

// pools keeps the room of draws for the next analysis: half a megabyte of each.
var pools = sync.Pool{New: func() any { room := make([]draw, 0, 4096); return &room }}

// release gives the room of the draws back; they are gone then.
func (post *posterior) release() {
	room := post.draws
	post.draws = nil
	clear(room)
	pools.Put(&room)
}

type tally struct {
	n         int
	sum, sum2 float64
	credit    [wayKinds]float64 // Σ weight times the share of the density that each way had in proposing it
}

// pilotDraws shares out the first look: so many draws for all sets of a size together, and at least so many for each. A pump
// with many paths has hundreds of large sets, of which few matter.
var pilotDraws = [4]struct{ all, least int }{{100, 100}, {336, 32}, {500, 8}, {400, 4}}

const (
	priorShare = 0.3  // share of the draws of each leak from its prior: keeps every weight bounded where the prior has mass
	priorHolds = 0.5  // the same with locked holds, where what one pressure leaves for a leak is rougher: leaks in series
	widen      = 1.15 // proposals are this much wider than the reading they come from
	roundSize  = 1000
	pilotRound = 600 // draws after the first of each size
	leastESS   = 100 // effective draws with a fault, below which the size of a leak is not known
)

// integrate estimates the evidence of every set and keeps the draws.
func (b *bench) integrate(opt Options, rng *rand.Rand) *posterior {
	post := &posterior{tally: make([]tally, len(b.sets)), own: make([][]int32, len(b.sets)), draws: (*pools.Get().(*[]draw))[:0]}
	s := newSampler(b, rng)
	for size := 0; size <= 3; size++ { // small sets first: larger ones build on what they have learnt
		count := 0
		for _, set := range b.sets {
			if len(set.paths) == size {
				count++
			}
		}
		for i, set := range b.sets {
			if len(set.paths) != size {
				continue
			}
			n := max(pilotDraws[size].all/count, pilotDraws[size].least)
			if size == 0 && len(b.net.holds) == 0 {
				n = 1
			}
			s.sample(post, i, n)
		}
		b.weigh(post)
		if post.total > 0 && size < 3 && (size > 0 || len(b.net.holds) > 0) {
			b.allocate(post, s, min(pilotRound, opt.Draws/4))
		}
	}
	for left := opt.Draws; ; left -= roundSize {
		b.weigh(post)
		if post.total == 0 || left <= 0 || post.se < opt.StdErr && post.enough(opt.StdErr) {
			return post
		}
		b.allocate(post, s, min(roundSize, left))
	}
}

// enough says whether there are effective draws enough for every probability that is asked of them, a share of those with a fault, to have
// a standard error of at most se: ¼ P(fault)²/n ≤ se², with n = (Σw)²/Σw² (Kong 1992, "A note on importance sampling using standardized
// weights"; from memory). Intervals of leaks need some as well, unless there is next to no fault.
func (post *posterior) enough(se float64) bool {
	return post.faulty < 0.002 || post.ess > math.Max(leastESS, 0.25*sq(post.faulty/se))
}

// allocate spends n draws where they reduce the error most: n_S ∝ π_S·√E[w²].
func (b *bench) allocate(post *posterior, s *sampler, n int) {
	clear(s.kept)
	need := make([]float64, len(b.sets))
	var sum float64
	for i, t := range post.tally {
		if t.n == 0 || len(b.sets[i].paths) == 0 && len(b.net.holds) == 0 {
			continue
		}
		need[i] = b.sets[i].prior * math.Sqrt(t.sum2/float64(t.n))
		sum += need[i]
	}
	if sum == 0 { // only the healthy set has any weight, and it is exact: nothing left to sharpen
		return
	}
	for i := range need {
		if k := int(float64(n)*need[i]/sum + 0.5); k > 0 {
			s.sample(post, i, k)
		}
	}
}

// weigh sets the weight of every draw and the summary figures.
func (b *bench) weigh(post *posterior) {
	post.total = 0
	var varTotal float64
	vars := make([]float64, len(b.sets))
	for i, t := range post.tally {
		if t.n == 0 {
			continue
		}
		mean := t.sum / float64(t.n)
		post.total += b.sets[i].prior * mean
		if t.n > 1 {
			vars[i] = sq(b.sets[i].prior) * math.Max(0, t.sum2/float64(t.n)-mean*mean) / float64(t.n)
			varTotal += vars[i]
		}
	}
	if post.total == 0 {
		return
	}
	post.se = 0
	for i, t := range post.tally {
		p := b.sets[i].prior * t.sum / float64(max(1, t.n)) / post.total
		v := sq(1-p)*vars[i] + p*p*(varTotal-vars[i])
		post.se = math.Max(post.se, math.Sqrt(v)/post.total)
	}
	var s1, s2 float64
	for k := range post.draws {
		d := &post.draws[k]
		if len(b.sets[d.set].paths) == 0 {
			continue
		}
		w := b.share(post, d)
		s1, s2 = s1+w, s2+w*w
	}
	post.ess, post.faulty = s1*s1/s2, s1
	if s2 == 0 {
		post.ess = 0
	}
}

// share returns the posterior weight of a draw; the weights of all draws add up to 1.
func (b *bench) share(post *posterior, d *draw) float64 {
	return d.weight * b.sets[d.set].prior / float64(post.tally[d.set].n) / post.total
}

// sampler draws leaks of one set after another.
type sampler struct {
	b      *bench
	rng    *rand.Rand
	sdY    []float64   // by observation, sd of its y
	press  [][]float64 // by hold
	leaks  []leakOf
	points []point
	slab   []float64
	kept   map[int]*kernels // of the round
	prior  float64          // priorShare or priorHolds
	free   []int            // locked holds whose stroke was not noted
	left   [3]remainders    // by path of the set, for the draw in hand
	known  [3]bool          // left is worked out
}

func newSampler(b *bench, rng *rand.Rand) *sampler {
	s := &sampler{b: b, rng: rng, kept: map[int]*kernels{}, prior: priorShare}
	if len(b.net.holds) > 0 {
		s.prior = priorHolds
	}
	for a := range s.left {
		s.left[a] = remainders{make([]float64, len(b.obs)), make([]float64, len(b.obs)), 0}
	}
	for k := range b.obs {
		o := &b.obs[k]
		sd := math.Sqrt(o.c0 + o.c1*o.y*o.y)
		if o.kind == obsCurve { // a pressure: its proposals have a width of their own
			sd = 0
		}
		s.sdY = append(s.sdY, sd)
	}
	for i, h := range b.net.holds {
		if h.stroke == 0 {
			s.free = append(s.free, i)
		}
		s.press = append(s.press, make([]float64, len(h.at)))
	}
	s.leaks = make([]leakOf, 0, 3)
	return s
}

// remainders are what each reading leaves for a leak, given the earlier ones: centre and width in ln q of n proposals.
type remainders struct {
	lnM, tau []float64
	n        int
}

// sample adds n draws of set i to the pool, from the mixture of its proposals.
func (s *sampler) sample(post *posterior, i, n int) {
	t := &post.tally[i]
	set := s.b.sets[i].paths
	ways := s.proposals(post, i)
	signs := s.signs(set)
	for range n {
		d := draw{set: i, x: s.take(s.unknownsOf())}
		pick := s.rng.Float64()
		s.known = [3]bool{}
		way := &ways[0]
		for k := range ways {
			if way = &ways[k]; pick < way.share {
				break
			}
			pick -= way.share
		}
		if way.k == nil {
			s.fresh(set, &d)
		} else {
			way.draw(s, set, &d)
		}
		w, credit := s.ratio(set, &d, ways)
		if w > 0 {
			w *= signs * s.likelihood(set, &d)
		}
		d.weight = w
		for k := range credit {
			t.credit[k] += w * credit[k]
		}
		t.n++
		t.sum += w
		t.sum2 += w * w
		if w > 0 {
			post.own[i] = append(post.own[i], int32(len(post.draws)))
			post.draws = append(post.draws, d)
		}
	}
}

// take cuts n numbers off a slab, so that draws do not allocate one by one.
func (s *sampler) take(n int) []float64 {
	if n == 0 {
		return nil
	}
	if len(s.slab) < n {
		s.slab = make([]float64, 4096*n)
	}
	out := s.slab[:n:n]
	s.slab = s.slab[n:]
	return out
}

// fresh draws unknowns and variants from their priors and the leaks one after another from prior or readings.
func (s *sampler) fresh(set []int8, d *draw) {
	for k := range d.x {
		d.x[k] = s.rng.NormFloat64()
	}
	s.flip(d)
	for a := range set {
		s.freshLeak(set, a, d)
	}
}

// flip draws the stroke of the holds whose stroke was not noted.
func (s *sampler) flip(d *draw) {
	for _, h := range s.free {
		if s.rng.Float64() < 0.5 {
			d.down |= 1 << h
		}
	}
}

// freshLeak draws variant and leak of path a given the earlier ones.
func (s *sampler) freshLeak(set []int8, a int, d *draw) {
	j := set[a]
	d.v[a] = s.pickVariant(int(j))
	s.remain(set, a, d)
	left := &s.left[a]
	u, pick := 0.0, s.rng.Float64()
	if left.n == 0 || pick < s.prior {
		u = s.b.median[j] + s.b.sd[j]*s.rng.NormFloat64()
	} else {
		k := min(left.n-1, int((pick-s.prior)/(1-s.prior)*float64(left.n)))
		u = left.lnM[k] + left.tau[k]*s.rng.NormFloat64()
	}
	d.q[a], d.u[a] = math.Exp(u), u
}

// ratio returns prior density over the density of the mixture of proposals at a draw, and the share that each way has in the latter.
func (s *sampler) ratio(set []int8, d *draw, ways []proposal) (ratio float64, credit [wayKinds]float64) {
	prior, afresh := 1.0, [3]float64{1, 1, 1}
	for a, j := range set {
		p := normal(d.u[a], s.b.median[j], s.b.sd[j])
		prior *= p
		if !s.known[a] {
			s.remain(set, a, d)
		}
		afresh[a] = p
		if left := &s.left[a]; left.n > 0 {
			var sum float64
			for c := range left.n {
				sum += normal(d.u[a], left.lnM[c], left.tau[c])
			}
			afresh[a] = s.prior*p + (1-s.prior)*sum/float64(left.n)
		}
	}
	var g float64
	for k := range ways {
		by := ways[k].share * ways[k].density(s, set, d, &afresh)
		credit[ways[k].way] = by
		g += by
	}
	if g == 0 {
		return 0, credit
	}
	for k := range credit {
		credit[k] /= g
	}
	return prior / g, credit
}

func (s *sampler) signs(set []int8) float64 {
	w := 1.0
	for _, r := range s.b.signs {
		w *= (1-s.b.prior.Wrong)*s.b.signChance(r.Sign, set)/0.5 + s.b.prior.Wrong
	}
	return w
}

// remain finds what each reading leaves for leak a, given the earlier ones. A leak that is not the same in each reading (debris, a
// place along the stroke) is proposed as widely as it may differ.
func (s *sampler) remain(set []int8, a int, d *draw) {
	b, left := s.b, &s.left[a]
	own := int(set[a])*maxVariants + int(d.v[a])
	left.n, s.known[a] = 0, true
	for k := range b.obs {
		o := &b.obs[k]
		if o.tau == 0 || o.guess[own] == 0 {
			continue
		}
		rest, spread := o.guessY, 0.0
		if o.kind == obsCurve {
			rest *= math.Exp(lineSpread * d.x[0])
		}
		for e := range a {
			i := int(set[e])*maxVariants + int(d.v[e])
			c := o.guess[i] * d.q[e]
			rest -= c
			spread += sq(o.differ[i] * c)
		}
		m := rest / o.guess[own]
		if m <= 0 {
			continue
		}
		width := math.Sqrt((sq(widen*s.sdY[k])+spread)/sq(rest) + sq(o.differ[own]))
		left.lnM[left.n] = math.Log(m)
		left.tau[left.n] = math.Min(1.2, math.Max(o.tau, width))
		left.n++
	}
}

// normal is the Gaussian density without its factor 1/√2π, which cancels everywhere it is used.
func normal(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	if z > 9 || z < -9 {
		return 0
	}
	return math.Exp(-0.5*z*z) / sd
}

func (s *sampler) pickVariant(j int) int8 {
	u := s.rng.Float64()
	vars := s.b.vars[j]
	for v := range vars {
		if u -= vars[v].weight; u < 0 {
			return int8(v)
		}
	}
	return int8(len(vars) - 1)
}

// likelihood of a draw: the product over the readings of (1−ε)·p(reading | right)/p(reading | wrong) + ε.
func (s *sampler) likelihood(set []int8, d *draw) float64 {
	if len(s.b.net.holds) > 0 {
		s.simulateHolds(set, d)
	}
	w := 1.0
	for g := range s.b.takes {
		w *= s.term(&s.b.takes[g], set, d)
		if w == 0 {
			return 0
		}
	}
	return w
}

// term is the factor of one reading.
func (s *sampler) term(g *take, set []int8, d *draw) float64 {
	eps, all := s.b.prior.Wrong, 1.0
	if s.b.obs[g.from].kind == obsCurve {
		all = s.curve(g, set, d)
	} else {
		for k := g.from; k < g.to; k++ {
			all *= s.right(k, set, d)
		}
	}
	return (1-eps)*all + eps
}

// curve is p(pressures of a locked hold | right) / p(pressures | wrong). The errors of the start and the cooling are common to
// all its pressures and enter as two Gaussian directions a and b, so that
//
//	cov = diag(c) + a aᵀ + b bᵀ ,  a_k = u₀ p_k/p₀ ,  b_k² = (σ_cool (1 − e^(−t/τ)) p_k)² + (sound leaks)²
//
// is inverted in closed form; one pressure of several may be misread, which leaves its term out.
func (s *sampler) curve(g *take, set []int8, d *draw) float64 {
	o := &s.b.obs[g.from]
	h := &s.b.net.holds[o.hold]
	press := s.press[o.hold]
	loss, lossSD := s.soundLoss(h, set, d)
	var all rank2
	n := g.to - g.from
	s.points = s.points[:0]
	for k := g.from; k < g.to; k++ {
		o := &s.b.obs[k]
		p := press[o.point]
		drop := press[0] - p
		c := o.c0 + o.c1*drop*drop
		t := h.since[o.point]
		pt := point{r: o.y - p*(1-loss*t), a: h.u0 * p / h.p0, b: p * math.Sqrt(sq(coolingFraction*h.cool[o.point])+sq(lossSD*t)), c: c, ln: 0.5*math.Log(2*math.Pi*c) + o.lnBad}
		s.points = append(s.points, pt)
		all.add(&pt, 1)
	}
	miss := 0.0
	if n > 1 && s.b.prior.Wrong > 0 {
		miss = misreadPoint
	}
	if miss == 0 {
		return all.density()
	}
	few := math.Pow(1-miss, float64(n-1))
	sum := few * (1 - miss) * all.density()
	for k := range s.points {
		rest := all
		rest.add(&s.points[k], -1)
		sum += few * miss * rest.density()
	}
	return sum
}

// soundLoss is the share of its pressure that the line loses in a second by the leaks of the sound paths from it to the outside, and the
// standard deviation of that: G/C with the viscous G = Q_s/p of the sound paths of the draw.
func (s *sampler) soundLoss(h *lockedHold, set []int8, d *draw) (loss, sd float64) {
	b := s.b
	var mean, square float64
	for j := range b.paths {
		if b.net.weeps[j] && !contains(set, int8(j)) {
			mean += b.sound[j].mean
			square += sq(b.sound[j].sd)
		}
	}
	if mean == 0 {
		return 0, 0
	}
	per := 1 / (b.p.Limits.Rated * h.visc * h.comp[0] * math.Exp(lineSpread*d.x[0]))
	return mean * per, math.Sqrt(square) * per
}

// point is one pressure: deviation, common directions, variance of its own, and ln of its normaliser over the density when
// wrong.
type point struct{ r, a, b, c, ln float64 }

// rank2 collects what the density of deviations with covariance diag(c) + a aᵀ + b bᵀ needs, over their densities when wrong.
type rank2 struct {
	aa, ab, bb, ar, br, rr, ln float64
}

func (q *rank2) add(p *point, sign float64) {
	w := sign / p.c
	q.aa += w * p.a * p.a
	q.ab += w * p.a * p.b
	q.bb += w * p.b * p.b
	q.ar += w * p.a * p.r
	q.br += w * p.b * p.r
	q.rr += w * p.r * p.r
	q.ln += sign * p.ln
}

func (q *rank2) density() float64 {
	m11, m12, m22 := 1+q.aa, q.ab, 1+q.bb
	det := m11*m22 - m12*m12
	form := q.rr - (m22*q.ar*q.ar-2*m12*q.ar*q.br+m11*q.br*q.br)/det
	return math.Exp(-0.5*form-q.ln) / math.Sqrt(det)
}

// right is p(y | the reading is right) / p(y | it is wrong).
func (s *sampler) right(k int, set []int8, d *draw) float64 {
	o := &s.b.obs[k]
	if o.kind == obsCount || o.kind == obsWet {
		return seen(o, set, d) / o.bad
	}
	mu, extra := s.mean(o, set, d)
	switch o.kind {
	case obsStill:
		return o.unmoved(mu, extra) / o.bad
	case obsNoTurn:
		return o.noTurn(mu, extra) / o.bad
	}
	v := o.c0 + o.c1*mu*mu + extra
	nv := v
	if o.normY {
		nv = o.c0 + o.c1*o.y*o.y + extra
	}
	return gauss(o.y-mu, v, nv) / o.bad
}

// mean returns the predicted flow of an observation and the extra variance of debris on a seat.
func (s *sampler) mean(o *observation, set []int8, d *draw) (mu, extra float64) {
	mu = o.base
	if o.coef == nil {
		return 0, 0
	}
	if o.cycle != nil {
		for _, j := range set {
			mu -= o.sound[j]
		}
		flow, extra := s.cycleFlow(o, set, d)
		return mu + flow, extra
	}
	var into, back float64
	for a, j := range set {
		i := int(j)*maxVariants + int(d.v[a])
		c := o.coef[i] * d.q[a]
		v := &s.b.vars[j][d.v[a]]
		if v.debris && !o.settled {
			extra += sq(reseatSpread * c)
		}
		if o.along > 0 && (v.mid || v.zone) {
			extra += sq(o.along * along(v) * c)
		}
		if o.fill != nil {
			if o.fill.into[j] {
				into += c
				continue
			}
			back += o.back[i] * d.q[a]
		}
		mu += c - o.sound[j]
	}
	if into > 0 {
		mu = o.fill.total(mu, into, back)
	}
	return mu, extra
}

// cycleFlow is the mean leak of the faulty paths over a cycle of a run, see cycle, and the extra variance of debris on a seat, for
// which an even split of the cycle will do.
func (s *sampler) cycleFlow(o *observation, set []int8, d *draw) (flow, extra float64) {
	var up, down float64
	for a, j := range set {
		i := int(j)*maxVariants + int(d.v[a])
		up += o.coef[i] * d.q[a]
		down += o.cycle.down[i] * d.q[a]
		if s.b.vars[j][d.v[a]].debris {
			extra += sq(reseatSpread * o.guess[i] * d.q[a])
		}
	}
	return o.cycle.flow(up, down), extra
}

// along is the relative standard deviation of a leak that varies along the stroke, at a place that is not known.
func along(v *variant) float64 {
	if v.mid {
		return midWearSD
	}
	return zoneSD
}

// seen is the probability of a count of drops from the path that it sees, or that there is one at all from any that it sees.
func seen(o *observation, set []int8, d *draw) float64 {
	var mu float64
	dry := 1 - o.quiet
	for a, j := range set {
		q := o.coef[int(j)*maxVariants+int(d.v[a])] * d.q[a]
		if mu += q; q > 0 && o.kind == obsWet {
			dry *= dropChance(q*o.scale, 0, 0) / o.none[j]
		}
	}
	switch {
	case mu == 0:
		return o.quiet
	case o.kind == obsWet:
		return 1 - dry
	}
	return dropChance(mu*o.scale, o.n, o.ln)
}

// gauss is the Gaussian density of a deviation with variance v, normalised with variance nv.
func gauss(dev, v, nv float64) float64 {
	return math.Exp(-0.5*dev*dev/v) / math.Sqrt(2*math.Pi*nv)
}

// unknownsOf is the number of unknowns beside the leaks that are drawn: the compliance of all nodes when there is a locked hold,
// standard normal under the prior.
func (s *sampler) unknownsOf() int {
	if len(s.b.net.holds) > 0 {
		return 1
	}
	return 0
}

// simulateHolds runs every locked hold for a draw.
func (s *sampler) simulateHolds(set []int8, d *draw) {
	b := s.b
	scale := math.Exp(lineSpread * d.x[0])
	for i := range b.net.holds {
		h := &b.net.holds[i]
		s.leaks = s.leaks[:0]
		for a, j := range set {
			s.leaks = append(s.leaks, leakOf{d.q[a], b.vars[j][d.v[a]].form, h.visc, b.net.from[j], b.net.to[j]})
		}
		stroke := h.stroke
		if stroke == 0 {
			stroke = pump.Up
			if d.down&(1<<i) != 0 {
				stroke = pump.Down
			}
		}
		b.net.simulate(h, b.net.pressed[strokeIndex(stroke)], s.leaks, b.p.Limits.Rated, h.p0, scale, s.press[i])
	}
}
