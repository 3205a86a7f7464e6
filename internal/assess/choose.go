package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// suspect is the probability from which a path is suspected: at one in five, opening it too costs less than opening the pump a
// second time (common practice, no published source).
const suspect = 0.2

// Suggest proposes what to do with the parts that serve the paths which a result suspects: what wears is replaced, the rest is
// taken out and measured. When a pump does not hold and no path stands out, the likeliest one is suspected.
func Suggest(r *hold.Result, p *pump.Pump) pump.Chosen {
	chosen := pump.Chosen{}
	suspected := map[string]bool{}
	top := -1
	for i, q := range r.Paths {
		suspected[q.Path] = q.P >= suspect
		if top < 0 || q.P > r.Paths[top].P {
			top = i
		}
	}
	if top >= 0 && r.Verdict.Word == hold.DoesNotHold {
		suspected[r.Paths[top].Path] = true
	}
	for _, q := range p.Parts {
		if slices.ContainsFunc(q.Serves, func(path string) bool { return suspected[path] }) {
			chosen[q.Name] = pump.Keep
			if wears(q) {
				chosen[q.Name] = pump.Replace
			}
		}
	}
	return chosen
}

// wears says that a part is renewed rather than measured: rings and glands, static seals, balls, seats, valve cartridges.
func wears(q pump.Part) bool {
	switch q.Kind {
	case pump.KindStaticSeal, pump.KindBall, pump.KindSeat, "valve":
		return true
	}
	return slices.Contains(pump.RingKinds(), q.Kind)
}

// CheckChose checks a choice against the pump. The error is a *record.Fault whose Where is the part.
func CheckChose(p *pump.Pump, b *record.Chose) error {
	chosen := pump.Chosen{}
	for part, action := range b.Parts {
		chosen[part] = pump.Action(action)
	}
	if _, err := p.Work(chosen); err != nil {
		return choiceFault(err)
	}
	return nil
}

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
