package assess

import (
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// StageOf is the stage to which the work has taken a job; "" when none of it is done and nothing is chosen. A job may stand at a later one,
// never at an earlier.
func StageOf(j *record.Job, w *Work) record.Stage {
	var begun, opened, putIn, put, proving bool // something of it is done
	strip, build := true, true                  // nothing of it is left
	for i := range w.Steps {
		s := &w.Steps[i]
		did := s.State.Happened() || s.State == Skipped
		switch s.Phase {
		case PhaseSafe, PhaseStrip, PhaseMeasure:
			opened = opened || did
			strip = strip && s.State.Settled()
		case PhaseBuild:
			putIn = putIn || did && s.Kind != pump.StepSoak
			build = build && s.State.Settled()
		case PhaseProve:
			proving = proving || did && s.Kind != pump.StepHold
		}
	}
	begun = opened || putIn || proving
	put = strip || putIn || proving
	switch {
	case j.Chosen == nil && w.Early && strip && opened:
		return record.StageChoose
	case j.Chosen == nil && w.Early && opened:
		return record.StageStrip
	case j.Chosen == nil && !begun:
		return ""
	case put && (build || proving):
		return record.StageProve
	case put:
		return record.StageBuild
	}
	return record.StageStrip
}
