package hold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
)

// The three verdicts.
const (
	Holds       = "holds"
	DoesNotHold = "does not hold"
	NotProven   = "not proven yet"
)

// Verdict says whether the pump meets its limits: no stroke at rated pressure takes less than the least time of the sheet, and nothing leaks
// out of the pump that may not. A pump is passed only when every limit is met with the probability that passing asks for, no reading
// stands refuted, and every stroke was held at the hold pressure.
type Verdict struct {
	Word    string               `json:"word"`
	Meets   float64              `json:"p_meets"`             // probability that the pump meets all its limits
	InTime  float64              `json:"p_meets_stroke_time"` // that of the stroke time alone
	Limit   float64              `json:"limit_s"`             // least time of a stroke at rated pressure
	Stroke  map[string]Quantiles `json:"stroke_s"`
	Leaks   []Limit              `json:"leak_limits"`
	Courses []Course             `json:"courses"`
	Open    []Pending            `json:"open"`
	Lost    *Lost                `json:"lost,omitempty"` // of a crank: what its owner sees
	Need    []Need               `json:"need,omitempty"` // what would settle it, when not proven yet
}

// Course finds what was held on a stroke, by its name; that of a crank has none.
func (v *Verdict) Course(stroke string) (Course, bool) {
	for _, c := range v.Courses {
		if c.Stroke == stroke {
			return c, true
		}
	}
	return Course{}, false
}

// Need is how much longer to watch, or what to watch, until a verdict can be given. The code says what kind of need it is, as in Pending.
type Need struct {
	Code    Code    `json:"code"`
	Reading int     `json:"reading,omitempty"` // to take again
	Stroke  string  `json:"stroke"`
	Path    string  `json:"path,omitempty"` // to look at
	Seconds float64 `json:"seconds"`        // more than has been watched
	Text    string  `json:"text"`
}

// Decision levels. Verdicts at 5 % and below were wrong in fewer than 1 of 100 blind cases. Passing a pump asks for more: at
// 95 %, in a shop where few pumps are healthy, 3 of 100 pumps passed leaked more than their limit.
const (
	proven   = 0.96
	disprove = 0.05
)

// strokeTime returns the time of a stroke at rated pressure for a draw [s].
func (b *bench) strokeTime(d *draw, dir pump.Dir) float64 {
	i := strokeIndex(dir)
	flow, _ := b.strokeFlow(d, i, func(j, a int) float64 { return d.q[a] })
	return b.made[i] / math.Max(flow, 1e-15)
}

// strokeFlow returns the flow [m³/s] that the rod has to make up at a stall of stroke i, and how much of it passes debris; leak
// gives the leak of path j, which is number a of the set.
func (b *bench) strokeFlow(d *draw, i int, leak func(j, a int) float64) (flow, debris float64) {
	flow = b.base[i]
	var into, back float64
	for a, j := range b.sets[d.set].paths {
		if b.fill[i] != nil && b.fill[i].out[j] {
			back += leak(int(j), a)
		}
		if !b.leaks[i][j] {
			continue
		}
		q := leak(int(j), a)
		if b.vars[j][d.v[a]].debris {
			debris += q
		}
		if b.fill[i] != nil && b.fill[i].into[j] {
			into += q
			continue
		}
		flow += q - b.sound[j]
	}
	if into > 0 {
		flow = b.fill[i].total(flow, into, back)
	}
	return flow, debris
}

// meets says whether a draw meets all limits.
func (b *bench) meets(d *draw) bool {
	for a, j := range b.sets[d.set].paths {
		if d.q[a] > b.out[j] {
			return false
		}
	}
	return b.inTime(d)
}

// inTime says whether no stroke of a draw is too quick.
func (b *bench) inTime(d *draw) bool {
	for _, dir := range pump.Dirs {
		if b.strokeTime(d, dir) < b.p.Limits.StrokeTime {
			return false
		}
	}
	return true
}

// fromEvens is the weight of a draw when a pump without a fault is taken to be no likelier than one with a fault, whatever the prior
// says. A pump is passed on what was seen of it: after a rebuild four of five pumps are sound, and a look of a few seconds must
// not pass the fifth. For P₀ the prior share of sound pumps the weight of the sound set is min(1, (1 − P₀)/P₀).
func (b *bench) fromEvens(d *draw) float64 {
	if len(b.sets[d.set].paths) > 0 {
		return 1
	}
	h := b.prior.healthy(b.sheet.Stage)
	return math.Min(1, (1-h)/h)
}

func (b *bench) verdict(post *posterior, doubts []Doubt) Verdict {
	v := Verdict{Limit: b.p.Limits.StrokeTime, Stroke: map[string]Quantiles{}, Leaks: b.limits(post), Courses: b.courses()}
	hist := map[pump.Dir]*histogram{}
	for _, dir := range pump.Dirs {
		h := newHistogram(math.Log(1e-3), math.Log(1e9))
		hist[dir] = &h
	}
	var shown, all float64 // from even odds
	for k := range post.draws {
		d := &post.draws[k]
		w := b.share(post, d)
		even := w * b.fromEvens(d)
		all += even
		if b.inTime(d) {
			v.InTime += w
		}
		if b.meets(d) {
			v.Meets += w
			shown += even
		}
		for _, dir := range pump.Dirs {
			hist[dir].add(math.Log(math.Min(b.strokeTime(d, dir), 9e8)), w)
		}
	}
	v.Meets, v.InTime = math.Min(1, v.Meets), math.Min(1, v.InTime)
	v.Open = b.pending(&v, doubts)
	for _, dir := range pump.Dirs {
		at := func(p float64) float64 { return hist[dir].flow(p) / mlPerMin }
		v.Stroke[dir.String()] = Quantiles{at(0.05), at(0.5), at(0.95)}
	}
	if b.p.Drive.Kind != pump.ForceHeld {
		v.Lost = b.lost(&v)
	}
	v.Word = word(v.Meets, shown/all, slices.ContainsFunc(v.Open, Pending.Blocks))
	if v.Word == NotProven {
		v.Need = b.needs(post, &v)
	}
	return v
}

