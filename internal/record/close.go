package record

import "slices"

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

// Proof says how the last verdict as left stands to the job as it is now.
type Proof string

// The states of the proof.
const (
	ProofNone     Proof = "none"     // no verdict as left
	ProofOld      Proof = "old"      // one of before the job was opened again, or the pump taken back
	ProofTouched  Proof = "touched"  // its readings, presses or bench changed after it
	ProofAgainst  Proof = "against"  // it says something else than that the pump holds
	ProofStanding Proof = "standing" // it holds, and nothing has changed since
)

// Since is the entry from which on the job is as it stands: what was proved or answered before the job was opened again, or before the pump
// was taken back to be opened, does not count.
func (j *Job) Since() int64 { return max(j.Round, j.Reopened) }

// From is the entry from which on readings belong to a hold as it stands: those of before are of another visit, or of another build.
func (j *Job) From(h HoldStage) int64 {
	if h == AsLeft {
		return j.Since()
	}
	return j.Anew
}

// Proof is the state of the proof.
func (j *Job) Proof() Proof {
	v := j.Verdict(AsLeft)
	switch {
	case v == nil:
		return ProofNone
	case v.Entry.Seq < j.Since():
		return ProofOld
	case j.touched[AsLeft] > v.Entry.Seq:
		return ProofTouched
	case v.Body.Word != Holds:
		return ProofAgainst
	}
	return ProofStanding
}

// PointProof is the point that an override without points answers: the verdict.
const PointProof = "proof"

// Answers says whether an override answers for a point.
func (b *Overrode) Answers(point string) bool {
	return len(b.Points) == 0 && point == PointProof || slices.Contains(b.Points, point)
}

// Answered is the last override that answers for a point and was given after an entry, nil when there is none. A correction of an
// older override does not make it a newer one.
func (j *Job) Answered(point string, after int64) *Line[*Overrode] {
	for i := len(j.Overrides) - 1; i >= 0; i-- {
		if o := &j.Overrides[i]; o.First.Seq > max(after, j.Since()) && o.Body.Answers(point) {
			return o
		}
	}
	return nil
}

// MayClose says what keeps a job from being closed as good, as far as the record alone can tell: nil when the last verdict as left says
// that it holds and nothing it was made of changed after it (a reading, a press or the bench was added, corrected or struck), or when
// somebody overrode what it says after it was given. Neither counts when the job was opened again since.
func (j *Job) MayClose() error {
	proof, last := j.Proof(), int64(0)
	if v := j.Verdict(AsLeft); v != nil {
		last = v.Entry.Seq
	}
	if proof == ProofStanding || j.Answered(PointProof, last) != nil {
		return nil
	}
	var found string
	switch proof {
	case ProofNone:
		found = "no hold as left"
	case ProofOld:
		found = "a job that was opened again after the verdict"
	case ProofTouched:
		found = "readings that came, or changed, after the verdict"
	default:
		found = "the verdict " + quoted(j.Verdict(AsLeft).Body.Word)
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
