// Package score puts the blind cases of package gen before package hold and counts how often it is right, how well its
// probabilities and intervals are calibrated, and how its verdicts compare with the truth.
package score

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/blind/gen"
	"github.com/evenstroke/evenstroke/pump"
)

// Judge analyses cases; it keeps the pumps and priors it has read.
type Judge struct {
	pumps  map[string]*pump.Pump
	priors map[string]*hold.Prior
	clock  func() time.Time
}

// NewJudge reads the demo pumps and the priors of the cases.
func NewJudge(clock func() time.Time) (*Judge, error) {
	j := &Judge{pumps: map[string]*pump.Pump{}, priors: map[string]*hold.Prior{}, clock: clock}
	for _, name := range pump.Demo() {
		p, err := pump.DemoPump(name)
		if err != nil {
			return nil, err
		}
		j.pumps[p.Name] = p
	}
	for _, pr := range []gen.Prior{gen.General(), gen.Abrasive()} {
		read, err := hold.ReadPrior(pr.Name+".yaml", []byte(pr.Text()))
		if err != nil {
			return nil, fmt.Errorf("prior %s: %w", pr.Name, err)
		}
		j.priors[pr.Name] = read
	}
	return j, nil
}

// Outcome is one case with what hold made of it.
type Outcome struct {
	Case    gen.Case
	Result  *hold.Result  // nil when refused
	Refused string        // why
	Took    time.Duration // of reading and analysing
}

// Try analyses one case. A refusal is an outcome; anything else that goes wrong is an error.
func (j *Judge) Try(c gen.Case) (Outcome, error) {
	o := Outcome{Case: c}
	p, prior := j.pumps[c.Pump], j.priors[c.Prior]
	if p == nil || prior == nil {
		return o, fmt.Errorf("no pump %q or no prior %q", c.Pump, c.Prior)
	}
	start := j.clock()
	sheet, err := hold.ReadSheet("case.yaml", []byte(c.Sheet), nil)
	if err != nil {
		return o, fmt.Errorf("case %d (%s, %s): %w\n%s", c.ID, c.Pump, c.Plan, err, c.Sheet)
	}
	o.Result, err = hold.Analyse(p, sheet, prior, hold.Options{Seed: uint64(c.ID)})
	o.Took = j.clock().Sub(start)
	var refusal *hold.Refusal
	if errors.As(err, &refusal) {
		o.Refused = refusal.Error()
		return o, nil
	}
	if err != nil {
		return o, fmt.Errorf("case %d (%s, %s): %w\n%s", c.ID, c.Pump, c.Plan, err, c.Sheet)
	}
	return o, nil
}

// Share is a count of hits.
type Share struct{ Hits, Of int }

// Add counts one.
func (s *Share) Add(hit bool) {
	s.Of++
	if hit {
		s.Hits++
	}
}

// Value is the share, NaN of nothing.
func (s Share) Value() float64 { return float64(s.Hits) / float64(s.Of) }

// Interval is the 95 % interval of Wilson, "Probable inference, the law of succession, and statistical inference", JASA 22
// (1927) 209.
func (s Share) Interval() (lo, hi float64) {
	if s.Of == 0 {
		return 0, 1
	}
	const z = 1.959963984540054
	n, p := float64(s.Of), s.Value()
	mid := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return math.Max(0, mid-half), math.Min(1, mid+half)
}

// Bins is how many bins a calibration curve has.
const Bins = 12

// Curve compares stated probabilities with what came true, in equal bins.
type Curve struct {
	N    [Bins]int
	P    [Bins]float64 // sum of the stated probabilities
	V    [Bins]float64 // sum of p(1−p)
	Hits [Bins]int
}

// Add counts one statement.
func (c *Curve) Add(p float64, hit bool) {
	i := min(Bins-1, max(0, int(p*Bins)))
	c.N[i]++
	c.P[i] += p
	c.V[i] += p * (1 - p)
	if hit {
		c.Hits[i]++
	}
}

// Error is the expected calibration error Σ n_i/n·|stated − true|: Naeini, Cooper & Hauskrecht, "Obtaining well calibrated
// probabilities using Bayesian binning", AAAI 2015.
func (c *Curve) Error() float64 {
	var sum, n float64
	for i := range c.N {
		sum += math.Abs(c.P[i] - float64(c.Hits[i]))
		n += float64(c.N[i])
	}
	return sum / n
}

// Chance is the calibration error to be expected of perfect probabilities, from the scatter of the counts alone:
// Σ √(2/π·Σp(1−p))/n, the mean of |x| of a normal x.
func (c *Curve) Chance() float64 {
	var sum, n float64
	for i := range c.N {
		sum += math.Sqrt(2 / math.Pi * c.V[i])
		n += float64(c.N[i])
	}
	return sum / n
}

// Total is how many statements were counted.
func (c *Curve) Total() int {
	n := 0
	for _, k := range c.N {
		n += k
	}
	return n
}
