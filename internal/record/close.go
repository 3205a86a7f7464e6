package record

// Verdict is the last verdict of a hold, nil when there is none.
func (j *Job) Verdict(h HoldStage) *Line[*Judged] {
	for i := len(j.Verdicts) - 1; i >= 0; i-- {
		if j.Verdicts[i].Body.Hold == h {
			return &j.Verdicts[i]
		}
	}
	return nil
}

// Holds is the word of a verdict that lets a job be closed as good.
const Holds = "holds"

// MayClose says what keeps a job from being closed as good: nil when the last verdict as left says that it holds and nothing it
// was made of changed after it (a reading, a press or the bench was added, corrected or struck), or when somebody overrode what it
// says after it was given. A correction of an older override does not make it a newer one.
func (j *Job) MayClose() error {
	v := j.Verdict(AsLeft)
	if v != nil && v.Body.Word == Holds && j.touched[AsLeft] < v.Entry.Seq {
		return nil
	}
	for i := len(j.Overrides) - 1; i >= 0; i-- {
		if v == nil || j.Overrides[i].First.Seq > v.Entry.Seq {
			return nil
		}
	}
	found := "no hold as left"
	switch {
	case v != nil && v.Body.Word == Holds:
		found = "readings that came, or changed, after the verdict"
	case v != nil:
		found = "the verdict " + quoted(v.Body.Word)
	}
	return Faultf(NotAllowed, "closing as good", found, `the verdict "holds", or an override with a name and a reason`, "prove it again, or override")
}

// Total is the sum of the bill in the smallest unit of the currency.
func (j *Job) Total() int64 {
	var sum int64
	for _, p := range j.Prices {
		sum += p.Body.Amount()
	}
	return sum
}
