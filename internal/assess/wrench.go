package assess

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Remedy is the code of what to do about a torque outside its tolerance: common practice, no published source.
type Remedy string

// The remedies.
const (
	RemedyNone    Remedy = ""
	RemedyTighten Remedy = "tighten" // too little: back half a turn, then one even pull to the setting
	RemedyLoosen  Remedy = "loosen"  // too much: loosen fully, look at thread and face, renew what gave, tighten again
	RemedyStack   Remedy = "stack"   // too much on rings: loosen fully, look at the rings, renew those that stay flat, tighten again
)

// Remedy is what to do about a torque at the joint [N·m].
func (t *Torque) Remedy(at float64) Remedy {
	switch {
	case at <= 0 || at >= t.Least*(1-1e-9) && at <= t.Most*(1+1e-9):
		return RemedyNone
	case at < t.Least:
		return RemedyTighten
	case t.Through != "":
		return RemedyStack
	}
	return RemedyLoosen
}

// AtJoint returns the torque [N·m] that a reading of a wrench of a length [m] brings to the joint, its spanner at an angle [rad] to it.
// Errors: those of bolt.TorqueThrough.
func (t *Torque) AtJoint(read, length, angle float64) (float64, error) {
	if t.Adapter == 0 {
		return read, nil
	}
	return bolt.TorqueThrough(read, length, t.Adapter, angle)
}

// Got is what a joint got by the record of a step: what was read on the wrench, and what that is at the joint. Error: *record.Fault of code
// Invalid when it cannot be read.
func Got(p *pump.Pump, b *record.Did) (*Torque, error) {
	d, err := readDid(p.Name, b)
	if err != nil {
		return nil, err
	}
	at, err := d.AtJoint()
	if err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: "wrench", Found: fmt.Sprintf("%.60q", b.Wrench), Want: "the length of the wrench, from the hand to the drive", Err: err}
	}
	return &Torque{Read: d.Torque, Got: at}, nil
}

// Wrench is a torque wrench as the register of tools has it. Zero is what is not known.
type Wrench struct {
	Arm         float64 // m, hand to drive
	Least, Most float64 // N·m, ends of its scale
}

// WrenchOf reads a torque wrench of the register; what cannot be read is not known.
func WrenchOf(t *record.Tool) Wrench {
	var w Wrench
	if v, ok, err := quantity("length", t.Length, unit.Length, 0, mostArm); ok && err == nil {
		w.Arm = v.SI
	}
	if lo, hi, err := scale("range", t.Range, unit.Torque); err == nil {
		w.Least, w.Most = lo, hi
	}
	return w
}

// Reads says whether a torque [N·m] lies on the scale of the wrench, as far as it is known.
func (w Wrench) Reads(torque float64) bool {
	return torque >= w.Least*(1-1e-9) && (w.Most == 0 || torque <= w.Most*(1+1e-9))
}

// mostArm is the longest arm of a torque wrench [m] that is taken for one.
const mostArm = 3

// span splits the ends of a scale: "40–200 N·m", "0 to 400 bar".
var span = regexp.MustCompile(`^\s*([0-9][0-9.,\x{a0} ]*?)\s*(?:-|–|…|\bto\b|\ba\b)\s*([0-9].*)$`)

// scale reads the ends of the scale of a tool as typed: "40–200 N·m"; one value alone is the upper end.
func scale(where, text string, d unit.Dim) (lo, hi float64, err error) {
	from, to := "", text
	if m := span.FindStringSubmatch(text); m != nil {
		from, to = m[1], m[2]
	}
	top, ok, err := quantity(where, to, d, 0, math.MaxFloat64)
	if err != nil || !ok {
		return 0, 0, err
	}
	if from == "" {
		return 0, top.SI, nil
	}
	least, _, err := quantity(where, from+" "+strings.TrimLeft(to, "0123456789.,\u00a0 "), d, 0, math.MaxFloat64)
	if err == nil && least.SI >= top.SI {
		err = record.Faultf(record.Invalid, where, fmt.Sprintf("%.60q", text), "the lower end before the upper", "")
	}
	return least.SI, top.SI, err
}

// CheckTool reads what the register says of a tool, as far as something is reckoned with it: the arm, the scale and the class of a torque
// wrench, the scale of a gauge. The error is a *record.Fault whose Where is the field.
func CheckTool(t *record.Tool) error {
	switch t.Sort {
	case "wrench":
		if _, _, err := quantity("length", t.Length, unit.Length, 0.01, mostArm); err != nil {
			return err
		}
		if t.Class != "" {
			if _, err := bolt.NewTool(t.Class); err != nil {
				return &record.Fault{Code: record.Invalid, Where: "class", Found: fmt.Sprintf("%.60q", t.Class), Want: "a class of ISO 6789-1, I A to I E or II A to II G", Err: err}
			}
		}
		_, _, err := scale("range", t.Range, unit.Torque)
		return err
	case "gauge":
		_, _, err := scale("range", t.Range, unit.Pressure)
		return err
	}
	return nil
}

// Exactly writes a length of the pump sheet [m] with all its digits, as a record holds it.
func Exactly(m float64) string { return unit.Format(m, unit.Length, "mm", 12) }
