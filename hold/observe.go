package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

type obsKind uint8

const (
	obsGauss  obsKind = iota // a flow with Gaussian error
	obsStill                 // a flow below what would have been seen
	obsNoTurn                // no changeover from an unknown position
	obsCount                 // drops
	obsCurve                 // one pressure of a locked hold
)

// observation is one number that the forward model predicts: a flow y = Σ c_jv q_j [m³/s] with variance c0 + c1·μ², or a
// point of a locked hold.
type observation struct {
	kind    obsKind
	reading int // index into the sheet
	y       float64
	c0, c1  float64
	normY   bool      // the time was measured: the density is normalised at y, not at the mean
	coef    []float64 // [path*maxVariants+variant]
	signed  bool      // coefficients may be negative
	sound   []float64 // by path, what it adds when it is sound
	fill    *filling  // creep of a stroke on which a leak may fill a closed chamber; nil when none can
	along   float64   // share of the stroke that was not watched, when the place on the rod is not known
	back    []float64 // coefficients of the paths by which that chamber empties into the suction
	bad     float64   // density of y when the reading is wrong
	scale   float64   // obsNoTurn: 1/flow that makes a full stroke in the time; obsCount: drops per m³/s
	n       float64   // obsCount
	shape   float64   // obsCount: of the negative binomial when the path is sound
	lnSound float64   // obsCount: ln of its constant with that shape, and with that of a path at fault
	lnFault float64
	lnBad   float64 // ln bad
	hold    int     // obsCurve: index of the hold in the network
	point   int
	guess   []float64 // coefficients for proposals
	guessY  float64
	tau     float64 // least sd of ln q of a proposal from this observation; 0 makes none
}

// decades is the width of the log-uniform density of a wrong reading: ln 10⁴.
var decades = math.Log(1e4)

// saidStill is the probability that a wrong reading says that nothing moved.
const saidStill = 0.3

// observe turns one reading into observations.
func (b *bench) observe(i int, r Reading) {
	switch r.Kind {
	case Creep, Changeover:
		b.add(i, b.creep(r))
	case Still:
		b.add(i, b.still(r))
	case NoChangeover:
		full := b.p.Stroke * b.m.Creep[r.Stroke] / r.Time
		c := b.coefficients(r, r.Pressure, b.onStroke(r.Stroke))
		o := observation{kind: obsNoTurn, coef: c, guess: c, scale: 1 / full, bad: saidStill, guessY: 0.4 * full, tau: 1}
		o.fill, o.back = b.backflow(r)
		b.add(i, o)
	case Drips:
		b.add(i, b.drips(r))
	case Caught:
		b.add(i, b.caught(r))
	case Run:
		for _, o := range b.run(r) {
			b.add(i, o)
		}
	case Locked, Restart:
		for _, o := range b.curve(r) {
			b.add(i, o)
		}
	case Sign:
		b.signs = append(b.signs, r)
	}
}

// addSound works out what the sound paths add: viscous leaks of which only the lognormal spread is known, so that their mean
// and their variance enter.
func (b *bench) addSound(i int, o *observation) {
	r := b.sheet.Readings[i]
	x, m := r.Pressure/b.p.Limits.Rated, b.visc(r.Warmth)
	s2 := sq(math.Log(b.prior.Sound.Spread))
	cv2 := math.Exp(s2) - 1
	o.sound = make([]float64, len(b.paths))
	for j := range b.paths {
		first := o.coef[j*maxVariants] // 0 when the path does not show; its share of a run otherwise
		if first == 0 {
			continue
		}
		share := first / b.vars[j][0].form.flow(x, m)
		o.sound[j] = share * laminar.flow(x, m) * b.sound[j] * math.Exp(s2/2)
		o.c0 += cv2 * sq(o.sound[j])
	}
	o.shape = 1 / (sq(dropSpread) + cv2)
	if o.kind == obsCount {
		constant := func(shape float64) float64 { return lgamma(o.n+shape) - lgamma(shape) - lgamma(o.n+1) }
		o.lnSound, o.lnFault = constant(o.shape), constant(1/sq(dropSpread))
	}
}

// take is the observations of one reading: from, to are indices into bench.obs. They are right or wrong together.
type take struct {
	reading, from, to int
}

