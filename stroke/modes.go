package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/pump"
)

// drive is the state of the motor.
type drive struct {
	kind     pump.DriveKind
	held     bool     // a locked hold: the motor is off
	dir      pump.Dir // of the stroke
	changing bool     // force-held: the motor changes over, until until
	until    float64
	phase    phase // crank
	next     float64
	turns    float64 // crank: dead centres passed, angle of the next is (turns+1)·π
	p        *pump.Pump
}

// phase of a crank motor.
type phase uint8

const (
	off phase = iota // stands, waits for the restart pressure
	starting
	running
	stopping
)

// crankRamp [s] is the time that a crank motor takes to reach its speed or to stop. Assumption: no published source.
const crankRamp = 0.15

// stopAt and startAt return the pressures at which the motor switches in its present phase, 0 for none.
func (d *drive) stopAt() float64 {
	if d.kind == pump.Crank && !d.held && (d.phase == starting || d.phase == running) {
		return d.p.Drive.Stop
	}
	return 0
}

func (d *drive) startAt() float64 {
	if d.kind == pump.Crank && !d.held && d.phase == off {
		return d.p.Drive.Restart
	}
	return 0
}

func forceOf(d pump.Drive, dir pump.Dir) float64 {
	if dir == pump.Up {
		return d.ForceUp
	}
	return d.ForceDown
}

// startDrive puts rod and motor into their first mode.
func (s *sim) startDrive() {
	p := s.s.Pump
	s.drive = drive{kind: p.Drive.Kind, held: s.s.Mode == LockedHold, dir: s.s.Start, until: math.Inf(1), next: math.Inf(1), p: p}
	d := &s.drive
	switch {
	case d.held:
		s.k.rod = locked
	case d.kind == pump.Crank:
		angle := math.Acos(1 - 2*s.x/p.Stroke)
		if d.dir == pump.Down {
			angle = 2*math.Pi - angle
		}
		d.turns = math.Floor(angle / math.Pi * (1 + 1e-15))
		s.k.crank = crank{angle: angle, half: p.Stroke / 2}
		s.turn(starting)
	default:
		s.setPush()
		s.k.rod = pushed
		switch {
		case s.x >= p.Stroke:
			s.arrive(pump.Up)
		case s.x <= 0:
			s.arrive(pump.Down)
		}
	}
}

// setPush lets the motor push with full force in its direction.
func (s *sim) setPush() {
	d := s.s.Pump.Drive
	f := forceOf(d, s.drive.dir)
	s.k.push = push{start: s.t, from: float64(s.drive.dir) * f, damping: f / d.FreeSpeed}
}

// arrive stops the rod at the end of the stroke in direction end; a motor that pushes that way changes over.
func (s *sim) arrive(end pump.Dir) {
	s.k.rod = atTop
	s.placeRod(s.s.Pump.Stroke)
	if end == pump.Down {
		s.k.rod = atBottom
		s.placeRod(0)
	}
	if s.drive.dir != end || s.drive.changing {
		return
	}
	d := s.s.Pump.Drive
	s.rec.endStroke(s)
	s.drive.dir = -end
	if d.Changeover == 0 {
		s.setPush()
		return
	}
	s.drive.changing, s.drive.until = true, s.t+d.Changeover
	from, to := float64(end)*forceOf(d, end), float64(-end)*forceOf(d, -end)
	s.k.push = push{start: s.t, from: from, rate: (to - from) / d.Changeover,
		damping: (d.ForceUp + d.ForceDown) / 2 / d.FreeSpeed}
}

// turn puts the crank motor into a phase, from the angle and speed it has now.
func (s *sim) turn(to phase) {
	d, c := &s.drive, &s.k.crank
	full := 2 * math.Pi * s.s.Pump.Drive.Speed
	angle, speed := c.at(s.t)
	*c = crank{start: s.t, angle: angle, speed: speed, half: c.half}
	d.phase, d.until = to, math.Inf(1)
	s.k.rod = driven
	switch to {
	case starting:
		c.accel = full / crankRamp
		d.until = s.t + (full-speed)/c.accel
	case stopping:
		c.accel = -full / crankRamp
		d.until = s.t + speed/-c.accel
	case running:
		c.speed = full
	case off:
		c.speed = 0
		s.k.rod, s.v = locked, 0
	}
	d.next = c.reaches((d.turns+1)*math.Pi, s.t)
}

// happen changes the mode after a switching function has passed through zero.
func (s *sim) happen(w watch) {
	b := &s.k.balls[w.ball]
	switch w.kind {
	case rodTop:
		s.arrive(pump.Up)
	case rodBottom:
		s.arrive(pump.Down)
	case rodLeaves:
		s.k.rod = pushed
	case motorStop:
		s.turn(stopping)
	case motorStart:
		s.turn(starting)
	case ballLands:
		if s.place(w.ball, 0) {
			b.mode = seated
			s.reseat(s.s.Pump.Valves[w.ball].Name)
		}
	case ballTops:
		if s.place(w.ball, b.lift) {
			b.mode = stopped
		}
	case ballLifts:
		b.mode, s.release[w.ball] = free, math.Inf(1)
	case ballDrops:
		s.drop(w.ball)
	}
}

