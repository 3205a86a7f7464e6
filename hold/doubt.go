package hold

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
)

// doubts returns the readings that are probably wrong: P(wrong | readings) from equally weighted draws, with the chance of
// a contradiction that cannot be pinned on one reading.
func (b *bench) doubts(post *posterior) []Doubt {
	if len(b.takes) < 2 || b.prior.Wrong == 0 {
		return []Doubt{}
	}
	rng := rand.New(rand.NewPCG(11, 13))
	s := newSampler(b, rng)
	bad := make([]float64, len(b.sheet.Readings))
	var clean, n float64
	for _, d := range b.resample(post, 200, rng) {
		set := b.sets[d.set].paths
		s.likelihood(set, d)
		all := 1.0
		for g := range b.takes {
			right := 1 - b.prior.Wrong/s.term(&b.takes[g], set, d)
			bad[b.takes[g].reading] += 1 - right
			all *= right
		}
		clean += all
		n++
	}
	return b.wordDoubts(bad, 1-clean/n, n)
}

func (b *bench) wordDoubts(bad []float64, some, n float64) []Doubt {
	out := []Doubt{}
	var suspects []string
	least := 0.5
	if slices.Max(bad)/n <= 0.5 && some > 0.75 { // none stands out, but they do not fit together
		least = 0.2
	}
	for i := range bad {
		if p := bad[i] / n; p > least {
			suspects = append(suspects, fmt.Sprint(i+1))
			out = append(out, Doubt{Reading: i + 1, P: p})
		}
	}
	for k := range out {
		if out[k].P > 0.5 {
			out[k].Text = fmt.Sprintf("reading %d contradicts the others: %.0f %% that it is wrong; take it again", out[k].Reading, 100*out[k].P)
		} else {
			out[k].Text = "readings " + strings.Join(suspects, " and ") + " contradict each other; take them again"
		}
	}
	return out
}

// resample returns n draws of equal weight (systematic resampling).
func (b *bench) resample(post *posterior, n int, rng *rand.Rand) []*draw {
	out := make([]*draw, 0, n)
	u, sum := rng.Float64()/float64(n), 0.0
	for k := range post.draws {
		sum += b.share(post, &post.draws[k])
		for sum > u && len(out) < n {
			out = append(out, &post.draws[k])
			u += 1 / float64(n)
		}
	}
	return out
}
