package shop

import (
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
)

// MayClose says what keeps a job from being closed as good: what record.Job.MayClose says; a verdict that is no longer that of the
// readings, because one was corrected or struck or the bench was changed after it was given; a verdict of before the pump was worked on
// again, or before the job was opened again. An override after all that answers for it.
func (s *Shop) MayClose(j *Job) error {
	if err := j.MayClose(); err != nil {
		return err
	}
	v := j.Verdict(record.AsLeft)
	if v == nil {
		return nil // overridden without a verdict
	}
	touched, what := s.touched(j, v.Entry.Seq)
	for _, o := range j.Overrides {
		if o.Body.Answers(record.PointProof) && o.Entry.Seq > max(v.Entry.Seq, touched) {
			return nil
		}
	}
	if touched > 0 {
		return record.Faultf(record.NotAllowed, "closing as good", what, "a verdict given after it", "prove it again, or override")
	}
	if !assess.Current(j.Job, record.AsLeft, j.Model.Pump) {
		return record.Faultf(record.NotAllowed, "closing as good", "a verdict that was given before the readings were changed", "a verdict of the readings as they are now", "ask for the verdict again")
	}
	return nil
}

// touched finds the last entry after a verdict that makes it one of another pump or another visit.
func (s *Shop) touched(j *Job, verdict int64) (seq int64, what string) {
	for _, m := range j.Moves {
		if m.Entry.Seq > verdict && m.Body.Reason != "" {
			seq, what = m.Entry.Seq, "a job that was opened again after the verdict"
		}
	}
	w, err := s.Work(j)
	if err != nil {
		return seq, what // a choice that no longer fits is told where the work is shown
	}
	for _, st := range w.Steps {
		if st.Signed != nil && st.Signed.Seq > verdict && st.Phase != assess.PhaseProve && st.Signed.Seq > seq {
			seq, what = st.Signed.Seq, "work on the pump after the verdict: "+st.Title
		}
	}
	return seq, what
}
