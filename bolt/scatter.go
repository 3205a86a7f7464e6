package bolt

import (
	"math"
	"math/rand/v2"
	"slices"

	"github.com/evenstroke/evenstroke/num"
)

// Scatter is what is uncertain about the clamp of one joint tightened by torque.
type Scatter struct {
	Thread    Thread
	Bearing   float64 // m, mean bearing diameter
	Torque    float64 // N·m at the fastener, > 0
	Tolerance float64 // N·m, ± allowed on Torque; even; 0 when the wrench is set on the value itself
	Tool      float64 // permissible deviation ± of the tool as a share of Torque, 0.005..0.3; even
	Reading   float64 // N·m, standard uncertainty of setting or reading the scale; normal
	MuThread  Range
	MuBearing Range
	Shared    bool // thread and bearing see the same lubricant: one coefficient, taken from MuThread
}

// Contribution is one line of an uncertainty budget.
type Contribution struct {
	Name  string  // "tolerance", "tool", "reading", "thread friction", "bearing friction", "friction"
	Std   float64 // N, standard uncertainty of the clamp that comes from it, first order
	Share float64 // share of the variance, 0..1
}

// Distribution is the clamp that results [N].
type Distribution struct {
	Mean, Std float64 // mean, standard uncertainty
	Q05, Q95  float64 // 5 % and 95 % quantiles
	Linear    float64 // standard uncertainty by the first-order law of propagation, for comparison
	Budget    []Contribution
}

func (s Scatter) check() error {
	fn := "bolt.Scatter"
	if err := first(
		num.CheckPositive(fn, "M", s.Torque, "N·m"),
		num.CheckRange(fn, "tolerance", s.Tolerance, 0, s.Torque/2, "N·m"),
		num.CheckRange(fn, "tool", s.Tool, 0.005, 0.3, "1"),
		num.CheckRange(fn, "reading", s.Reading, 0, s.Torque/10, "N·m"),
		s.MuThread.check(fn, "μth"),
	); err != nil {
		return err
	}
	if !s.Shared {
		if err := s.MuBearing.check(fn, "μb"); err != nil {
			return err
		}
	}
	return s.contact(s.MuThread.Hi, s.MuBearing.Hi).check(fn)
}

// contact returns the contact for one pair of coefficients.
func (s Scatter) contact(muThread, muBearing float64) Contact {
	if s.Shared {
		muBearing = muThread
	}
	return Contact{Thread: s.Thread, Bearing: s.Bearing, MuThread: muThread, MuBearing: muBearing}
}

// Clamp propagates the distributions through F = M/arm(μ) (see Torque): M is Torque plus the tolerance (even), the tool
// (even) and the reading (normal); the coefficients lie in their ranges (even, or normal and cut at zero). All inputs are
// independent, save the two coefficients of a Shared lubricant. Mean and standard uncertainty come from
//
//	E[F] = E[M]·E[1/arm]     E[F²] = E[M²]·E[1/arm²]
//
// and the quantiles from P(F <= q) = E_μ[P(M <= q·arm)], with a midpoint rule over μ and the closed distribution of M; no
// random numbers. Linear and Budget hold the first-order law (JCGM 100:2008, eq 10) at the middle of the ranges. Since 1/arm
// is curved, Mean lies above M/arm(mid μ). Errors: *num.RangeError outside the stated ranges.
//
// Source: JCGM 101:2008 (propagation of distributions), here by quadrature.
func (s Scatter) Clamp() (Distribution, error) {
	if err := s.check(); err != nil {
		return Distribution{}, err
	}
	arms, weights := s.arms()
	var inv, inv2 float64
	lo, hi := math.Inf(1), 0.0
	for i, a := range arms {
		inv += weights[i] / a
		inv2 += weights[i] / (a * a)
		lo, hi = min(lo, a), max(hi, a)
	}
	tool := s.Tool * s.Torque
	m2 := s.Torque*s.Torque + s.Tolerance*s.Tolerance/3 + tool*tool/3 + s.Reading*s.Reading
	var d Distribution
	d.Mean = s.Torque * inv
	d.Std = math.Sqrt(max(m2*inv2-d.Mean*d.Mean, 0))
	reach := s.Tolerance + tool + 8*s.Reading
	least, most := (s.Torque-reach)/hi, (s.Torque+reach)/lo
	if reach > s.Torque {
		least = (s.Torque - reach) / lo
	}
	below := func(q float64) float64 {
		var p float64
		for i, a := range arms {
			p += weights[i] * sumCDF(q*a-s.Torque, tool, s.Tolerance, s.Reading)
		}
		return p
	}
	for _, x := range []struct {
		q *float64
		p float64
	}{{&d.Q05, 0.05}, {&d.Q95, 0.95}} {
		// Both ends are certain: nothing lies below the first, all below the second.
		v, err := num.BrentFrom(func(q float64) float64 { return below(q) - x.p },
			least, -x.p, most, 1-x.p, 1e-9*d.Mean)
		if err != nil {
			return Distribution{}, err
		}
		*x.q = v
	}
	d.Linear, d.Budget = s.budget()
	return d, nil
}

