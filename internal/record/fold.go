package record

import (
	"fmt"
	"slices"
)

// Line is an entry of the present state with who wrote it and when.
type Line[T Body] struct {
	Entry *Entry // the last correction
	First *Entry // what was written first; the same as Entry when nothing was corrected
	Body  T
}

// Job is the present state of a job.
type Job struct {
	Summary
	Booked    *Booked
	Notes     []Line[*Noted]
	Pictures  []Line[*Pictured]
	Bench     map[HoldStage]*Benched
	Presses   []Line[*Pressed]
	Readings  []Line[*Read]
	Verdicts  []Line[*Judged]
	Findings  []Line[*Found]
	Chosen    *Line[*Chose]
	Minded    map[string]*Entry
	Soaks     []Line[*Soaking]
	Done      []Line[*Did]
	Stacks    []Line[*Stacked]
	Moves     []Line[*Moved]
	Overrides []Line[*Overrode]
	Prices    []Line[*Priced]
	Handed    *Line[*Handed]
	Closed    *Line[*Closed]      // nil when it was reopened
	Round     int64               // Seq of the move that took the pump back to be opened again; 0 while it is opened for the first time
	Anew      int64               // Seq of the move that took the job back to where the pump is read as found; 0 when none did
	Reopened  int64               // Seq of the move that last opened the job again after it was closed; 0 when none did
	Struck    map[int64]*Entry    // struck entry, in each of its forms → the entry that struck it
	kinds     []Kind              // of the entries, by Seq-1
	roots     []int64             // Seq of the first form of each entry, by Seq-1
	touched   map[HoldStage]int64 // Seq of the last entry that changed what a verdict is made of
	returned  int64               // Seq of the last move after which an older hand-over does not count
	entries   []Entry             // all of them
	opened    []Body              // what they say
}

// Fold reads the entries of a job in their order. It opens with its booking; a gap in the numbers, an unreadable body or an
// entry that the job could not have taken (a second booking, a correction of an entry of another kind, a strike of what is not
// struck) is an error of code Damaged.
func Fold(entries []Entry) (*Job, error) { return refold(entries, nil) }

// And is the job after more entries: what Fold gives of all of them. Those that it has are not read again. The job itself stays as it is.
// An entry that does not follow the last one, by its number or by the digest in its chain, is an error of code Damaged.
func (j *Job) And(more []Entry) (*Job, error) {
	if len(more) > 0 && more[0].Prev != j.entries[len(j.entries)-1].Hash {
		return nil, Faultf(Damaged, fmt.Sprintf("%s, entry %d", more[0].Subject, more[0].Seq), "one that follows another entry", fmt.Sprintf("one that follows entry %d", len(j.entries)), "read all entries again")
	}
	out, err := refold(append(slices.Clip(j.entries), more...), j.opened)
	if err != nil {
		return nil, err
	}
	out.UID = j.UID
	return out, nil
}

// With is the job as if something more had been written down now, as far as the work depends on it: a choice, steps, stacks.
func (j *Job) With(bodies ...Body) *Job {
	out := *j
	for i, b := range bodies {
		e := &Entry{Subject: JobSubject(j.Number), Seq: j.Seq + int64(i) + 1, Kind: b.Kind()}
		switch b := b.(type) {
		case *Chose:
			l := line(e, e, b)
			out.Chosen = &l
		case *Did:
			out.Done = append(slices.Clip(out.Done), line(e, e, b))
		case *Stacked:
			out.Stacks = append(slices.Clip(out.Stacks), line(e, e, b))
		}
	}
	return &out
}

// refold is Fold; the first entries are opened already.
func refold(entries []Entry, opened []Body) (*Job, error) {
	j := &Job{Bench: map[HoldStage]*Benched{}, Minded: map[string]*Entry{}, Struck: map[int64]*Entry{}, touched: map[HoldStage]int64{}}
	if len(entries) == 0 || entries[0].Kind != KindBooked {
		return nil, Faultf(Damaged, "job", "no booking", "a job that begins with its booking", "restore a backup")
	}
	j.entries, j.opened = entries, append(make([]Body, 0, len(entries)), opened...)
	latest := make([]int, len(entries)) // by Seq-1 of the first form: index of the last
	for i := range entries {
		if err := j.step(&entries[i], i); err != nil {
			return nil, err
		}
		latest[j.roots[i]-1] = i
	}
	j.touch(j.opened)
	for seq, by := range j.struckRoots(entries, j.opened) {
		for i, root := range j.roots {
			if root == seq {
				j.Struck[int64(i)+1] = by
			}
		}
	}
	for i := range entries {
		if entries[i].Corrects == 0 && j.Struck[entries[i].Seq] == nil {
			last := latest[i]
			j.place(&entries[last], &entries[i], j.opened[last])
		}
	}
	if j.Handed != nil && j.Handed.First.Seq < j.returned {
		j.Handed = nil
	}
	if j.Chosen != nil && j.Chosen.First.Seq < j.Round {
		j.Chosen = nil
	}
	j.Number = entries[0].Subject.ID
	return j, nil
}

