package hold

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/pump"
)

// Limit is one limit that the pump has to meet beside the time of a stroke: what may leak out on one path.
type Limit struct {
	Path    string     `json:"path"`
	Place   pump.Place `json:"place"`
	MLMin   float64    `json:"limit_ml_min"` // at rated pressure; 0 is none
	Assumed bool       `json:"assumed,omitempty"`
	Meets   float64    `json:"p_meets"`
	Looked  bool       `json:"looked"` // a reading speaks of this path: drops were counted there, what came was caught, or it was said to be wet or dry
}

// unseen is the leak [m³/s] that counts as none: a drop a minute is the least that somebody who looks for a minute sees (common practice, no
// published source).
const unseen = pump.Drop / 60

// most is the largest leak [m³/s] at rated pressure that path j may have; +Inf for a path that does not lead out of the pump.
func (b *bench) most(j int) float64 {
	a, ok := b.p.Allowed(b.paths[j])
	if !ok {
		return math.Inf(1)
	}
	return math.Max(a.Flow, unseen)
}

// leaksOut says whether a draw leaks more on path j than it may. A sound path meets its limit.
func (b *bench) leaksOut(d *draw, j int) bool {
	for a, k := range b.sets[d.set].paths {
		if int(k) == j {
			return d.q[a] > b.out[j]
		}
	}
	return false
}

// limits lists the limits of the paths that lead out of the pump with the probability that each is met.
func (b *bench) limits(post *posterior) []Limit {
	out := []Limit{}
	for j, q := range b.paths {
		a, ok := b.p.Allowed(q)
		if !ok {
			continue
		}
		l := Limit{Path: q.Name, Place: q.Place(), MLMin: a.Flow * mlPerMin, Assumed: a.Assumed, Looked: b.looked(q)}
		for k := range post.draws {
			if d := &post.draws[k]; !b.leaksOut(d, j) {
				l.Meets += b.share(post, d)
			}
		}
		l.Meets = math.Min(1, l.Meets)
		out = append(out, l)
	}
	return out
}

func (b *bench) looked(q pump.Path) bool {
	return slices.ContainsFunc(b.sheet.Readings, func(r Reading) bool { return looksAt(r, q) })
}

// looksAt says whether a reading is a look at where a path comes out. Paint in the wet cup is none: it may be of long ago.
func looksAt(r Reading, q pump.Path) bool {
	switch r.Kind {
	case Drips, Caught:
		return r.Path == q.Name
	case Sign:
		sign, placed := signPlace[r.Sign]
		return placed && sign.at == q.Place()
	}
	return false
}

// seenOver returns the number of the last look at path j when it saw more than may leak there, 0 otherwise. What somebody saw stands, however
// unlikely the leak is, until he looks again.
func (b *bench) seenOver(j int) int {
	none, last := b.out[j] <= unseen, 0
	for i, r := range b.sheet.Readings {
		if !looksAt(r, b.paths[j]) {
			continue
		}
		var flow float64
		switch {
		case r.Kind == Drips:
			flow = float64(r.Count) * r.Drop / r.Time
		case r.Kind == Caught:
			flow = r.Volume / r.Time
		case signPlace[r.Sign].wet:
			flow = unseen
		}
		if last = 0; flow > b.out[j]*(1+1e-9) || none && flow >= b.out[j]*(1-1e-9) {
			last = i + 1
		}
	}
	return last
}

// heldAt is the share of the hold pressure from which a reading counts as one of the hold: a gauge of class 1.6 read to its nearest division
// is no better (common practice, no published source).
const heldAt = 0.95

// held is the longest time [s] for which a stroke of a force-held pump was watched at the hold pressure, and whether it was at all. Whole
// strokes add up: a pump that changes over goes on with the hold.
func (b *bench) held(dir pump.Dir) (longest float64, any bool) {
	whole := 0.0
	for _, r := range b.sheet.Readings {
		if r.Stroke != dir || r.Pressure < heldAt*b.p.Limits.Hold {
			continue
		}
		switch r.Kind {
		case Creep, Still, NoChangeover:
			longest, any = math.Max(longest, r.Time), true
		case Changeover:
			whole += r.Time
			longest, any = math.Max(longest, whole), true
		}
	}
	return longest, any
}

