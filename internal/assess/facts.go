package assess

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// told is the probability of the likeliest set of faults from which the paths to open are told well enough, so that another check is not
// worth the walk before the strip (common practice, no published source).
const told = 0.7

// facts are what the case of a job depends on.
type facts struct {
	j      *record.Job
	w      *Work
	hold   record.HoldStage // the hold that counts where the job stands
	read   reads            // how it stands
	next   *Step            // of the work; nil when nothing is left, or the work is not known
	after  *Step            // the step after a hold that was made, as relieving its pressure; nil when it is done
	built  bool             // something was put in again
	proved bool             // the verdict holds and still counts, or somebody answered for it
	worn   bool             // a part past its limit is left, and nobody answered for it
	open   int              // points that nobody answered for, but hand-over and bill
	short  *hold.Course     // the first stroke that was held for less than asked for, and nobody answered for it
	look   string           // the first path at which nobody looked, and nobody answered for it
	billed bool
	bill   bool // who asks writes bills
}

// readState says how a hold stands.
type readState int

const (
	unread readState = iota
	outdated
	unjudged
	doubted
	longer
	check
	undecided
	fails
	holds
)

// reads is how a hold stands, with what it asks for.
type reads struct {
	state   readState
	reading int
	stroke  string
	seconds int
	path    string // to look at
}

// opening says that a job stands where the pump was not opened yet.
func opening(s record.Stage) bool { return s.Before(record.StageStrip) }

func factsOf(j *record.Job, p *pump.Pump, w *Work, bill bool) *facts {
	f := &facts{j: j, w: w, hold: record.AsLeft, bill: bill, billed: len(j.Prices) > 0}
	if !j.Open() {
		return f
	}
	if opening(j.Stage) {
		f.hold = record.AsFound
	}
	f.read = readsOf(j, f.hold, p)
	if w == nil {
		return f
	}
	f.next = w.Next
	f.steps()
	points := PointsOf(j, p, w)
	f.proved = !slices.ContainsFunc(points, func(q Point) bool { return q.Code == PointProof && q.Open() })
	for _, q := range OpenPoints(points) {
		switch q.Code {
		case PointHanded, PointBill:
		case PointWorn:
			f.worn = true
			f.open++
		case PointHold:
			if len(q.Short) > 0 && f.short == nil {
				f.short = &q.Short[0]
			}
			f.open++
		case PointLook:
			if f.look == "" {
				f.look = q.Path
			}
			f.open++
		default:
			f.open++
		}
	}
	return f
}

// steps notes what the work says beside its next step.
func (f *facts) steps() {
	h := f.w.Step(holdStep)
	for i := range f.w.Steps {
		s := &f.w.Steps[i]
		f.built = f.built || s.Phase == PhaseBuild && s.Kind != pump.StepSoak && s.State.Happened()
		if h != nil && h.State.Happened() && s.N > h.N && !s.State.Settled() && f.after == nil {
			f.after = s
		}
	}
}

// readsOf is how a hold stands.
func readsOf(j *record.Job, h record.HoldStage, p *pump.Pump) reads {
	v := j.Verdict(h)
	d, err := SheetOf(j, h, p, nil)
	switch {
	case err == nil && len(d.Sheet.Readings) == 0 && v != nil && v.Entry.Seq < j.From(h):
		return reads{state: outdated}
	case err == nil && len(d.Sheet.Readings) == 0:
		return reads{state: unread}
	case err != nil || v == nil || v.Entry.Seq < j.From(h) || !d.Current(v.Body):
		return reads{state: unjudged}
	}
	r, _, err := Recall(v.Body)
	if err != nil { // a verdict that cannot be read is made anew
		return reads{state: unjudged}
	}
	return readOf(r, v.Body.Word)
}

