package shop

import (
	"context"

	"github.com/evenstroke/evenstroke/internal/record"
)

// CorrectBooking corrects the booking of a job; customer and pump are found or added as when it was booked in.
func (s *Shop) CorrectBooking(ctx context.Context, by By, number int64, b record.Booked) error {
	j, err := s.Job(ctx, number)
	if err != nil {
		return err
	}
	if err := b.Check(); err != nil {
		return err
	}
	if by.Key == "" {
		by.Key = NewKey()
	}
	by.Corrects = 1
	if err := s.may(ctx, by, number, &b); err != nil {
		return err
	}
	if _, err := s.Model(ctx, b.Sheet, b.Model); err != nil {
		return err
	}
	if b.Customer = j.Booked.Customer; b.CustomerName != j.Booked.CustomerName {
		if b.Customer, err = s.customer(ctx, by, &b); err != nil {
			return err
		}
	}
	if b.Pump, err = s.pump(ctx, by, &b); err != nil {
		return err
	}
	_, err = s.Add(ctx, by, number, &b)
	return err
}
