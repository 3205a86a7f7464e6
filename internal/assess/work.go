package assess

import (
	"errors"
	"time"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Phase is a part of the work.
type Phase string

// The phases in their order.
const (
	PhaseStrip   Phase = "strip"
	PhaseMeasure Phase = "measure"
	PhaseBuild   Phase = "build"
	PhaseProve   Phase = "prove"
)

// Phases lists the phases in their order.
func Phases() []Phase { return []Phase{PhaseStrip, PhaseMeasure, PhaseBuild, PhaseProve} }

// State is where a step stands.
type State string

// The states of a step.
const (
	Todo    State = "todo"
	Done    State = "done"
	Skipped State = "skipped" // left out on purpose
	Passed  State = "passed"  // of strip and clean: not signed, but a step that comes after it is
	Missed  State = "missed"  // of the other kinds: not signed, though a step that comes after it is
	Soaking State = "soaking" // started, not ready yet
	Ready   State = "ready"   // has soaked long enough, not signed yet
)

// Settled says that nothing is left to do.
func (s State) Settled() bool { return s == Done || s == Skipped || s == Passed }

// Work is the order of work of a job with what has been done of it.
type Work struct {
	Chosen     pump.Chosen
	Steps      []Step
	Next       *Step // the step to do now, one of Steps; nil when nothing is left
	Progress   map[Phase]Count
	Departures []Departure     // that are real now
	Loose      []*record.Entry // steps that were signed and are not in this order
	Unread     []Ignored       // entries with a quantity that cannot be read; it counts as not recorded
}

// Count is n of m.
type Count struct{ Done, Of int }

// Step is one step of the work with its state.
type Step struct {
	pump.Step
	N       int // 1 for the first
	Phase   Phase
	State   State
	Until   time.Time     // of a soak that was started: when it is ready
	Did     *record.Did   // what was written down; nil when nothing was, or when the rings of a stack were recorded as one
	Signed  *record.Entry // the entry that settles it, or that started the soak
	Mind    []Caution     // its cautions with their acknowledgements
	Wrench  *Torque       // of a step that torques a joint
	Blocked []string      // IDs of the steps just before it that are not settled
}

// Caution is one thing to mind.
type Caution struct {
	Text   string
	Minded *record.Entry // the acknowledgement; nil when there is none yet
}

// Torque is what a joint asks for and what it got.
type Torque struct {
	Joint      string
	Asked, Tol float64 // N·m at the joint; Tol is 0 when the sheet gives none
	Adapter    float64 // m that the spanner adds; 0 for none
	Spanner    string
	Length     float64 // m, of the wrench of this step, else of the one used last in this job; 0 when not known
	InLine     float64 // N·m to set with the spanner in line with that wrench; 0 when its length is needed and not known
	Read       float64 // N·m on the wrench; 0 when not recorded
	Got        float64 // N·m at the joint; 0 when not recorded
	Within     bool    // Got is within the tolerance
}

// Setting returns what to set on a wrench [N·m] of a length [m] whose spanner stands at an angle [rad] to it: 0 in line, π/2
// square, where nothing is to be corrected. Errors: those of bolt.WrenchSetting.
func (t *Torque) Setting(length, angle float64) (float64, error) {
	if t.Adapter == 0 {
		return t.Asked, nil
	}
	return bolt.WrenchSetting(t.Asked, length, t.Adapter, angle)
}

// Rebuilds works out the work on a pump for a choice; pump.Pump.Rebuild does, and who asks often may keep what it gave.
type Rebuilds func(pump.Chosen) (*pump.Rebuild, error)

// WorkOf is the order of work for the choice that is recorded, nothing chosen when there is none, as it stands at a time.
//
// Errors: *record.Fault of code Invalid when the choice does not fit the pump.
func WorkOf(j *record.Job, p *pump.Pump, rebuild Rebuilds, now time.Time) (*Work, error) {
	chosen := chosenOf(j)
	r, err := rebuild(chosen)
	if err != nil {
		return nil, choiceFault(err)
	}
	b, unread := buildOf(j, p)
	w := &Work{Chosen: chosen, Progress: map[Phase]Count{}, Unread: unread}
	s := newSettling(j, now)
	proving := false
	for i, x := range r.Steps() {
		proving = proving || closes(x.Kind)
		st := Step{Step: x, N: i + 1, Phase: phaseOf(x, proving)}
		s.settle(&st)
		for _, text := range x.Cautions {
			st.Mind = append(st.Mind, Caution{text, j.Minded[text]})
		}
		w.Steps = append(w.Steps, st)
	}
	after := w.order()
	w.overtaken(after)
	w.count()
	w.Next = w.next()
	w.Loose = s.loose(w)
	if err := w.depart(j, r, b, after); err != nil {
		return nil, err
	}
	w.answers(j)
	w.torques(p, b)
	return w, nil
}

func chosenOf(j *record.Job) pump.Chosen {
	c := pump.Chosen{}
	if j.Chosen != nil {
		for part, action := range j.Chosen.Body.Parts {
			c[part] = pump.Action(action)
		}
	}
	return c
}

func choiceFault(err error) error {
	var c *pump.ChoiceError
	if errors.As(err, &c) {
		return &record.Fault{Code: record.Invalid, Where: c.Part, Found: "to " + c.Action + " it", Want: c.Want, Mend: "choose again", Err: err}
	}
	return &record.Fault{Code: record.Invalid, Where: "the order of work", Found: err.Error(), Want: "a sound pump sheet", Err: err}
}

// closes says that after a step of this kind the pump is not taken apart any more, so that the safety steps are those of the proof.
func closes(k pump.StepKind) bool {
	switch k {
	case pump.StepClean, pump.StepFit, pump.StepTorque, pump.StepPrime, pump.StepHold:
		return true
	}
	return false
}

func phaseOf(s pump.Step, proving bool) Phase {
	switch s.Kind {
	case pump.StepSafe:
		if proving {
			return PhaseProve
		}
		return PhaseStrip
	case pump.StepStrip:
		return PhaseStrip
	case pump.StepClean, pump.StepMeasure:
		return PhaseMeasure
	case pump.StepPrime, pump.StepHold:
		return PhaseProve
	case pump.StepLubricate:
		if s.Stack == "" { // the wet cup
			return PhaseProve
		}
	}
	return PhaseBuild
}

// settling is what was written down, by step.
type settling struct {
	now    time.Time
	done   map[string]record.Line[*record.Did]
	soaks  map[string]record.Line[*record.Soaking]
	stacks map[string]record.Line[*record.Stacked]
	all    []record.Line[*record.Did]
}

func newSettling(j *record.Job, now time.Time) *settling {
	s := &settling{now, map[string]record.Line[*record.Did]{}, map[string]record.Line[*record.Soaking]{}, map[string]record.Line[*record.Stacked]{}, j.Done}
	for _, l := range j.Done {
		s.done[l.Body.Step] = l
	}
	for _, l := range j.Soaks {
		s.soaks[l.Body.Step] = l
	}
	for _, l := range j.Stacks {
		s.stacks[l.Body.Stack] = l
	}
	return s
}

// settle sets the state of a step from what was written about it.
func (s *settling) settle(st *Step) {
	st.State = Todo
	if l, ok := s.done[st.ID]; ok {
		st.State, st.Did, st.Signed = Done, l.Body, l.Entry
		if l.Body.Skipped {
			st.State = Skipped
		}
		return
	}
	if l, ok := s.stacks[st.Stack]; ok && st.Ring > 0 {
		st.State, st.Signed = Done, l.Entry
		return
	}
	if l, ok := s.soaks[st.ID]; ok && st.Kind == pump.StepSoak {
		st.State, st.Signed, st.Until = Soaking, l.Entry, l.Body.Ready
		if !s.now.Before(l.Body.Ready) {
			st.State = Ready
		}
	}
}

// loose lists the steps that were signed and are not in the order.
func (s *settling) loose(w *Work) []*record.Entry {
	known := map[string]bool{}
	for i := range w.Steps {
		known[w.Steps[i].ID] = true
	}
	var out []*record.Entry
	for _, l := range s.all {
		if !known[l.Body.Step] {
			out = append(out, l.Entry)
		}
	}
	return out
}

// StartSoak is the record of a soak that starts at a time.
func StartSoak(s pump.Step, from time.Time) (*record.Soaking, error) {
	q, ok := s.Quantities["soak"]
	if s.Kind != pump.StepSoak || !ok {
		return nil, record.Faultf(record.Invalid, "step", s.ID, "a step that soaks a part", "")
	}
	return &record.Soaking{Step: s.ID, Ready: from.Add(time.Duration(q.SI * float64(time.Second)))}, nil
}
