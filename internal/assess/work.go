package assess

import (
	"errors"
	"slices"
	"time"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Phase is a part of the work.
type Phase string

// The phases in their order.
const (
	PhaseSafe    Phase = "safe" // isolate and relieve
	PhaseStrip   Phase = "strip"
	PhaseMeasure Phase = "measure"
	PhaseBuild   Phase = "build"
	PhaseProve   Phase = "prove"
)

// Phases lists the phases in their order.
func Phases() []Phase { return []Phase{PhaseSafe, PhaseStrip, PhaseMeasure, PhaseBuild, PhaseProve} }

// State is where a step stands.
type State string

// The states of a step.
const (
	Todo    State = "todo"
	Done    State = "done"
	Off     State = "off"     // done, but not as it asks: a torque outside its tolerance, a soak cut short
	Named   State = "named"   // the same, and somebody who may answers for it
	Skipped State = "skipped" // left out on purpose
	Passed  State = "passed"  // of strip and clean: not signed, but a step that comes after it is
	Missed  State = "missed"  // of the other kinds: not signed, though a step that comes after it is
	Soaking State = "soaking" // started, not ready yet
	Ready   State = "ready"   // has soaked long enough, not signed yet
)

// Settled says that nothing is left to do.
func (s State) Settled() bool { return s == Done || s == Named || s == Skipped || s == Passed }

// Happened says that the step was done, whichever way.
func (s State) Happened() bool { return s == Done || s == Named || s == Off }

// Work is the order of work of a job with what has been done of it.
type Work struct {
	Chosen     pump.Chosen
	Hold       []Caution // what to mind at a hold, as found or as left
	Early      bool      // nothing is chosen yet: Chosen is what the verdict suspects and what came out, and the steps end with the measuring
	Steps      []Step
	Next       *Step // the step to do now, one of Steps; nil when nothing is left
	Progress   map[Phase]Count
	Departures []Departure     // that are real now
	open       []Departure     // and those that would be if the job were closed now
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
	Through    string  // the stack that the joint presses together; "" when it has a shoulder
	Asked, Tol float64 // N·m at the joint; Tol is 0 when the sheet gives none
	Least      float64 // N·m at the joint that is within its tolerance
	Most       float64
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
	chosen, early, err := chosenOf(j, p)
	if err != nil {
		return nil, err
	}
	r, err := rebuild(chosen)
	if err != nil {
		return nil, choiceFault(err)
	}
	b, unread := buildOf(j, p)
	w := &Work{Chosen: chosen, Early: early, Progress: map[Phase]Count{}, Unread: unread}
	s := newSettling(j, now)
	w.steps(j, r, s)
	w.torques(j, p, b)
	w.soaked(j, p, b)
	after := w.order()
	w.overtaken(after)
	w.count()
	w.Next = w.next(after)
	w.Loose = s.loose(w)
	if err := w.depart(j, r, b, after); err != nil {
		return nil, err
	}
	w.answers(j)
	return w, nil
}

// steps takes over the steps of the order with what was done of them. Before anything is chosen the order is known as far as the measuring,
// and not at all when nothing is suspected.
func (w *Work) steps(j *record.Job, r *pump.Rebuild, s *settling) {
	for _, x := range r.Steps() {
		if x.Kind == pump.StepHold {
			w.Hold = cautionsOf(j, x)
		}
	}
	if w.Early && len(w.Chosen) == 0 {
		return
	}
	proving := false
	for i, x := range r.Steps() {
		proving = proving || closes(x.Kind)
		st := Step{Step: x, N: i + 1, Phase: phaseOf(x, proving)}
		if w.Early && st.Phase != PhaseSafe && st.Phase != PhaseStrip && st.Phase != PhaseMeasure {
			break
		}
		s.settle(&st)
		st.Mind = cautionsOf(j, x)
		w.Steps = append(w.Steps, st)
	}
}

func cautionsOf(j *record.Job, s pump.Step) []Caution {
	var out []Caution
	for _, text := range s.Cautions {
		out = append(out, Caution{text, j.Minded[text]})
	}
	return out
}

// chosenOf is what becomes of the parts: what was chosen, or before that what the verdict suspects, taken out to be looked at; and what came
// out, which goes in again. early says that nothing was chosen and the pump is not being built yet.
func chosenOf(j *record.Job, p *pump.Pump) (c pump.Chosen, early bool, err error) {
	c = pump.Chosen{}
	switch {
	case j.Chosen != nil:
		for part, action := range j.Chosen.Body.Parts {
			c[part] = pump.Action(action)
		}
	case j.Stage.Before(record.StageBuild):
		early = true
		proposed, err := Propose(j, p)
		if err != nil {
			return nil, false, err
		}
		for part := range proposed.Parts {
			c[part] = pump.Keep
		}
	}
	for _, l := range j.Done {
		if l.Body.Skipped || l.First.Seq < j.Round {
			continue
		}
		for _, part := range p.TakenOut(l.Body.Step) {
			if c[part] == "" {
				c[part] = pump.Keep
			}
		}
	}
	return c, early, nil
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
		return PhaseSafe
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
	job    *record.Job
	hold   *record.Entry // the hold as left: its verdict, nil when there is none that counts
	raised int64         // the last press of a hold as left: the pump stood under pressure then
	done   map[string]record.Line[*record.Did]
	soaks  map[string]record.Line[*record.Soaking]
	stacks map[string]record.Line[*record.Stacked]
	all    []record.Line[*record.Did]
}

// newSettling collects what was written down since the pump was last taken back to be opened.
func newSettling(j *record.Job, now time.Time) *settling {
	s := &settling{now: now, job: j, done: map[string]record.Line[*record.Did]{}, soaks: map[string]record.Line[*record.Soaking]{}, stacks: map[string]record.Line[*record.Stacked]{}}
	for _, l := range j.Done {
		if l.First.Seq > j.Round {
			s.done[l.Body.Step] = l
			s.all = append(s.all, l)
		}
	}
	for _, l := range j.Soaks {
		if l.First.Seq > j.Round {
			s.soaks[l.Body.Step] = l
		}
	}
	for _, l := range j.Stacks {
		if l.First.Seq > j.Round {
			s.stacks[l.Body.Stack] = l
		}
	}
	if v := j.Verdict(record.AsLeft); v != nil && v.Entry.Seq > j.Since() {
		s.hold = v.Entry
	}
	for _, l := range j.Presses {
		if l.Body.Hold == record.AsLeft && l.First.Seq > j.Since() {
			s.raised = l.First.Seq
		}
	}
	return s
}

// settle sets the state of a step from what was written about it.
func (s *settling) settle(st *Step) {
	st.State = Todo
	if l, ok := s.done[st.ID]; ok && s.stands(st, l.Entry) {
		st.State, st.Did, st.Signed = Done, l.Body, l.Entry
		if l.Body.Skipped {
			st.State = Skipped
		}
		return
	}
	if st.Kind == pump.StepHold && s.hold != nil {
		st.State, st.Signed = Done, s.hold
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

// stands says whether a signature still counts. A hold counts for the visit in which it was made; pressure that was relieved counts until it
// is raised for another hold.
func (s *settling) stands(st *Step, signed *record.Entry) bool {
	switch {
	case st.Kind == pump.StepHold:
		return signed.Seq > s.job.Since()
	case Relieves(st.Step):
		return signed.Seq > max(s.raised, s.job.Since())
	}
	return true
}

// Relieves says whether a step relieves the pressure of the hold.
func Relieves(s pump.Step) bool { return s.Kind == pump.StepSafe && slices.Contains(s.After, holdStep) }

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
