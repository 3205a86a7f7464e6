package stroke

import "github.com/evenstroke/evenstroke/ode"

// watchKind says what a switching function looks for.
type watchKind uint8

const (
	rodTop     watchKind = iota // x reaches the stroke
	rodBottom                   // x reaches 0
	rodLeaves                   // the force on a rod at a stop turns away from it
	motorStop                   // line pressure rises to Drive.Stop
	motorStart                  // line pressure falls to Drive.Restart
	ballLands                   // z falls to 0
	ballTops                    // z rises to the lift
	ballLifts                   // the force on a seated ball turns up
	ballDrops                   // the force on a ball at its stop turns down
)

// watch is one switching function of the present mode.
type watch struct {
	kind  watchKind
	ball  int
	level float64
	dir   int // direction of the passage that counts
}

// past is how far beyond a stop, relative to its travel, a part is taken to have met it: so that a part which starts at a
// stop is clearly on this side of it. It is put back without loss of fluid, see sim.place.
const past = 1e-8

// watchAll lists what can happen in the present mode.
func (k *kernel) watchAll(stroke, stop, restart float64) {
	k.watches = k.watches[:0]
	add := func(w watch) { k.watches = append(k.watches, w) }
	switch k.rod {
	case pushed:
		add(watch{kind: rodTop, level: stroke * (1 + past), dir: 1})
		add(watch{kind: rodBottom, level: -stroke * past, dir: -1})
	case atTop:
		add(watch{kind: rodLeaves, dir: -1})
	case atBottom:
		add(watch{kind: rodLeaves, dir: 1})
	}
	if stop > 0 {
		add(watch{kind: motorStop, level: stop, dir: 1})
	}
	if restart > 0 {
		add(watch{kind: motorStart, level: restart, dir: -1})
	}
	for i := range k.balls {
		switch b := &k.balls[i]; b.mode {
		case seated:
			add(watch{kind: ballLifts, ball: i, dir: 1})
		case free:
			add(watch{kind: ballLands, ball: i, level: -b.lift * past, dir: -1})
			add(watch{kind: ballTops, ball: i, level: b.lift * (1 + past), dir: 1})
		case stopped:
			add(watch{kind: ballDrops, ball: i, dir: -1})
		}
	}
}

// NumEvents returns the number of switching functions of the present mode.
func (k *kernel) NumEvents() int { return len(k.watches) }

// Direction returns the direction of the passage that counts.
func (k *kernel) Direction(i int) int { return k.watches[i].dir }

// Events sets the switching functions.
func (k *kernel) Events(t float64, y, g []float64) {
	x, v := k.position(t, y)
	k.pressures(y, x)
	a := k.frame(t, v)
	for i, w := range k.watches {
		switch w.kind {
		case rodTop, rodBottom:
			g[i] = x - w.level
		case rodLeaves:
			g[i] = k.thrust(t)
		case motorStop, motorStart:
			g[i] = k.p[0] - w.level
		case ballLands, ballTops:
			g[i] = y[k.balls[w.ball].at] - w.level
		case ballLifts, ballDrops:
			b := &k.balls[w.ball]
			g[i] = b.force(k.p[b.from]-k.p[b.to], a)
		}
	}
}

// frame returns the acceleration of the piston at the present pressures.
func (k *kernel) frame(t, v float64) float64 {
	switch k.rod {
	case pushed:
		return k.acceleration(t, v)
	case driven:
		_, a, _ := k.crank.motion(t)
		return a
	}
	return 0
}

// Handle notes what happened; the run stops there and the simulation changes the mode.
func (k *kernel) Handle(i int, _ float64, _ []float64) ode.Action {
	k.fired = append(k.fired, k.watches[i])
	return ode.Stop
}