// lockedFor is the longest time [s] for which a pump was held with its rod locked at the hold pressure. A motor that started again had
// reached its stop pressure before.
func (b *bench) lockedFor() (longest float64, any bool) {
	for _, r := range b.sheet.Readings {
		switch {
		case r.Kind == Restart && b.p.Drive.Stop >= heldAt*b.p.Limits.Hold:
			longest, any = math.Max(longest, r.Time), true
		case r.Kind == Locked && len(r.Points) > 0 && r.Points[0].Pressure >= heldAt*b.p.Limits.Hold:
			longest, any = math.Max(longest, r.Points[len(r.Points)-1].Time-r.Points[0].Time), true
		}
	}
	return longest, any
}

// Course is what the hold test was on one stroke, or with the rod locked, against what the pump sheet asks for.
type Course struct {
	Stroke  string  `json:"stroke,omitempty"` // empty with the rod locked
	Seen    bool    `json:"seen"`             // a reading at the hold pressure speaks of it; what is said of it otherwise is expectation
	Seconds float64 `json:"held_s"`           // the longest time for which it was watched
	Asked   float64 `json:"asked_s"`          // that the pump sheet asks for
	// AtLimit is how far [m] a mark on the rod would have moved in that time with a leak at the limit of the stroke time.
	AtLimit float64 `json:"mark_at_limit_m,omitempty"`
}

// Short is how much [s] is missing of the time that the pump sheet asks for.
func (c Course) Short() float64 { return math.Max(0, c.Asked-c.Seconds) }

// Courses lists what was held by the readings of a sheet, as Verdict.Courses does.
func Courses(p *pump.Pump, s *Sheet) []Course { return (&bench{p: p, sheet: s}).courses() }

// courses lists what was held: both strokes of a force-held pump, the locked rod of a crank.
func (b *bench) courses() []Course {
	asked := b.p.Limits.HoldFor
	if b.p.Drive.Kind != pump.ForceHeld {
		t, any := b.lockedFor()
		return []Course{{Seen: any, Seconds: t, Asked: asked}}
	}
	var out []Course
	for _, dir := range pump.Dirs {
		t, any := b.held(dir)
		out = append(out, Course{Stroke: dir.String(), Seen: any, Seconds: t, Asked: asked, AtLimit: math.Min(b.p.Stroke, b.p.Stroke*t/b.p.Limits.StrokeTime)})
	}
	return out
}

// Code says why a pump cannot be passed yet, or what of a passed one stays open.
type Code string

// The codes.
const (
	Refuted   Code = "reading-refuted" // a reading contradicts the others: take it again
	NotHeld   Code = "stroke-not-held" // a stroke was not held at the hold pressure
	LeakSeen  Code = "leak-seen"       // the last look at a path saw more than may leak there
	NotShown  Code = "limit-not-shown" // a limit is not met with the probability that passing asks for
	Unlooked  Code = "nobody-looked"   // nobody looked at a path that leads out of the pump
	HoldShort Code = "hold-too-short"  // what was held is shorter than the pump sheet asks for
)

// Pending is one thing that is open.
type Pending struct {
	Code    Code    `json:"code"`
	Reading int     `json:"reading,omitempty"` // 1 for the first
	Stroke  string  `json:"stroke,omitempty"`
	Path    string  `json:"path,omitempty"`
	Seconds float64 `json:"seconds,omitempty"`
}

// Blocks says whether a pump can be passed while this is open. A look that nobody took and a hold that was shorter than asked for do not:
// they are named, and closing the job asks for them or for a name.
func (o Pending) Blocks() bool { return o.Code != Unlooked && o.Code != HoldShort }

// pending lists what is open of a verdict.
func (b *bench) pending(v *Verdict, doubts []Doubt) []Pending {
	out := []Pending{}
	for _, d := range doubts {
		out = append(out, Pending{Code: Refuted, Reading: d.Reading})
	}
	for _, c := range v.Courses {
		switch {
		case !c.Seen:
			out = append(out, Pending{Code: NotHeld, Stroke: c.Stroke, Seconds: c.Asked})
		case c.Short() > 0:
			out = append(out, Pending{Code: HoldShort, Stroke: c.Stroke, Seconds: c.Short()})
		}
	}
	for j, q := range b.paths {
		if i := b.seenOver(j); i > 0 {
			out = append(out, Pending{Code: LeakSeen, Reading: i, Path: q.Name})
		}
	}
	for _, l := range v.Leaks {
		if l.Meets < proven {
			out = append(out, Pending{Code: NotShown, Path: l.Path})
		}
		if !l.Looked {
			out = append(out, Pending{Code: Unlooked, Path: l.Path})
		}
	}
	return out
}
