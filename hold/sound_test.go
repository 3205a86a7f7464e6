package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// momentsOfSound integrates a lognormal that is cut off at most, and reaches it at two standard deviations at the latest, by Simpson's rule: mean
// and standard deviation. Independent of newSound.
func momentsOfSound(median, spread, most float64) (mean, sd float64) {
	s := math.Log(spread)
	if z := math.Log(most/median) / s; z > 2 && !math.IsInf(most, 1) {
		s *= z / 2
	}
	lo, hi := math.Log(median)-9*s, math.Min(math.Log(median)+9*s, math.Log(most))
	density := func(u float64) float64 { return math.Exp(-0.5 * sq((u-math.Log(median))/s)) }
	p := simpson(density, lo, hi, 4000)
	mean = simpson(func(u float64) float64 { return math.Exp(u) * density(u) }, lo, hi, 4000) / p
	square := simpson(func(u float64) float64 { return math.Exp(2*u) * density(u) }, lo, hi, 4000) / p
	return mean, math.Sqrt(square - mean*mean)
}

func TestSoundLeak(t *testing.T) {
	for _, c := range []struct{ median, spread, most float64 }{{1, 2.5, math.Inf(1)}, {1, 2.5, 4}, {1, 2.5, 100}, {1, 2.5, 1}, {3, 2, 0.7}} {
		q := newSound(Size{Median: c.median, Spread: c.spread}, 1, c.most)
		mean, sd := momentsOfSound(c.median, c.spread, c.most)
		if math.Abs(q.mean/mean-1) > 1e-6 || math.Abs(q.sd/sd-1) > 1e-5 {
			t.Errorf("%+v: mean %.6g, sd %.6g; want %.6g, %.6g", c, q.mean, q.sd, mean, sd)
		}
		if !(q.median <= c.most) || q.quantile(0.999999) > c.most*(1+1e-6) {
			t.Errorf("%+v: a sound path leaks %g, %g at most", c, q.quantile(0.999999), c.most)
		}
		if got := q.average(func(x float64) float64 { return math.Min(x, 5*c.median) }); c.most < 5*c.median && math.Abs(got/mean-1) > 0.02 {
			t.Errorf("%+v: average %.5g, mean %.5g", c, got, mean)
		}
	}
	if q := newSound(Size{Median: 0, Spread: 2}, 1, 1); q.mean != 0 || q.median != 0 || q.quantile(0.9) != 0 {
		t.Errorf("a sound path that does not leak: %+v", q)
	}
	if q := newSound(Size{Median: 1e6, Spread: 1.1}, 1, 1); q.mean != 1 || q.quantile(0.3) != 1 {
		t.Errorf("what is usual far above the limit: %+v", q)
	}
}

// In a pump a sound path that can be seen leaks no more than it may there; the others leak what is usual.
func TestSoundPathsKeepTheirLimits(t *testing.T) {
	p := differential()
	b, err := newBench(p, bench4(), DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	for j, q := range b.paths {
		want := math.Inf(1)
		switch q.Place() {
		case pump.AtThroat:
			want = 1e-6 / 60 // twenty drops a minute
		case pump.ToOutside, pump.ToPail:
			want = 0.05e-6 / 60 // none: less than one
		}
		if got := b.sound[j].most; !(got == want || math.Abs(got/want-1) < 1e-9) {
			t.Errorf("%s: a sound one leaks %g m³/s at most, want %g", q.Name, got, want)
		}
	}
}
