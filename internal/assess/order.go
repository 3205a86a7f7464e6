package assess

import (
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// order returns, by step, which steps come after it, and notes what blocks each.
func (w *Work) order() [][]bool {
	index := make(map[string]int, len(w.Steps))
	for i := range w.Steps {
		index[w.Steps[i].ID] = i
	}
	after := make([][]bool, len(w.Steps))
	for i := range after {
		after[i] = make([]bool, len(w.Steps))
	}
	for b := range w.Steps {
		for _, id := range w.Steps[b].After {
			a := index[id] // of the same order, and before b in it
			for k := range b {
				if k == a || after[k][a] {
					after[k][b] = true
				}
			}
		}
	}
	return after
}

// overtaken finds the steps that are not signed though a step after them is, and then what blocks each step.
func (w *Work) overtaken(after [][]bool) {
	state := map[string]State{}
	for i := range w.Steps {
		s := &w.Steps[i]
		if s.State == Todo {
			for b := range w.Steps {
				if after[i][b] && w.Steps[b].State.Happened() {
					s.State = Missed
				}
			}
		}
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		if s.State == Missed && (s.Kind == pump.StepStrip || s.Kind == pump.StepClean) {
			s.State = Passed
		}
		state[s.ID] = s.State
	}
	for i := range w.Steps {
		for _, id := range w.Steps[i].After {
			if !state[id].Settled() && state[id] != Off {
				w.Steps[i].Blocked = append(w.Steps[i].Blocked, id)
			}
		}
	}
}

func (w *Work) count() {
	for i := range w.Steps {
		c := w.Progress[w.Steps[i].Phase]
		c.Of++
		if w.Steps[i].State.Settled() {
			c.Done++
		}
		w.Progress[w.Steps[i].Phase] = c
	}
}

// Step finds a step by its ID, nil when the order has none.
func (w *Work) Step(id string) *Step {
	i := slices.IndexFunc(w.Steps, func(s Step) bool { return s.ID == id })
	if i < 0 {
		return nil
	}
	return &w.Steps[i]
}

// next is the first step of the order that can be done now. A soak that was started is left alone until the next step waits for
// it alone, or nothing else can be done: the one that is ready first. What was done otherwise than asked is done again as long as nothing
// was built on it; after that it is open until the job is closed.
func (w *Work) next(after [][]bool) *Step {
	for i := range w.Steps {
		s := &w.Steps[i]
		if s.State.Settled() || s.State == Soaking || s.State == Ready || s.State == Off && w.followed(s, after) {
			continue
		}
		if len(s.Blocked) == 0 {
			return s
		}
		if soak := w.ripe(s.Blocked); soak != nil {
			return soak
		}
	}
	var first *Step
	for i := range w.Steps {
		s := &w.Steps[i]
		if (s.State == Soaking || s.State == Ready) && (first == nil || s.Until.Before(first.Until)) {
			first = s
		}
	}
	return first
}

// ripe returns the first of some steps when all of them are soaks that are ready.
func (w *Work) ripe(ids []string) *Step {
	for _, id := range ids {
		if w.Step(id).State != Ready {
			return nil
		}
	}
	return w.Step(ids[0])
}

// Departure is a way in which the build departs from the order of work.
type Departure struct {
	pump.Departure
	Reason string        // of a step that was left out on purpose
	Entry  *record.Entry // the entry that it is about, nil when there is none
}

// depart finds the departures that are real now. A step that was not done is one only when a step that comes after it is done, when
// it was left out on purpose, or when the work is over: that a step is late in the order of one person does not matter, for many
// orders keep every constraint.
func (w *Work) depart(j *record.Job, r *pump.Rebuild, b pump.Build, after [][]bool) error {
	all, err := r.Departures(b, pump.Conditions{})
	if err != nil {
		return &record.Fault{Code: record.Invalid, Where: "the build", Found: err.Error(), Want: "a build of this pump", Err: err}
	}
	over := j.Stage == record.StageHand || j.Stage == record.StageClosed // else what is not done yet is only still to do
	for _, d := range all {
		x := Departure{Departure: d}
		s := w.Step(d.Step)
		if s != nil {
			x.Entry = s.Signed
			if s.State == Skipped {
				x.Reason = s.Did.Note
			}
		}
		if s == nil && d.Stack != "" && d.Step == "" {
			x.Entry = stackEntry(j, d.Stack)
		}
		w.open = append(w.open, x)
		if s == nil && d.Step != "" && w.Early { // a step that is in the order only when it is known what is opened
			continue
		}
		if s == nil || over || s.State.Happened() || s.State == Skipped || w.followed(s, after) {
			w.Departures = append(w.Departures, x)
		}
	}
	return nil
}

// followed says that a step which comes after s is done.
func (w *Work) followed(s *Step, after [][]bool) bool {
	for b := range w.Steps {
		if after[s.N-1][b] && w.Steps[b].State.Happened() {
			return true
		}
	}
	return false
}

func stackEntry(j *record.Job, stack string) *record.Entry {
	for i := len(j.Stacks) - 1; i >= 0; i-- {
		if j.Stacks[i].Body.Stack == stack {
			return j.Stacks[i].Entry
		}
	}
	return nil
}

// torques fills in what each joint asks for and what it got.
func (w *Work) torques(j *record.Job, p *pump.Pump, b pump.Build) {
	read := map[string]pump.Done{}
	length := 0.0
	for _, d := range b.Done {
		read[d.Step] = d
		if d.Wrench > 0 {
			length = d.Wrench
		}
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		joint, ok := p.Joint(s.Joint)
		if s.Kind != pump.StepTorque || !ok {
			continue
		}
		s.Wrench = torqueOf(joint, read[s.ID], length)
		if s.State == Done && s.Wrench.Got > 0 && !s.Wrench.Within {
			w.amiss(j, s, pump.TorqueOff)
		}
	}
}

func torqueOf(j pump.Joint, d pump.Done, length float64) *Torque {
	t := &Torque{Joint: j.Name, Through: j.Through, Asked: j.Torque, Tol: j.Tol, Adapter: j.Adapter, Spanner: j.Spanner, Length: length, Read: d.Torque}
	t.Least, t.Most = j.Band()
	if d.Wrench > 0 {
		t.Length = d.Wrench
	}
	if at, err := d.AtJoint(); err == nil {
		t.Got = at
	}
	t.Within = t.Got > 0 && j.Within(t.Got)
	if set, err := t.Setting(t.Length, 0); err == nil {
		t.InLine = set
	}
	return t
}

// soaked finds the soaks that were cut short.
func (w *Work) soaked(j *record.Job, p *pump.Pump, b pump.Build) {
	times := map[string]float64{}
	for _, d := range b.Done {
		times[d.Step] = d.Soaked
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		q, ok := p.Part(s.Part)
		if !ok || s.Kind != pump.StepSoak || s.State != Done || times[s.ID] >= q.Soak {
			continue
		}
		kind := pump.SoakShort
		if times[s.ID] == 0 {
			kind = pump.SoakNotRecorded
		}
		w.amiss(j, s, kind)
	}
}

// amiss marks a step that was done otherwise than asked, unless somebody who may answers for it.
func (w *Work) amiss(j *record.Job, s *Step, kind pump.DepartureKind) {
	s.State = Off
	if j.Answered(departureID(kind, s.ID), s.Signed.Seq) != nil {
		s.State = Named
	}
}
