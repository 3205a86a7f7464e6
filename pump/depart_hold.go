package pump

import (
	"math"

	"github.com/evenstroke/evenstroke/unit"
)

// stiffness of the liquid [Pa] in the estimate of a locked hold: between water (2.2 GPa, IAPWS) and oils (1.7 GPa, handbooks).
const liquidBulk = 2e9

// hold checks the hold test: done, long enough, under enough pressure. With several holds the longest that reached the pressure
// counts.
func (a *audit) hold() {
	l := a.p.Limits
	d := Departure{Step: "hold", Why: "A rebuild is proven under pressure, not by its parts.", Want: "{pressure} for {time}",
		Quantities: map[string]Quantity{"pressure": {SI: l.Hold, Dim: unit.Pressure}, "time": {SI: l.HoldFor, Dim: unit.Time}}}
	var best *Done
	for i, done := range a.b.Done {
		if done.Step == "hold" && (best == nil || a.better(done, *best)) {
			best = &a.b.Done[i]
		}
	}
	switch {
	case best == nil:
		d.Kind, d.Found = HoldNotDone, "no hold"
		d.NoFigure = "nothing is proven: the leak may be anything"
		a.add(d)
		return
	case best.Held == 0 || best.Pressure == 0:
		d.Kind, d.Found = HoldNotRecorded, "a hold without its pressure or its time"
		d.NoFigure = "without both the hold proves nothing that can be counted"
		a.add(d)
		return
	}
	d.Quantities["was"] = Quantity{SI: best.Pressure, Dim: unit.Pressure}
	d.Quantities["held"] = Quantity{SI: best.Held, Dim: unit.Time}
	d.Found = "{was} for {held}"
	if best.Pressure < l.Hold*(1-1e-9) {
		low := d
		low.Kind, low.Figures = HoldLow, a.lowFigures(best.Pressure)
		a.add(low)
	}
	if best.Held < l.HoldFor {
		d.Kind, d.Figures = HoldShort, a.shortFigures(best.Held)
		a.add(d)
	}
}

func (a *audit) better(x, y Done) bool {
	rx, ry := x.Pressure >= a.p.Limits.Hold, y.Pressure >= a.p.Limits.Hold
	if rx != ry {
		return rx
	}
	return x.Held > y.Held
}

// lowFigures says how much more a leak runs at rated pressure than at the pressure of the hold: as the pressure for a laminar
// gap, as its root for an orifice.
func (a *audit) lowFigures(pressure float64) []Figure {
	r := a.p.Limits.Rated / pressure
	return []Figure{
		{What: "factor by which a leak runs faster at rated pressure, at least", SI: math.Sqrt(r), Dim: unit.Ratio, Assumes: "an orifice"},
		{What: "factor by which a leak runs faster at rated pressure, at most", SI: r, Dim: unit.Ratio, Assumes: "a laminar gap that the pressure does not widen"},
	}
}

// shortFigures says which leak a hold of this length could miss.
//
// Force-held: a hold without a changeover proves no more than that one stroke took longer than the hold, Q <= A·s/T. Crank: a
// hold without a restart proves that the line lost less than its dead band, Q <= (C + V/K)·(p_stop − p_restart)/T with the hose's
// expansion C, the liquid V behind the line and its bulk modulus K.
func (a *audit) shortFigures(held float64) []Figure {
	p, m := a.p, a.p.Map()
	var out []Figure
	for _, d := range Dirs {
		if m.Creep[d] <= 0 { // an idle stroke
			continue
		}
		allowed := Figure{What: "leak that the limit allows on the " + d.String() + "stroke", SI: m.Creep[d] * p.Stroke / p.Limits.StrokeTime, Dim: unit.Flow}
		if p.Drive.Kind == ForceHeld {
			out = append(out, Figure{What: "leak that this hold could miss on the " + d.String() + "stroke", SI: m.Creep[d] * p.Stroke / held, Dim: unit.Flow,
				Assumes: "no changeover and no mark on the rod"}, allowed)
		} else if d == Up {
			soft := p.Hose.Expansion + p.lineVolume()/liquidBulk
			out = append(out, Figure{What: "leak that this hold could miss", SI: soft * (p.Drive.Stop - p.Drive.Restart) / held, Dim: unit.Flow,
				Assumes: "the drive did not restart; liquid of 2 GPa without air; leaks into a closed chamber stay hidden"}, allowed)
		}
	}
	if p.Drive.Kind == ForceHeld {
		out = append(out, Figure{What: "travel of the rod in this time at the limit", SI: p.Stroke * held / p.Limits.StrokeTime, Dim: unit.Length, Assumes: "a mark on the rod would have shown it"})
	}
	return out
}

// lineVolume returns the volume [m³] of liquid that stands under the pressure of the line at mid stroke.
func (p *Pump) lineVolume() float64 {
	v := math.Pi/4*p.Hose.Bore*p.Hose.Bore*p.Hose.Length + p.Hose.Fittings
	for _, c := range p.Chambers {
		if c.OpenTo == Line {
			v += p.Volume(c, p.Stroke/2)
		}
	}
	return v
}
