package hold

import (
	"math"
)

type obsKind uint8

const (
	obsGauss  obsKind = iota // a flow with Gaussian error
	obsStill                 // a flow below what would have been seen
	obsNoTurn                // no changeover from an unknown position
	obsCount                 // drops
	obsWet                   // one drop or more
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
	base    float64   // sum of sound
	fill    *filling  // creep of a stroke on which a leak may fill a closed chamber; nil when none can
	along   float64   // share of the stroke that was not watched, when the place on the rod is not known
	back    []float64 // coefficients of the paths by which that chamber empties into the suction
	bad     float64   // density of y when the reading is wrong
	scale   float64   // obsNoTurn: 1/flow that makes a full stroke in the time; obsCount, obsWet: drops per m³/s
	n       float64   // obsCount
	quiet   float64   // obsCount, obsWet: probability when no path that it sees is at fault
	none    []float64 // obsWet: by path, probability that no drop comes from it when it is sound
	ln      float64   // obsCount: ln of the constant of the negative binomial of a path at fault
	lnBad   float64   // ln bad
	hold    int       // obsCurve: index of the hold in the network
	point   int
	guess   []float64 // coefficients for proposals
	guessY  float64
	differ  []float64 // by path and variant: relative sd of what leaks in this reading from what q says
	tau     float64   // least sd of ln q of a proposal from this observation; 0 makes none
}

// decades is the width of the log-uniform density of a wrong reading: ln 10⁴.
var decades = math.Log(1e4)

// saidStill is the probability that a wrong reading says that nothing moved, where a right one of a sound pump would say so.
const saidStill = 0.3

// observe turns one reading into observations.
func (b *bench) observe(i int, r Reading) {
	switch r.Kind {
	case Creep, Changeover:
		b.add(i, r, b.creep(r))
	case Still:
		b.add(i, r, b.still(r))
	case NoChangeover:
		b.add(i, r, b.noChangeover(r))
	case Drips:
		b.add(i, r, b.drips(r))
	case Caught:
		b.add(i, r, b.caught(r))
	case Run:
		for _, o := range b.run(r) {
			b.add(i, r, o)
		}
	case Locked, Restart:
		for _, o := range b.curve(r) {
			b.add(i, r, o)
		}
	case Sign:
		b.sign(i, r)
	}
}

// addSound works out what the sound paths add: viscous leaks of which only the spread is known, so that their mean and their
// variance enter.
func (b *bench) addSound(r Reading, o *observation) {
	x, m := r.Pressure/b.p.Limits.Rated, b.visc(r.Warmth)
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
		part := first / b.vars[j][0].form.flow(x, m) * laminar.flow(x, m)
		o.sound[j] = part * b.sound[j].mean
		o.base += o.sound[j]
		o.c0 += sq(part * b.sound[j].sd)
	}
}

// take is the observations of one reading: from, to are indices into bench.obs. They are right or wrong together.
type take struct {
	reading, from, to int
}

func (b *bench) add(i int, r Reading, o observation) {
	if n := len(b.takes); n > 0 && b.takes[n-1].reading == i {
		b.takes[n-1].to++
	} else {
		b.takes = append(b.takes, take{i, len(b.obs), len(b.obs) + 1})
	}
	if o.coef != nil {
		b.addSound(r, &o)
	}
	b.wrong(&o)
	o.settled = b.settled(r)
	o.lnBad = math.Log(o.bad)
	o.differ = b.differ(&o)
	b.obs = append(b.obs, o)
}

// leastBad keeps the density of a wrong reading above zero.
const leastBad = 1e-12

// wrong sets the density of a reading that is wrong, where the reading itself did not. A wrong flow is log-uniform above what sound paths
// make, with their standard deviation σ as its floor; a wrong count alike. It is no likelier to fall short of what a sound pump shows than
// a right one: else it would outgrow the right one the longer a quiet pump is watched, and watching longer would prove less.
func (b *bench) wrong(o *observation) {
	switch {
	case o.kind == obsStill:
		o.bad = saidStill * o.unmoved(o.base, 0)
	case o.kind == obsNoTurn:
		o.bad = saidStill * o.noTurn(o.base, 0)
	case o.kind == obsCount:
		b.count(o)
	case o.kind == obsWet:
		b.dry(o)
		o.bad = saidWet
	case o.bad == 0:
		sd := math.Sqrt(o.c0 + o.c1*o.base*o.base)
		over := o.y - o.base
		o.bad = 1 / ((math.Max(over, 0) + sd) * decades)
		if over < 0 {
			o.bad *= 2 * phi(over/sd)
		}
	}
	o.bad = math.Max(o.bad, leastBad)
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

func sq(x float64) float64 { return x * x }

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}
