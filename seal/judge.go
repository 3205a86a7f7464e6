package seal

import "github.com/evenstroke/evenstroke/num"

// State sums up a stack under a duty.
type State string

// States, worst first.
const (
	Reversed  State = "reversed"  // every lip faces away from the pressure
	Beyond    State = "beyond"    // the pressure is more than the material of the rings stands
	Loose     State = "loose"     // holds with less than MarginWanted, or not at all
	Overtight State = "overtight" // a ring beyond its limit, or Drag.Wear above WearWanted
	Sound     State = "sound"
)

// Limits that the state is judged by. Both are assumed.
const (
	MarginWanted = 1.1 // capacity over pressure
	WearWanted   = 3.0 // drag over the drag of the same stack tightened until it just seals
)

func (s Stack) judge(a Analysis) State {
	toward, away := false, false
	use, strength := 0.0, 0.0
	for i, r := range s.Rings {
		toward, away = toward || a.Rings[i].Toward, away || a.Rings[i].Away
		use = max(use, a.Rings[i].Use)
		if r.Kind == VRing {
			strength = max(strength, r.strength())
		}
	}
	switch {
	case away && !toward:
		return Reversed
	case a.Pressure > strength:
		return Beyond
	case !a.Holds || a.Pressure > 0 && a.Margin < MarginWanted:
		return Loose
	case use > 1 || a.Drag.Wear > WearWanted:
		return Overtight
	}
	return Sound
}

// Drag is the friction of a stack on the surface that slides past it.
type Drag struct {
	Up, Down         float64 // N, while the rod (with its piston) moves up, down
	HeatUp, HeatDown float64 // W, at the speed of the duty
	Wear             float64 // drag over the drag that would just seal, mean of both strokes; 0 without pressure or motion
}

// drag works out both strokes under the pressures of the duty. A wall that slides away from the nut drags the packing
// along and raises the stress with depth, one that slides toward it lowers it further; the load at the nut is taken to stay.
func (s Stack) drag(a Analysis, u Duty) Drag {
	if s.Slides == Static {
		return Drag{}
	}
	up, upLips := s.stroke(a, u.Load, true)
	down, downLips := s.stroke(a, u.Load, false)
	d := Drag{Up: up + upLips, Down: down + downLips}
	d.HeatUp, d.HeatDown = d.Up*u.Speed, d.Down*u.Speed
	if a.Pressure == 0 {
		return d
	}
	need := 0.0 // share of the preload that would just seal
	if most := s.mostHeld(a); most > 0 {
		need = a.Pressure / most
	}
	if least := need*(up+down) + upLips + downLips; least > 0 {
		d.Wear = (d.Up + d.Down) / least
	}
	return d
}

// stroke returns the drag of one stroke that comes from the preload, and what the pressure on the lips adds to it.
func (s Stack) stroke(a Analysis, load float64, rodUp bool) (preload, lips float64) {
	surfaceUp := rodUp == (s.Slides == Rod) // the bore moves against the piston
	walls := rest
	if awayFromNut := surfaceUp == s.NutBelow; awayFromNut && s.Slides == Rod {
		walls.inner = -1
	} else if awayFromNut {
		walls.outer = -1
	}
	states, _ := s.tighten(load, walls)
	for i, r := range s.Rings {
		w, diameter := r.Inner, r.ID
		if s.Slides == Bore {
			w, diameter = r.Outer, r.OD
		}
		q := w.K * states[i].Mean
		preload += r.rub(w, diameter, q)
		lips += r.rub(w, diameter, max(r.share(w, a.From)*a.Rings[i].Pressure, -q)) // a lip folded in takes at most q away
	}
	return preload, lips
}

// mostHeld is the capacity of the stack without regard to the limits of its materials.
func (s Stack) mostHeld(a Analysis) float64 {
	most := 0.0
	for i, r := range s.Rings {
		if r.Kind == VRing {
			mean := a.Rings[i].Mean
			most = max(most, min(hold(r.Inner.K*mean, r.share(r.Inner, a.From)), hold(r.Outer.K*mean, r.share(r.Outer, a.From))))
		}
	}
	return most
}

// Extrusion is the gap behind the stack against the O-ring table, the only published one that was found.
type Extrusion struct {
	Allowed float64 // m, diametral; 0 when the table does not reach the pressure
	Covered bool    // the table reaches the pressure
	Backed  bool    // a gland or backup ring stands behind the last v-ring on the low-pressure side
	Exceeds bool    // Clearance is larger than Allowed and the stack is not backed
}

func (s Stack) extrusion(a Analysis) (Extrusion, error) {
	var e Extrusion
	if s.Clearance == 0 || a.Pressure == 0 {
		return e, nil
	}
	for _, i := range s.order(a.From == Down) { // from the low-pressure side
		k := s.Rings[i].Kind
		if k == VRing {
			break
		}
		e.Backed = e.Backed || k == FemaleGland || k == MaleGland || k == Backup
	}
	shore := s.Shore
	if shore == 0 {
		shore = 90
	}
	if a.Pressure > extrusionTop {
		return e, num.CheckRange("seal.Stack", "Shore A", shore, 70, 100, "1")
	}
	var err error
	e.Allowed, err = ExtrusionGap(shore, a.Pressure)
	e.Covered = err == nil
	e.Exceeds = s.Clearance > e.Allowed && !e.Backed
	return e, err
}
