package hold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
)

// Check is a check that could be made now, with what it is expected to settle.
type Check struct {
	Do      string   `json:"do"`
	Settles string   `json:"settles"`
	Bits    float64  `json:"bits"`    // expected fall in entropy over fault sets and verdict
	Minutes float64  `json:"minutes"` // of work, a default
	Worth   float64  `json:"bits_per_minute"`
	Hazards []string `json:"hazards"`
	Reading Kind     `json:"reading"`          // that it gives
	Stroke  string   `json:"stroke,omitempty"` // on which it is made, "" for any
	Path    string   `json:"path,omitempty"`   // that is looked at, "" for none
}

// outcome fills the probability of each bin of a check's result for one draw.
type outcome func(d *draw, bins []float64)

type candidate struct {
	Check
	result outcome
}

const (
	bins      = 24
	leastBits = 0.03 // a check that settles less is not worth the walk to the gauge
)

// checks are the next checks, worked out once.
func (b *bench) checks(post *posterior) []Check {
	if b.next == nil {
		b.next = b.nextChecks(post)
	}
	return b.next
}

// nextChecks ranks the checks that could be made now by expected information per minute. The information is the mutual
// information of the outcome and (fault set, meets the limit), from equally weighted draws of the posterior.
func (b *bench) nextChecks(post *posterior) []Check {
	n := 240
	if len(post.draws) < 3000 { // a batch: as rough as the rest
		n = 140
	}
	rng := rand.New(rand.NewPCG(17, 19))
	draws := b.resample(post, n, rng)
	class, count := b.classes(draws)
	out := []Check{}
	for _, c := range b.candidates() {
		c.Bits = information(draws, class, count, c.result)
		if c.Bits < leastBits {
			continue
		}
		c.Worth = c.Bits / c.Minutes
		out = append(out, c.Check)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Worth > out[j].Worth })
	if len(out) > 6 {
		out = out[:6]
	}
	return out
}

// classes numbers the combinations of fault set and verdict that occur among the draws.
func (b *bench) classes(draws []*draw) (class []int, n int) {
	index := map[int]int{}
	class = make([]int, len(draws))
	for i, d := range draws {
		key := 2 * d.set
		if b.meets(d) {
			key++
		}
		if _, ok := index[key]; !ok {
			index[key] = len(index)
		}
		class[i] = index[key]
	}
	return class, len(index)
}

// information returns the mutual information I(class; outcome) in bits.
func information(draws []*draw, class []int, n int, f outcome) float64 {
	joint := make([]float64, n*bins)
	var row [bins]float64
	for i, d := range draws {
		row = [bins]float64{}
		f(d, row[:])
		for k, p := range row {
			joint[class[i]*bins+k] += p / float64(len(draws))
		}
	}
	var info float64
	var col [bins]float64
	for c := 0; c < n; c++ {
		for k := range col {
			col[k] += joint[c*bins+k]
		}
	}
	for c := 0; c < n; c++ {
		var pc float64
		for k := range col {
			pc += joint[c*bins+k]
		}
		for k, q := range col {
			if j := joint[c*bins+k]; j > 0 {
				info += j * math.Log2(j/(pc*q))
			}
		}
	}
	return info
}

// candidates lists the checks for this pump's drive.
func (b *bench) candidates() []candidate {
	var out []candidate
	if b.p.Drive.Kind == pump.ForceHeld {
		out = append(out, b.creepChecks()...)
	} else {
		out = append(out, b.lockedChecks()...)
	}
	out = append(out, b.visibleChecks()...)
	return append(out, b.runCheck())
}

func (b *bench) creepChecks() []candidate {
	var out []candidate
	p := b.p.Limits.Hold
	for _, d := range pump.Dirs {
		both := pump.Mind(pump.HazardFull, pump.HazardStall)
		at := len(out)
		out = append(out,
			candidate{Check{Do: fmt.Sprintf("Time the creep of a mark on the rod on the %sstroke at the hold pressure.", d),
				Settles: "what leaks on this stroke", Minutes: 1.5, Hazards: both}, b.creepOutcome(d, p, 1)},
			candidate{Check{Do: fmt.Sprintf("Time the creep of the %sstroke again at half the hold pressure.", d),
				Settles: "an open seat (flow falls to 0.7), wear (to a half) or too little preload (it grows)", Minutes: 3, Hazards: both}, b.ratioOutcome(d, p, 0.5, 1)},
			candidate{Check{Do: fmt.Sprintf("Time the creep of the %sstroke with the fluid 20 K warmer.", d),
				Settles: "a gap or a packing (flow follows the viscosity) from an open seat (it does not)", Minutes: 25, Hazards: append(pump.Mind(pump.HazardWarm), both...)}, b.ratioOutcome(d, p, 1, 0.65)},
			candidate{Check{Do: fmt.Sprintf("Let it change over once and time the creep of the %sstroke again.", d),
				Settles: "debris on a seat (changes at each reseat)", Minutes: 3, Hazards: both}, b.reseatOutcome(d, p)},
			candidate{Check{Do: fmt.Sprintf("Time the creep of the %sstroke near the end of the stroke and at its middle.", d),
				Settles: "a bore worn in the middle (creep varies along the stroke)", Minutes: 4, Hazards: both}, b.alongOutcome(d, p)},
		)
		for i := range out[at:] {
			out[at+i].Reading, out[at+i].Stroke = Creep, d.String()
		}
	}
	return out
}

