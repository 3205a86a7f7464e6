package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Contact is what the torque works against: the thread and the turned bearing face.
type Contact struct {
	Thread    Thread
	Bearing   float64 // m, mean diameter Db of the turned face: MeanBearing or AreaBearing
	MuThread  float64 // friction coefficient in the thread, 0..1
	MuBearing float64 // friction coefficient under the turned face, 0..1
}

func (c Contact) check(fn string) error {
	return first(
		num.CheckPositive(fn, "P", c.Thread.P, "m"),
		num.CheckPositive(fn, "d3", c.Thread.Core(), "m"),
		num.CheckPositive(fn, "Db", c.Bearing, "m"),
		num.CheckRange(fn, "μth", c.MuThread, 0, 1, "1"),
		num.CheckRange(fn, "μb", c.MuBearing, 0, 1, "1"),
	)
}

// arms returns the lever arms of Motosh's formula [m]: lead, thread friction, bearing friction.
func (c Contact) arms() (lead, thread, bearing float64) {
	return c.Thread.P / (2 * math.Pi), c.MuThread * c.Thread.PitchDiameter() * sec30 / 2, c.MuBearing * c.Bearing / 2
}

func (c Contact) arm() float64 {
	l, t, b := c.arms()
	return l + t + b
}

// Torque returns the torque [N·m] that brings the clamp F [N], after Motosh, as in VDI 2230-1 and ISO 16047:
//
//	M = F·[P/2π + μth·d2/(2·cos30°) + μb·Db/2]
//
// VDI prints 0.16·P and 0.58·d2·μth for the first two terms. Valid for F >= 0, 0 <= μ <= 1, flank half angle 30°, a lead
// angle small against 30°, no prevailing torque; otherwise a *num.RangeError.
func Torque(clamp float64, c Contact) (float64, error) {
	if err := first(num.CheckRange("bolt.Torque", "F", clamp, 0, math.Inf(1), "N"), c.check("bolt.Torque")); err != nil {
		return 0, err
	}
	return clamp * c.arm(), nil
}

// Clamp returns the clamp [N] that the torque M [N·m] brings: the inverse of Torque, with its range and source.
func Clamp(torque float64, c Contact) (float64, error) {
	if err := first(num.CheckRange("bolt.Clamp", "M", torque, 0, math.Inf(1), "N·m"), c.check("bolt.Clamp")); err != nil {
		return 0, err
	}
	return torque / c.arm(), nil
}

// Breakaway returns the torque [N·m] that starts to unscrew a joint under the clamp F [N]:
//
//	M = F·[−P/2π + μth·d2/(2·cos30°) + μb·Db/2]
//
// A negative value says that the joint unscrews by itself. Friction at rest is as high as, or higher than, friction while
// tightening, so that a measured value above this one proves nothing; one far below it says that clamp was lost.
// Range as Torque. Source: Torque with the lead working the other way (VDI 2230-1).
func Breakaway(clamp float64, c Contact) (float64, error) {
	if err := first(num.CheckRange("bolt.Breakaway", "F", clamp, 0, math.Inf(1), "N"), c.check("bolt.Breakaway")); err != nil {
		return 0, err
	}
	lead, thread, bearing := c.arms()
	return clamp * (thread + bearing - lead), nil
}

// LongTorque returns the torque [N·m] that brings the clamp F [N] by the power-screw form, lead angle not neglected:
//
//	M = (F·d2/2)·(P + π·μth·d2·sec30°)/(π·d2 − μth·P·sec30°) + F·μb·Db/2
//
// Range as Torque. Source: Shigley's Mechanical Engineering Design, chapter 8 (bolt torque).
func LongTorque(clamp float64, c Contact) (float64, error) {
	if err := first(num.CheckRange("bolt.LongTorque", "F", clamp, 0, math.Inf(1), "N"), c.check("bolt.LongTorque")); err != nil {
		return 0, err
	}
	d2, p, f := c.Thread.PitchDiameter(), c.Thread.P, c.MuThread*sec30
	screw := d2 / 2 * (p + math.Pi*f*d2) / (math.Pi*d2 - f*p)
	return clamp * (screw + c.MuBearing*c.Bearing/2), nil
}

