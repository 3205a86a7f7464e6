package hold

import (
	"github.com/evenstroke/evenstroke/pump"
)

// faultSet is the paths at fault, by index, with its prior probability.
type faultSet struct {
	paths []int8
	prior float64
}

// enumerate lists every set of at most three paths. A set of k paths has the prior (1 − healthy)·number[k]·Π w over the sum
// of Π w for all sets of k paths.
func enumerate(paths []pump.Path, pr *Prior, healthy float64) []faultSet {
	sets := []faultSet{{nil, healthy}}
	var bySize [4][]faultSet
	var grow func(start int, chosen []int8, w float64)
	grow = func(start int, chosen []int8, w float64) {
		if k := len(chosen); k > 0 {
			bySize[k] = append(bySize[k], faultSet{drawOrder(paths, chosen), w})
		}
		if len(chosen) == 3 {
			return
		}
		for j := start; j < len(paths); j++ {
			if wj := pr.weight(paths[j]); wj > 0 {
				grow(j+1, append(chosen, int8(j)), w*wj)
			}
		}
	}
	grow(0, nil, 1)
	for k := 1; k <= 3; k++ {
		var sum float64
		for _, s := range bySize[k] {
			sum += s.prior
		}
		if sum == 0 || pr.Number[k-1] == 0 {
			continue
		}
		for _, s := range bySize[k] {
			s.prior *= (1 - healthy) * pr.Number[k-1] / sum
			sets = append(sets, s)
		}
	}
	return sets
}

// drawOrder puts the paths that leak on both strokes first, so that the later ones take what a reading of one stroke leaves.
func drawOrder(paths []pump.Path, chosen []int8) []int8 {
	var out []int8
	for _, both := range []bool{true, false} {
		for _, j := range chosen {
			if paths[j].Both() == both {
				out = append(out, j)
			}
		}
	}
	return out
}

// signChance is the probability that a person notices the sign, by which path is at fault; the first that applies counts.
// Assumptions from general experience, shown as such.
func (b *bench) signChance(sign string, set []int8) float64 {
	any := func(f func(p pump.Path) bool) bool {
		for _, j := range set {
			if f(b.paths[j]) {
				return true
			}
		}
		return false
	}
	oneSided := func(p pump.Path) bool { return !p.Both() }
	fromSuction := func(p pump.Path) bool { return p.To == pump.Suction }
	switch sign {
	case "surges":
		if any(oneSided) {
			return 0.6
		}
		return 0.08
	case "will not prime":
		if any(fromSuction) {
			return 0.5
		}
		return 0.05
	case "spits":
		if any(fromSuction) {
			return 0.35
		}
		return 0.1
	case "runs with the gun shut":
		if len(set) > 0 {
			return 0.7
		}
		return 0.05
	case inWetCup:
		if any(func(p pump.Path) bool { return p.OnRod && p.To == pump.Air }) {
			return 0.85
		}
		return 0.05
	default: // slow to build pressure
		if len(set) > 0 {
			return 0.5
		}
		return 0.1
	}
}
