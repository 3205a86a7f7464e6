package stroke

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/pump"
)

// sim is one simulation: the kernel, the full state between two runs of the solver, and what is to come.
type sim struct {
	*builder
	t, end  float64
	content []float64 // n of each node
	x, v    float64
	z, w    []float64 // of each ball
	slots   []slot
	sums    []float64 // volume counted in each slot

	drive   drive
	tipOn   bool
	tipNext int       // next entry of Setup.Tip
	release []float64 // by ball: when one that is held at seat or stop may leave, +Inf if none holds it
	met     []float64 // by ball: when it last met seat or stop

	y       []float64
	solvers map[modeKey]*ode.Solver
	tol     tolerance
	rec     recorder
	guard   guard
}

// slot is one counted way.
type slot struct {
	branch  int // −1 for the intake
	fault   int // index in Setup.Faults, −1 for the tip and the intake
	outside bool
}

// modeKey names the modes that can share a solver.
type modeKey struct {
	rod         rodMode
	steady      bool
	free, slots uint64
	watches     int
}

const (
	slotIntake = 0
	slotTip    = 1 // when the pump has a tip
	mostSlots  = 60
)

// Simulate runs a setup and returns what happened.
//
// Errors: *num.RangeError, *PathError and *SetupError for a bad setup; ode.ErrCanceled when Progress returned false; the
// errors of package ode when the integration fails (then the trace up to there is returned too).
func Simulate(set Setup) (*Trace, error) {
	s, err := newSim(&set)
	if err != nil {
		return nil, err
	}
	err = s.run()
	return s.rec.finish(s), err
}

// newSim makes the simulation ready to run.
func newSim(set *Setup) (*sim, error) {
	if set.Start == 0 {
		set.Start = pump.Up
	}
	if set.RelTol == 0 {
		set.RelTol = 1e-5
	}
	if err := set.check(); err != nil {
		return nil, err
	}
	b, err := build(set)
	if err != nil {
		return nil, err
	}
	s := &sim{builder: b, end: set.Duration, x: set.X0, solvers: map[modeKey]*ode.Solver{}}
	n := len(b.k.balls)
	s.z, s.w, s.release = make([]float64, n), make([]float64, n), make([]float64, n)
	s.met = make([]float64, n)
	for i := range s.release {
		s.release[i], s.met[i] = math.Inf(1), math.Inf(-1)
	}
	if s.openSlots(); len(s.slots) > mostSlots || n > mostSlots {
		return nil, &SetupError{"Faults", fmt.Sprintf("more than %d leaks or valves", mostSlots-2)}
	}
	s.tol = newTolerance(s)
	s.startPressures()
	s.startDrive()
	s.setTip(set.Mode == Run)
	s.rec.begin(s)
	return s, s.settle()
}

// openSlots makes the branches that are counted: tip and leaks.
func (s *sim) openSlots() {
	s.slots = append(s.slots, slot{branch: -1, fault: -1})
	if s.s.Pump.Hose.Tip > 0 {
		s.slots = append(s.slots, slot{branch: s.tip(), fault: -1, outside: true})
	}
	paths := map[string]pump.Path{}
	for _, p := range s.s.Pump.Map().Paths {
		paths[p.Name] = p
	}
	for i, f := range s.s.Faults {
		for _, br := range s.fault(f, paths[f.Path]) {
			s.slots = append(s.slots, slot{branch: br, fault: i, outside: s.k.branches[br].to == s.k.airNode()})
		}
		s.reseat(f.Path)
	}
	s.sums = make([]float64, len(s.slots))
}

// startPressures sets the content of each node.
func (s *sim) startPressures() {
	m := s.s.Pump.Map()
	p0 := s.startPressure(m)
	s.content = make([]float64, len(s.k.nodes))
	for j, name := range s.names {
		p := s.s.Suction
		if j < s.line || m.Pressed[s.s.Start][name] {
			p = p0
		}
		s.content[j] = s.k.content(j, p, s.x)
	}
}

// startPressure is the line pressure at the start: as given; none; or where the pump would have come to rest: force over
// creep area (force-held), restart pressure (crank), hold pressure (locked).
func (s *sim) startPressure(m pump.Map) float64 {
	set, d := s.s, s.s.Pump.Drive
	switch {
	case set.Empty:
		return 0
	case set.P0 > 0:
		return set.P0
	case set.Mode == LockedHold:
		return set.Pump.Limits.Hold
	case d.Kind == pump.Crank:
		return d.Restart
	}
	return forceOf(d, set.Start) / m.Creep[set.Start]
}

// setTip opens or shuts the tip.
func (s *sim) setTip(open bool) {
	s.tipOn = open
	s.k.active = s.k.active[:0]
	for i := range s.k.branches {
		if open || len(s.slots) < 2 || i != s.slots[slotTip].branch || s.slots[slotTip].fault >= 0 {
			s.k.active = append(s.k.active, i)
		}
	}
}

// run steps from one change of mode to the next.
func (s *sim) run() error {
	for s.t < s.end {
		s.enter()
		sol, err := s.solver()
		if err != nil {
			return err
		}
		next := s.nextTime()
		s.k.fired = s.k.fired[:0]
		st, err := sol.Run(s.t, s.y, next, s.record)
		s.rec.add(st)
		s.leave(st.T)
		if err != nil {
			return err
		}
		for _, w := range s.k.fired {
			s.happen(w)
		}
		s.clock()
		if err := s.settle(); err != nil {
			return err
		}
		if f := s.s.Progress; f != nil && !f(s.t) {
			return ode.ErrCanceled
		}
	}
	return nil
}

