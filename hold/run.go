package hold

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/pump"
)

// cycle is what the lengths of the two strokes of a run depend on beside the leaks, for a force-held drive. Stroke d takes
//
//	t_d = (D_d ± C (p_u − p_d)) / (g_d + Q_d) ,  p_d ∝ F_d/A_d (1 − (g_d + Q_d)/(A_d v_f))
//
// with D what it displaces less what late balls and compression take, g the flow through the tip, and C (p_u − p_d) what the
// line, whose compliance is C, swings between the two pressures (− on the upstroke): it gives to the stroke of the lower
// pressure what it takes from the other. The pressures follow from the drive, whose force falls to zero at the free speed v_f.
type cycle struct {
	displace, area, push [2]float64 // m³, m², N by stroke
	free                 float64    // m/s
	tip                  float64    // m³/s, mean flow through the tip
	line                 float64    // m³, C times the mean pressure
	down                 []float64  // coefficients of the downstroke; those of the upstroke stand in observation.coef
}

// least is the share of its displacement that a stroke delivers at least, whatever the line takes up.
const least = 0.05

// flow weighs the leaks of the two strokes by the share of the cycle that each takes: a stroke that leaks is the shorter.
func (c *cycle) flow(up, down float64) float64 {
	rho := c.ratio(c.tip+up, c.tip+down)
	k := tipRatio(rho)
	swing := c.swing(rho)
	tu := math.Max(c.displace[0]-swing, least*c.displace[0]) / (2*c.tip*k/(1+k) + up)
	td := math.Max(c.displace[1]+swing, least*c.displace[1]) / (2*c.tip/(1+k) + down)
	return (tu*up + td*down) / (tu + td)
}

// ratio is p_u/p_d when the strokes displace the flows given.
func (c *cycle) ratio(up, down float64) float64 {
	droop := func(d int, flow float64) float64 {
		return c.push[d] / c.area[d] * math.Max(least, 1-flow/(c.area[d]*c.free))
	}
	return droop(0, up) / droop(1, down)
}

// swing is the volume C (p_u − p_d) at a ratio of the two pressures.
func (c *cycle) swing(rho float64) float64 { return 2 * c.line * (rho - 1) / (rho + 1) }

// tipRatio is the flow through the tip on an upstroke over that on a downstroke, for the ratio of the drive's pressures: 1 where
// the line smooths them, the root of the ratio where it does not, here their mean.
func tipRatio(rho float64) float64 { return (1 + math.Sqrt(rho)) / 2 }

// run: what a cycle loses, and the unevenness of the two strokes.
//
//	caught:  s A_u + s A_d − s Σ_d ℓ_d W_d − V/N = Q_u t_u + Q_d t_d
//	timed:   (s A_u − s ℓ_u W_u − S)/t_u − κ (s A_d − s ℓ_d W_d + S)/t_d = Q_u − κ Q_d
//
// κ = g_u/g_d through the tip and the swing of the line S = C (p_u − p_d) follow from the pressures of the drive (see cycle).
// W_d is the area of the chambers that stroke d brings under pressure and ℓ_d the share of the stroke that compression and a
// late ball take; where it brings none, the late ball of the valve on the piston takes a smaller share of A_d. When the
// strokes were not timed, those of a force-held drive follow from the leaks (see cycle), a crank takes half of the cycle each.
func (b *bench) run(r Reading) []observation {
	var out []observation
	timed := !math.IsNaN(r.UpTime) && !math.IsNaN(r.DownTime)
	if !math.IsNaN(r.Volume) {
		out = append(out, b.runCaught(r, timed))
	}
	if timed {
		out = append(out, b.runTimed(r))
	}
	if timed && !math.IsNaN(r.Time) { // the strokes must add up to the whole time, or one of the three is wrong
		n := float64(r.Count)
		sd := math.Sqrt(sq(r.UTime)*(1+2*n) + sq(0.02*r.Time))
		out = append(out, observation{kind: obsGauss, y: r.Time - n*(r.UpTime+r.DownTime), c0: sq(sd), bad: 1 / (2 * r.Time)})
	}
	return out
}

