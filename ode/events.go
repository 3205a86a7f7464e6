package ode

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// events looks for passages of the switching functions through zero.
//
// sign[i] is the side on which function i is known to be: the sign of its
// last value or, where it starts at zero (at the beginning, or because the
// event has just been handled), the side to which it is moving; 0 if it does
// not move. Only a change of this side counts, so that an event is not found
// twice and a bounce shorter than a step is not missed.
type events struct {
	s      *Solver
	sw     Events // nil: no events
	n      int
	y      []float64 // state at the point looked at
	g      []float64 // values there
	sign   []int8
	glo    []float64 // values at the start of the stretch searched
	rest   []float64 // values at the last event, which should be zero
	fired  []int
	recent []float64 // times of the last ZenoCount of each event, in rings
	count  []int     // of each event
	which  int       // the function that value returns
	value  func(th float64) float64
	window float64 // of the Zeno guard
}

func (e *events) init(s *Solver, sw Events) {
	e.s, e.sw, e.n = s, sw, sw.NumEvents()
	e.y = make([]float64, len(s.y))
	e.g, e.glo, e.rest = make([]float64, e.n), make([]float64, e.n), make([]float64, e.n)
	e.sign, e.fired = make([]int8, e.n), make([]int, 0, e.n)
	e.recent, e.count = make([]float64, e.n*s.opt.ZenoCount), make([]int, e.n)
	e.value = func(th float64) float64 {
		e.look(th)
		return e.g[e.which]
	}
}

// begin prepares a run of the given length.
func (e *events) begin(length float64) {
	if e.n == 0 {
		return
	}
	e.fired = e.fired[:0]
	clear(e.count)
	e.window = e.s.opt.ZenoTime
	if e.window == 0 {
		e.window = 1e-10 * length
	}
}

// look evaluates the functions at θ of the present step.
func (e *events) look(th float64) {
	p := &e.s.step
	p.at(th, e.y[:e.s.n])
	e.sw.Events(p.t+th*p.h, e.y[:e.s.n], e.g)
}

// arm sets the sides for a start at (t, y) with derivative f.
func (e *events) arm(t float64, y, f []float64) error {
	if e.n == 0 {
		return nil
	}
	e.sw.Events(t, y[:e.s.n], e.glo)
	d := e.nudge(t)
	for i := range e.y {
		e.y[i] = y[i] + d*f[i]
	}
	e.sw.Events(t+d, e.y[:e.s.n], e.g)
	return e.settle(t)
}

// rearm sets the sides for going on from θ inside the present step.
func (e *events) rearm(th float64) error {
	e.look(th)
	copy(e.glo, e.g)
	t := e.s.step.t + th*e.s.step.h
	e.look(th + e.nudge(t)/e.s.step.h)
	return e.settle(t)
}

// nudge is a time long against the error of a located event and short against
// anything else.
func (e *events) nudge(t float64) float64 {
	return 256 * eps * (math.Abs(t) + e.s.h)
}

// settle sets the sides from the values glo at t and g a nudge later.
// Functions that are zero, or as close to it after their event as the time
// of an event can be told, get the side to which they move.
func (e *events) settle(t float64) error {
	if i := notFinite(e.glo); i >= 0 {
		return &NaNError{Func: "Events", T: t, Index: i}
	}
	for i, v := range e.glo {
		e.sign[i] = side(v)
		if v == 0 {
			e.sign[i] = side(e.g[i])
		}
	}
	for _, i := range e.fired {
		move := e.g[i] - e.glo[i]
		if math.Abs(e.glo[i]) <= 4*math.Abs(e.rest[i])+math.Abs(move)/16 {
			e.sign[i] = side(move)
		}
	}
	return nil
}