// enter packs the state of the present mode.
func (s *sim) enter() {
	k := s.k
	k.totals = k.totals[:0]
	for i, sl := range s.slots {
		if i == slotIntake && s.intakeOn() || i > 0 && (sl.fault >= 0 || s.tipOn) {
			k.totals = append(k.totals, total{sl.branch, i})
		}
	}
	k.rest = s.x
	k.arrange()
	k.watchAll(s.s.Pump.Stroke, s.drive.stopAt(), s.drive.startAt())
	if cap(s.y) < k.lay.dim {
		s.y = make([]float64, k.lay.dim)
	}
	s.y = s.y[:k.lay.dim]
	copy(s.y, s.content)
	if k.lay.x >= 0 {
		s.y[k.lay.x] = s.x
	}
	if k.lay.v >= 0 {
		s.y[k.lay.v] = s.v
	}
	for i := range k.balls {
		if b := &k.balls[i]; b.mode == free {
			s.y[b.at], s.y[b.at+1] = s.z[i], s.w[i]
		}
	}
	for i, c := range k.totals {
		s.y[k.lay.totals+i] = s.sums[c.slot]
	}
}

// leave unpacks the state reached at time t.
func (s *sim) leave(t float64) {
	k := s.k
	s.t = t
	copy(s.content, s.y)
	s.x, s.v = k.position(t, s.y)
	for i := range k.balls {
		if b := &k.balls[i]; b.mode == free {
			s.z[i], s.w[i] = s.y[b.at], s.y[b.at+1]
		}
	}
	for i, c := range k.totals {
		s.sums[c.slot] = s.y[k.lay.totals+i]
	}
}

// intakeOn says whether anything can pass to or from the suction.
func (s *sim) intakeOn() bool {
	suction := s.k.suctionNode()
	for i := range s.k.balls {
		if b := &s.k.balls[i]; b.mode != seated && (b.from == suction || b.to == suction) {
			return true
		}
	}
	for _, i := range s.k.active {
		if b := &s.k.branches[i]; b.from == suction || b.to == suction {
			return true
		}
	}
	return false
}

// solver returns the solver of the present mode.
func (s *sim) solver() (*ode.Solver, error) {
	k := s.k
	key := modeKey{rod: k.rod, steady: k.rod != driven && k.push.rate == 0, watches: len(k.watches)}
	for i := range k.balls {
		if k.balls[i].mode == free {
			key.free |= 1 << i
		}
	}
	for _, c := range k.totals {
		key.slots |= 1 << c.slot
	}
	if sol := s.solvers[key]; sol != nil {
		return sol, nil
	}
	sol, err := ode.New(k, ode.Options{RelTol: noRelTol, AbsTol: s.tol.of(s), Autonomous: key.steady,
		Progress: s.s.Progress, MaxSteps: 50_000_000, FirstStep: firstStep, Method: ode.Rodas4, EventSamples: onlyEnds})
	if err == nil {
		s.solvers[key] = sol
	}
	return sol, err
}

// tolerance holds the tolerance of each quantity. All are absolute: a ball weighs on its seat like some hundred pascal, a
// line holds twenty megapascal, so an error relative to the state would be far too coarse for the one or too fine for the
// other.
type tolerance struct {
	content, z     []float64
	x, v, w, total float64
}

// Sizes that a relative tolerance of one stands for.
const (
	sizePressure = 1e7 // Pa
	sizeSpeed    = 0.1 // m/s, of the rod
	sizeBall     = 1.0 // m/s
	noRelTol     = 1e-14
	shareWeight  = 0.1 // the pressure error stays below this share of what a ball weighs on its seat, at any tolerance
)

// onlyEnds lets the search for events look at the ends of steps only: inside a step that jumps over a fast motion the
// interpolated pressure can stray far enough to unseat a ball that stays where it is.
const onlyEnds = -1

// firstStep [s] is tried after each change of mode: of the order of the time in which the pressure of a chamber follows a
// ball. Chosen by measurement; the solver's own guess costs a fifth more steps.
const firstStep = 1e-6

func newTolerance(s *sim) tolerance {
	rel, p := s.s.RelTol, s.s.Pump
	t := tolerance{x: rel * p.Stroke, v: rel * sizeSpeed, w: rel * sizeBall, total: rel * s.sizeTotal()}
	for j := range s.k.nodes {
		t.content = append(t.content, min(rel, s.mostPressure())*s.sizeContent(j))
	}
	for _, b := range s.k.balls {
		t.z = append(t.z, rel*b.lift)
	}
	return t
}

// sizeContent is what a node takes in under sizePressure, sizeTotal the volume of a stroke.
func (s *sim) sizeContent(j int) float64 {
	nd := &s.k.nodes[j]
	return sizePressure * ((nd.volume+nd.area*s.s.Pump.Stroke/2)*s.k.soft + nd.stretch)
}

func (s *sim) sizeTotal() float64 {
	p := s.s.Pump
	return p.Stroke * math.Pi / 4 * p.Bore * p.Bore
}

// mostPressure is the largest tolerance of a pressure, relative to sizePressure.
func (s *sim) mostPressure() float64 {
	most := math.Inf(1)
	for _, b := range s.k.balls {
		most = min(most, shareWeight*b.heavy*gravity/b.seat/sizePressure)
	}
	return most
}

// of lists the tolerances of the present state.
func (t *tolerance) of(s *sim) []float64 {
	k := s.k
	tol := append([]float64(nil), t.content...)
	if k.lay.x >= 0 {
		tol = append(tol, t.x)
	}
	if k.lay.v >= 0 {
		tol = append(tol, t.v)
	}
	for i := range k.balls {
		if k.balls[i].mode == free {
			tol = append(tol, t.z[i], t.w)
		}
	}
	for range k.totals {
		tol = append(tol, t.total)
	}
	return tol
}