// NutFactor returns K = M/(F·d) of the short form, after JIS B 1083:
//
//	K = (P/π + μth·d2·sec α′ + μb·Db)/(2·d)     tan α′ = tan30°·cos β     tan β = P/(π·d2)
//
// Range as Torque. Source: JIS B 1083 as restated in machine design tables.
func NutFactor(c Contact) (float64, error) {
	if err := c.check("bolt.NutFactor"); err != nil {
		return 0, err
	}
	d2 := c.Thread.PitchDiameter()
	lead := math.Atan(c.Thread.P / (math.Pi * d2))
	flank := math.Atan(math.Cos(lead) / math.Sqrt(3))
	return (c.Thread.P/math.Pi + c.MuThread*d2/math.Cos(flank) + c.MuBearing*c.Bearing) / (2 * c.Thread.D), nil
}

// ShortTorque returns M = K·F·d [N·m]: nut factor K, clamp F [N], nominal diameter d [m].
// Valid for 0 < K <= 1, F >= 0, d > 0. Typical K: about 0.20 dry or zinc plated, 0.15 to 0.18 lubricated.
// Source: T. H. Wentzell, Machine Design, chapter 6.
func ShortTorque(k, clamp, d float64) (float64, error) {
	fn := "bolt.ShortTorque"
	if err := first(shortCheck(fn, k, d), num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N")); err != nil {
		return 0, err
	}
	return k * clamp * d, nil
}

// ShortClamp returns F = M/(K·d) [N], the inverse of ShortTorque, with its range and source.
func ShortClamp(k, torque, d float64) (float64, error) {
	fn := "bolt.ShortClamp"
	if err := first(shortCheck(fn, k, d), num.CheckRange(fn, "M", torque, 0, math.Inf(1), "N·m")); err != nil {
		return 0, err
	}
	return torque / (k * d), nil
}

func shortCheck(fn string, k, d float64) error {
	return first(num.CheckPositive(fn, "K", k, "1"), num.CheckRange(fn, "K", k, 0, 1, "1"), num.CheckPositive(fn, "d", d, "m"))
}

// MeanBearing returns the mean bearing diameter as VDI 2230-1 takes it, Db = (Do+Di)/2 [m]: outer diameter Do, inner
// diameter Di of the turned face. Valid for 0 < Di < Do.
func MeanBearing(outer, inner float64) (float64, error) {
	if err := annulus("bolt.MeanBearing", outer, inner); err != nil {
		return 0, err
	}
	return (outer + inner) / 2, nil
}

// AreaBearing returns the bearing diameter for a face pressed evenly, Db = (2/3)·(Do³−Di³)/(Do²−Di²) [m], as JIS B 1083
// takes it. Valid for 0 <= Di < Do (Di = 0: a full disc, 2/3·Do).
func AreaBearing(outer, inner float64) (float64, error) {
	fn := "bolt.AreaBearing"
	err := num.CheckRange(fn, "Di", inner, 0, math.Inf(1), "m")
	if err == nil && !(outer > inner && outer <= math.MaxFloat64) {
		err = &num.RangeError{Func: fn, Name: "Do", Value: outer, Unit: "m", Want: "> Di and finite"}
	}
	if err != nil {
		return 0, err
	}
	// (Do³−Di³)/(Do²−Di²) with the common factor taken out, so that thin faces keep their digits.
	return 2.0 / 3 * (outer*outer + outer*inner + inner*inner) / (outer + inner), nil
}

func annulus(fn string, outer, inner float64) error {
	if err := num.CheckPositive(fn, "Di", inner, "m"); err != nil {
		return err
	}
	if !(outer > inner && outer <= math.MaxFloat64) {
		return &num.RangeError{Func: fn, Name: "Do", Value: outer, Unit: "m", Want: "> Di and finite"}
	}
	return nil
}

// first returns the first error that is not nil.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
