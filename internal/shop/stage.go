package shop

import (
	"context"
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// later is the stage that an entry takes a job to, "" when it stays where it is.
func (s *Shop) later(ctx context.Context, sum *record.Summary, bodies ...record.Body) (record.Stage, error) {
	var to record.Stage
	for _, b := range bodies {
		switch b := b.(type) {
		case *record.Pressed:
			to = holdStage(b.Hold)
		case *record.Read:
			to = holdStage(b.Hold)
		case *record.Found:
			to = record.StageStrip
		case *record.Overrode:
			if b.Answers(record.PointProof) {
				to = record.StageHand
			}
		case *record.Chose, *record.Did, *record.Stacked:
			return s.workStage(ctx, sum, bodies)
		}
	}
	if sum.Stage.Before(to) {
		return to, nil
	}
	return "", nil
}

func holdStage(h record.HoldStage) record.Stage {
	if h == record.AsLeft {
		return record.StageProve
	}
	return record.StageFound
}

// workStage is the stage to which the work takes a job once some entries are written.
func (s *Shop) workStage(ctx context.Context, sum *record.Summary, bodies []record.Body) (record.Stage, error) {
	j, err := s.job(ctx, sum)
	if err != nil {
		return "", err
	}
	with := j.With(bodies...)
	w, err := assess.WorkOf(with, j.Model.Pump, j.Model.Rebuild, s.now())
	if err != nil {
		return "", err
	}
	if to := assess.StageOf(with, w); sum.Stage.Before(to) {
		return to, nil
	}
	return "", nil
}

// SignRun signs plain steps that follow each other in the order of work, all or none. The same key again signs nothing.
func (s *Shop) SignRun(ctx context.Context, by By, number int64, ids []string) error {
	if err := gate.May(by.Who, gate.WriteJob); err != nil {
		return err
	}
	j, err := s.Job(ctx, number)
	if err != nil {
		return err
	}
	if by.Key == "" {
		by.Key = NewKey()
	}
	if slices.ContainsFunc(j.Done, func(l record.Line[*record.Did]) bool { return l.First.Key == by.Key+".1" }) {
		return nil
	}
	w, err := s.Work(j)
	if err != nil {
		return err
	}
	bodies, err := runOf(w, ids)
	if err != nil {
		return err
	}
	return s.signAll(ctx, by, j, bodies)
}

// runOf checks that steps are a run of plain steps, and makes their signatures.
func runOf(w *assess.Work, ids []string) ([]record.Body, error) {
	if len(ids) == 0 {
		return nil, record.Faultf(record.Invalid, "steps", "no step", "the steps that were done", "")
	}
	run := w.Run(ids[0])
	var out []record.Body
	for i, id := range ids {
		if i >= len(run) || run[i].ID != id {
			return nil, record.Faultf(record.Conflict, "steps", "a step that is not next any more", "steps that follow each other and are not signed yet", "look at the order of work again")
		}
		out = append(out, &record.Did{Step: id})
	}
	return out, nil
}

func (s *Shop) signAll(ctx context.Context, by By, j *Job, bodies []record.Body) error {
	var drafts []record.Draft
	for i, b := range bodies {
		each := by
		each.Key = fmt.Sprintf("%s.%d", by.Key, i+1)
		drafts = append(drafts, s.draft(each, b))
	}
	to, err := s.later(ctx, &j.Summary, bodies...)
	if err != nil {
		return err
	}
	if to != "" {
		drafts = append(drafts, s.draft(By{Who: by.Who, At: by.At, Key: by.Key + ".moved"}, &record.Moved{To: to}))
	}
	_, err = s.st.Append(ctx, j.Number, by.ifSeq(), drafts...)
	return err
}
