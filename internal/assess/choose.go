package assess

import (
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
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

// Cause is the verdict for which the pump is opened: the last one as found, or the last of any hold of before the pump was taken back to be
// opened again; nil when there is none.
func Cause(j *record.Job) *record.Line[*record.Judged] {
	for i := len(j.Verdicts) - 1; i >= 0; i-- {
		if l := &j.Verdicts[i]; l.Body.Hold == record.AsFound || l.Entry.Seq < j.Round {
			return l
		}
	}
	return nil
}

// Proposed is what to do with the parts as far as is known when nobody has chosen yet.
type Proposed struct {
	Parts  pump.Chosen
	Reason map[string]Reason
}

// Reason is the code of why something is proposed.
type Reason string

// The reasons.
const (
	BySize    Reason = "size"    // a size is past its limit
	ByVerdict Reason = "verdict" // it serves a path that the verdict suspects
)

// Propose proposes what Suggest makes of the verdict for which the pump is opened, and a new one for each part that was measured past its
// limit. Error: that of Recall.
func Propose(j *record.Job, p *pump.Pump) (Proposed, error) {
	out := Proposed{pump.Chosen{}, map[string]Reason{}}
	if l := Cause(j); l != nil {
		r, _, err := Recall(l.Body)
		if err != nil {
			return out, err
		}
		out.Parts = Suggest(r, p)
	}
	for part := range out.Parts {
		out.Reason[part] = ByVerdict
	}
	for part := range worn(j, p) {
		out.Parts[part], out.Reason[part] = pump.Replace, BySize
	}
	return out, nil
}

// Unheeded names the parts that were measured past their limit after the choice, or in spite of it, and are not to be replaced.
func Unheeded(j *record.Job, p *pump.Pump) []string {
	var out []string
	for part := range worn(j, p) {
		if j.Chosen == nil || pump.Action(j.Chosen.Body.Parts[part]) != pump.Replace {
			out = append(out, part)
		}
	}
	slices.Sort(out)
	return out
}

// WornSince says whether a part was measured past its limit after an entry.
func WornSince(j *record.Job, p *pump.Pump, part string, seq int64) bool {
	return worn(j, p)[part] > seq
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
