package gen

import (
	"math"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// width is how many numbers the prediction of an item has, see predict.
func (it item) width() int {
	switch it.kind {
	case doLocked:
		return len(it.times)
	case doWatch, doRun:
		return 5
	case doCreep, doStill, doChangeover:
		return 3
	case doDrips, doRestart:
		return 2
	}
	return 1
}

// predict fills out with what the ideal observer expects of each item on w, at the nominal pressure of the item. It draws afresh
// what a reading leaves open (rod position, waiting time, unknown stroke), so that many draws stand for all of it.
//
//	creep, still   flow [m³/s], its exponent d ln Q/d ln p, position is in it
//	changeover     flow, exponent, volume lost [m³] to compliance, late ball and stretch
//	watch          flow and exponent of the watched stroke, then as changeover
//	drips          flow, exponent
//	locked         gauge readings over the first one
//	restart        time [s], and the reading at the end of the span over the first one
//	run            delivery [m³] and leak [m³/s] of up- and downstroke, gun flow of the downstroke over that of the upstroke
//	sign           its probability
func (s *Setup) predict(rng *rand.Rand, w *world, out []float32) {
	k := 0
	for i := range s.items {
		it := &s.items[i]
		s.predictItem(rng, w, it, out[k:k+it.width()])
		k += it.width()
	}
}

func (s *Setup) predictItem(rng *rand.Rand, w *world, it *item, out []float32) {
	st := state{m: s.viscosity(*it), again: it.again, xi: 0.5}
	switch it.kind {
	case doCreep, doStill:
		s.predictCreep(rng, w, it, st, out)
	case doChangeover:
		s.predictChange(w, it, it.stroke, st, out)
	case doWatch:
		q, e := s.flowAt(w, it.stroke, it.at, 0.5*it.span, st)
		out[0], out[1] = float32(q), float32(e)
		s.predictChange(w, it, it.stroke, st, out[2:])
	case doDrips:
		j, p := s.r.path(it.path), s.truePressure(w, s.nominal(it))
		q, more := w.flow(j, p, st), w.flow(j, 1.02*p, st)
		out[0], out[1] = float32(q), float32(exponent(q, more))
	case doLocked:
		s.predictLocked(rng, w, it, st, out)
	case doRestart:
		s.predictRestart(rng, w, it, st, out)
	case doRun:
		s.predictRun(rng, w, it, st, out)
	default:
		out[0] = float32(w.signChance(it.sign))
	}
}

// nominal is the gauge reading that an item is meant for; the true one differs and is allowed for by the exponent.
func (s *Setup) nominal(it *item) float64 {
	if d := s.r.p.Drive; d.Kind == pump.Crank {
		return d.Restart + 0.6*(d.Stop-d.Restart)
	}
	return it.at * s.r.p.Limits.Hold
}

// truePressure takes the gauge's own error off a reading.
func (s *Setup) truePressure(w *world, reading float64) float64 {
	return math.Max(1e5, (reading-w.hid.offset)/(1+w.hid.slope))
}

// flowAt returns the flow that a stall creeps with at a nominal reading, t after it began, and its exponent, with what cooling adds.
func (s *Setup) flowAt(w *world, d pump.Dir, at, t float64, st state) (q, e float64) {
	p := s.truePressure(w, at*s.r.p.Limits.Hold)
	q = w.creep(d, p, t, st)
	return math.Max(1e-15, q+w.shrink()), exponent(q, w.creep(d, 1.02*p, t, st))
}

func exponent(q, more float64) float64 { return math.Log(more/q) / math.Log(1.02) }

func (s *Setup) predictCreep(rng *rand.Rand, w *world, it *item, st state, out []float32) {
	travel := it.travel
	if it.kind == doStill {
		travel = 0.02
	}
	st.xi = between(rng, 0.1, 0.3) + 0.02 + 0.5*travel
	if it.stroke == pump.Down {
		st.xi = 1 - st.xi
	}
	p := it.at * s.r.p.Limits.Hold
	wait := between(rng, 10, 30) // what the hose still stretches while the mark is watched
	volume := s.r.p.Stroke * s.r.area[it.stroke]
	leak := math.Max(1e-15, w.leak(it.stroke, p, st))
	wait = math.Min(wait, 0.15*volume/leak)
	span := clamp(0.7*volume/leak, 0.3, it.span)
	if it.kind == doCreep {
		span = clamp(it.travel*volume/leak, 0.3, it.span)
	}
	q, e := s.flowAt(w, it.stroke, it.at, 3+wait+0.5*span, st)
	z := w.hid.stretch * w.hoseCompliance(p) * 0.4 * p
	q += z * math.Exp(-wait/w.hid.tau) * -math.Expm1(-span/w.hid.tau) / span
	out[0], out[1], out[2] = float32(q), float32(e), float32(st.xi)
}

// predictChange: the whole stroke's volume, less what the line and a newly pressed chamber take up and what a late ball lets
// back, passes as leak.
func (s *Setup) predictChange(w *world, it *item, d pump.Dir, st state, out []float32) {
	r := s.r
	var inv float64
	var e float64
	const n = 4
	t := math.Min(0.5*it.span, 0.4*r.p.Stroke*r.area[d]/w.leak(d, it.at*r.p.Limits.Hold, st))
	for i := range n {
		st.xi = (float64(i) + 0.5) / n
		q, ei := s.flowAt(w, d, it.at, t, st)
		inv, e = inv+1/q/n, e+ei/n
	}
	p := it.at * r.p.Limits.Hold
	phi := map[pump.Dir]float64{pump.Up: w.hid.friction[0], pump.Down: w.hid.friction[1]}
	before := p * (1 - phi[-d]) / (1 - phi[d]) * r.force(-d) / r.area[-d] * r.area[d] / r.force(d)
	lost := (p - before) * w.compliance(0, p, r.p.Stroke/2) * (1 + 0.5*w.hid.stretch)
	start := 0.0
	if d == pump.Down {
		start = r.p.Stroke
	}
	for i := 1; i < r.n; i++ { // a chamber that comes under pressure
		if r.sweep[i]*float64(d) < 0 {
			lost += p * w.compliance(i, p, start)
		}
	}
	lost += w.hid.slow * s.lateVolume(w, d)
	out[0], out[1], out[2] = float32(1/inv), float32(e), float32(lost)
}

// lateVolume is what the balls that were open let back when the rod turns into stroke d.
func (s *Setup) lateVolume(w *world, d pump.Dir) float64 {
	var v float64
	for k, valve := range s.r.valves {
		from, to := valve[0], valve[1]
		wasOpen := to >= 0 && from < 0 && s.r.sweep[to]*float64(d) < 0 || // it filled a chamber that now shrinks
			from > 0 && s.r.sweep[from]*float64(d) > 0 // it emptied one that now grows
		if !wasOpen {
			continue
		}
		v += w.hid.late[k] * s.r.stroked(k) * s.r.p.Stroke
	}
	return v
}

func (s *Setup) unknownStroke(rng *rand.Rand, d pump.Dir) pump.Dir {
	if d != 0 {
		return d
	}
	if rng.Float64() < 0.5 {
		return pump.Up
	}
	return pump.Down
}

// coarse steps are enough for the observer; a test compares them with the fine ones of the truth.
const (
	coarseFirst, coarseGrow = 0.05, 1.35
	coarseLongest           = 6.0
)

func (s *Setup) predictLocked(rng *rand.Rand, w *world, it *item, st state, out []float32) {
	d := s.unknownStroke(rng, it.stroke)
	k := stopped(w, d, s.r.p.Drive.Stop, between(rng, 0.1, 0.9)*s.r.p.Stroke, it.vented, st)
	wait := w.soon(d, between(rng, 3, 15))
	var buf [8]float64
	times := buf[:len(it.times)]
	for i := range times {
		times[i] = wait + it.times[i]
	}
	var first float64
	k.hold(times, coarseFirst, coarseGrow, coarseLongest, func(i int, p float64) {
		y := math.Max(0, p*(1+w.hid.slope)+w.hid.offset)
		if i == 0 {
			first, y = math.Max(1e5, y), math.Max(1e5, y)
		}
		out[i] = float32(y / first)
	})
}

func (s *Setup) predictRestart(rng *rand.Rand, w *world, it *item, st state, out []float32) {
	d := s.r.p.Drive
	stop, again := d.Stop*(1+0.01*rng.NormFloat64()), d.Restart*(1+0.01*rng.NormFloat64())
	k := stopped(w, s.unknownStroke(rng, 0), stop, between(rng, 0.1, 0.9)*s.r.p.Stroke, false, st)
	t, _ := k.fall(again, coarseFirst, coarseGrow, coarseLongest, it.span)
	out[0], out[1] = float32(t), float32((k.p[0]*(1+w.hid.slope)+w.hid.offset)/(stop*(1+w.hid.slope)+w.hid.offset))
}

// predictRun: each stroke's displacement, less what late balls, compression and the swing of the line's pressure take, leaves
// through gun and leaks. How wide the gun is open nobody writes down: densityRun finds it from the time.
func (s *Setup) predictRun(rng *rand.Rand, w *world, it *item, st state, out []float32) {
	r := s.r
	if d := r.p.Drive; d.Kind == pump.Crank {
		p := d.Restart + 0.5*(d.Stop-d.Restart)
		v := s.delivery(w, pump.Up, p) + s.delivery(w, pump.Down, p)
		leak := 0.5 * (w.leak(pump.Up, p, st) + w.leak(pump.Down, p, st)) // at rest the mean of where it may stop
		out[0], out[1], out[2], out[3], out[4] = float32(v/2), float32(v/2), float32(leak), float32(leak), 1
		return
	}
	area := gunFlow * math.Pi / 4 * sq(it.tip*r.p.Hose.Tip)
	scale := it.at * r.p.Limits.Hold * r.area[pump.Up] / r.force(pump.Up) * (1 + 0.015*rng.NormFloat64())
	var p, leak [2]float64
	dirs := [2]pump.Dir{pump.Up, pump.Down}
	for i, d := range dirs {
		phi := w.hid.friction[i]
		stall := scale * r.force(d) / r.area[d]
		p[i] = stall * (1 - phi)
		for range 3 {
			leak[i] = w.leak(d, p[i], st)
			p[i] = stall * math.Max(0.05, 1-phi-(area*math.Sqrt(2*p[i]/w.f.rho)+leak[i])/r.area[d]/r.p.Drive.FreeSpeed)
		}
	}
	for i, d := range dirs { // the line takes up the difference of the two pressures
		swing := (p[i] - p[1-i]) * w.compliance(0, p[i], r.p.Stroke/2)
		out[i], out[2+i] = float32(math.Max(1e-7, s.delivery(w, d, p[i])-swing)), float32(leak[i])
	}
	out[4] = float32(math.Sqrt(p[1] / p[0]))
}

// delivery is what a stroke displaces less what late balls and a newly pressed chamber take.
func (s *Setup) delivery(w *world, d pump.Dir, p float64) float64 {
	whole := s.r.area[d] * s.r.p.Stroke
	v := whole - s.lateVolume(w, d)
	start := 0.0
	if d == pump.Down {
		start = s.r.p.Stroke
	}
	for i := 1; i < s.r.n; i++ {
		if s.r.sweep[i]*float64(d) < 0 {
			v -= p * w.compliance(i, p, start)
		}
	}
	return math.Max(0.05*whole, v)
}