// flowAt returns the flow [m³/s] of a draw that a reading of stroke d sees at pressure p and viscosity ratio m.
func (b *bench) flowAt(d *draw, dir pump.Dir, p, m, at float64) (flow, debris float64) {
	return b.strokeFlow(d, strokeIndex(dir), func(j, a int) float64 {
		v := b.vars[j][d.v[a]]
		f := d.q[a] * v.form.flow(p/b.p.Limits.Rated, m)
		if v.mid && at >= 0 {
			f *= midWear(at)
		}
		return f
	})
}

// creepError is the standard deviation of a flow timed at a stall in at most one minute.
func (b *bench) creepError(flow, area float64) float64 {
	t := math.Min(60, 0.5*b.p.Stroke*area/math.Max(flow, 1e-12))
	t = math.Max(t, 0.5)
	return math.Sqrt(sq(area*b.sheet.Ruler/t) + sq(b.drift) + sq(flow*b.sheet.Stop/t) + sq(flow*b.prior.Model))
}

// scaled spreads a Gaussian result over bins that are even in asinh(y/y0).
func scaled(mean, sd, y0, top float64, out []float64) {
	z := math.Asinh(mean / y0)
	s := sd / math.Sqrt(mean*mean+y0*y0)
	spread(z, s, -1, math.Asinh(top/y0), out)
}

// spread adds the probability of a Gaussian to even bins from lo to hi, the tails to the outer ones.
func spread(mean, sd, lo, hi float64, out []float64) {
	prev := 0.0
	for k := range out {
		next := 1.0
		if k < len(out)-1 {
			z := (mean - lo - (hi-lo)*float64(k+1)/float64(len(out))) / sd
			switch {
			case z > 6:
				continue // nothing lies below this edge
			case z > -6:
				next = 0.5 * math.Erfc(z/math.Sqrt2)
			}
		}
		out[k] += next - prev
		if prev = next; next == 1 {
			return
		}
	}
}

func (b *bench) creepOutcome(dir pump.Dir, p, m float64) outcome {
	area := b.m.Creep[dir]
	return func(d *draw, out []float64) {
		f, _ := b.flowAt(d, dir, p, m, -1)
		scaled(f, b.creepError(f, area), 0.05*b.limit, 100*b.limit, out)
	}
}

// ratioOutcome is the flow at a share of the pressure and a viscosity ratio over the flow at the hold pressure.
func (b *bench) ratioOutcome(dir pump.Dir, p, share, m float64) outcome {
	area := b.m.Creep[dir]
	return func(d *draw, out []float64) {
		f0, _ := b.flowAt(d, dir, p, 1, -1)
		f1, _ := b.flowAt(d, dir, share*p, m, -1)
		sd := math.Hypot(b.creepError(f0, area)/f0, b.creepError(f1, area)/f1)
		spread(math.Log(f1/f0), math.Min(sd, 5), -2, 1.5, out)
	}
}

func (b *bench) reseatOutcome(dir pump.Dir, p float64) outcome {
	area := b.m.Creep[dir]
	return func(d *draw, out []float64) {
		f, debris := b.flowAt(d, dir, p, 1, -1)
		sd := math.Sqrt2 * math.Hypot(b.creepError(f, area)/f, reseatSpread*debris/f)
		spread(0, math.Min(sd, 5), -2, 2, out)
	}
}

func (b *bench) alongOutcome(dir pump.Dir, p float64) outcome {
	area := b.m.Creep[dir]
	return func(d *draw, out []float64) {
		end, _ := b.flowAt(d, dir, p, 1, 0.05)
		mid, _ := b.flowAt(d, dir, p, 1, 0.5)
		sd := 2 * math.Hypot(b.creepError(end, area)/end, b.creepError(mid, area)/mid)
		spread(math.Log(mid/end), math.Min(sd, 5), -1, 2, out)
	}
}

func (b *bench) visibleChecks() []candidate {
	var out []candidate
	for j, q := range b.paths {
		if !q.Visible {
			continue
		}
		do, minutes, reading := fmt.Sprintf("Look at the %s for a minute at the hold pressure and count the drops.", q.Name), 1.5, Drips
		if q.Kind == pump.PathDrain {
			do, reading = "Hang the end of the return tube in a measure before the pressure is raised, and read it after a minute at the hold pressure.", Caught
		}
		if q.Kind == pump.PathFitting {
			do, minutes = "Look over fittings, hose and gun for a minute at the hold pressure, from a distance.", 1
		}
		out = append(out, candidate{Check{Do: do, Settles: "whether the " + q.Name + " leaks", Minutes: minutes, Hazards: pump.Mind(pump.HazardFull), Reading: reading, Path: q.Name}, b.visibleOutcome(j)})
	}
	return out
}

