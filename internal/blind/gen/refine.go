package gen

import (
	"math"
	"math/rand/v2"
	"sort"

	"github.com/evenstroke/evenstroke/pump"
)

// The closer look: population Monte Carlo (Cappé et al. 2004), set by set. Draws that fit roughly become the centres of a
// mixture of Gaussians over ln q, with the forms as they are; a quarter of the new draws comes from the prior, so that no weight
// can run away. A second round starts from the first.
const (
	closerSets  = 14 // at most so many sets
	closerShare = 1e-3
	centres     = 40
	closerDraws = 500
	rounds      = 3
	ownPrior    = 0.2
	otherForm   = 0.15 // chance that a form is drawn anew
)

// refine replaces the clouds of the sets that matter by better ones.
func (lib *library) refine(rng *rand.Rand, clouds []cloud, readings []Reading) {
	heat := make([]float64, len(clouds)) // evidence at a higher temperature: sets that no single draw hit well still show
	var sum float64
	for i := range clouds {
		heat[i] = math.Max(clouds[i].z, tempered(&clouds[i], 0.5))
		sum += heat[i]
	}
	order := make([]int, len(clouds))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return heat[order[a]] > heat[order[b]] })
	for n, i := range order {
		c := &clouds[i]
		if n >= closerSets || heat[i] < closerShare*sum {
			break
		}
		if len(lib.s.sets[i].paths) == 0 || c.effective() > Enough || len(c.w) < 2 {
			continue
		}
		for k := range rounds {
			next := lib.closer(rng, c, readings)
			if k == 0 || next.effective() > c.effective() || next.z > c.z {
				*c = next
			}
		}
	}
}

// tempered estimates the evidence with the likelihood L replaced by L^β·Lmax^(1−β), an upper bound of sorts.
func tempered(c *cloud, beta float64) float64 {
	var top, sum, n float64
	for k, l := range c.likely {
		top = math.Max(top, l)
		n += c.w[k] / l
	}
	if top == 0 {
		return 0
	}
	for k, l := range c.likely {
		sum += c.w[k] / l * math.Pow(l/top, beta)
	}
	return sum * top * 0.3
}

// mixture proposes draws of one set.
type mixture struct {
	s     *Setup
	set   []int
	lnq   [][3]float32
	form  [][3]uint8
	width [3]float64
}

// closer makes a new cloud of a set around the draws of the old one.
func (lib *library) closer(rng *rand.Rand, c *cloud, readings []Reading) cloud {
	s := lib.s
	m := newMixture(rng, s, c)
	out := cloud{set: c.set}
	var w world
	pred := make([]float32, s.width)
	scale := s.sets[c.set].prior / closerDraws
	for range closerDraws {
		lnq, form := m.draw(rng)
		drawWorld(rng, &w, s.r, s.Fluid, s.Temperature, &s.Prior, c.set, nil, s.Gauge)
		for a, j := range m.set {
			w.fault(rng, j, math.Exp(float64(lnq[a])), form2(form[a]))
		}
		s.predict(rng, &w, pred)
		l := s.weigh(pred, readings)
		if l == 0 {
			continue
		}
		v := l * scale * m.ratio(lnq, form)
		out.z += v
		out.z2 += v * v
		out.w, out.likely = append(out.w, v), append(out.likely, l)
		out.lnq, out.form = append(out.lnq, lnq), append(out.form, form)
	}
	return out
}

func form2(f uint8) form { return form(f) }

// newMixture takes centres from a cloud in proportion to its weights with the likelihood tempered until enough draws count.
func newMixture(rng *rand.Rand, s *Setup, c *cloud) *mixture {
	m := &mixture{s: s, set: s.sets[c.set].paths}
	w := temper(c)
	var sum float64
	for _, x := range w {
		sum += x
	}
	u, acc, k := rng.Float64()/centres, 0.0, 0
	for i := range w {
		acc += w[i] / sum
		for acc > u && k < centres {
			m.lnq, m.form = append(m.lnq, c.lnq[i]), append(m.form, c.form[i])
			u += 1.0 / centres
			k++
		}
	}
	for a := range m.set { // spread of the cloud, narrowed since there are many centres
		var mean, v float64
		for i := range w {
			mean += w[i] / sum * float64(c.lnq[i][a])
		}
		for i := range w {
			v += w[i] / sum * sq(float64(c.lnq[i][a])-mean)
		}
		m.width[a] = clamp(0.5*math.Sqrt(v), 0.015, 0.5)
	}
	return m
}

// temper raises the likelihood to the power at which some 30 draws count.
func temper(c *cloud) []float64 {
	out := make([]float64, len(c.w))
	var top float64
	for _, l := range c.likely {
		top = math.Max(top, l)
	}
	for beta := 1.0; ; beta *= 0.7 {
		var s, s2 float64
		for i := range out {
			out[i] = c.w[i] / c.likely[i] * math.Pow(c.likely[i]/top, beta)
			s += out[i]
			s2 += sq(out[i])
		}
		if s*s/s2 > 30 || beta < 0.05 {
			return out
		}
	}
}

func (m *mixture) draw(rng *rand.Rand) (lnq [3]float32, f [3]uint8) {
	if rng.Float64() < ownPrior || len(m.lnq) == 0 {
		for a, j := range m.set {
			mean, sd := m.s.Prior.size(m.s.r.paths[j], m.s.r.limit)
			lnq[a] = float32(mean + sd*rng.NormFloat64())
			f[a] = uint8(pickForm(rng, m.s.r.paths[j].Kind))
		}
		return lnq, f
	}
	k := rng.IntN(len(m.lnq))
	for a, j := range m.set {
		lnq[a] = m.lnq[k][a] + float32(m.width[a]*rng.NormFloat64())
		if f[a] = m.form[k][a]; rng.Float64() < otherForm {
			f[a] = uint8(pickForm(rng, m.s.r.paths[j].Kind))
		}
	}
	return lnq, f
}

// ratio is the prior density of a draw over its density under the mixture.
func (m *mixture) ratio(lnq [3]float32, f [3]uint8) float64 {
	prior := 1.0
	var share [3]float64
	for a, j := range m.set {
		mean, sd := m.s.Prior.size(m.s.r.paths[j], m.s.r.limit)
		share[a] = formShare(form(f[a]), m.kind(j))
		prior *= normal(float64(lnq[a]), mean, sd) * share[a]
	}
	if len(m.lnq) == 0 {
		return 1
	}
	var mix float64
	for k := range m.lnq {
		g := 1.0
		for a := range m.set {
			hit := 0.0
			if m.form[k][a] == f[a] {
				hit = 1
			}
			g *= normal(float64(lnq[a]), float64(m.lnq[k][a]), m.width[a]) * ((1-otherForm)*hit + otherForm*share[a])
		}
		mix += g
	}
	if prior == 0 {
		return 0
	}
	return prior / (ownPrior*prior + (1-ownPrior)*mix/float64(len(m.lnq)))
}

func (m *mixture) kind(j int) pump.PathKind { return m.s.r.paths[j].Kind }