func side(v float64) int8 {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// crossed reports whether function i, now worth v, makes an event.
func (e *events) crossed(i int, v float64) bool {
	was := e.sign[i]
	if was == 0 || side(v) == was {
		return false
	}
	d := e.sw.Direction(i)
	return d == 0 || (d > 0) == (was < 0)
}

// search looks for the first event after θ = lo in the present step. It
// leaves its θ in th, the state there in y and the events in fired.
func (e *events) search(lo float64) (th float64, found bool, err error) {
	p := &e.s.step
	m := max(e.s.opt.EventSamples, 0)
	first := lo
	for k := 1; k <= m+1; k++ {
		hi := 1.0
		if k <= m {
			hi = first + (1-first)*float64(k)/float64(m+1)
			e.look(hi)
		} else {
			e.sw.Events(p.t1, e.s.z[:e.s.n], e.g)
		}
		if i := notFinite(e.g); i >= 0 {
			return 0, false, &NaNError{Func: "Events", T: p.t + hi*p.h, Index: i}
		}
		e.fired = e.fired[:0]
		for i, v := range e.g {
			if e.crossed(i, v) {
				e.fired = append(e.fired, i)
			}
		}
		if len(e.fired) > 0 {
			th, err = e.locate(lo, hi)
			return th, err == nil, err
		}
		for i, v := range e.g {
			e.glo[i] = v
			if v != 0 {
				e.sign[i] = side(v)
			}
		}
		lo = hi
	}
	return 0, false, nil
}

// locate finds the earliest of the passages in fired between the points lo
// and hi, and with it those that follow within the round-off of time. The
// result lies just after the passage.
func (e *events) locate(lo, hi float64) (float64, error) {
	p := &e.s.step
	best := hi
	for k, i := range e.fired {
		if k > 0 {
			e.look(best)
			if !e.crossed(i, e.g[i]) {
				continue
			}
		}
		a, ga, b, gb := lo, e.glo[i], best, e.g[i]
		if side(ga) != e.sign[i] {
			if a, ga, b, gb = e.backUp(i, lo, b, gb); a == lo {
				return 0, &ZenoError{T: p.t + lo*p.h, Event: i, Count: 1}
			}
		}
		e.which = i
		root, err := num.BrentFrom(e.value, a, ga, b, gb, 0)
		if err != nil {
			return 0, &NaNError{Func: "Events", T: p.t + a*p.h, Index: i}
		}
		best = e.past(i, root, b)
	}
	e.look(best)
	copy(e.rest, e.g)
	same := 16 * eps * (1 + math.Max(math.Abs(p.t), math.Abs(p.t1))/p.h)
	e.look(math.Min(best+same, hi))
	e.fired = e.fired[:0]
	for i, v := range e.g {
		if e.crossed(i, v) || e.crossed(i, e.rest[i]) {
			e.fired = append(e.fired, i)
		}
	}
	p.at(best, e.y[:e.s.n])
	return best, nil
}

// backUp brackets the return to zero of a function that left it at lo and is
// back at hi, by halving. It returns a = lo if the function does not leave
// zero as far as numbers can tell.
func (e *events) backUp(i int, lo, hi, ghi float64) (a, ga, b, gb float64) {
	b, gb = hi, ghi
	for {
		a = lo + (b-lo)/2
		if a <= lo || a >= b {
			return lo, 0, b, gb
		}
		e.look(a)
		if side(e.g[i]) == e.sign[i] {
			return a, e.g[i], b, gb
		}
		b, gb = a, e.g[i]
	}
}

// past steps from a root over to the far side of the passage.
func (e *events) past(i int, root, hi float64) float64 {
	for d := 0.0; ; d = 4*d + eps*root {
		th := root + d
		if th >= hi {
			return hi
		}
		e.look(th)
		if side(e.g[i]) != e.sign[i] {
			return th
		}
	}
}

// zeno notes event i at t and complains if it comes too often.
func (e *events) zeno(i int, t float64) error {
	k := e.s.opt.ZenoCount
	ring := e.recent[i*k : (i+1)*k]
	at := e.count[i] % k
	first := ring[at]
	ring[at] = t
	e.count[i]++
	if e.count[i] > k && t-first <= e.window {
		return &ZenoError{T: t, Event: i, Count: k + 1, Within: t - first}
	}
	return nil
}

// handle calls the handlers of the events found at t.
func (e *events) handle(t float64) (Action, error) {
	act := Continue
	for _, i := range e.fired {
		if err := e.zeno(i, t); err != nil {
			return Stop, err
		}
		e.s.stats.Events++
		act = max(act, e.sw.Handle(i, t, e.y[:e.s.n]))
	}
	if i := notFinite(e.y[:e.s.n]); i >= 0 {
		return Stop, &NaNError{Func: "Handle", T: t, Index: i}
	}
	return act, nil
}