func (b *bench) visibleOutcome(j int) outcome {
	p := b.p.Limits.Hold / b.p.Limits.Rated
	return func(d *draw, out []float64) {
		f := b.sound[j].median
		for a, i := range b.sets[d.set].paths {
			if int(i) == j {
				f = d.q[a] * b.vars[j][d.v[a]].form.flow(p, 1)
			}
		}
		drops := f * 60 / defaultDrop
		scaled(drops, math.Sqrt(drops+sq(dropSpread*drops)+0.25), 2, 1e4, out)
	}
}

func (b *bench) lockedChecks() []candidate {
	var out []candidate
	add := func(do, settles string, stroke pump.Dir, vented bool, minutes float64, hazards ...pump.Hazard) {
		r := Reading{Kind: Locked, Stroke: stroke, Vented: vented}
		end := 60.0
		h := b.net.prepare(r, []Point{{0, b.p.Limits.Hold}, {end / 4, 0.9 * b.p.Limits.Hold}, {end, 0.8 * b.p.Limits.Hold}}, 0)
		h.visc = 1
		out = append(out, candidate{Check{Do: do, Settles: settles, Minutes: minutes, Hazards: pump.Mind(hazards...), Reading: Locked, Stroke: stroke.String()}, b.lockedOutcome(h)})
	}
	add("Let the motor stop at the end of an upstroke and read the pressure for a minute.", "leaks to the outside; one past the piston shows only if the inlet side leaks too", pump.Up, false, 2, pump.HazardFull)
	add("Let the motor stop at the end of a downstroke and read the pressure for a minute.", "leaks to the outside, apart from those past the piston", pump.Down, false, 2, pump.HazardFull)
	if closed := b.closedChambers(); closed != "" {
		add("Vent the "+closed+" chamber at the suction, then build pressure by hand and read it for a minute.",
			"what leaks into it, which a tight inlet valve hides otherwise", pump.Up, true, 12, pump.HazardOpen, pump.HazardFull)
	}
	return out
}

// closedChambers names the chambers that are not open to the line.
func (b *bench) closedChambers() string {
	var names []string
	for _, c := range b.p.Chambers {
		if c.OpenTo != pump.Line {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, " and the ")
}

func (b *bench) lockedOutcome(h lockedHold) outcome {
	press := make([]float64, len(h.at))
	leaks := make([]leakOf, 0, 3)
	return func(d *draw, out []float64) {
		leaks = leaks[:0]
		for a, j := range b.sets[d.set].paths {
			leaks = append(leaks, leakOf{d.q[a], b.vars[j][d.v[a]].form, 1, b.net.from[j], b.net.to[j]})
		}
		b.net.simulate(&h, b.net.pressed[strokeIndex(h.stroke)], leaks, b.p.Limits.Rated, h.p0, 1, press)
		drop := 1 - press[len(press)-1]/h.p0
		early := 1 - press[1]/h.p0
		half := bins / 2 // the early fall in one half of the bins, the late one in the other: halves of one outcome
		a, z := make([]float64, half), make([]float64, half)
		spread(early, 0.01+lineSpread*early*(1-early), -0.02, 1, a)
		spread(drop, 0.015+lineSpread*drop*(1-drop), -0.02, 1, z)
		for k := range half {
			out[k], out[half+k] = a[k]/2, z[k]/2
		}
	}
}

func (b *bench) runCheck() candidate {
	s, n := b.p.Stroke, 20.0
	p := 0.6 * b.p.Limits.Rated
	au, ad := b.m.Creep[pump.Up], b.m.Creep[pump.Down]
	_, sdU := b.lateLoss(pump.Up)
	_, sdD := b.lateLoss(pump.Down)
	cycle := 2 * s / (0.3 * math.Max(b.p.Drive.FreeSpeed, 2*s*b.p.Drive.Speed/0.3))
	return candidate{Check{Do: "Run 20 cycles through the tip into an earthed metal measure; note volume, time and the two stroke times.", Settles: "what a cycle loses, and on which stroke", Minutes: 5, Hazards: pump.Mind(pump.HazardSpray, pump.HazardStall), Reading: Run},
		func(d *draw, out []float64) {
			up, _ := b.flowAt(d, pump.Up, p, 1, -1)
			down, _ := b.flowAt(d, pump.Down, p, 1, -1)
			lost := 0.5 * (up + down) * cycle
			sd := math.Sqrt(sq(sdU) + sq(sdD) + sq(0.01*s*(au+ad)) + sq(2e-6/n))
			half := bins / 2
			a, z := make([]float64, half), make([]float64, half)
			spread(lost/(s*(au+ad)), sd/(s*(au+ad)), -0.1, 0.6, a)
			diff := (up - down) * cycle / (s * (au + ad))
			spread(diff, 2*sd/(s*(au+ad)), -0.6, 0.6, z)
			for k := range half {
				out[k], out[half+k] = a[k]/2, z[k]/2
			}
		}}
}
