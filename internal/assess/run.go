package assess

import "github.com/evenstroke/evenstroke/pump"

// plain says whether a step may be signed with others on one page: nothing is read while it is done, nothing waits, and there is nothing to
// mind. A torque, a soak, a size, the hold and every step with a caution stay by themselves.
func plain(s *Step) bool {
	switch s.Kind {
	case pump.StepStrip, pump.StepFit, pump.StepLubricate, pump.StepRework:
		return len(s.Cautions) == 0 && s.State == Todo
	}
	return false
}

// Run returns the plain steps from one on that follow each other in the order and can be signed as done in it; none when the first is not
// plain, or waits for something else.
func (w *Work) Run(from string) []*Step {
	var out []*Step
	done := map[string]bool{}
	for i := range w.Steps {
		s := &w.Steps[i]
		if len(out) == 0 && s.ID != from {
			continue
		}
		if !plain(s) || !w.free(s, done) {
			break
		}
		done[s.ID] = true
		out = append(out, s)
	}
	return out
}

// free says whether all that blocks a step is done with the steps before it.
func (w *Work) free(s *Step, done map[string]bool) bool {
	for _, id := range s.Blocked {
		if !done[id] {
			return false
		}
	}
	return true
}
