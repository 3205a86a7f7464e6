package gen

import (
	"math"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// Reading is what is written down, SI, already rounded.
type Reading struct {
	Kind     string // as in a hold sheet
	Item     int    // the item of the plan that it comes from
	Stroke   pump.Dir
	Pressure float64 // Pa
	Travel   float64 // m
	Time     float64 // s
	Place    float64 // m, rod position; NaN when not noted
	Measured bool    // creep: the travel was measured after a given time
	Volume   float64 // m³
	Up, Down float64 // s
	Count    int
	Path     string
	Points   [][2]float64 // s, Pa
	Vented   bool
	Again    int
	Warm     float64 // K, 0 when as in the sheet
	Sign     string
	Wrong    bool
}

// technician takes readings on one pump.
type technician struct {
	s     *Setup
	w     *world
	rng   *rand.Rand
	scale map[float64]float64 // drive setting by pressure level
}

// take carries out the plan. wrong is the share of readings that go wrong.
func (s *Setup) take(rng *rand.Rand, w *world, wrong float64) []Reading {
	t := technician{s: s, w: w, rng: rng, scale: map[float64]float64{}}
	var out []Reading
	for i, it := range s.items {
		rd, ok := t.item(it)
		if !ok {
			continue
		}
		rd.Item, rd.Again = i, it.again
		if it.warmer != 0 {
			rd.Warm = s.Temperature + it.warmer
		}
		if rd.Kind != "sign" && rng.Float64() < wrong {
			t.spoil(it, &rd)
		}
		out = append(out, rd)
	}
	return out
}

func (t *technician) item(it item) (Reading, bool) {
	switch it.kind {
	case doCreep, doStill:
		return t.creep(it), true
	case doChangeover:
		return t.changeover(it, it.stroke), true
	case doWatch:
		return t.watch(it), true
	case doDrips:
		return t.drips(it), true
	case doLocked:
		return t.locked(it), true
	case doRestart:
		return t.restart(it), true
	case doRun:
		return t.run(it), true
	}
	return Reading{Kind: "sign", Sign: it.sign}, t.rng.Float64() < t.w.signChance(it.sign)
}

func (t *technician) state(it item) state { return state{m: t.s.viscosity(it), again: it.again} }

// setting is the drive's setting for a pressure level, found with the upstroke; it stays the same for all readings. To prove a pump he turns
// the drive up until his gauge shows the hold pressure on the weaker stroke, friction and all.
func (t *technician) setting(it item) float64 {
	k, ok := t.scale[it.at]
	if !ok {
		r, h := t.s.r, t.w.hid
		k = it.at * r.p.Limits.Hold * r.area[pump.Up] / r.force(pump.Up) * (1 + 0.015*t.rng.NormFloat64())
		if t.s.Stage == AsLeft {
			k = 0
			for i, d := range [2]pump.Dir{pump.Up, pump.Down} {
				k = math.Max(k, (r.p.Limits.Hold-h.offset)/(1+h.slope)*r.area[d]/r.force(d)/(1-h.friction[i]))
			}
			k *= 1 + 0.005*t.rng.NormFloat64()
		}
		t.scale[it.at] = k
	}
	return k
}

func round(x, to float64) float64 { return math.Round(x/to) * to }

// gauge reads a pressure.
func (t *technician) gauge(p float64) float64 {
	h := t.w.hid
	g := t.s.Gauge
	return math.Max(g.Resolution, round(p*(1+h.slope)+h.offset+g.repeat()*t.rng.NormFloat64(), g.Resolution))
}

func (t *technician) clock(x float64) float64 {
	return math.Max(t.s.round, round(x+handTime*t.rng.NormFloat64(), t.s.round))
}

// stalled is a drive of stroke d that has come to a stall with the gun shut, the rod a share of the stroke from where it began.
func (t *technician) stalled(it item, d pump.Dir, share float64) *motion {
	m := newMotion(t.w, d, t.setting(it), t.state(it))
	r := t.s.r
	m.p[0] = 0.6 * m.scale * r.force(d) / r.area[d]
	for range 5 { // as many strokes as it takes to build pressure up
		m.x = 0.5 * r.p.Stroke
		if _, ended := m.wait(3, math.Inf(1)); !ended {
			break
		}
	}
	if m.x = share * r.p.Stroke; d == pump.Down {
		m.x = (1 - share) * r.p.Stroke
	}
	return m
}

// creep shuts the gun somewhere in the first third of a stroke, waits for the hose, then marks the rod.
func (t *technician) creep(it item) Reading {
	s := t.s.r.p.Stroke
	m := t.stalled(it, it.stroke, between(t.rng, 0.1, 0.3))
	m.wait(between(t.rng, 10, 30), 0.15*s)
	place := math.NaN()
	if it.place {
		place = round(m.x, 1e-3)
	}
	if it.kind == doStill {
		return t.mark(m, it.span, math.Inf(1), place)
	}
	return t.mark(m, it.span, round(it.travel*s, 1e-3), place)
}

// mark watches a mark over a travel, for no longer than a span.
func (t *technician) mark(m *motion, span, travel, place float64) Reading {
	rd := Reading{Kind: "creep", Stroke: m.d, Place: place}
	x0 := m.x
	spent, done := m.wait(span, travel+handLength*t.rng.NormFloat64())
	rd.Pressure = t.gauge(m.p[0])
	if done {
		rd.Travel, rd.Time = math.Min(travel, round(math.Abs(m.x-x0), 1e-3)), t.clock(spent)
		return rd
	}
	rd.Time, rd.Measured = span, true
	y := math.Abs(m.x-x0) + handLength*t.rng.NormFloat64()
	if y < seen {
		rd.Kind = "still"
		return rd
	}
	rd.Travel = math.Max(t.s.ruler, round(y, t.s.ruler))
	return rd
}

// changeover times a whole stroke, from click to click. A rod that takes too long gets a mark once it has slowed down.
func (t *technician) changeover(it item, d pump.Dir) Reading {
	return t.stroke(t.stalled(it, -d, 0.9), it)
}

func (t *technician) stroke(m *motion, it item) Reading {
	const settle = 5.0
	m.t = 0
	m.turn(t.w.hid.slow)
	if _, done := m.wait(settle, math.Inf(1)); !done {
		quarter := m.left() > 0.1*t.s.r.p.Stroke
		rest := *m
		if _, done = m.wait(it.span-settle, math.Inf(1)); !done && quarter {
			return t.mark(&rest, it.span-settle, math.Inf(1), math.NaN())
		}
		if !done { // too near the end for a mark: he waits on
			m.wait(3600, math.Inf(1))
		}
	}
	return Reading{Kind: "changeover", Stroke: m.d, Pressure: t.gauge(m.p[0]), Time: t.clock(m.t), Place: math.NaN()}
}

// watch waits for a changeover with the rod anywhere. When one comes, he opens the gun and times the next stroke of that kind
// as a whole, so that the sheet shows what he saw.
func (t *technician) watch(it item) Reading {
	m := t.stalled(it, it.stroke, t.rng.Float64())
	if _, turned := m.wait(it.span, math.Inf(1)); turned {
		return t.changeover(it, it.stroke)
	}
	return Reading{Kind: "no_changeover", Stroke: it.stroke, Pressure: t.gauge(m.p[0]), Time: it.span, Place: math.NaN()}
}

// pressure is where the pump stands while drops are counted: a stall, or between stop and restart of a crank pump.
func (t *technician) pressure(it item) float64 {
	d := t.s.r.p.Drive
	if d.Kind == pump.Crank {
		return between(t.rng, 0.3, 0.9)*(d.Stop-d.Restart) + d.Restart
	}
	dir := it.stroke
	if dir == 0 {
		dir = pump.Up
	}
	return t.stalled(it, dir, 0.5).p[0]
}

// dropsTooFast is the rate [1/s] at which nobody counts any more.
const dropsTooFast = 2.5

func (t *technician) drips(it item) Reading {
	p := t.pressure(it)
	q := t.w.flow(t.s.r.path(it.path), p, state{m: 1, again: it.again, xi: 0.5})
	rd := Reading{Kind: "drips", Path: it.path, Stroke: it.stroke, Pressure: t.gauge(p), Time: it.span, Place: math.NaN()}
	if q/t.w.hid.drop < dropsTooFast {
		rd.Count = poisson(t.rng, q*it.span/t.w.hid.drop)
		return rd
	}
	rd.Kind, rd.Time = "caught", 30
	v := q*30*(1+0.02*t.rng.NormFloat64()) + 0.3e-6*t.rng.NormFloat64()
	rd.Volume = math.Max(jugStep(v), round(v, jugStep(v)))
	return rd
}

// jugStep is the division that a caught volume is read to.
func jugStep(v float64) float64 {
	switch {
	case v < 20e-6:
		return 0.5e-6
	case v < 100e-6:
		return 1e-6
	case v < 500e-6:
		return 5e-6
	}
	return 10e-6
}

func (t *technician) locked(it item) Reading {
	d := it.stroke
	if d == 0 {
		d = pump.Up
		if t.rng.Float64() < 0.5 {
			d = pump.Down
		}
	}
	r := t.s.r
	k := stopped(t.w, d, r.p.Drive.Stop*(1+0.01*t.rng.NormFloat64()), between(t.rng, 0.1, 0.9)*r.p.Stroke, it.vented, t.state(it))
	wait := t.w.soon(d, between(t.rng, 3, 15))
	times := make([]float64, len(it.times))
	for i := range times {
		times[i] = wait + it.times[i]
		if i > 0 {
			times[i] += gaugeTime * t.rng.NormFloat64()
		}
	}
	rd := Reading{Kind: "locked", Stroke: it.stroke, Vented: it.vented, Place: math.NaN()}
	k.hold(times, 0.005, 1.03, 0.5, func(i int, p float64) {
		y := math.Max(0, round(p*(1+t.w.hid.slope)+t.w.hid.offset+t.s.Gauge.repeat()*t.rng.NormFloat64(), t.s.Gauge.Resolution))
		if n := len(rd.Points); n > 1 && rd.Points[n-1][1] < 0.1*rd.Points[0][1] { // nothing left to read
			return
		}
		rd.Points = append(rd.Points, [2]float64{it.times[i], y})
	})
	rd.Pressure = rd.Points[0][1]
	return rd
}

// restart times from stop to restart; a pump that has not restarted in the span gets a gauge reading instead.
func (t *technician) restart(it item) Reading {
	r, rng := t.s.r, t.rng
	d := pump.Up
	if rng.Float64() < 0.5 {
		d = pump.Down
	}
	stop, again := r.p.Drive.Stop*(1+0.01*rng.NormFloat64()), r.p.Drive.Restart*(1+0.01*rng.NormFloat64())
	k := stopped(t.w, d, stop, between(rng, 0.1, 0.9)*r.p.Stroke, false, t.state(it))
	rd := Reading{Kind: "restart", Place: math.NaN()}
	p0 := t.gauge(k.p[0])
	when, done := k.fall(again, 0.005, 1.03, 0.5, it.span)
	if done {
		rd.Time = t.clock(when)
		return rd
	}
	rd.Kind, rd.Points = "locked", [][2]float64{{0, p0}, {it.span, t.gauge(k.p[0])}}
	rd.Pressure = p0
	return rd
}

func (t *technician) run(it item) Reading {
	r := t.s.r
	rd := Reading{Kind: "run", Count: it.cycles, Place: math.NaN()}
	tip := it.tip * r.p.Hose.Tip * lognormal(t.rng, 1, 1.15) // worn, and the trigger not always pulled right through
	var out ran
	if d := r.p.Drive; d.Kind == pump.Crank {
		out = runCrank(t.w, d.Stop*(1+0.01*t.rng.NormFloat64()), d.Restart*(1+0.01*t.rng.NormFloat64()), tip, it.cycles, t.state(it))
	} else {
		out = runForce(t.w, t.setting(it), tip, it.cycles, t.state(it))
	}
	rd.Pressure = t.gauge(out.pressure * (1 + 0.01*t.rng.NormFloat64()))
	rd.Time = t.clock(out.time)
	if it.strokes {
		n := math.Sqrt(float64(it.cycles))
		rd.Up = math.Max(0.1, round(out.up+handTime/n*t.rng.NormFloat64(), 0.1))
		rd.Down = math.Max(0.1, round(out.down+handTime/n*t.rng.NormFloat64(), 0.1))
		return rd
	}
	v := out.volume * (1 + jugShare*t.rng.NormFloat64())
	rd.Volume = math.Max(jugStep(v), round(v, jugStep(v)))
	return rd
}

// poisson draws a count: by inversion for a small mean, else by a rounded normal with the skewness left out.
func poisson(rng *rand.Rand, mean float64) int {
	if mean > 60 {
		return max(0, int(math.Round(mean+math.Sqrt(mean)*rng.NormFloat64())))
	}
	n, p := 0, rng.Float64()
	for limit := math.Exp(-mean); p > limit && n < 1000; n++ {
		p *= rng.Float64()
	}
	return n
}

// signChance is how likely a technician notices a sign, by how strong its cause is. Assumptions.
func (w *world) signChance(sign string) float64 {
	step := func(ratio, sharp float64) float64 { return 1 / (1 + math.Pow(ratio, -1/sharp)) }
	s := state{m: 1, xi: 0.5}
	switch sign {
	case "surges":
		up, down := w.leak(pump.Up, w.r.rated, s), w.leak(pump.Down, w.r.rated, s)
		return 0.04 + 0.75*step(math.Abs(up-down)/(2*w.r.limit), 0.5)
	default: // paint in the wet cup
		return 0.03 + 0.92*step(w.q[w.r.path(wet)]/(2e-6/60), 0.5)
	}
}
