package shop

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// checkAmounts reads the quantities of a booking.
func checkAmounts(b *record.Booked) error {
	if err := quantity("hours", b.Hours, unit.Time); err != nil {
		return err
	}
	return quantity("litres", b.Litres, unit.Volume)
}

func quantity(field, s string, d unit.Dim) error {
	if s == "" {
		return nil
	}
	if _, err := unit.Parse(s, d); err != nil {
		return &record.Fault{Code: record.Invalid, Where: field, Found: err.Error(), Err: err}
	}
	return nil
}

// check says whether what is to be written down can be, by what is known of the pump. What a person types is read here, so that
// the store never holds a quantity that cannot be read.
func (s *Shop) check(ctx context.Context, by By, sum *record.Summary, b record.Body) error {
	if err := b.Check(); err != nil {
		return err
	}
	if err := s.checkRefs(ctx, b, by.Corrects != 0); err != nil {
		return err
	}
	switch b := b.(type) {
	case *record.Booked:
		return s.checkBooked(ctx, b)
	case *record.Judged:
		return record.Faultf(record.NotAllowed, "judged", "a verdict from outside", "a verdict of the program", "ask for a verdict")
	case *record.Benched:
		return assess.CheckBench(b)
	case *record.Pressed, *record.Read, *record.Found, *record.Chose, *record.Did, *record.Stacked, *record.Soaking:
		j, err := s.job(ctx, sum)
		if err != nil {
			return err
		}
		if press, ok := b.(*record.Pressed); ok && by.Corrects == 0 && press.Press != record.PressStart { // a start is checked as it is kept
			if err := j.TakesPress(by.Who.Device, s.draft(by, b).At, press); err != nil {
				return err
			}
		}
		return s.checkPump(j, b)
	case *record.Overrode:
		if len(b.Points) == 0 {
			return nil
		}
		j, err := s.job(ctx, sum)
		if err != nil {
			return err
		}
		return s.checkNamed(j, b)
	case *record.Closed:
		if !b.Good {
			return nil
		}
		j, err := s.job(ctx, sum)
		if err != nil {
			return err
		}
		return s.MayClose(j)
	case *record.Priced:
		p, _, err := s.Profile(ctx)
		if err == nil && p != nil && p.Currency != b.Currency {
			err = record.Faultf(record.Invalid, "currency", b.Currency, p.Currency+", the currency of the shop", "")
		}
		return err
	}
	return nil
}

func (s *Shop) checkBooked(ctx context.Context, b *record.Booked) error {
	if err := checkAmounts(b); err != nil {
		return err
	}
	_, err := s.Model(ctx, b.Sheet, b.Model)
	return err
}

func (s *Shop) checkPump(j *Job, b record.Body) error {
	p := j.Model.Pump
	switch b := b.(type) {
	case *record.Pressed:
		return s.checkPress(j.Model, b)
	case *record.Read:
		return assess.CheckReading(p, j.Bench[b.Hold], json.RawMessage(b.Reading))
	case *record.Found:
		return assess.CheckFound(p, b)
	case *record.Chose:
		return assess.CheckChose(p, b)
	case *record.Stacked:
		return assess.CheckStacked(p, b)
	case *record.Did:
		step, err := s.step(j, b.Step)
		if err != nil {
			return err
		}
		if err := assess.CheckSound(j.Job, step, b); err != nil {
			return err
		}
		if err := assess.CheckDid(p, step, b); err != nil {
			return err
		}
		w, err := s.Work(j)
		if err != nil {
			return err
		}
		return assess.CheckHeld(j.Job, p, w, b)
	case *record.Soaking:
		_, err := s.step(j, b.Step)
		return err
	}
	return nil
}

// pressKey is all that the check of a press depends on.
type pressKey struct {
	model                 modelKey
	press                 record.Press
	stroke, pressure, rod string
	locked                bool
}

// pressesKept is half of how many sound presses are remembered. The pressures of a gauge are few, and each is asked of the pump by an
// analysis of its own, however short.
const pressesKept = 1000

func (s *Shop) checkPress(m *Model, b *record.Pressed) error {
	key := pressKey{m.key(), b.Press, b.Stroke, b.Pressure, b.Rod, b.Locked}
	_, err := s.pressed.Get(key, func() (struct{}, error) { return struct{}{}, assess.CheckPress(m.Pump, b) })
	return err
}

// step finds a step of the order of work of a job by its name.
func (s *Shop) step(j *Job, id string) (pump.Step, error) {
	w, err := s.Work(j)
	if err != nil {
		return pump.Step{}, err
	}
	for _, st := range w.Steps {
		if st.ID == id {
			return st.Step, nil
		}
	}
	return pump.Step{}, record.Faultf(record.NotFound, "step", fmt.Sprintf("%.60q", id), "a step of the order of work of this job", "look at the order of work again: the choice of parts may have changed")
}