func (b *bench) add(i int, o observation) {
	o.reading = i
	if n := len(b.takes); n > 0 && b.takes[n-1].reading == i {
		b.takes[n-1].to++
	} else {
		b.takes = append(b.takes, take{i, len(b.obs), len(b.obs) + 1})
	}
	if o.coef != nil {
		b.addSound(i, &o)
	}
	o.lnBad = math.Log(o.bad)
	b.obs = append(b.obs, o)
}

// creep: travel L in time T at a stall of stroke d: y = A L/T.
// Variance (A σ_L/T)² + drift² + (μ σ_T/T)² + (m μ)², m with the pressure's error.
func (b *bench) creep(r Reading) observation {
	area := b.m.Creep[r.Stroke]
	travel, uTravel := r.Travel, r.UTravel
	if r.Kind == Changeover {
		travel, uTravel = b.wholeStroke(r)
	}
	y := area * travel / r.Time
	model := math.Hypot(b.prior.Model, r.UPress/r.Pressure)
	timing := r.UTime / r.Time
	floor := area * b.sheet.Ruler / r.Time
	o := observation{
		kind: obsGauss, y: y, normY: r.TimeIt,
		c0:   sq(area*uTravel/r.Time) + sq(b.prior.Drift),
		c1:   sq(model) + sq(timing),
		coef: b.coefficients(r, r.Pressure, b.onStroke(r.Stroke)),
		bad:  1 / ((y + floor) * decades),
	}
	o.fill, o.back = b.backflow(r)
	if math.IsNaN(r.At) {
		o.along = 1 - math.Min(1, travel/b.p.Stroke)
	}
	o.guess, o.guessY, o.tau = o.coef, y, 0.02
	if y < 2*math.Sqrt(o.c0) { // no visible movement: propose leaks that would hardly be seen
		o.guessY, o.tau = math.Max(y, math.Sqrt(o.c0)), 1
	}
	return o
}

// wholeStroke returns the travel that a timed stroke spent creeping, with its standard deviation: the rest went fast, while
// line and chambers took up the difference of the two stall pressures and a late ball let fluid back.
func (b *bench) wholeStroke(r Reading) (travel, u float64) {
	s := b.p.Stroke
	swallow := b.net.swallow(b, r.Stroke, r.Pressure)
	late := 0.01 * s
	if r.Stroke == pump.Down {
		late = 0.03 * s
	}
	lost := math.Min(swallow+late, 0.6*s)
	return s - lost, math.Hypot(0.4*lost, 0.005*s)
}

// still: no movement of more than the smallest visible one in time T: A x_seen/T bounds the flow.
func (b *bench) still(r Reading) observation {
	area := b.m.Creep[r.Stroke]
	o := observation{
		kind: obsStill, y: area * r.Travel / r.Time,
		c0:   sq(0.5*area*r.UTravel/r.Time) + sq(b.prior.Drift),
		c1:   sq(math.Hypot(b.prior.Model, r.UPress/r.Pressure)),
		coef: b.coefficients(r, r.Pressure, b.onStroke(r.Stroke)),
		bad:  saidStill,
	}
	o.fill, o.back = b.backflow(r)
	o.guess, o.guessY, o.tau = o.coef, 0.5*o.y, 1
	return o
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
	o := observation{kind: obsCount, n: n, scale: r.Time / r.Drop, bad: 1 / ((n + 1) * decades)}
	o.coef = b.coefficients(r, r.Pressure, b.only(r))
	o.guess, o.guessY, o.tau = o.coef, math.Max(n, 0.5)/o.scale, math.Sqrt(1/math.Max(n, 1)+sq(dropSpread))
	o.y = n / o.scale
	return o
}

func (b *bench) caught(r Reading) observation {
	y := r.Volume / r.Time
	o := observation{
		kind: obsGauss, y: y, c0: sq(r.UVolume / r.Time),
		c1:   sq(math.Hypot(b.prior.Model, 0.7*r.UPress/r.Pressure)) + sq(r.UTime/r.Time),
		coef: b.coefficients(r, r.Pressure, b.only(r)),
		bad:  1 / ((y + 1e-6/r.Time) * decades),
	}
	o.guess, o.guessY, o.tau = o.coef, math.Max(y, math.Sqrt(o.c0)), 0.02
	if y < 2*math.Sqrt(o.c0) {
		o.tau = 1
	}
	return o
}

