// Package hold answers, from what a bench can observe, which path of a pump leaks, how much, whether the pump meets its
// limit, and which check is worth doing next.
//
// The unknowns are a fault set (none, one, two or three paths) and, for each path in it, its leak q [m³/s] at rated pressure
// and the shape of its law. The evidence of each set,
//
//	Z_S = ∫ p(readings | q, shape) p(q, shape | S) dq ,   P(S | readings) ∝ π_S Z_S ,
//
// is integrated by importance sampling with a defensive mixture: each leak is drawn either from its prior or from what one
// reading, less the leaks drawn before it, leaves for it. The draws are weighted by prior × likelihood over the density of
// the mixture, so that the answer is unbiased whatever the proposals (Owen & Zhou 2000, "Safe and effective importance
// sampling"); the number of draws grows where the evidence is still uncertain (Neyman allocation).
//
// Each reading may be wrong with a stated probability; its likelihood is then broad, so that one bad reading cannot
// overrule the others, and the posterior probability that it is wrong is reported.
//
// The forward model is quasi-steady: at a force-held stall of stroke d at pressure p the rod creeps with
//
//	x' A(d) = Σ_j q_j g_j(p)  over the paths j under pressure on that stroke,
//
// a locked hold is the balance of the chambers and the line with the rod fixed (see locked.go). Package stroke has the full
// model; tests compare the two.
package hold

import (
	"errors"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// Version names the model whose results a stored verdict came from; it changes when numbers change.
const Version = "3"

// Options steer the effort of Analyse. The zero value is right for a verdict; Live is for a page that asks anew at each press, Quick for
// batches.
type Options struct {
	Draws  int     // draws at most, beyond the first look at every set; 0 means 9000, 4000 with locked holds
	StdErr float64 // Monte Carlo error of the probabilities at which to stop; 0 means 0.012
	Seed   uint64  // of the draws; results are reproducible for the same seed
	Next   bool    // also rank the next checks
}

// Live returns options for what a hold says so far: a Monte Carlo error of 0.02 in a probability, stated in the result.
func Live() Options { return Options{Draws: 2500, StdErr: 0.02, Next: true} }

// Quick returns options that trade Monte Carlo error (0.04 in a probability, stated in the result) for speed.
func Quick() Options { return Options{Draws: 600, StdErr: 0.04, Next: true} }

// Analyse weighs the readings of a hold sheet on a pump under a prior.
//
// Errors: *Refusal when a reading cannot come from this pump; *MissingError when p, s or pr is nil; an error when the prior names a path
// the pump has not.
func Analyse(p *pump.Pump, s *Sheet, pr *Prior, opt Options) (*Result, error) {
	if err := given(p, s); err != nil {
		return nil, err
	}
	if pr == nil {
		return nil, &MissingError{"prior", "a shop that has none of its own takes the default"}
	}
	if opt.StdErr == 0 {
		opt.StdErr = 0.012
	}
	if err := Refuse(p, s); err != nil {
		return nil, err
	}
	b, err := newBench(p, s, pr)
	if err != nil {
		return nil, err
	}
	if opt.Draws == 0 {
		opt.Draws = 9000
		if len(b.net.holds) > 0 { // each draw costs more
			opt.Draws = 4000
		}
	}
	post := b.integrate(opt, rand.New(rand.NewPCG(opt.Seed, 0x9e3779b97f4a7c15)))
	defer post.release()
	if post.total == 0 {
		return nil, errors.New("the readings have no probability under any fault set; check the prior")
	}
	r := b.summarise(post)
	if opt.Next {
		r.Next = b.checks(post)
	}
	return r, nil
}

// MissingError says that something was not given without which nothing can be said.
type MissingError struct {
	What string // pump, hold sheet or prior
	Fix  string
}

// Error gives the complaint on one line.
func (e *MissingError) Error() string { return "found no " + e.What + "; expected one; " + e.Fix }

// given refuses what is nil.
func given(p *pump.Pump, s *Sheet) error {
	if p == nil {
		return &MissingError{"pump", "give the pump from which the readings come"}
	}
	if s == nil {
		return &MissingError{"hold sheet", "give one; without readings it says what the prior says"}
	}
	return nil
}
