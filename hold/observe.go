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
	y       float64
	c0, c1  float64
	normY   bool      // the time was measured: the density is normalised at y, not at the mean
	coef    []float64 // [path*maxVariants+variant]
	cycle   *cycle    // a run with volume whose strokes were not timed; coef then is that of the upstroke
	settled bool      // taken in the seating that q refers to: debris has not moved
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
	differ  []float64 // by path and variant: relative sd of what leaks in this reading from what q says
	tau     float64   // least sd of ln q of a proposal from this observation; 0 makes none
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
		full := b.p.Stroke * b.m.Creep[r.Stroke] * b.swell(r.Pressure) / r.Time
		c := b.stall(r)
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
	coef := o.coef
	if o.cycle != nil { // small leaks leave the strokes alike
		coef = o.guess
	}
	for j := range b.paths {
		first := coef[j*maxVariants] // 0 when the path does not show; its share of a run otherwise
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
	if n := len(b.takes); n > 0 && b.takes[n-1].reading == i {
		b.takes[n-1].to++
	} else {
		b.takes = append(b.takes, take{i, len(b.obs), len(b.obs) + 1})
	}
	if o.coef != nil {
		b.addSound(i, &o)
	}
	o.settled = b.settled(b.sheet.Readings[i])
	o.lnBad = math.Log(o.bad)
	o.differ = b.differ(&o)
	b.obs = append(b.obs, o)
}

// differ lists by how much, relatively, what leaks in a reading may differ from what q says: debris on a seat that has moved since, wear
// that varies along the stroke at a place that is not known.
func (b *bench) differ(o *observation) []float64 {
	out := make([]float64, len(b.paths)*maxVariants)
	for j := range b.paths {
		for v := range b.vars[j] {
			is := &b.vars[j][v]
			var sum float64
			if is.debris && !o.settled {
				sum += sq(reseatSpread)
			}
			if o.along > 0 && (is.mid || is.zone) {
				sum += sq(o.along * along(is))
			}
			out[j*maxVariants+v] = math.Sqrt(sum)
		}
	}
	return out
}

// creep: travel L in time T at a stall of stroke d and pressure p: y = A L/T·v(p), v the volume at no pressure over that at p (swellOf), since
// leaks count as they are caught.
// Variance (A v σ_L/T)² + drift² + stick² + (μ σ_T/T)² + (m μ)², m with the pressure's error.
func (b *bench) creep(r Reading) observation {
	area := b.m.Creep[r.Stroke] * b.swell(r.Pressure)
	travel, uTravel := r.Travel, r.UTravel
	if r.Kind == Changeover {
		travel, uTravel = b.wholeStroke(r)
	}
	y := area * travel / r.Time
	model := math.Hypot(b.prior.Model, r.UPress/r.Pressure)
	timing := r.UTime / r.Time
	o := observation{
		kind: obsGauss, y: y, normY: r.TimeIt,
		c0:   sq(area*uTravel/r.Time) + sq(b.prior.Drift) + sq(b.stick(r)),
		c1:   sq(model) + sq(timing),
		coef: b.stall(r),
	}
	// A wrong reading that says next to nothing is no likelier than a right one: its density ends at the error of y, drift included.
	o.bad = 1 / ((y + math.Sqrt(o.c0)) * decades)
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

// stick is the flow [m³/s] by which the first seconds of a watch mislead: dry friction lets the rod stand until the line has lost a small
// share of its pressure, and the hose still stretches when the watch begins. Either is a volume ΔV = C·φ·p with the compliance C of the
// line, so that over a time T it is ΔV/T. A mark that stood may hide so much; a creep is uncertain by it. After half a minute it is next to
// nothing.
func (b *bench) stick(r Reading) float64 {
	return b.net.compliance(0, r.Pressure) * stickShare * r.Pressure / r.Time
}

// still: no movement of more than the smallest visible one in time T: A x_seen/T bounds the flow, with what friction may hide. The error of
// the watch counts as in creep.
func (b *bench) still(r Reading) observation {
	area := b.m.Creep[r.Stroke] * b.swell(r.Pressure)
	o := observation{
		kind: obsStill, y: area*r.Travel/r.Time + b.stick(r),
		c0:   sq(0.5*area*r.UTravel/r.Time) + sq(b.prior.Drift),
		c1:   sq(math.Hypot(b.prior.Model, r.UPress/r.Pressure)) + sq(r.UTime/r.Time),
		coef: b.stall(r),
		bad:  saidStill,
	}
	o.fill, o.back = b.backflow(r)
	o.guess, o.guessY, o.tau = o.coef, 0.5*o.y, 1
	return o
}

// settled says whether a reading was taken in the seating of the first reading, where the sheet numbers the seatings; where it
// does not, the balls may have reseated before every reading. In a run they do, on every stroke.
func (b *bench) settled(r Reading) bool {
	numbered := false
	if r.Kind == Run {
		return false
	}
	for _, o := range b.sheet.Readings {
		numbered = numbered || o.Reseat != 0
	}
	return numbered && r.Reseat == b.sheet.Readings[0].Reseat
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

func sq(x float64) float64 { return x * x }

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}