// run: what a cycle loses, and the unevenness of the two strokes.
//
//	caught:  s A_u + s A_d − s Σ_d ℓ_d W_d − V/N = Q_u t_u + Q_d t_d
//	timed:   (s A_u − s ℓ_u W_u)/t_u − κ (s A_d − s ℓ_d W_d)/t_d = Q_u − κ Q_d ,  κ = q_u/q_d through the tip
//
// W_d is the area of the chambers that stroke d brings under pressure and ℓ_d the share of the stroke that compression and a
// late ball take; where it brings none, the late ball of the valve on the piston takes a smaller share of A_d.
func (b *bench) run(r Reading) []observation {
	var out []observation
	s, au, ad := b.p.Stroke, b.m.Creep[pump.Up], b.m.Creep[pump.Down]
	up, down := b.onStroke(pump.Up), b.onStroke(pump.Down)
	lostU, sdU := b.lateLoss(pump.Up)
	lostD, sdD := b.lateLoss(pump.Down)
	timed := !math.IsNaN(r.UpTime) && !math.IsNaN(r.DownTime)
	if !math.IsNaN(r.Volume) {
		cycle := r.Time / float64(r.Count)
		shareUp := 0.5
		if timed {
			shareUp = r.UpTime / (r.UpTime + r.DownTime)
		}
		n := float64(r.Count)
		y := (s*(au+ad) - lostU - lostD - r.Volume/n) / cycle
		sd := math.Sqrt(sq(sdU)+sq(sdD)+sq(r.UVolume/n)+sq(r.UTime/r.Time*r.Volume/n)) / cycle
		share := func(j int) float64 { return shareUp*up(j) + (1-shareUp)*down(j) }
		out = append(out, b.runFlow(r, y, sd, share, false))
	}
	if timed {
		k, sdK := b.tipRatio()
		a, c := (s*au-lostU)/r.UpTime, (s*ad-lostD)/r.DownTime
		sd := math.Sqrt(sq(a*r.UTime/r.UpTime) + sq(k*c*r.UTime/r.DownTime) + sq(sdU/r.UpTime) + sq(k*sdD/r.DownTime) + sq(sdK*c))
		share := func(j int) float64 { return up(j) - k*down(j) }
		out = append(out, b.runFlow(r, a-k*c, sd, share, true))
	}
	if timed && !math.IsNaN(r.Time) { // the strokes must add up to the whole time, or one of the three is wrong
		n := float64(r.Count)
		sd := math.Sqrt(sq(r.UTime)*(1+2*n) + sq(0.02*r.Time))
		out = append(out, observation{kind: obsGauss, y: r.Time - n*(r.UpTime+r.DownTime), c0: sq(sd), bad: 1 / (2 * r.Time)})
	}
	return out
}

// lateLoss is the volume [m³] that a stroke loses to compression and a late ball, with its standard deviation.
func (b *bench) lateLoss(d pump.Dir) (lost, sd float64) {
	var w float64
	for _, c := range b.p.Chambers {
		if b.m.Pressed[d][c.Name] && !b.m.Pressed[-d][c.Name] {
			w += math.Abs(b.p.Sweep(c))
		}
	}
	if w > 0 {
		return ballLate * b.p.Stroke * w, ballLateSD * b.p.Stroke * w
	}
	v := b.p.Stroke * b.m.Creep[d]
	return pistonLate * v, pistonLateSD * v
}

// tipRatio is the flow through the tip on an upstroke over that on a downstroke, with its standard deviation: 1 where the
// line smooths the pressure, the root of the ratio of the two drive pressures where it does not.
func (b *bench) tipRatio() (k, sd float64) {
	d := b.p.Drive
	if d.Kind != pump.ForceHeld {
		return 1, 0.02
	}
	full := math.Sqrt(d.ForceUp / d.ForceDown * b.m.Creep[pump.Down] / b.m.Creep[pump.Up])
	return (1 + full) / 2, 0.01 + math.Abs(full-1)/3
}

func (b *bench) runFlow(r Reading, y, sd float64, share func(int) float64, signed bool) observation {
	o := observation{
		kind: obsGauss, y: y, c0: sq(sd), c1: sq(2 * b.prior.Model), signed: signed,
		coef: b.coefficients(r, r.Pressure, share),
		bad:  1 / ((math.Abs(y) + sd) * 2 * decades),
	}
	o.guess, o.guessY, o.tau = o.coef, y, 0.05
	return o
}

func sq(x float64) float64 { return x * x }

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}