func (b *bench) runCaught(r Reading, timed bool) observation {
	lostU, sdU := b.lateLoss(pump.Up)
	lostD, sdD := b.lateLoss(pump.Down)
	up, down := b.onStroke(pump.Up), b.onStroke(pump.Down)
	n := float64(r.Count)
	whole, shareUp := r.Time/n, 0.5
	if timed {
		shareUp = r.UpTime / (r.UpTime + r.DownTime)
	}
	y := (b.full[0] + b.full[1] - lostU - lostD - r.Volume/n) / whole
	sd := math.Sqrt(sq(sdU)+sq(sdD)+sq(r.UVolume/n)+sq(r.UTime/r.Time*r.Volume/n)) / whole
	o := b.runFlow(r, y, sd, func(j int) float64 { return shareUp*up(j) + (1-shareUp)*down(j) })
	if !timed && b.p.Drive.Kind == pump.ForceHeld {
		o.cycle = b.newCycle(r)
		o.cycle.tip = r.Volume / r.Time
		o.cycle.displace = [2]float64{b.full[0] - lostU, b.full[1] - lostD}
		o.cycle.down = b.coefficients(r, r.Pressure, down)
		o.coef = b.coefficients(r, r.Pressure, up)
		o.tau = 0.5 // the even split that proposes is only a guess
	}
	return o
}

func (b *bench) newCycle(r Reading) *cycle {
	d := b.p.Drive
	return &cycle{
		area: [2]float64{b.m.Creep[pump.Up], b.m.Creep[pump.Down]}, push: [2]float64{d.ForceUp, d.ForceDown}, free: d.FreeSpeed,
		line: b.net.compliance(0, r.Pressure) * r.Pressure,
	}
}

func (b *bench) runTimed(r Reading) observation {
	lostU, sdU := b.lateLoss(pump.Up)
	lostD, sdD := b.lateLoss(pump.Down)
	up, down := b.onStroke(pump.Up), b.onStroke(pump.Down)
	k, sdK, swing := 1.0, 0.02, 0.0
	if b.p.Drive.Kind == pump.ForceHeld {
		c := b.newCycle(r)
		rho := c.ratio((b.full[0]-lostU)/r.UpTime, (b.full[1]-lostD)/r.DownTime)
		k, sdK, swing = tipRatio(rho), 0.01+math.Abs(math.Sqrt(rho)-1)/3, c.swing(rho)
	}
	a, c := (b.full[0]-lostU-swing)/r.UpTime, (b.full[1]-lostD+swing)/r.DownTime
	sdS := lineSpread * swing * (1/r.UpTime + k/r.DownTime)
	sd := math.Sqrt(sq(a*r.UTime/r.UpTime) + sq(k*c*r.UTime/r.DownTime) + sq(sdU/r.UpTime) + sq(k*sdD/r.DownTime) + sq(sdK*c) + sq(sdS))
	return b.runFlow(r, a-k*c, sd, func(j int) float64 { return up(j) - k*down(j) })
}

func (b *bench) runFlow(r Reading, y, sd float64, share func(int) float64) observation {
	o := observation{
		kind: obsGauss, y: y, c0: sq(sd), c1: sq(2 * b.prior.Model),
		coef: b.coefficients(r, r.Pressure, share),
		bad:  1 / ((math.Abs(y) + sd) * 2 * decades),
	}
	o.guess, o.guessY, o.tau = o.coef, y, 0.05
	return o
}

// lateLoss is the volume [m³] that a stroke loses to compression and a late ball, with its standard deviation.
func (b *bench) lateLoss(d pump.Dir) (lost, sd float64) {
	var w float64
	for _, c := range b.p.Chambers {
		if b.m.Pressed[d][c.Name] && !b.m.Pressed[-d][c.Name] {
			w += math.Abs(b.p.Sweep(c))
		}
	}
	if w > 0 {
		return ballLate * b.p.Stroke * w, ballLateSD * b.p.Stroke * w
	}
	v := b.p.Stroke * b.m.Creep[d]
	return pistonLate * v, pistonLateSD * v
}

// runLoss is the share of what a cycle displaces that compression and late balls take, with its standard deviation.
func (b *bench) runLoss() (share, sd float64) {
	up, sdUp := b.lateLoss(pump.Up)
	down, sdDown := b.lateLoss(pump.Down)
	whole := b.full[0] + b.full[1]
	return (up + down) / whole, math.Hypot(sdUp, sdDown) / whole
}

func (b *bench) hasRun() bool {
	return slices.ContainsFunc(b.sheet.Readings, func(r Reading) bool { return r.Kind == Run })
}

// runs are the volumes caught of what the strokes displace.
func (b *bench) runs() []RunShare {
	var out []RunShare
	loss, sd := b.runLoss()
	for i, r := range b.sheet.Readings {
		if r.Kind != Run || math.IsNaN(r.Volume) {
			continue
		}
		displaced := float64(r.Count) * (b.full[0] + b.full[1])
		out = append(out, RunShare{Reading: i + 1, Cycles: r.Count, ML: r.Volume * mL, DisplacedML: displaced * mL, Efficiency: r.Volume / displaced, SD: r.UVolume / displaced, AssumedLoss: loss, LossSD: sd})
	}
	return out
}