// step reads the next entry, the i-th, and checks that it may follow those before it.
func (j *Job) step(e *Entry, i int) error {
	where := func() string { return fmt.Sprintf("%s, entry %d", e.Subject, e.Seq) }
	if e.Seq != int64(i)+1 {
		return Faultf(Damaged, e.Subject.String(), fmt.Sprintf("entry %d at place %d", e.Seq, i+1), "entries without a gap", "restore a backup")
	}
	if i == len(j.opened) {
		b, err := e.Open()
		if err != nil {
			return &Fault{Code: Damaged, Where: where(), Found: err.Error(), Want: "a readable entry", Mend: "restore a backup", Err: err}
		}
		j.opened = append(j.opened, b)
	}
	b := j.opened[i]
	if i > 0 && e.Kind == KindBooked && e.Corrects == 0 || e.Kind == KindKept || e.Kind == KindRetired {
		return Faultf(Damaged, where(), "an entry of kind "+string(e.Kind), "an entry that a job can have here", "restore a backup")
	}
	if err := j.refers(e, b); err != nil {
		return &Fault{Code: Damaged, Where: where(), Found: err.Error(), Want: "an entry that a job can have here", Mend: "restore a backup", Err: err}
	}
	root := e.Seq
	if e.Corrects != 0 {
		root = j.roots[e.Corrects-1]
	}
	j.kinds, j.roots = append(j.kinds, e.Kind), append(j.roots, root)
	if m, ok := b.(*Moved); ok {
		j.moved(e.Seq, m.To)
	}
	j.Summary.Apply(e, b)
	return nil
}

// moved notes what a move undoes, while the job still stands where it was. Back from a proof, a hand-over or a closing to where parts
// are taken out begins another round: steps, choice and sizes of the round before are of a pump that was put together since. A job that is
// opened again, or taken back before its hand-over, has the pump in the shop: the hand-over before it does not count.
func (j *Job) moved(seq int64, to Stage) {
	if to.Before(StageBuild) && !j.Stage.Before(StageProve) {
		j.Round = seq
		if to.Before(StageStrip) {
			j.Anew = seq
		}
	}
	if j.Stage == StageClosed {
		j.Reopened = seq
	}
	if j.Stage == StageClosed || to.Before(StageHand) {
		j.returned = seq
	}
}

// refers checks the entry that a correction or a strike names.
func (j *Job) refers(e *Entry, b Body) error {
	ref, doing := e.Corrects, "correcting"
	if st, ok := b.(*Struck); ok {
		if ref != 0 {
			return Faultf(NotAllowed, "correcting", "a strike", "an entry that is not a strike", "write it down anew")
		}
		ref, doing = st.Seq, "striking"
	}
	if ref == 0 {
		return nil
	}
	if ref < 1 || ref > int64(len(j.kinds)) {
		return Faultf(NotFound, e.Subject.String(), fmt.Sprintf("no entry %d", ref), "an earlier entry of this job", "")
	}
	kind := j.kinds[ref-1]
	switch {
	case e.Corrects != 0 && kind != e.Kind:
		return Faultf(Invalid, "corrects", "an entry of kind "+string(kind), "one of kind "+string(e.Kind), "")
	case !kind.Amendable():
		return Faultf(NotAllowed, doing, "an entry of kind "+string(kind), "another kind of entry", "judge, move or close it anew")
	case e.Corrects == 0 && kind == KindBooked:
		return Faultf(NotAllowed, doing, "the booking", "another entry", "correct it instead")
	}
	return nil
}

// touch notes for each hold the last entry that changed what a verdict is made of: readings, presses and the bench, their
// corrections and their strikes.
func (j *Job) touch(opened []Body) {
	for i, b := range opened {
		of := []Body{b}
		if st, ok := b.(*Struck); ok {
			of = opened[:0:0]
			for k, root := range j.roots[:i] {
				if root == j.roots[st.Seq-1] {
					of = append(of, opened[k])
				}
			}
		} else if root := j.roots[i]; root != int64(i)+1 {
			of = append(of, opened[root-1])
		}
		for _, o := range of {
			switch o := o.(type) {
			case *Benched:
				j.touched[o.Hold] = int64(i) + 1
			case *Pressed:
				j.touched[o.Hold] = int64(i) + 1
			case *Read:
				j.touched[o.Hold] = int64(i) + 1
			}
		}
	}
}

// struckRoots maps the first form of each struck entry to the entry that struck it.
func (j *Job) struckRoots(entries []Entry, opened []Body) map[int64]*Entry {
	out := map[int64]*Entry{}
	for i, b := range opened {
		if st, ok := b.(*Struck); ok {
			out[j.roots[st.Seq-1]] = &entries[i]
		}
	}
	return out
}

// Takes says whether the job takes an entry after those it has: what Allows says, the entry that a correction or a strike
// names, and for a job that is closed as good its proof.
func (j *Job) Takes(e *Entry, b Body) error {
	if err := j.Allows(e, b); err != nil {
		return err
	}
	if err := j.refers(e, b); err != nil {
		return err
	}
	ref := e.Corrects
	if st, ok := b.(*Struck); ok {
		ref = st.Seq
	}
	if by := j.Struck[ref]; by != nil {
		return Faultf(Conflict, fmt.Sprintf("%s, entry %d", e.Subject, ref), fmt.Sprintf("struck by entry %d", by.Seq), "an entry that stands", "write it down anew")
	}
	switch b := b.(type) {
	case *Closed:
		if b.Good {
			return j.MayClose()
		}
	case *Pressed:
		if e.Corrects == 0 {
			return j.TakesPress(e.Device, e.At, b)
		}
	case *Struck:
		return j.goesOn(b)
	}
	return nil
}