// budget applies the first-order law of propagation at the middle of the ranges.
func (s Scatter) budget() (float64, []Contribution) {
	c := s.contact(s.MuThread.Mid(), s.MuBearing.Mid())
	arm := c.arm()
	f := s.Torque / arm
	perThread, perBearing := c.Thread.PitchDiameter()*sec30/2, c.Bearing/2 // d(arm)/dμ
	lines := []Contribution{
		{Name: "tolerance", Std: s.Tolerance / math.Sqrt(3) / arm},
		{Name: "tool", Std: s.Tool * f / math.Sqrt(3)},
		{Name: "reading", Std: s.Reading / arm},
	}
	if s.Shared {
		lines = append(lines, Contribution{Name: "friction", Std: f / arm * (perThread + perBearing) * s.MuThread.Std()})
	} else {
		lines = append(lines,
			Contribution{Name: "thread friction", Std: f / arm * perThread * s.MuThread.Std()},
			Contribution{Name: "bearing friction", Std: f / arm * perBearing * s.MuBearing.Std()})
	}
	var sum float64
	for _, l := range lines {
		sum += l.Std * l.Std
	}
	for i := range lines {
		lines[i].Share = lines[i].Std * lines[i].Std / sum
	}
	return math.Sqrt(sum), lines
}

// arms returns the lever arm of Torque at points of the friction and their probabilities.
func (s Scatter) arms() (arms, weights []float64) {
	if s.Shared {
		mu, w := s.MuThread.points(256)
		for i := range mu {
			arms = append(arms, s.contact(mu[i], 0).arm())
		}
		return arms, w
	}
	mt, wt := s.MuThread.points(48)
	mb, wb := s.MuBearing.points(48)
	for i := range mt {
		for j := range mb {
			arms = append(arms, s.contact(mt[i], mb[j]).arm())
			weights = append(weights, wt[i]*wb[j])
		}
	}
	return arms, weights
}

// points cuts the range into n strips and returns their middles and probabilities; one point when the range has no width.
func (r Range) points(n int) (x, w []float64) {
	if r.Hi == r.Lo {
		return []float64{r.Lo}, []float64{1}
	}
	lo, hi := r.Lo, r.Hi
	if r.Spread == TwoSigma {
		lo, hi = max(0, r.Mid()-6*r.Std()), r.Mid()+6*r.Std()
	}
	var sum float64
	for i := range n {
		v := lo + (hi-lo)*(float64(i)+0.5)/float64(n)
		p := 1.0
		if r.Spread == TwoSigma {
			z := (v - r.Mid()) / r.Std()
			p = math.Exp(-z * z / 2)
		}
		x, w, sum = append(x, v), append(w, p), sum+p
	}
	for i := range w {
		w[i] /= sum
	}
	return x, w
}

// draw takes one value from the range.
func (r Range) draw(rng *rand.Rand) float64 {
	if r.Spread != TwoSigma {
		return r.Lo + (r.Hi-r.Lo)*rng.Float64()
	}
	for {
		if v := r.Mid() + r.Std()*rng.NormFloat64(); v >= 0 {
			return v
		}
	}
}

// MonteCarlo draws n clamps (at least 100) with the generator given, from the same distributions as Clamp: a check on it,
// and the way to look at the whole distribution. Linear and Budget are those of Clamp. Source: JCGM 101:2008, clause 7.
func (s Scatter) MonteCarlo(rng *rand.Rand, n int) (Distribution, error) {
	if err := first(s.check(), num.CheckRange("bolt.Scatter.MonteCarlo", "n", float64(n), 100, math.Inf(1), "1")); err != nil {
		return Distribution{}, err
	}
	f := make([]float64, n)
	var sum float64
	for i := range f {
		m := s.Torque + s.Tolerance*(2*rng.Float64()-1) + s.Tool*s.Torque*(2*rng.Float64()-1) + s.Reading*rng.NormFloat64()
		mt, mb := s.MuThread.draw(rng), s.MuBearing.draw(rng)
		f[i] = m / s.contact(mt, mb).arm()
		sum += f[i]
	}
	d := Distribution{Mean: sum / float64(n)}
	for _, v := range f {
		d.Std += (v - d.Mean) * (v - d.Mean)
	}
	d.Std = math.Sqrt(d.Std / float64(n-1))
	slices.Sort(f)
	d.Q05, d.Q95 = f[int(0.05*float64(n))], f[int(0.95*float64(n))]
	d.Linear, d.Budget = s.budget()
	return d, nil
}

// sumCDF is the distribution function at x of an even variable on ±a, plus an even one on ±b, plus a normal one with the
// standard deviation s; a > 0, b >= 0, s >= 0. It is the second difference of the twice integrated normal distribution.
func sumCDF(x, a, b, s float64) float64 {
	if reach := a + b + 8*s; math.Abs(x) >= reach {
		return (1 + math.Copysign(1, x)) / 2
	}
	if b < 1e-4*a {
		return (ramp1(x+a, s) - ramp1(x-a, s)) / (2 * a)
	}
	return (ramp2(x+a+b, s) - ramp2(x+a-b, s) - ramp2(x-a+b, s) + ramp2(x-a-b, s)) / (4 * a * b)
}

// ramp1 is ∫Φ(t/s)dt up to x, ramp2 its integral; both turn into max(x,0) and max(x,0)²/2 as s goes to 0.
func ramp1(x, s float64) float64 {
	if s == 0 {
		return max(x, 0)
	}
	return x*num.NormalCDF(x/s) + s*num.NormalPDF(x/s)
}

func ramp2(x, s float64) float64 {
	if s == 0 {
		return max(x, 0) * max(x, 0) / 2
	}
	return ((x*x+s*s)*num.NormalCDF(x/s) + x*s*num.NormalPDF(x/s)) / 2
}