// readOf is what a verdict asks for.
func readOf(r *hold.Result, word string) reads {
	if word == hold.Holds {
		return reads{state: holds}
	}
	for _, o := range r.Verdict.Open {
		if o.Code == hold.Refuted {
			return reads{state: doubted, reading: o.Reading}
		}
	}
	if word == hold.DoesNotHold {
		if len(r.Next) > 0 && !toldBy(r) {
			return reads{state: check}
		}
		return reads{state: fails}
	}
	for _, n := range r.Verdict.Need {
		switch {
		case n.Code == hold.Unlooked:
			return reads{state: check, path: n.Path}
		case (n.Code == hold.HoldShort || n.Code == hold.NotHeld) && n.Seconds > 0:
			each := n.Seconds
			if n.Stroke == "" {
				each /= 2
			}
			return reads{state: longer, stroke: n.Stroke, seconds: int(math.Ceil(each))}
		}
	}
	if len(r.Next) > 0 {
		return reads{state: check}
	}
	return reads{state: undecided}
}

// toldBy says whether a result tells well enough which paths leak.
func toldBy(r *hold.Result) bool { return len(r.Sets) > 0 && r.Sets[0].P >= told }

// which is the case of the job.
func (f *facts) which() Case {
	switch {
	case !f.j.Open():
		return CaseClosed
	case opening(f.j.Stage):
		return map[readState]Case{unread: CaseFoundUnread, outdated: CaseFoundUnread, unjudged: CaseFoundUnjudged, doubted: CaseFoundAgain, longer: CaseFoundLonger,
			check: CaseFoundCheck, undecided: CaseFoundOpen, fails: CaseFoundFails, holds: CaseFoundHolds}[f.read.state]
	case f.j.Stage == record.StageHand && f.proved:
		return f.last()
	}
	if c := f.working(); c != "" {
		return c
	}
	if !f.proved {
		return f.proving()
	}
	return f.last()
}

// working is the case of a pump that is opened, or not yet built; "" when it is whole.
func (f *facts) working() Case {
	var at Phase
	if f.next != nil {
		at = f.next.Phase
	}
	early := f.w != nil && f.w.Early || f.w == nil && f.j.Chosen == nil && f.j.Stage.Before(record.StageBuild)
	switch {
	case f.next != nil && f.next.Kind == pump.StepSoak && f.next.State == Todo:
		return CaseSoak
	case at == PhaseSafe:
		return CaseSafe
	case at == PhaseStrip:
		return CaseStrip
	case at == PhaseMeasure:
		return CaseMeasure
	case early:
		return CaseChoose
	case f.worn && !f.built:
		return CaseWorn
	case at == PhaseBuild:
		return CaseBuild
	case at == PhaseProve && f.next.Kind != pump.StepHold && f.after == nil && !Relieves(f.next.Step):
		return CaseBefore
	}
	return ""
}

// proving is the case of a pump that is whole and not proved.
func (f *facts) proving() Case {
	return map[readState]Case{unread: CaseLeftUnread, outdated: CaseLeftOld, unjudged: CaseLeftUnjudged, doubted: CaseLeftAgain, longer: CaseLeftLonger,
		check: CaseLeftCheck, undecided: CaseLeftOpen, fails: CaseLeftFails, holds: CaseLeftUnjudged}[f.read.state]
}

// last is the case of a pump that is proved, or for which somebody answered.
func (f *facts) last() Case {
	switch {
	case f.after != nil && Relieves(f.after.Step) && f.short != nil:
		f.next, f.read.stroke, f.read.seconds = f.after, f.short.Stroke, int(math.Ceil(f.short.Asked))
		return CaseLeftShort
	case f.after != nil && Relieves(f.after.Step) && f.look != "":
		f.next, f.read.path = f.after, f.look
		return CaseLeftLook
	case f.after != nil:
		f.next = f.after
		return CaseAfter
	case f.open > 0:
		return CaseAnswer
	case f.bill && !f.billed:
		return CaseBill
	case f.j.Handed == nil:
		return CaseHandOver
	case !f.billed:
		return CaseBill
	}
	return CaseClose
}