// word decides the verdict: from the probability that the limits are met, the same from even odds (see fromEvens), and whether something
// stands in the way of passing.
func word(meets, fromEvens float64, blocked bool) string {
	switch {
	case meets <= disprove:
		return DoesNotHold
	case meets >= proven && fromEvens >= proven && !blocked:
		return Holds
	}
	return NotProven
}

// needs says what settles a verdict that is not proven yet: first the reading to take again, then what was not held or for how long to go
// on, then where to look.
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
	if b.p.Drive.Kind != pump.ForceHeld {
		return b.lockedNeed(post)
	}
	out = b.watchNeeds(post, v)
	for _, l := range v.Leaks {
		if l.Meets < proven && !l.Looked {
			out = append(out, Need{Code: Unlooked, Path: l.Path, Seconds: lookFor, Text: fmt.Sprintf("look at the %s for %d s at the hold pressure", l.Path, lookFor)})
		}
	}
	if len(out) == 0 {
		out = append(out, Need{Code: NotShown, Text: "a longer hold alone does not settle it: do the next check"})
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
			n := Need{Code: NotHeld, Stroke: dir.String(), Seconds: t}
			if !ok {
				n.Seconds = b.p.Limits.HoldFor
			}
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
		text := fmt.Sprintf("hold the %sstroke for %.0f s with a mark on the rod", dir, t)
		if watched > 0 {
			text = fmt.Sprintf("hold the %sstroke %.0f s longer", dir, t-watched)
		}
		return []Need{{Code: HoldShort, Stroke: dir.String(), Seconds: t - watched, Text: text + "; still then: it holds"}}
	}
	if t, ok := b.stillUntilProven(rows, 0, pump.Up, pump.Down); ok {
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
		looks = append(looks, b.still(Reading{Kind: Still, Stroke: dir, Pressure: b.p.Limits.Hold, UPress: 0.02 * b.p.Limits.Hold,
			Travel: defaultSeen, UTravel: b.sheet.Ruler, Time: t, At: math.NaN(), Warmth: math.NaN()}))
	}
	var meets, all float64
	for _, x := range rows {
		w := x.w
		for k := range looks {
			o, flow := &looks[k], x.flow[strokeIndex(dirs[k])]
			seen := 0.0
			if z := (flow - o.y) / math.Sqrt(o.c0+o.c1*flow*flow); z < 6 {
				seen = 0.5 * math.Erfc(z/math.Sqrt2)
			}
			w *= (1-b.prior.Wrong)*seen/o.bad + b.prior.Wrong
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

// lockedNeed words what settles a crank pump: there is no creep to watch.
func (b *bench) lockedNeed(post *posterior) []Need {
	checks := b.checks(post)
	if len(checks) == 0 {
		return nil
	}
	return []Need{{Code: NotShown, Text: checks[0].Do, Seconds: 60 * checks[0].Minutes}}
}

// doubts returns the readings that are probably wrong: P(wrong | readings) from equally weighted draws, with the chance of
// a contradiction that cannot be pinned on one reading.
func (b *bench) doubts(post *posterior) []Doubt {
	if len(b.takes) < 2 || b.prior.Wrong == 0 {
		return []Doubt{}
	}
	rng := rand.New(rand.NewPCG(11, 13))
	s := newSampler(b, rng)
	bad := make([]float64, len(b.sheet.Readings))
	var clean, n float64
	for _, d := range b.resample(post, 200, rng) {
		set := b.sets[d.set].paths
		s.likelihood(set, d)
		all := 1.0
		for g := range b.takes {
			right := 1 - b.prior.Wrong/s.term(&b.takes[g], set, d)
			bad[b.takes[g].reading] += 1 - right
			all *= right
		}
		clean += all
		n++
	}
	return b.wordDoubts(bad, 1-clean/n, n)
}

func (b *bench) wordDoubts(bad []float64, some, n float64) []Doubt {
	out := []Doubt{}
	var suspects []string
	least := 0.5
	if slices.Max(bad)/n <= 0.5 && some > 0.75 { // none stands out, but they do not fit together
		least = 0.2
	}
	for i := range bad {
		if p := bad[i] / n; p > least {
			suspects = append(suspects, fmt.Sprint(i+1))
			out = append(out, Doubt{Reading: i + 1, P: p})
		}
	}
	for k := range out {
		if out[k].P > 0.5 {
			out[k].Text = fmt.Sprintf("reading %d contradicts the others: %.0f %% that it is wrong; take it again", out[k].Reading, 100*out[k].P)
		} else {
			out[k].Text = "readings " + strings.Join(suspects, " and ") + " contradict each other; take them again"
		}
	}
	return out
}

// resample returns n draws of equal weight (systematic resampling).
func (b *bench) resample(post *posterior, n int, rng *rand.Rand) []*draw {
	out := make([]*draw, 0, n)
	u, sum := rng.Float64()/float64(n), 0.0
	for k := range post.draws {
		sum += b.share(post, &post.draws[k])
		for sum > u && len(out) < n {
			out = append(out, &post.draws[k])
			u += 1 / float64(n)
		}
	}
	return out
}
