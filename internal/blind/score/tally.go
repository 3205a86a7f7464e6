package score

import (
	"math"
	"sort"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/blind/gen"
)

// Tally is what a group of outcomes adds up to.
type Tally struct {
	Cases, Refused       int
	Undecided            int
	Tellable             Share // right fault set first, of the cases that can be told
	Any                  Share // right fault set first, of all cases
	Ideal                Share // the ideal observer itself, of the cases that can be told
	Cover                Share // 90 % interval of the leak of a path at fault holds the truth
	Below, Above         int   // how often the truth lies below and above it
	CoverUnsure          Share // the same, where the path's probability is below a half
	Set, Path            Curve // of the first fault set; of every path
	IdealSet             Curve
	NotHold              Share // verdict "does not hold": the pump meets its limit
	NotHoldWell          Share // and: the pump has no fault at all
	Holds                Share // verdict "holds": it does not meet
	Passed               Share // verdict "holds", of the pumps that meet their limits and were held to be passed
	NotProven            Share
	Meets                Curve
	Named, Caught        Share // named readings that are wrong; wrong readings that are named
	Took                 []time.Duration
	LogScore, LogOfIdeal float64 // Σ −ln P(true set), of decided cases
	Scored               int
}

// Add counts one outcome.
func (t *Tally) Add(o *Outcome) {
	t.Cases++
	if o.Result == nil {
		t.Refused++
		return
	}
	t.Took = append(t.Took, o.Took)
	t.sets(o)
	t.leaks(o)
	t.verdicts(o)
	t.readings(o)
}

func (t *Tally) sets(o *Outcome) {
	r, c := o.Result, &o.Case
	first := r.Sets[0]
	right := sameSet(first.Paths, c.Truth.Paths)
	t.Any.Add(right)
	t.Set.Add(first.P, right)
	at := map[string]bool{}
	for _, name := range c.Truth.Paths {
		at[name] = true
	}
	for _, q := range r.Paths {
		t.Path.Add(q.P, at[q.Path])
	}
	switch c.Ideal.Tell {
	case "undecided":
		t.Undecided++
		return
	case "yes":
		t.Tellable.Add(right)
		t.Ideal.Add(sameSet(c.Ideal.Top, c.Truth.Paths))
	}
	t.IdealSet.Add(c.Ideal.P, sameSet(c.Ideal.Top, c.Truth.Paths))
	if p := probability(r.Sets, c.Truth.Paths); p > 0 && c.Ideal.TrueP > 0 {
		t.LogScore -= math.Log(p)
		t.LogOfIdeal -= math.Log(c.Ideal.TrueP)
		t.Scored++
	}
}

func probability(sets []hold.SetShare, paths []string) float64 {
	for _, s := range sets {
		if sameSet(s.Paths, paths) {
			return s.P
		}
	}
	return 0
}

func sameSet(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	x, y := append([]string(nil), a...), append([]string(nil), b...)
	sort.Strings(x)
	sort.Strings(y)
	for i := range x {
		if x[i] != y[i] {
			return false
		}
	}
	return true
}

func (t *Tally) leaks(o *Outcome) {
	for _, q := range o.Result.Paths {
		truth, ok := o.Case.Truth.Leak[q.Path]
		if !ok {
			continue
		}
		in := truth >= q.Flow.Q05 && truth <= q.Flow.Q95
		t.Cover.Add(in)
		if q.P < 0.5 {
			t.CoverUnsure.Add(in)
		}
		if truth < q.Flow.Q05 {
			t.Below++
		}
		if truth > q.Flow.Q95 {
			t.Above++
		}
	}
}

func (t *Tally) verdicts(o *Outcome) {
	truth := o.Case.Truth
	v := o.Result.Verdict
	t.Meets.Add(v.Meets, truth.Meets)
	t.NotProven.Add(v.Word == hold.NotProven)
	if o.Case.Stage == gen.AsLeft && truth.Meets {
		t.Passed.Add(v.Word == hold.Holds)
	}
	switch v.Word {
	case hold.DoesNotHold:
		t.NotHold.Add(truth.Meets)
		t.NotHoldWell.Add(len(truth.Paths) == 0)
	case hold.Holds:
		t.Holds.Add(!truth.Meets)
	}
}

func (t *Tally) readings(o *Outcome) {
	wrong := map[int]bool{}
	for _, i := range o.Case.Truth.Wrong {
		wrong[i] = true
	}
	named := map[int]bool{}
	for _, d := range o.Result.Doubts {
		if d.P > 0.5 {
			named[d.Reading] = true
			t.Named.Add(wrong[d.Reading])
		}
	}
	for i := range wrong {
		t.Caught.Add(named[i])
	}
}

// Median and 95 % point of the time a sheet takes.
func (t *Tally) Times() (median, high time.Duration) {
	if len(t.Took) == 0 {
		return 0, 0
	}
	s := append([]time.Duration(nil), t.Took...)
	sort.Slice(s, func(i, j int) bool { return s[i] < s[j] })
	return s[len(s)/2], s[len(s)*95/100]
}
