package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// look is how long a place is watched by somebody who says that it is wet or dry [s].
const look = 60.0

// placeSign is what a person says of a place after watching it for a minute at the hold pressure.
type placeSign struct {
	at  pump.Place
	wet bool
}

// signPlace are the signs that are looks at a place.
var signPlace = map[string]placeSign{
	"throat dry": {pump.AtThroat, false}, "outside dry": {pump.ToOutside, false}, "drain tube dry": {pump.ToPail, false},
	"wet at the throat": {pump.AtThroat, true}, "wet outside": {pump.ToOutside, true}, "runs from the drain tube": {pump.ToPail, true},
}

func (b *bench) only(r Reading) func(int) float64 {
	on := b.onStroke(r.Stroke)
	return func(j int) float64 {
		if b.paths[j].Name != r.Path {
			return 0
		}
		if r.Stroke == 0 { // on whichever stroke it is under pressure
			return 1
		}
		return on(j)
	}
}

// drips: a count of drops of uncertain size is negative binomial with mean q T/v and shape 1/σ²: a Poisson count whose rate
// is spread by the size of the drops.
func (b *bench) drips(r Reading) observation {
	n := float64(r.Count)
	o := observation{kind: obsCount, n: n, scale: r.Time / r.Drop, coef: b.coefficients(r, r.Pressure, b.only(r))}
	o.guess, o.guessY, o.tau = o.coef, math.Max(n, 0.5)/o.scale, math.Sqrt(1/math.Max(n, 1)+sq(dropSpread))
	o.y = n / o.scale
	return o
}

// sign takes what a person noticed. A dry place says of each path there that no drop came in a minute; a wet one that some came from one of
// them, whichever it was.
func (b *bench) sign(i int, r Reading) {
	sign, placed := signPlace[r.Sign]
	if !placed {
		b.signs = append(b.signs, r)
		return
	}
	r.Pressure, r.Time, r.Drop = b.p.Limits.Hold, look, defaultDrop
	if sign.wet {
		b.add(i, r, b.wet(r, sign.at))
		return
	}
	for _, q := range b.paths {
		if q.Place() == sign.at {
			r.Path = q.Name
			b.add(i, r, b.drips(r))
		}
	}
}

// wet: a drop or more in a minute from any of the paths to a place, 1 − Π P_j(no drop).
func (b *bench) wet(r Reading, place pump.Place) observation {
	o := observation{kind: obsWet, scale: r.Time / r.Drop, tau: 1}
	o.coef = b.coefficients(r, r.Pressure, func(j int) float64 {
		if b.paths[j].Place() != place {
			return 0
		}
		return 1
	})
	o.guess, o.guessY = o.coef, 5/o.scale
	return o
}

// dry sets the probability, by path, that no drop comes from it while it is sound.
func (b *bench) dry(o *observation) {
	o.none, o.quiet = make([]float64, len(b.paths)), 1
	for j, mean := range o.sound {
		o.none[j] = 1
		if q := &b.sound[j]; mean > 0 {
			o.none[j] = q.average(func(leak float64) float64 { return dropChance(mean*leak/q.mean*o.scale, 0, 0) })
		}
		o.quiet *= o.none[j]
	}
	o.quiet = 1 - o.quiet
}

// saidWet is the probability that a place is called wet by mistake.
const saidWet = 0.1

// count works out what does not depend on the leaks: the probability of the count when the path is sound, over what a sound path may leak,
// the constant of the negative binomial, and the density of a wrong count: log-uniform, and no likelier to fall short of what a sound path
// drips than a right one.
func (b *bench) count(o *observation) {
	o.ln = dropsConst(o.n)
	o.quiet = b.soundCount(o, o.n)
	short := 1.0
	if o.n <= mostSummed {
		short = 0
		for n := 0.0; n <= o.n; n++ {
			short += b.soundCount(o, n)
		}
	}
	o.bad = math.Min(1, short) / ((o.n + 1) * decades)
}

// mostSummed is the count up to which fewer drops than a sound path makes are reckoned with; nobody counts more from a sound one.
const mostSummed = 50

// soundCount is the probability of n drops from the path that a count sees, when it is sound.
func (b *bench) soundCount(o *observation, n float64) float64 {
	ln := dropsConst(n)
	for j, mean := range o.sound {
		if mean > 0 {
			q := &b.sound[j]
			return q.average(func(leak float64) float64 { return dropChance(mean*leak/q.mean*o.scale, n, ln) })
		}
	}
	return dropChance(0, n, ln)
}

// dropChance is the negative binomial probability of n drops at a mean m, shape k = 1/σ²: (m/(m+k))^n (1 + m/k)^(−k) times its constant.
func dropChance(mean, n, ln float64) float64 {
	const shape = 1 / (dropSpread * dropSpread)
	mean = math.Max(mean, 1e-6)
	return math.Exp(ln + n*math.Log(mean/(mean+shape)) - shape*math.Log1p(mean/shape))
}

// dropsConst is ln Γ(n+k)/(Γ(k) n!).
func dropsConst(n float64) float64 {
	const shape = 1 / (dropSpread * dropSpread)
	return lgamma(n+shape) - lgamma(shape) - lgamma(n+1)
}

func (b *bench) caught(r Reading) observation {
	y := r.Volume / r.Time
	o := observation{
		kind: obsGauss, y: y, c0: sq(r.UVolume / r.Time),
		c1:   sq(math.Hypot(b.prior.Model, 0.7*r.UPress/r.Pressure)) + sq(r.UTime/r.Time),
		coef: b.coefficients(r, r.Pressure, b.only(r)),
	}
	o.guess, o.guessY, o.tau = o.coef, math.Max(y, math.Sqrt(o.c0)), 0.02
	if y < 2*math.Sqrt(o.c0) {
		o.tau = 1
	}
	return o
}