// contact [s] is the least time for which a ball that has met seat or stop stays there: about the time of an elastic contact.
// Within it the pressures recover from the sudden stop of the volume that the ball pushed.
const contact = 20e-6

// slowBall [m/s] is the speed below which a ball does not rebound.
const slowBall = 0.01

// place puts a ball that has met seat or stop exactly there; what it displaces passes the valve. It reports whether the
// ball stays there, and otherwise turns its speed round.
func (s *sim) place(i int, z float64) bool {
	b := &s.k.balls[i]
	volume := b.seat * (z - s.z[i])
	s.z[i] = z
	if b.from < len(s.content) {
		s.content[b.from] -= volume
	} else if b.from == s.k.suctionNode() {
		s.sums[slotIntake] += volume
	}
	if b.to < len(s.content) {
		s.content[b.to] += volume
	} else if b.to == s.k.suctionNode() {
		s.sums[slotIntake] -= volume
	}
	s.w[i] *= -s.s.Rebound
	if math.Abs(s.w[i]) > slowBall {
		return false
	}
	s.w[i] = 0
	s.met[i] = s.t
	return true
}

// placeRod puts the rod exactly at its stop, at rest.
func (s *sim) placeRod(x float64) {
	for j := range s.content {
		s.content[j] -= s.k.nodes[j].area * (x - s.x)
	}
	s.x, s.v = x, 0
}

// drop lets a ball leave its stop, or makes it wait.
func (s *sim) drop(i int) {
	b := &s.k.balls[i]
	if b.late > 0 {
		b.mode, s.release[i] = stuck, s.t+b.late
		return
	}
	b.mode, s.release[i] = free, math.Inf(1)
}

// reseat draws anew the leaks that depend on how the ball of a valve has come to sit.
func (s *sim) reseat(valve string) {
	for _, sl := range s.slots {
		if sl.fault < 0 {
			continue
		}
		if f := &s.s.Faults[sl.fault]; f.Path == valve && f.Reseat > 0 {
			s.k.branches[sl.branch].shape.factor = math.Exp(f.Reseat * s.s.Rand.NormFloat64())
		}
	}
}

// nextTime returns when the present mode ends at the latest.
func (s *sim) nextTime() float64 {
	t := min(s.end, s.drive.until, s.drive.next)
	if s.tipNext < len(s.s.Tip) {
		t = min(t, s.s.Tip[s.tipNext].At)
	}
	for _, r := range s.release {
		t = min(t, r)
	}
	return max(t, s.t)
}

// clock does what is due at the present time.
func (s *sim) clock() {
	d := &s.drive
	if s.t >= d.next {
		d.turns++
		s.rec.endStroke(s)
		d.dir = -d.dir
		d.next = s.k.crank.reaches((d.turns+1)*math.Pi, s.t)
	}
	if s.t >= d.until {
		s.phaseEnds()
	}
	for s.tipNext < len(s.s.Tip) && s.t >= s.s.Tip[s.tipNext].At {
		s.setTip(s.s.Tip[s.tipNext].Open)
		s.tipNext++
	}
	for i, r := range s.release {
		if s.t >= r {
			s.release[i] = math.Inf(1)
			if b := &s.k.balls[i]; b.mode == stuck {
				b.mode = free
			}
		}
	}
}

func (s *sim) phaseEnds() {
	d := &s.drive
	d.until = math.Inf(1)
	switch {
	case d.kind == pump.ForceHeld:
		d.changing = false
		s.setPush()
	case d.phase == starting:
		s.turn(running)
	case d.phase == stopping:
		s.turn(off)
	}
}

// settle brings every part into a mode that fits the forces now: a change of one mode can unseat a ball or free the rod.
func (s *sim) settle() error {
	if err := s.guard.count(s.t); err != nil {
		return err
	}
	for range 2 + len(s.k.balls) {
		s.enter()
		k := s.k
		k.pressures(s.y, s.x)
		if k.rod == atTop && k.thrust(s.t) <= 0 || k.rod == atBottom && k.thrust(s.t) >= 0 {
			k.rod = pushed
			continue
		}
		if s.drive.startAt() > 0 && k.p[0] <= s.drive.startAt() {
			s.turn(starting)
			continue
		}
		if s.drive.stopAt() > 0 && k.p[0] >= s.drive.stopAt() {
			s.turn(stopping)
			continue
		}
		a := k.frame(s.t, s.v)
		changed := false
		for i := range k.balls {
			b := &k.balls[i]
			f := b.force(k.p[b.from]-k.p[b.to], a)
			if !(b.mode == seated && f > 0 || b.mode == stopped && f < 0) {
				continue
			}
			switch {
			case s.t < s.met[i]+contact:
				s.release[i] = s.met[i] + contact
			case b.mode == seated:
				b.mode, changed = free, true
			default:
				s.drop(i)
				changed = true
			}
		}
		if !changed {
			return nil
		}
	}
	return nil
}

// guard notices when modes change without time going on.
type guard struct {
	last  float64
	times int
}

func (g *guard) count(t float64) error {
	const most, within = 500, 1e-9
	if t-g.last > within {
		g.last, g.times = t, 0
	}
	if g.times++; g.times > most {
		return &ode.ZenoError{T: t, Count: g.times, Within: within}
	}
	return nil
}
