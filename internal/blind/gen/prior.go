package gen

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
)

// Prior is how often what fails, and how much it then leaks: the truth is drawn from it, and Text writes it as a prior file.
type Prior struct {
	Name    string
	Healthy float64    // share of pumps without a fault, as found
	AsLeft  float64    // the same after a rebuild
	Number  [3]float64 // shares of one, two, three faults
	Wrong   float64    // share of wrong readings
	Kinds   []KindPrior
	Sound   KindPrior // leak of a path that is not at fault; Weight unused
}

// KindPrior is weight and leak of one kind of path.
type KindPrior struct {
	Kind      pump.PathKind
	Weight    float64
	OverLimit float64 // median leak at rated pressure over the leak limit of the pump
	Spread    float64
}

// General is the prior of the main set: a workshop with a mixed intake.
func General() Prior {
	return Prior{
		Name: "general", Healthy: 0.30, AsLeft: 0.75, Number: [3]float64{0.72, 0.22, 0.06}, Wrong: 0.05,
		Kinds: []KindPrior{
			{pump.PathPacking, 1, 3, 2.5}, {pump.PathSeat, 0.9, 2.5, 2.5}, {pump.PathStatic, 0.3, 2, 2.3},
			{pump.PathDrain, 0.35, 2.5, 2.5}, {pump.PathFitting, 0.2, 1.2, 2.5},
		},
		Sound: KindPrior{OverLimit: 0.004, Spread: 2},
	}
}

// Abrasive is the prior of the second set: a shop that sprays abrasive coatings, where seats fail most and often together.
func Abrasive() Prior {
	return Prior{
		Name: "abrasive", Healthy: 0.10, AsLeft: 0.60, Number: [3]float64{0.50, 0.38, 0.12}, Wrong: 0.08,
		Kinds: []KindPrior{
			{pump.PathPacking, 0.6, 4, 2.0}, {pump.PathSeat, 1.5, 5, 3.0}, {pump.PathStatic, 0.2, 1.5, 2.0},
			{pump.PathDrain, 0.6, 3, 2.5}, {pump.PathFitting, 0.1, 1, 2.0},
		},
		Sound: KindPrior{OverLimit: 0.008, Spread: 2},
	}
}

// Text returns the prior as a file in the published format.
func (pr Prior) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "prior: 1\nnote: invented\nhealthy: %g %%\nhealthy_as_left: %g %%\nwrong_reading: %g %%\n", 100*pr.Healthy, 100*pr.AsLeft, 100*pr.Wrong)
	fmt.Fprintf(&b, "faults: {one: %g %%, two: %g %%, three: %g %%}\npaths:\n", 100*pr.Number[0], 100*pr.Number[1], 100*pr.Number[2])
	for _, k := range pr.Kinds {
		fmt.Fprintf(&b, "  - {kind: %s, weight: %g, leak_over_limit: %g, spread: %g}\n", k.Kind, k.Weight, k.OverLimit, k.Spread)
	}
	fmt.Fprintf(&b, "sound: {leak_over_limit: %g, spread: %g}\n", pr.Sound.OverLimit, pr.Sound.Spread)
	return b.String()
}

func (pr Prior) kind(k pump.PathKind) KindPrior {
	for _, q := range pr.Kinds {
		if q.Kind == k {
			return q
		}
	}
	return KindPrior{Kind: k}
}

// faultSet is a set of paths, by index, with its prior probability.
type faultSet struct {
	paths []int
	prior float64
}

// sets lists all sets of up to three paths: a set of k has a share of Number[k] in proportion to the product of its weights.
func (pr Prior) sets(paths []pump.Path, stage string) []faultSet {
	healthy := pr.Healthy
	if stage == AsLeft {
		healthy = pr.AsLeft
	}
	out := []faultSet{{nil, healthy}}
	for k := 1; k <= 3; k++ {
		first, sum := len(out), 0.0
		for _, c := range choose(len(paths), k) {
			w := 1.0
			for _, j := range c {
				w *= pr.kind(paths[j].Kind).Weight
			}
			if w > 0 {
				out = append(out, faultSet{c, w})
				sum += w
			}
		}
		for i := first; i < len(out); i++ {
			out[i].prior *= (1 - healthy) * pr.Number[k-1] / sum
		}
	}
	return out
}

// choose lists the subsets of k of 0..n−1.
func choose(n, k int) [][]int {
	if k == 0 {
		return [][]int{nil}
	}
	var out [][]int
	for last := k - 1; last < n; last++ {
		for _, c := range choose(last, k-1) {
			out = append(out, append(append([]int(nil), c...), last))
		}
	}
	return out
}

func pickSet(rng *rand.Rand, sets []faultSet) int {
	u := rng.Float64()
	for i := range sets {
		if u -= sets[i].prior; u < 0 {
			return i
		}
	}
	return 0
}

// size returns median and sd of ln q of a path at fault.
func (pr Prior) size(p pump.Path, limit float64) (mean, sd float64) {
	k := pr.kind(p.Kind)
	return math.Log(k.OverLimit * limit), math.Log(k.Spread)
}
