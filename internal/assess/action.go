package assess

import (
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// What names an action.
type What string

// The actions that a job may ask for next.
const (
	DoHold     What = "hold"      // read the pump as found
	DoJudge    What = "judge"     // make the verdict of what was read
	DoAgain    What = "again"     // take a reading again that the others contradict
	DoLonger   What = "longer"    // hold a stroke for so many seconds more
	DoCheck    What = "check"     // the check that would settle most
	DoStrip    What = "strip"     // isolate, relieve, open
	DoReopen   What = "reopen"    // take a pump that was built back to be opened again
	DoChoose   What = "choose"    // what becomes of the parts
	DoStep     What = "step"      // the step of the work
	DoRun      What = "run"       // the plain steps from this one on
	DoProve    What = "prove"     // read the pump as left
	DoAnswer   What = "answer"    // what is open before a job is closed
	DoHandOver What = "hand over" //
	DoBill     What = "bill"      // write the bill
	DoClose    What = "close"     //
	DoNothing  What = ""          // the job is closed
)

// Action is the one obvious next action of a job.
type Action struct {
	Stage   record.Stage // where the action belongs, which is where the job stands
	Case    Case         // the state of the job that asks for it
	What    What
	Or      What             // what may be done as well; "" when nothing
	Hold    record.HoldStage // of what is read and judged
	StepID  string           // of DoStep, and the first of DoRun
	Steps   int              // of DoRun: how many
	Reading int              // of DoAgain: 1 for the first reading of the verdict
	Stroke  string           // of DoLonger: "up", "down", or "" for each of both
	Seconds int              // of DoLonger
	Path    string           // of DoCheck: the path to look at; "" when the check is that of the verdict
	Open    int              // of DoAnswer: how many points
}

// Next is the next action of a job: the row of the table of cases for the state in which it is. w is its work; nil when it cannot be told,
// and then what needs it is left out. bill says that the one who asks writes bills: the office bills first, the bench hands over first.
func Next(j *record.Job, p *pump.Pump, w *Work, bill bool) Action {
	f := factsOf(j, p, w, bill)
	c := f.which()
	row := rowOf(c)
	return f.fill(Action{Stage: row.Stage, Case: c, What: row.Do, Or: row.Or})
}

// fill adds what an action is about.
func (f *facts) fill(a Action) Action {
	if a.Stage == "" {
		a.Stage = f.j.Stage
	}
	switch a.What {
	case DoHold, DoProve, DoJudge, DoAgain, DoLonger, DoCheck:
		a.Hold = f.hold
	}
	switch a.Case {
	case CaseFoundAgain, CaseLeftAgain:
		a.Reading = f.read.reading
	case CaseFoundLonger, CaseLeftLonger, CaseLeftShort:
		a.Stroke, a.Seconds = f.read.stroke, f.read.seconds
	case CaseFoundCheck, CaseLeftCheck, CaseLeftLook:
		a.Path = f.read.path
	case CaseAnswer:
		a.Open = f.open
	}
	if a.What == DoStrip && f.next == nil { // nothing is suspected: what to open is a choice
		a.What = DoChoose
	}
	if f.next != nil && (a.What == DoStep || a.What == DoStrip || a.Or == DoStep) {
		a.StepID = f.next.ID
		if run := f.w.Run(f.next.ID); a.What == DoStep && len(run) > 1 {
			a.What, a.Steps = DoRun, len(run)
		}
	}
	return a
}
