package assess

import (
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// OverloadPoint is the point of an override that answers for a step whose joint, or what it presses, would not stand what the sheet asks.
func OverloadPoint(step string) string { return departureID(pump.JointUnsound, step) }

// Answer is the override that answers for the doubts of a step; nil when nobody does, or nothing is to be answered.
func Answer(j *record.Job, s pump.Step) *record.Line[*record.Overrode] {
	if len(s.Doubts) == 0 {
		return nil
	}
	return j.Answered(OverloadPoint(s.ID), 0)
}

// CheckSound refuses a step that torques a joint which would not stand it, unless the step is left out or a person answers for it.
func CheckSound(j *record.Job, s pump.Step, b *record.Did) error {
	if len(s.Doubts) == 0 || b.Skipped || Answer(j, s) != nil {
		return nil
	}
	d := s.Doubts[0]
	part := func(english string) string {
		return pump.Step{Detail: english, Quantities: d.Quantities}.Text(unit.Metric())
	}
	return record.Faultf(record.NotAllowed, "torque", part(d.Found), part(d.Want), "mend the pump sheet, or let a person answer for it by name")
}

// answers writes beside each joint that does not stand what it got who answers for it, and why.
func (w *Work) answers(j *record.Job) {
	for i := range w.Departures {
		d := &w.Departures[i]
		if o := j.Answered(OverloadPoint(d.Step), 0); d.Kind == pump.JointUnsound && o != nil && d.Reason == "" {
			d.Reason = o.Body.Reason
		}
	}
}
