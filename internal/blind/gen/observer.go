package gen

import (
	"math"
	"math/rand/v2"
	"sort"
)

// library is many drawn pumps of one setup with what each would show.
type library struct {
	s     *Setup
	first []int     // by set, index of its first draw; one more at the end
	lnq   []float32 // [draw*3+a]
	form  []uint8   // [draw*3+a]
	pred  []float32 // [draw*width+k]
}

// newLibrary draws about n pumps: mostly in proportion to the prior of their sets, some evenly over the sets.
func (s *Setup) newLibrary(rng *rand.Rand, n int) *library {
	lib := &library{s: s, first: make([]int, 1, len(s.sets)+1)}
	total := 0
	for _, set := range s.sets {
		k := 50 + int(float64(n)*(0.6*set.prior+0.4/float64(len(s.sets))))
		total += k
		lib.first = append(lib.first, total)
	}
	lib.lnq, lib.form = make([]float32, 3*total), make([]uint8, 3*total)
	lib.pred = make([]float32, total*s.width)
	var w world
	for i, set := range s.sets {
		for d := lib.first[i]; d < lib.first[i+1]; d++ {
			drawWorld(rng, &w, s.r, s.Fluid, s.Temperature, &s.Prior, i, set.paths, s.Gauge)
			for a, j := range set.paths {
				lib.lnq[3*d+a], lib.form[3*d+a] = float32(math.Log(w.q[j])), uint8(w.law[j].form)
			}
			s.predict(rng, &w, lib.pred[d*s.width:(d+1)*s.width])
		}
	}
	return lib
}

// Opinion is what the ideal observer makes of a case.
type Opinion struct {
	Sets      []Share // most probable first, those above 1 in 1000
	Paths     []float64
	Effective float64 // effective number of draws behind it
}

// Share is a fault set with its probability.
type Share struct {
	Paths []string
	P     float64
}

// cloud is the weighted draws of one set, for the observer's own use.
type cloud struct {
	set    int
	z      float64 // evidence: mean weight times prior of the set
	z2     float64 // Σ of the squares of weights, same scale
	w      []float64
	lnq    [][3]float32
	form   [][3]uint8
	likely []float64 // likelihood alone
}

func (c *cloud) effective() float64 {
	if c.z2 == 0 {
		return 0
	}
	return c.z * c.z / c.z2
}

// weighAll weighs the readings against the whole library.
func (lib *library) weighAll(readings []Reading) []cloud {
	s := lib.s
	out := make([]cloud, len(s.sets))
	for i := range s.sets {
		c := &out[i]
		c.set = i
		n := lib.first[i+1] - lib.first[i]
		scale := s.sets[i].prior / float64(n)
		for d := lib.first[i]; d < lib.first[i+1]; d++ {
			l := s.weigh(lib.pred[d*s.width:(d+1)*s.width], readings)
			if l == 0 {
				continue
			}
			c.z += l * scale
			c.z2 += sq(l * scale)
			c.w, c.likely = append(c.w, l*scale), append(c.likely, l)
			c.lnq = append(c.lnq, [3]float32(lib.lnq[3*d:3*d+3]))
			c.form = append(c.form, [3]uint8(lib.form[3*d:3*d+3]))
		}
	}
	return out
}

// Enough and Few are the effective numbers of draws: below Enough the observer looks closer, below Few a case is undecided.
const (
	Enough = 300
	Few    = 20
)

// opinion weighs the readings, and looks closer where too few draws of the library fit them.
func (lib *library) opinion(rng *rand.Rand, readings []Reading) Opinion {
	clouds := lib.weighAll(readings)
	if _, eff := total(clouds); eff < Enough {
		lib.refine(rng, clouds, readings)
	}
	sum, eff := total(clouds)
	o := Opinion{Effective: eff, Paths: make([]float64, len(lib.s.r.paths))}
	if sum == 0 { // not one draw fits
		return o
	}
	for i := range clouds {
		p := clouds[i].z / sum
		set := lib.s.sets[i].paths
		for _, j := range set {
			o.Paths[j] += p
		}
		if p > 1e-3 {
			o.Sets = append(o.Sets, Share{lib.s.names(set), p})
		}
	}
	sort.SliceStable(o.Sets, func(a, b int) bool { return o.Sets[a].P > o.Sets[b].P })
	return o
}

func (s *Setup) names(set []int) []string {
	out := []string{}
	for _, j := range set {
		out = append(out, s.r.paths[j].Name)
	}
	return out
}

func total(clouds []cloud) (z, effective float64) {
	var z2 float64
	for i := range clouds {
		z += clouds[i].z
		z2 += clouds[i].z2
	}
	if z2 == 0 {
		return z, 0
	}
	return z, z * z / z2
}
