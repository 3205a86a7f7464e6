package score

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/blind/gen"
)

// Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17 (1998) 857, table I, score
// method without continuity correction (printed to four digits; from memory).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		hits, of int
		lo, hi   float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		lo, hi := Share{c.hits, c.of}.Interval()
		if math.Abs(lo-c.lo) > 5e-5 || math.Abs(hi-c.hi) > 5e-5 {
			t.Errorf("%d of %d: %.4f to %.4f, want %.4f to %.4f", c.hits, c.of, lo, hi, c.lo, c.hi)
		}
	}
}

// Analytic: 100 statements of 0.7 of which 60 came true, and 100 of 0.1 of which 12 did: ½·0.10 + ½·0.02.
func TestCurveError(t *testing.T) {
	var c Curve
	for i := range 100 {
		c.Add(0.7, i < 60)
		c.Add(0.1, i < 12)
	}
	if e := c.Error(); math.Abs(e-0.06) > 1e-12 {
		t.Errorf("error %g, want 0.06", e)
	}
	c.Add(1, true)
	c.Add(0, false)
	if c.Total() != 202 || c.N[0] != 1 || c.N[Bins-1] != 1 {
		t.Errorf("the ends: %v", c.N)
	}
}

// What chance adds agrees with the mean error of perfect probabilities.
func TestCurveChance(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var mean, chance float64
	const runs = 300
	for range runs {
		var c Curve
		for range 400 {
			p := rng.Float64()
			c.Add(p, rng.Float64() < p)
		}
		mean += c.Error() / runs
		chance += c.Chance() / runs
	}
	if math.Abs(mean/chance-1) > 0.05 {
		t.Errorf("mean error %.4f, expected %.4f", mean, chance)
	}
}

// A tally counts each thing where it belongs.
func TestTally(t *testing.T) {
	c := gen.Case{Truth: gen.Truth{Paths: []string{"b", "a"}, Leak: map[string]float64{"a": 10, "b": 3}, Meets: false, Wrong: []int{2}},
		Ideal: gen.Verdict{Top: []string{"a", "b"}, P: 0.97, TrueP: 0.97, Tell: "yes"}}
	r := &hold.Result{
		Verdict: hold.Verdict{Word: hold.DoesNotHold, Meets: 0.01},
		Sets:    []hold.SetShare{{Paths: []string{"a", "b"}, P: 0.8}, {Paths: []string{}, P: 0.2}},
		Paths: []hold.PathShare{{Path: "a", P: 0.8, Flow: hold.Quantiles{Q05: 8, Q95: 12}}, {Path: "b", P: 0.3, Flow: hold.Quantiles{Q05: 4, Q95: 6}},
			{Path: "c", P: 0.1}},
		Doubts: []hold.Doubt{{Reading: 2, P: 0.9}, {Reading: 1, P: 0.6}, {Reading: 3, P: 0.3}},
	}
	var got Tally
	got.Add(&Outcome{Case: c, Result: r, Took: time.Second})
	got.Add(&Outcome{Case: c, Refused: "so"})
	for name, x := range map[string][2]Share{
		"tellable": {got.Tellable, Share{1, 1}}, "cover": {got.Cover, Share{1, 2}}, "unsure": {got.CoverUnsure, Share{0, 1}},
		"meets": {got.NotHold, Share{0, 1}}, "healthy": {got.NotHoldWell, Share{0, 1}}, "holds": {got.Holds, Share{}},
		"named": {got.Named, Share{1, 2}}, "caught": {got.Caught, Share{1, 1}},
	} {
		if x[0] != x[1] {
			t.Errorf("%s: %v, want %v", name, x[0], x[1])
		}
	}
	if got.Below != 1 || got.Above != 0 || got.Refused != 1 || got.Cases != 2 || got.Path.Total() != 3 {
		t.Errorf("%+v", got)
	}
	if math.Abs(got.LogScore+math.Log(0.8)) > 1e-12 {
		t.Errorf("log score %g", got.LogScore)
	}
	sound := gen.Case{Stage: gen.AsLeft, Truth: gen.Truth{Meets: true}, Ideal: gen.Verdict{Tell: "no"}}
	for i, word := range []string{hold.Holds, hold.NotProven, hold.Holds} {
		if i == 2 { // no proof of a pump as found is asked for
			sound.Stage = gen.AsFound
		}
		got.Add(&Outcome{Case: sound, Result: &hold.Result{Verdict: hold.Verdict{Word: word}, Sets: []hold.SetShare{{P: 1}}}})
	}
	if got.Passed != (Share{1, 2}) || got.Holds != (Share{0, 2}) {
		t.Errorf("passed %v, want 1 of 2; holds %v, want 0 of 2 wrong", got.Passed, got.Holds)
	}
}
