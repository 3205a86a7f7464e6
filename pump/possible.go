package pump

import (
	"math"

	"github.com/evenstroke/evenstroke/unit"
)

// Bounds of what can be at all. A sheet beyond one is refused; within, what can hardly be is doubted, see plausible.
const (
	wildRating = 2.0 // rating over the highest pressure that the drive reaches
	wildBall   = 1.5 // ball over bore, of a valve beside the piston
	wildDead   = 50  // dead volume over the volume that the piston sweeps
)

// possible refuses what cannot be, whatever the pump is like.
func (r *reader) possible() {
	p := r.p
	limits := r.at[item{"limits", 0}]
	if top := p.drivenTo(); top > 0 && p.Limits.Rated > wildRating*top {
		limits.Fail("rated", "a rating of "+show(p.Limits.Rated, unit.Pressure)+" and a drive that reaches "+show(top, unit.Pressure), "a rating near what the drive can do",
			"look at rated, then at the forces of the drive, bore and rod")
	}
	if quick := p.quickest(); p.Limits.StrokeTime < quick {
		limits.Fail("stroke_time", "a stroke of "+show(p.Limits.StrokeTime, unit.Time)+", shorter than the "+show(quick, unit.Time)+" of the drive without load",
			"the least time that a stroke may take with the gun shut", "stroke_time is the creep limit, not the speed of the pump")
	}
	for i, v := range p.Valves {
		at := r.at[item{"valve", i}]
		if v.OnPiston && v.Ball >= p.Bore || v.Ball > wildBall*p.Bore {
			at.Fail("ball", "a ball of "+show(v.Ball, unit.Length)+" in a bore of "+show(p.Bore, unit.Length), "a ball that goes into its chamber", "look at ball and bore, and at their units")
		}
		if v.Lift > v.Ball {
			at.Fail("lift", "a lift of "+show(v.Lift, unit.Length)+" for a ball of "+show(v.Ball, unit.Length), "a lift below the diameter of the ball", "the cage stops a ball after a part of its diameter")
		}
	}
	if p.Hose.Tip >= p.Hose.Bore {
		r.at[item{"hose", 0}].Fail("tip", "a tip of "+show(p.Hose.Tip, unit.Length)+" on a hose of "+show(p.Hose.Bore, unit.Length), "a tip narrower than the hose", "look at tip and bore, and at their units")
	}
	for i, c := range p.Chambers {
		if swept := math.Abs(p.Sweep(c)) * p.Stroke; c.Dead > wildDead*swept {
			r.at[item{"chamber", i}].Fail("dead_volume", "a dead volume of "+show(c.Dead, unit.Volume)+" for a stroke of "+show(swept, unit.Volume), "a few times the volume of a stroke at most", "look at the unit")
		}
	}
}

// drivenTo is the highest pressure [Pa] that the drive brings the line to: the higher stall, or the stop pressure.
func (p *Pump) drivenTo() float64 {
	if p.Drive.Kind == Crank {
		return p.Drive.Stop
	}
	m, top := p.Map(), 0.0
	for d, force := range map[Dir]float64{Up: p.Drive.ForceUp, Down: p.Drive.ForceDown} {
		if m.Creep[d] > 0 {
			top = math.Max(top, force/m.Creep[d])
		}
	}
	return top
}

// quickest is the time [s] of a stroke that the drive makes without load.
func (p *Pump) quickest() float64 {
	if p.Drive.Kind == Crank {
		return 1 / (2 * p.Drive.Speed)
	}
	return p.Stroke / p.Drive.FreeSpeed
}
