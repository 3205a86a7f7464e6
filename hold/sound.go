package hold

import (
	"math"
)

// sound is the leak [m³/s] at rated pressure of a path that is not at fault: lognormal with median m and s = ln of its spread and, where
// the limits of the pump say how much may leak, no more than that: a path that leaks more is at fault, whatever is usual. What a sheet allows
// is nothing rare either: s is at least half of ln(most/m), so that the limit lies no more than two standard deviations above the usual
// leak. Else a seal that weeps within its limit fits neither a sound path nor a fault, and its count would be called wrong. With
// λ = ln(most/m)/s and Φ the normal distribution
//
//	P = Φ(λ) ,  E[q] = m e^(s²/2) Φ(λ − s)/P ,  E[q²] = m² e^(2s²) Φ(λ − 2s)/P
//
// (moments of a truncated lognormal, e.g. Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions, vol. 1, ch. 14; from memory).
type sound struct {
	scale, spread    float64 // m, s
	most             float64 // +Inf where no limit is set
	median, mean, sd float64
}

func newSound(size Size, limit, most float64) sound {
	q := sound{scale: size.absolute(limit), spread: math.Log(size.Spread), most: most}
	if q.scale == 0 {
		return q
	}
	if !math.IsInf(most, 1) {
		q.spread = math.Max(q.spread, math.Log(most/q.scale)/2)
	}
	l, s := q.lambda(), q.spread
	p := phi(l)
	if p < 1e-12 { // what is usual lies far above the limit: all of it just below
		q.median, q.mean = most, most
		return q
	}
	q.mean = q.scale * math.Exp(s*s/2) * phi(l-s) / p
	q.sd = math.Sqrt(math.Max(0, q.scale*q.scale*math.Exp(2*s*s)*phi(l-2*s)/p-q.mean*q.mean))
	q.median = q.quantile(0.5)
	return q
}

func (q *sound) lambda() float64 { return math.Log(q.most/q.scale) / q.spread }

// quantile is the leak that the share u of sound paths does not exceed.
func (q *sound) quantile(u float64) float64 {
	if q.scale == 0 || q.mean == q.most {
		return q.mean
	}
	u = math.Min(1-1e-9, math.Max(1e-9, u)) * phi(q.lambda())
	return q.scale * math.Exp(q.spread*math.Sqrt2*math.Erfinv(2*u-1))
}

// soundSteps is the number of equally likely leaks over which average takes the mean.
const soundSteps = 64

// average is the mean of f over the leaks of a sound path.
func (q *sound) average(f func(leak float64) float64) float64 {
	if q.scale == 0 {
		return f(0)
	}
	var sum float64
	for i := range soundSteps {
		sum += f(q.quantile((float64(i) + 0.5) / soundSteps))
	}
	return sum / soundSteps
}

// phi is the normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
