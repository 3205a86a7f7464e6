package bolt

import "math"

// System is the family of standards that a thread belongs to.
type System string

// Thread systems, both with a 60° profile.
const (
	Metric  System = "metric"  // ISO 68-1, ISO 261, ISO 724
	Unified System = "unified" // ASME B1.1
)

// Thread is the basic size of a single-start parallel thread. Make one with ParseThread.
type Thread struct {
	Name   string  // normal form of the designation, as "M24×2" or "3/4-16 UNF"
	System System  // Metric or Unified
	D      float64 // m, nominal diameter d
	P      float64 // m, pitch
}

// Factors of the pitch in the basic profile, H = P·√3/2 the height of the fundamental triangle.
var (
	pitchFactor = 3 * math.Sqrt(3) / 8     // 0.649519 = 2·3/8·H/P
	nutFactor   = 5 * math.Sqrt(3) / 8     // 1.082532 = 2·5/8·H/P
	isoCore     = 17 * math.Sqrt(3) / 24   // 1.226869 = 2·17/24·H/P
	unifiedCore = 2 * 3 * math.Sqrt(3) / 8 // 1.299038 = 2·3/4·H/P
	sec30       = 2 / math.Sqrt(3)         // 1/cos of the flank half angle
)

// PitchDiameter returns d2 = d − 0.649519·P [m]. Source: ISO 724:1993, ASME B1.1.
func (t Thread) PitchDiameter() float64 { return t.D - pitchFactor*t.P }

// NutMinor returns the basic minor diameter of the internal thread, D1 = d − 1.082532·P [m]. Source: ISO 724:1993, ASME B1.1.
func (t Thread) NutMinor() float64 { return t.D - nutFactor*t.P }

// Core returns the core diameter of the external thread [m]: metric d3 = d − 1.226869·P (ISO 68-1 with the rounded root),
// unified d3 = d − 1.299038·P (the root that the stress area of ASME B1.1 is built on).
func (t Thread) Core() float64 {
	if t.System == Unified {
		return t.D - unifiedCore*t.P
	}
	return t.D - isoCore*t.P
}

// StressArea returns As = π/4·((d2+d3)/2)² [m²]. For unified threads this is π/4·(d − 0.9743·P)² of ASME B1.1.
// Source: ISO 898-1, ASME B1.1.
func (t Thread) StressArea() float64 {
	d0 := t.stressDiameter()
	return math.Pi / 4 * d0 * d0
}

func (t Thread) stressDiameter() float64 { return (t.PitchDiameter() + t.Core()) / 2 }
