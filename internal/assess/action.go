package assess

import (
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// What names an action.
type What string

// The actions that a job may ask for next.
const (
	DoHold      What = "hold"            // read the pump as found
	LookVerdict What = "look at verdict" // make it from new readings, or decide on what it says
	DoChoose    What = "choose"          // what becomes of the parts
	DoStep      What = "step"            // the step of the work
	DoProve     What = "prove"           // read the pump as left
	DoHandOver  What = "hand over"
	DoClose     What = "close"
	DoNothing   What = "" // the job is closed
)

// Action is the one obvious next action of a job.
type Action struct {
	Stage  record.Stage
	What   What
	StepID string // of DoStep
}

// Next is the next action of a job at the stage where it stands; w is its work, nil when it cannot be told. It never leaves a stage
// by itself: where a stage is finished it names the action of the next one.
//
//	booked in, as found   hold until there is a reading, then look at the verdict; after "not proven yet" hold again
//	strip                 choose when nothing is chosen; the steps up to the measuring; then choose
//	choose                choose
//	build                 the steps up to the proof, then prove
//	prove                 the steps before the hold; prove; look at the verdict; then the rest of the steps, then hand over
//	hand over             hand over, then close
func Next(j *record.Job, p *pump.Pump, w *Work) Action {
	a := Action{Stage: j.Stage}
	switch j.Stage {
	case record.StageBooked, record.StageFound:
		a.What = afterHold(j, record.AsFound, p, DoHold)
	case record.StageStrip:
		a = a.step(w, PhaseMeasure, DoChoose)
		if j.Chosen == nil {
			a = Action{Stage: j.Stage, What: DoChoose}
		}
	case record.StageChoose:
		a.What = DoChoose
	case record.StageBuild:
		if a = a.step(w, PhaseBuild, DoProve); j.Chosen == nil {
			a = Action{Stage: j.Stage, What: DoChoose}
		}
	case record.StageProve:
		a = prove(a, j, p, w)
	case record.StageHand:
		if a.What = DoHandOver; j.Handed != nil {
			a.What = DoClose
		}
	}
	return a
}

// step is the next step of the work when it belongs to a phase up to last, else what comes then.
func (a Action) step(w *Work, last Phase, then What) Action {
	a.What = then
	if w == nil || w.Next == nil {
		return a
	}
	for _, ph := range Phases() {
		if w.Next.Phase == ph {
			a.What, a.StepID = DoStep, w.Next.ID
		}
		if ph == last {
			break
		}
	}
	// a soak belongs to the build, but it is laid down before the strip
	if w.Next.Kind == pump.StepSoak && w.Next.State == Todo {
		a.What, a.StepID = DoStep, w.Next.ID
	}
	return a
}

func prove(a Action, j *record.Job, p *pump.Pump, w *Work) Action {
	if w != nil && w.Next != nil && w.Next.Kind != pump.StepHold && !w.heldSince() {
		return a.step(w, PhaseProve, DoProve)
	}
	v := j.Verdict(record.AsLeft)
	if v != nil && v.Body.Word == hold.Holds && Current(j, record.AsLeft, p) {
		return a.step(w, PhaseProve, DoHandOver)
	}
	a.What = afterHold(j, record.AsLeft, p, DoProve)
	return a
}

// heldSince says that the hold of the work is signed.
func (w *Work) heldSince() bool {
	s := w.Step("hold")
	return s != nil && s.State.Settled()
}

// afterHold is what to do with a hold: more readings, or the verdict.
func afterHold(j *record.Job, h record.HoldStage, p *pump.Pump, more What) What {
	d, err := SheetOf(j, h, p, nil)
	if err == nil && len(d.Sheet.Readings) == 0 {
		return more
	}
	if v := j.Verdict(h); v != nil && v.Body.Word == hold.NotProven && err == nil && d.Current(v.Body) {
		return more
	}
	return LookVerdict
}
