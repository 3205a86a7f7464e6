package draw

import (
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Findings says in a few lines what a verdict rests on, the same on paper, page and terminal: the limit, what the readings say of each stroke
// and what is only expected, how long it was held of what the pump sheet asks for, what nobody looked at, and which limits are assumed.
func Findings(p *pump.Pump, r *hold.Result, sys unit.System) []string {
	var out []string
	lines := []string{limitText(p, r, sys), lostText(r, sys), strokeText(r, sys), expectText(r, sys), markText(r, sys), heldText(r)}
	for _, run := range r.Runs {
		lines = append(lines, runText(run, sys))
	}
	for _, s := range append(lines, unlookedText(r), assumedText(r, sys), severalText(r)) {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// limitText says what the pump has to meet.
func limitText(p *pump.Pump, r *hold.Result, sys unit.System) string {
	if l := r.Verdict.Lost; l != nil {
		return "limit: it loses at most " + perMinute(l.Limit, sys) + " with the motor stopped, and starts again after " + Short(l.Least, unit.Time, sys) + " at the earliest"
	}
	return "limit: at " + sys.Show(p.Limits.Rated, unit.Pressure) + " a stroke takes " + Short(p.Limits.StrokeTime, unit.Time, sys) + " or more"
}

// perMinute writes a fall of pressure, in bar/min in a result.
func perMinute(barMin float64, sys unit.System) string {
	return Short(barMin*1e5, unit.Pressure, sys) + " a minute"
}

// lostText says what a crank loses by the readings.
func lostText(r *hold.Result, sys unit.System) string {
	l := r.Verdict.Lost
	if l == nil {
		return ""
	}
	u := sys.UnitFor(l.Fall.Q95*1e5, unit.Pressure)
	fall := rangeIn(l.Fall.Q05*1e5, l.Fall.Q95*1e5, unit.Pressure, u)
	if c, ok := r.Verdict.Course(""); ok && !c.Seen {
		return "nobody held it; expected: it loses " + fall + " a minute"
	}
	return "by these readings: it loses " + fall + " a minute, starts again after " + Range(l.Between.Q05, l.Between.Q95, unit.Time, sys)
}

// strokeText says how long the strokes take that were held, by the readings.
func strokeText(r *hold.Result, sys unit.System) string {
	return strokes(r, sys, true, "by these readings: ", ", ")
}

// expectText says what is expected of the strokes that nobody held: no reading speaks of them.
func expectText(r *hold.Result, sys unit.System) string {
	return strokes(r, sys, false, "nobody held it at the hold pressure; expected: ", ", ")
}

func strokes(r *hold.Result, sys unit.System, seen bool, head, sep string) string {
	var parts []string
	for _, c := range r.Verdict.Courses {
		q, ok := r.Verdict.Stroke[c.Stroke]
		if ok && c.Seen == seen {
			parts = append(parts, c.Stroke+"stroke "+Range(q.Q05, q.Q95, unit.Time, sys))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return head + strings.Join(parts, sep)
}

// markText says by what a short watch proves: how far a mark would have moved with a leak at the limit.
func markText(r *hold.Result, sys unit.System) string {
	if r.Verdict.Word != hold.Holds {
		return ""
	}
	shortest := hold.Course{}
	for _, c := range r.Verdict.Courses {
		if c.AtLimit > 0 && (shortest.AtLimit == 0 || c.AtLimit < shortest.AtLimit) {
			shortest = c
		}
	}
	if shortest.AtLimit == 0 || shortest.Short() == 0 {
		return ""
	}
	return "a leak at the limit would have moved the mark by " + Short(shortest.AtLimit, unit.Length, sys) + " in " + Watched(shortest.Seconds)
}

// heldText says how long it was held of what the pump sheet asks for.
func heldText(r *hold.Result) string {
	least, any := hold.Course{}, false
	for _, c := range r.Verdict.Courses {
		if c.Seen && (!any || c.Seconds < least.Seconds) {
			least, any = c, true
		}
	}
	if !any {
		return ""
	}
	if least.Short() > 0 {
		return "held for " + Watched(least.Seconds) + " of the " + Watched(least.Asked) + " that the pump sheet asks for"
	}
	return "held for the " + Watched(least.Asked) + " that the pump sheet asks for"
}

// runText says what a run gave of what its strokes displace, and how much of what lacks is taken to be no leak.
func runText(run hold.RunShare, sys unit.System) string {
	const mL = 1e-6
	v := sys.Apart(unit.Volume, run.ML*mL, run.DisplacedML*mL)
	return "reading " + strconv.Itoa(run.Reading) + ": " + v[0] + " of the " + v[1] + " that the strokes displace, a volumetric efficiency of " + unit.FormatU(run.Efficiency, run.SD, unit.Ratio, "%") +
		"; " + percent(run.AssumedLoss) + " is assumed to go to compression and late balls, not to leaks"
}

func percent(share float64) string { return unit.Format(share, unit.Ratio, "%", 2) }

// unlookedText names the paths out of the pump at which nobody looked.
func unlookedText(r *hold.Result) string {
	var names []string
	for _, o := range r.Verdict.Open {
		if o.Code == hold.Unlooked {
			names = append(names, o.Path)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "nobody looked for drops at: " + strings.Join(names, ", ")
}

// assumedText names the limits of leaks that the pump sheet does not give.
func assumedText(r *hold.Result, sys unit.System) string {
	var parts []string
	for _, l := range r.Verdict.Leaks {
		if !l.Assumed {
			continue
		}
		if l.MLMin == 0 {
			parts = append(parts, l.Path+" 0")
			continue
		}
		parts = append(parts, l.Path+" "+rangeIn(l.MLMin/mlPerMin, l.MLMin/mlPerMin, unit.Flow, smallFlow(sys)))
	}
	if len(parts) == 0 {
		return ""
	}
	return "assumed, since the pump sheet does not say what may leak out: " + strings.Join(parts, ", ")
}

// smallFlow is the unit of leaks.
func smallFlow(sys unit.System) string {
	if sys.SmallFlow != "" {
		return sys.SmallFlow
	}
	return sys.Unit(unit.Flow)
}

// severalText explains chances that add up to more than one.
func severalText(r *hold.Result) string {
	sum := 0.0
	for _, q := range r.Paths {
		sum += q.P
	}
	if sum <= 1 {
		return ""
	}
	return "several paths can leak at once, so that their chances add up to more than 100 %"
}
