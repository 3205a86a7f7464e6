package shop

import (
	"context"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// Points lists what has to be answered before a job is closed as good, each with the answer that was given.
func (s *Shop) Points(j *Job) ([]assess.Point, error) {
	w, err := s.Work(j)
	if err != nil {
		return nil, err
	}
	return assess.PointsOf(j.Job, j.Model.Pump, w), nil
}

// MayClose says what keeps a job from being closed as good: nil when every point is answered.
func (s *Shop) MayClose(j *Job) error {
	points, err := s.Points(j)
	if err != nil {
		return err
	}
	if open := len(assess.OpenPoints(points)); open > 0 {
		return record.Faultf(record.NotAllowed, "closing as good", fmt.Sprintf("open points: %d", open), "each of them done, or answered for by somebody who may",
			"look at what is open before the closing")
	}
	return nil
}

// checkNamed refuses an override that answers for something that is not open.
func (s *Shop) checkNamed(j *Job, b *record.Overrode) error {
	points, err := s.Points(j)
	if err != nil {
		return err
	}
	w, err := s.Work(j)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, q := range points {
		known[q.ID] = true
	}
	for i := range w.Steps {
		if q := w.Steps[i].Step; len(q.Doubts) > 0 { // it is answered for before the joint is torqued
			known[assess.OverloadPoint(q.ID)] = true
		}
	}
	for _, id := range b.Points {
		if !known[id] {
			return record.Faultf(record.NotFound, "points", fmt.Sprintf("%.60q", id), "a point that is open on this job", "look at what is open again")
		}
	}
	return nil
}

// WhoMay names the people of the shop who may do something.
func (s *Shop) WhoMay(ctx context.Context, what gate.Action) ([]string, error) {
	people, err := s.All(ctx, record.OfPerson)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, i := range people {
		p := i.Value.(*record.Person)
		if gate.May(gate.Who{Person: i.Subject.ID, P: *p}, what) == nil {
			out = append(out, p.Name)
		}
	}
	return out, nil
}
