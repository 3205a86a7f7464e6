package hold

import (
	"fmt"
	"math"
	"sort"

	"github.com/evenstroke/evenstroke/pump"
)

// needs says what settles a verdict that is not proven yet: first the reading to take again, or where a leak was seen, since no hold answers
// for these; then what was not held or for how long to go on, then where to look. A hold that is asked for is as long as the pump sheet
// wants it, or longer where that proves nothing: one time, whatever asks for it.
func (b *bench) needs(post *posterior, v *Verdict) []Need {
	var out []Need
	for _, o := range v.Open {
		if o.Code == Refuted {
			out = append(out, Need{Code: Refuted, Reading: o.Reading, Text: fmt.Sprintf("take reading %d again", o.Reading)})
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, o := range v.Open {
		if o.Code == LeakSeen {
			out = append(out, Need{Code: LeakSeen, Reading: o.Reading, Path: o.Path, Seconds: lookFor, Text: fmt.Sprintf("look at the %s again for %d s at the hold pressure", o.Path, lookFor)})
		}
	}
	if len(out) > 0 {
		return out
	}
	if b.p.Drive.Kind != pump.ForceHeld {
		return b.lockedNeed(v)
	}
	out = b.watchNeeds(post, v)
	for _, l := range v.Leaks {
		if l.Meets < proven && !l.Looked {
			out = append(out, Need{Code: Unlooked, Path: l.Path, Seconds: lookFor, Text: fmt.Sprintf("look at the %s for %d s at the hold pressure", l.Path, lookFor)})
		}
	}
	if len(out) == 0 {
		out = append(out, Need{Code: NotShown, Text: nextCheck})
	}
	return out
}

// lookFor is how long [s] to look at a path for drops.
const lookFor = 60

// watchNeeds finds how long a mark must stay still until the pump would be proven: on each stroke that was not held, or else on one stroke,
// or else on both.
func (b *bench) watchNeeds(post *posterior, v *Verdict) []Need {
	rows := b.watches(post)
	var missing []pump.Dir
	for _, dir := range pump.Dirs {
		if c, ok := v.Course(dir.String()); ok && !c.Seen {
			missing = append(missing, dir)
		}
	}
	if len(missing) > 0 {
		t, ok := b.stillUntilProven(rows, 0, missing...)
		var out []Need
		for _, dir := range missing {
			n := Need{Code: NotHeld, Stroke: dir.String(), Seconds: math.Max(t, b.p.Limits.HoldFor)}
			n.Text = fmt.Sprintf("hold the %sstroke for %.0f s with a mark on the rod", dir, n.Seconds)
			if ok {
				n.Text += "; still then: it holds"
			}
			out = append(out, n)
		}
		return out
	}
	for _, dir := range pump.Dirs {
		watched := b.watched(dir)
		t, ok := b.stillUntilProven(rows, watched, dir)
		if !ok || t <= watched {
			continue
		}
		t = math.Max(t, b.p.Limits.HoldFor)
		text := fmt.Sprintf("hold the %sstroke for %.0f s with a mark on the rod", dir, t)
		if watched > 0 {
			text = fmt.Sprintf("hold the %sstroke %.0f s longer", dir, t-watched)
		}
		return []Need{{Code: HoldShort, Stroke: dir.String(), Seconds: t - watched, Text: text + "; still then: it holds"}}
	}
	if t, ok := b.stillUntilProven(rows, 0, pump.Up, pump.Down); ok {
		t = math.Max(t, b.p.Limits.HoldFor)
		return []Need{{Code: HoldShort, Seconds: 2 * t, Text: fmt.Sprintf("hold each stroke for %.0f s with a mark on the rod; still then: it holds", t)}}
	}
	return nil
}

// watched is the longest time [s] for which a mark was watched on a stroke.
func (b *bench) watched(dir pump.Dir) float64 {
	longest := 0.0
	for _, r := range b.sheet.Readings {
		if r.Kind == Still && r.Stroke == dir {
			longest = math.Max(longest, r.Time)
		}
	}
	return longest
}

// watch is a draw as seen by a mark that is watched, by stroke.
type watch struct {
	w    float64
	flow [2]float64 // m³/s at the hold pressure
	ok   bool
}

// watches lists the draws that carry weight.
func (b *bench) watches(post *posterior) []watch {
	rows := make([]watch, 0, len(post.draws))
	for k := range post.draws {
		d := &post.draws[k]
		w := b.share(post, d)
		if w < 1e-8 {
			continue
		}
		row := watch{w: w * b.fromEvens(d), ok: b.meets(d)}
		for _, dir := range pump.Dirs {
			row.flow[strokeIndex(dir)], _ = b.flowAt(d, dir, b.p.Limits.Hold, 1, -1)
		}
		rows = append(rows, row)
	}
	return rows
}

// stillUntilProven returns the shortest time for which a mark must stay still on each of the strokes so that the pump is
// proven, if 10 minutes are enough, by weighing the draws with the readings that would then have been made. Longer is never
// worse, so the time is found by bisection over steps of 5 and 30 s.
func (b *bench) stillUntilProven(rows []watch, watched float64, dirs ...pump.Dir) (float64, bool) {
	var times []float64
	for t := 5.0; t <= 600; t = nextTime(t) {
		if t >= watched+5 || watched == 0 {
			times = append(times, t)
		}
	}
	i := sort.Search(len(times), func(i int) bool { return b.meetsIfStill(rows, times[i], dirs) >= proven })
	if i == len(times) {
		return 0, false
	}
	return times[i], true
}

// meetsIfStill is the probability that the pump meets its limit once a mark has stayed still for t on each of the strokes.
func (b *bench) meetsIfStill(rows []watch, t float64, dirs []pump.Dir) float64 {
	var looks []observation
	for _, dir := range dirs {
		o := b.still(Reading{Kind: Still, Stroke: dir, Pressure: b.p.Limits.Hold, UPress: 0.02 * b.p.Limits.Hold,
			Travel: defaultSeen, UTravel: b.sheet.Ruler, Time: t, UTime: b.sheet.Stop, At: math.NaN(), Warmth: math.NaN()})
		o.base = b.base[strokeIndex(dir)]
		b.wrong(&o)
		looks = append(looks, o)
	}
	var meets, all float64
	for _, x := range rows {
		w := x.w
		for k := range looks {
			o, flow := &looks[k], x.flow[strokeIndex(dirs[k])]
			w *= (1-b.prior.Wrong)*o.unmoved(flow, 0)/o.bad + b.prior.Wrong
		}
		all += w
		if x.ok {
			meets += w
		}
	}
	if all == 0 {
		return 0
	}
	return meets / all
}

func nextTime(t float64) float64 {
	if t < 60 {
		return t + 5
	}
	return t + 30
}

// lockedNeed says what settles a crank pump, which has no creep to watch: a hold at the hold pressure that nobody made, else the next check.
func (b *bench) lockedNeed(v *Verdict) []Need {
	if c, ok := v.Course(""); ok && !c.Seen {
		return []Need{{Code: NotHeld, Seconds: c.Asked, Text: fmt.Sprintf("let the motor stop at the hold pressure and read the gauge now and then for %.0f s", c.Asked)}}
	}
	return []Need{{Code: NotShown, Text: nextCheck}}
}

// nextCheck is said where no longer hold settles a verdict.
const nextCheck = "a longer hold alone does not settle it: do the next check"
