package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Size is one measured size of a part with its limits.
type Size struct {
	Part, Size string
	New        float64 // m
	Min, Max   float64 // m; NaN when that side has no limit
}

// SizeOf finds a size of a part.
func SizeOf(p *pump.Pump, part, size string) (Size, bool) {
	q, ok := p.Part(part)
	if !ok {
		return Size{}, false
	}
	i := slices.IndexFunc(q.Wear, func(w pump.Wear) bool { return w.Size == size })
	if i < 0 {
		return Size{}, false
	}
	w := q.Wear[i]
	return Size{Part: part, Size: size, New: w.New, Min: w.Min, Max: w.Max}, true
}

// Side says how a measured size stands to its limits.
type Side string

// The sides.
const (
	Inside Side = "inside"
	Below  Side = "below" // less than the least that the sheet allows
	Above  Side = "above" // more than the most
)

// Side compares a measured value [m] with the limits. What is measured is taken as it reads: no error of the instrument is allowed for.
func (z Size) Side(value float64) Side {
	switch {
	case value < z.Min: // false for NaN
		return Below
	case value > z.Max:
		return Above
	}
	return Inside
}

// Measured is one size that was measured.
type Measured struct {
	Size
	Value float64 // m
	Side  Side
	Line  record.Line[*record.Found]
}

// MeasuredOf lists the sizes that were measured since the pump was last taken back to be opened, in the order in which they were written
// down. What cannot be read is left out; CheckFound refuses it.
func MeasuredOf(j *record.Job, p *pump.Pump) []Measured {
	var out []Measured
	for _, l := range j.Findings {
		z, ok := SizeOf(p, l.Body.Part, l.Body.Size)
		if !ok || l.First.Seq < j.Round {
			continue
		}
		if v, known, err := quantity("value", l.Body.Value, unit.Length, 0, math.MaxFloat64); known && err == nil {
			out = append(out, Measured{z, v.SI, z.Side(v.SI), l})
		}
	}
	return out
}

// worn names the parts with a size past its limit, each with the last entry that says so: a part is worn where it is worn most, and a
// better reading at another place does not mend it.
func worn(j *record.Job, p *pump.Pump) map[string]int64 {
	out := map[string]int64{}
	for _, m := range MeasuredOf(j, p) {
		if m.Side != Inside {
			out[m.Part] = max(out[m.Part], m.Line.Entry.Seq)
		}
	}
	return out
}

// CheckSize reads a measured size: what CheckFound says of it, and how it stands to its limits. Errors: those of CheckFound.
func CheckSize(p *pump.Pump, part, size, value string) (Measured, error) {
	if err := CheckFound(p, &record.Found{Part: part, Size: size, Value: value}); err != nil {
		return Measured{}, err
	}
	z, _ := SizeOf(p, part, size)
	v, _, err := quantity("value", value, unit.Length, 0, math.MaxFloat64)
	return Measured{Size: z, Value: v.SI, Side: z.Side(v.SI)}, err
}

// A measured size beyond these multiples of the new one is taken for a slip of the pen, or of the unit.
const (
	leastSize = 0.5
	mostSize  = 2
)

// CheckFound checks a finding: the part and the size are those of the pump, and the value is a length that such a part can have.
// The error is a *record.Fault whose Where is the field.
func CheckFound(p *pump.Pump, b *record.Found) error {
	q, ok := p.Part(b.Part)
	if !ok {
		return record.Faultf(record.Invalid, "part", fmt.Sprintf("%.60q", b.Part), "a part of this pump", "")
	}
	size, sized := SizeOf(p, b.Part, b.Size)
	switch {
	case b.Size != "" && !sized:
		want := "no size: the sheet gives none for this part"
		if len(q.Wear) > 0 {
			var names []string
			for _, w := range q.Wear {
				names = append(names, w.Size)
			}
			want = "one of " + strings.Join(names, ", ")
		}
		return record.Faultf(record.Invalid, "size", fmt.Sprintf("%.60q", b.Size), want, "")
	case b.Value != "" && b.Size == "":
		return record.Faultf(record.Invalid, "size", "nothing", "what was measured", "choose the size, or write it as a text")
	case b.Value == "":
		return nil
	}
	v, ok, err := quantity("value", b.Value, unit.Length, 0, math.MaxFloat64)
	switch {
	case err != nil:
		return err
	case !ok:
		return record.Faultf(record.Invalid, "value", fmt.Sprintf("%.60q", b.Value), "a length with its unit", "")
	case !(v.SI >= leastSize*size.New && v.SI <= mostSize*size.New):
		return record.Faultf(record.Invalid, "value", fmt.Sprintf("%.60q", b.Value), "a size near the "+unit.Metric().Show(size.New, unit.Length)+" of a new part", "look at the unit")
	}
	return nil
}
