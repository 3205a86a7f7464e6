package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Tool is a hand torque tool.
type Tool struct {
	Class  string  // type and class of ISO 6789-1, as "II A"; free text for a tool outside it
	AtMost float64 // permissible deviation ± of the reading at or below 10 N·m, as 0.06
	Above  float64 // permissible deviation ± of the reading above 10 N·m, as 0.04
	Min    float64 // N·m, lowest mark of the scale; 0 when not known
	Max    float64 // N·m, highest mark; 0 when not known
	Step   float64 // N·m, one step of the scale; 0 for a scale that reads freely
	Length float64 // m, hand to drive; needed with an adapter only
}

// toolLimit is the torque at which the permissible deviation of ISO 6789-1 changes.
const toolLimit = 10 // N·m

// NewTool returns a tool with the permissible deviations of its type and class in ISO 6789-1:
//
//	"II A", "II B", "II C" (setting tools)  ±6 % at or below 10 N·m, ±4 % above
//	"I B", "I C" (indicating, rigid housing) the same; "I A", "I D", "I E", "II D" to "II G"  ±6 % throughout
//
// Only "II A" was checked against a restatement of the standard; the other classes are from memory, so set AtMost and
// Above from the tool's own certificate where there is one. An unknown class is a *ParseError.
func NewTool(class string) (Tool, error) {
	for _, t := range tools {
		if t.Class == class {
			return t, nil
		}
	}
	return Tool{}, &ParseError{"tool class", class, `"I A" to "I E" or "II A" to "II G"`}
}

var tools = []Tool{
	{Class: "I A", AtMost: 0.06, Above: 0.06}, {Class: "I B", AtMost: 0.06, Above: 0.04}, {Class: "I C", AtMost: 0.06, Above: 0.04},
	{Class: "I D", AtMost: 0.06, Above: 0.06}, {Class: "I E", AtMost: 0.06, Above: 0.06},
	{Class: "II A", AtMost: 0.06, Above: 0.04}, {Class: "II B", AtMost: 0.06, Above: 0.04}, {Class: "II C", AtMost: 0.06, Above: 0.04},
	{Class: "II D", AtMost: 0.06, Above: 0.06}, {Class: "II E", AtMost: 0.06, Above: 0.06}, {Class: "II F", AtMost: 0.06, Above: 0.06}, {Class: "II G", AtMost: 0.06, Above: 0.06},
}

// ToolClasses returns the types and classes that NewTool knows, sorted.
func ToolClasses() []string {
	out := make([]string, len(tools))
	for i, t := range tools {
		out[i] = t.Class
	}
	return out
}

// Deviation returns the permissible deviation, as a share of the reading, at the torque M [N·m] that the tool shows.
// A torque outside the scale (Min..Max, where known) is a *num.RangeError.
func (t Tool) Deviation(torque float64) (float64, error) {
	fn := "bolt.Tool.Deviation"
	hi := t.Max
	if hi == 0 {
		hi = math.Inf(1)
	}
	if err := first(num.CheckPositive(fn, "M", torque, "N·m"), num.CheckRange(fn, "M", torque, t.Min, hi, "N·m")); err != nil {
		return 0, err
	}
	if torque <= toolLimit {
		return t.AtMost, nil
	}
	return t.Above, nil
}

// WrenchSetting returns what to set on the wrench [N·m] so that the fastener gets the torque M [N·m] through an adapter:
//
//	M_set = M·L/(L + E·cosθ)
//
// L [m] > 0 hand to drive, E [m] >= 0 drive to fastener, θ [rad] angle of the adapter from the wrench's line: 0 straight on,
// π/2 square (no correction, and L may be 0, not known), π folded back. L + E·cosθ must stay positive. Holds for a hand on the grip's mark.
// Source: instruction sheets of torque wrenches; moment equilibrium.
func WrenchSetting(torque, length, adapter, angle float64) (float64, error) {
	ratio, err := leverage("bolt.WrenchSetting", torque, length, adapter, angle)
	if err != nil {
		return 0, err
	}
	return torque / ratio, nil
}

// TorqueThrough returns the torque [N·m] at the fastener when the wrench is set to M_set [N·m]: the inverse of
// WrenchSetting, M = M_set·(L + E·cosθ)/L, with its range and source.
func TorqueThrough(setting, length, adapter, angle float64) (float64, error) {
	ratio, err := leverage("bolt.TorqueThrough", setting, length, adapter, angle)
	if err != nil {
		return 0, err
	}
	return setting * ratio, nil
}

// Square says whether an adapter at an angle [rad] stands square to the wrench, within a thousandth of a degree: then the torque at the
// fastener is that of the wrench, whatever its length.
func Square(angle float64) bool { return math.Abs(math.Cos(angle)) < 1e-3*math.Pi/180 }

// leverage returns (L + E·cosθ)/L.
func leverage(fn string, torque, length, adapter, angle float64) (float64, error) {
	if err := first(
		num.CheckRange(fn, "M", torque, 0, math.Inf(1), "N·m"),
		num.CheckRange(fn, "E", adapter, 0, math.Inf(1), "m"),
		num.CheckRange(fn, "θ", angle, -math.Pi, math.Pi, "rad"),
	); err != nil {
		return 0, err
	}
	if Square(angle) {
		return 1, num.CheckRange(fn, "L", length, 0, math.Inf(1), "m")
	}
	if err := first(
		num.CheckPositive(fn, "L", length, "m"),
		num.CheckPositive(fn, "L+E·cosθ", length+adapter*math.Cos(angle), "m"),
	); err != nil {
		return 0, err
	}
	return (length + adapter*math.Cos(angle)) / length, nil
}

// OnScale returns the mark of the wrench's scale nearest to the torque M [N·m] >= 0, halves upward; step [N·m] >= 0 is one
// step of the scale, 0 leaves M as it is.
func OnScale(torque, step float64) (float64, error) {
	fn := "bolt.OnScale"
	if err := first(
		num.CheckRange(fn, "M", torque, 0, math.Inf(1), "N·m"), num.CheckRange(fn, "step", step, 0, math.Inf(1), "N·m"),
	); err != nil {
		return 0, err
	}
	if step == 0 {
		return torque, nil
	}
	return math.Round(torque/step) * step, nil
}
