package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Span is a dimension with its two limits [m].
type Span struct{ Lo, Hi float64 }

// Mid returns the middle of the span.
func (s Span) Mid() float64 { return (s.Lo + s.Hi) / 2 }

func (s Span) check(fn, name string) error {
	return first(num.CheckPositive(fn, name, s.Lo, "m"), num.CheckRange(fn, name, s.Hi, s.Lo, math.Inf(1), "m"))
}

// Groove is where an O-ring sits.
type Groove struct {
	Depth     Span    // from the bottom to the opposite wall, clearance in it
	Width     Span    // with the back-up rings taken off
	On        float64 // m, diameter that the inside of the ring sits on
	Clearance float64 // m, largest diametral clearance to the opposite wall; 0: extrusion not checked
	Moving    bool
	Backups   int     // 0, 1, 2
	Pressure  float64 // Pa
	Shore     float64 // Shore A; 0: 70
}

// Fit is an O-ring in its groove, at the tolerances of both.
type Fit struct {
	Squeeze, Fill Span    // shares, least and most
	Stretch       float64 // share, nominal
	Section       float64 // m, section after the stretch, nominal
	Allowed       float64 // m, diametral clearance allowed without back-up; 0 beyond the table or unchecked
	Findings      []Finding
}

// Finding is one thing that is wrong, or close to it, about a fit.
type Finding string

// Findings of an O-ring fit and the rules behind them.
const (
	LowSqueeze   Finding = "squeeze too low"        // below the least of the gland tables: 8 % moving, 13 % static
	HighSqueeze  Finding = "squeeze too high"       // above 30 % static, 16 % moving (25 % for sections to 0.070 in)
	OverFill     Finding = "groove overfilled"      // above 90 % at the worst tolerances
	TightFill    Finding = "groove rather full"     // above 85 % at the worst tolerances
	HighStretch  Finding = "stretched too much"     // above 6 %
	Compressed   Finding = "ring too large for it"  // compressed by more than 3 %
	NeedsBackup  Finding = "needs a back-up ring"   // above 1500 psi with none, or clearance above the table's
	BeyondBackup Finding = "no rule above 3000 psi" // the table ends there; with back-up rings this is usual practice
)

// Sit puts the O-ring into the groove: squeeze and fill at the worst tolerances, stretch, section, extrusion, and what is
// wrong by the usual rules. Squeeze takes the section after a stretch of more than 2 %, nominal otherwise.
// Errors: *num.RangeError for a dimension that cannot be.
// Source of the rules: O-ring design guides; Mechanical Engineers' Handbook, vol. 3.
func Sit(o ORing, g Groove) (Fit, error) {
	fn := "seal.Sit"
	var f Fit
	if err := first(
		num.CheckPositive(fn, "d1", o.ID, "m"), num.CheckPositive(fn, "c", o.Section, "m"),
		num.CheckRange(fn, "tolerance of c", o.SectTol, 0, o.Section/4, "m"),
		g.Depth.check(fn, "depth"), g.Width.check(fn, "width"),
		num.CheckRange(fn, "clearance", g.Clearance, 0, g.Depth.Lo, "m"), num.CheckRange(fn, "p", g.Pressure, 0, 1e9, "Pa"),
		num.CheckRange(fn, "back-up rings", float64(g.Backups), 0, 2, "1"), num.CheckRange(fn, "Shore A", g.Shore, 0, 100, "1"),
	); err != nil {
		return f, err
	}
	var err error
	if f.Stretch, err = Stretch(o.ID, g.On); err != nil {
		return f, err
	}
	if f.Section, err = StretchedSection(o.ID, o.Section, g.On); err != nil {
		return f, err
	}
	c := o.Section
	if math.Abs(f.Stretch) > 0.02 {
		c = f.Section
	}
	lo, hi := c-o.SectTol, c+o.SectTol
	f.Squeeze = Span{(lo - g.Depth.Hi) / lo, (hi - g.Depth.Lo) / hi}
	f.Fill = Span{math.Pi / 4 * lo * lo / (g.Width.Hi * g.Depth.Hi), math.Pi / 4 * hi * hi / (g.Width.Lo * g.Depth.Lo)}
	f.Findings = append(f.rules(o, g), f.extrusion(g)...)
	return f, nil
}

func (f Fit) rules(o ORing, g Groove) []Finding {
	least, most := 0.13, 0.30
	if g.Moving {
		least, most = 0.08, 0.16
		if o.Section <= 0.070*inch*(1+1e-9) {
			most = 0.25
		}
	}
	var out []Finding
	add := func(wrong bool, w Finding) {
		if wrong {
			out = append(out, w)
		}
	}
	add(f.Squeeze.Lo < least, LowSqueeze)
	// The rule is printed in whole per cent; the tables of the same guides reach half a per cent past it.
	add(f.Squeeze.Hi > most+0.01, HighSqueeze)
	add(f.Fill.Hi > 0.90, OverFill)
	add(f.Fill.Hi > 0.85 && f.Fill.Hi <= 0.90, TightFill)
	add(f.Stretch > 0.06, HighStretch)
	add(f.Stretch < -0.03, Compressed)
	return out
}

func (f *Fit) extrusion(g Groove) []Finding {
	if g.Clearance == 0 || g.Pressure == 0 {
		return nil
	}
	shore := g.Shore
	if shore == 0 {
		shore = 70
	}
	gap, err := ExtrusionGap(shore, g.Pressure)
	switch {
	case err != nil && g.Backups == 0:
		return []Finding{NeedsBackup, BeyondBackup}
	case err != nil:
		return []Finding{BeyondBackup}
	}
	f.Allowed = gap
	if g.Backups == 0 && (g.Clearance > gap || g.Pressure > 1500*psi) {
		return []Finding{NeedsBackup}
	}
	return nil
}

// Gland is one row of a table of radial grooves.
type Gland struct {
	Section   float64 // m, section of the ring
	Depth     Span    // m
	Width     [3]Span // m, for 0, 1, 2 back-up rings; zero where the table has none
	Clearance float64 // m, largest diametral clearance; 0 where the table has none
}

// Glands returns the usual depths of radial grooves for the five AS568 sections, for moving or for static seals.
// The widths are the least ones; the usual tolerance is +0.005 in (from memory).
// Source: a published O-ring design guide, tables of dynamic and static radial glands.
func Glands(moving bool) []Gland {
	in := func(lo, hi float64) Span { return Span{lo * inch, hi * inch} }
	wide := func(w ...float64) (s [3]Span) {
		for i, v := range w {
			s[i] = in(v, v+0.005)
		}
		return s
	}
	if moving {
		return []Gland{
			{0.070 * inch, in(0.055, 0.057), wide(0.095, 0.150, 0.208), 0.004 * inch},
			{0.103 * inch, in(0.087, 0.090), wide(0.145, 0.187, 0.249), 0.005 * inch},
			{0.139 * inch, in(0.119, 0.123), wide(0.185, 0.222, 0.301), 0.006 * inch},
			{0.210 * inch, in(0.183, 0.188), wide(0.285, 0.338, 0.428), 0.006 * inch},
			{0.275 * inch, in(0.234, 0.240), wide(0.375, 0.440, 0.579), 0.007 * inch},
		}
	}
	return []Gland{
		{Section: 0.070 * inch, Depth: in(0.050, 0.055)},
		{Section: 0.103 * inch, Depth: in(0.080, 0.086)},
		{Section: 0.139 * inch, Depth: in(0.110, 0.116)},
		{Section: 0.210 * inch, Depth: in(0.170, 0.176)},
		{Section: 0.275 * inch, Depth: in(0.225, 0.235)},
	}
}
