package draw

import (
	"fmt"
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// longest is the time beyond which a stroke is only said to take longer.
const longest = 3600.0 // s

// Chance writes a probability for a person: whole per cent, never "0 %" or "100 %", which no evidence gives.
func Chance(p float64) string {
	switch {
	case math.IsNaN(p):
		return "unknown"
	case p < 0.01:
		return firm("under 1 %")
	case p > 0.99:
		return firm("over 99 %")
	}
	digits := 1
	if p >= 0.1 {
		digits = 2
	}
	return firm(unit.Format(p, unit.Ratio, "%", digits))
}

// Range writes an interval [lo, hi] (SI) in one unit, two digits each: "12–40 mL/min". Times of an hour and more are "over 60 min".
func Range(lo, hi float64, d unit.Dim, sys unit.System) string {
	if d == unit.Time && lo >= longest {
		return firm("over " + unit.Format(longest, d, "min", 2))
	}
	u := sys.UnitFor(hi, d)
	if d == unit.Time && hi >= longest {
		u = sys.UnitFor(lo, d)
		return firm(unit.Format(lo, d, u, 2)) + " or more"
	}
	return rangeIn(lo, hi, d, u)
}

func rangeIn(lo, hi float64, d unit.Dim, u string) string {
	a, b := unit.Format(lo, d, u, 2), unit.Format(hi, d, u, 2)
	if a == b {
		return firm(b)
	}
	return firm(strings.TrimSuffix(a, " "+u) + "–" + b)
}

// mlPerMin turns m³/s into mL/min, the unit of hold.Result.
const mlPerMin = 60e6

// leastFlow is the smallest leak that is written in a unit [m³/s]: the power of ten of the unit next below a drop in a minute, so that what can be
// seen always has a figure.
func leastFlow(u string) float64 {
	x, err := unit.FromSI(pump.Drop/60, u, unit.Flow)
	if err != nil {
		return 0
	}
	si, err := unit.ToSI(math.Pow(10, math.Floor(math.Log10(x))), u, unit.Flow)
	if err != nil {
		return 0
	}
	return si
}

// FlowRange writes the 5 to 95 % range of a leak [mL/min], in the unit of leaks whatever its size, so that all leaks of a page compare:
// "1.8–3.9 mL/min", "up to 0.3 mL/min", "under 0.01 mL/min".
func FlowRange(q hold.Quantiles, sys unit.System) string {
	u := smallFlow(sys)
	lo, hi := q.Q05/mlPerMin, q.Q95/mlPerMin
	least := leastFlow(u)
	switch {
	case hi < least:
		return "under " + firm(unit.Format(least, unit.Flow, u, 1))
	case lo < least:
		return "up to " + firm(unit.Format(hi, unit.Flow, u, 2))
	}
	return rangeIn(lo, hi, unit.Flow, u)
}

// Short writes a quantity with two digits, for what is round by nature, as the time of a wait.
func Short(si float64, d unit.Dim, sys unit.System) string {
	return firm(unit.Format(si, d, sys.UnitFor(si, d), 2))
}

// Watched writes a time that was held, or is to be, as on a watch, m:ss, in whole seconds that are over: what was not held is never rounded in.
func Watched(seconds float64) string {
	s := int(math.Floor(seconds + 1e-6))
	return firm(fmt.Sprintf("%d:%02d", s/60, s%60) + " min")
}

// Pressed writes the time of a press as the watch showed it, m:ss.t, in tenths that are over.
func Pressed(seconds float64) string {
	t := int(math.Floor(10*seconds + 1e-6))
	return fmt.Sprintf("%d:%02d.%d", t/600, t/10%60, t%10)
}

// firm keeps a quantity on one line.
func firm(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// splitUnit parts a printed quantity into its number and its unit sym.
func splitUnit(s, sym string) (number, u string) {
	if n, ok := strings.CutSuffix(s, " "+sym); ok {
		return n, sym
	}
	return s, ""
}
