package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Spread says how a value lies within its range.
type Spread string

// Spreads that a Range can have.
const (
	Even     Spread = "even"      // rectangular: every value in the range is equally likely
	TwoSigma Spread = "two sigma" // normal, the range being mean ± 2 standard deviations; cut at zero
)

// Range is what is known of a value: the range that it lies in, and how.
type Range struct {
	Lo, Hi float64
	Spread Spread // "" is Even, the cautious reading of a table range
}

// Mid returns the middle of the range.
func (r Range) Mid() float64 { return (r.Lo + r.Hi) / 2 }

// Std returns the standard uncertainty of the range: (Hi−Lo)/√12 when even, (Hi−Lo)/4 when it is ± 2 standard deviations.
// Source: JCGM 100:2008, 4.3.7 and 4.3.4.
func (r Range) Std() float64 {
	if r.Spread == TwoSigma {
		return (r.Hi - r.Lo) / 4
	}
	return (r.Hi - r.Lo) / math.Sqrt(12)
}

// Exactly returns the range of a value that is known.
func Exactly(v float64) Range { return Range{Lo: v, Hi: v} }

func (r Range) check(fn, name string) error {
	if err := first(num.CheckRange(fn, name, r.Lo, 0, 1, "1"), num.CheckRange(fn, name, r.Hi, r.Lo, 1, "1")); err != nil {
		return err
	}
	if r.Spread != "" && r.Spread != Even && r.Spread != TwoSigma {
		return &ParseError{"spread of " + name, string(r.Spread), `"even" or "two sigma"`}
	}
	return nil
}

// FrictionClass is a class of friction in thread and bearing.
type FrictionClass struct {
	Name    string
	Mu      Range  // range of the coefficient, even
	Open    bool   // the source gives no upper end; Mu.Hi is then assumed
	Typical string // what belongs to it
}

// FrictionClasses returns the classes A to E of VDI 2230-1. Class E has no upper end in the source; 0.45 is assumed.
func FrictionClasses() []FrictionClass {
	return []FrictionClass{
		{"A", Range{Lo: 0.04, Hi: 0.10}, false, "solid lubricant (MoS2, graphite, PTFE) or wax on bare, black, phosphated or zinc-plated steel"},
		{"B", Range{Lo: 0.08, Hi: 0.16}, false, "grease, oil or paste; as delivered; stainless steel with paste; coatings with lubricant"},
		{"C", Range{Lo: 0.14, Hi: 0.24}, false, "bare or phosphated, slightly oiled as delivered; zinc plated dry; stainless steel oiled; thread adhesive"},
		{"D", Range{Lo: 0.20, Hi: 0.35}, false, "zinc plated or hot-dip galvanised, not lubricated; stainless steel oiled"},
		{"E", Range{Lo: 0.30, Hi: 0.45}, true, "zinc alloy, stainless steel, aluminium or magnesium, not lubricated"},
	}
}

// Friction returns the class by its name, "A" to "E"; any other name is a *ParseError.
func Friction(class string) (FrictionClass, error) {
	for _, c := range FrictionClasses() {
		if c.Name == class {
			return c, nil
		}
	}
	return FrictionClass{}, &ParseError{"friction class", class, "A, B, C, D or E"}
}
