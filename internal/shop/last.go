package shop

import (
	"context"

	"github.com/evenstroke/evenstroke/internal/record"
)

// keepsOwner refuses what would leave the shop without an owner: nobody could let people or devices in any more.
func (s *Shop) keepsOwner(ctx context.Context, sub record.Subject, will *record.Person) error {
	if sub.ID == 0 || will != nil && will.Role == record.Owner {
		return nil
	}
	people, err := s.All(ctx, record.OfPerson)
	if err != nil {
		return err
	}
	was, others := false, 0
	for _, p := range people {
		if p.Value.(*record.Person).Role != record.Owner {
			continue
		}
		if p.Subject.ID == sub.ID {
			was = true
		} else {
			others++
		}
	}
	if was && others == 0 {
		return record.Faultf(record.NotAllowed, "role", "the only owner of the shop", "another owner beside", "make somebody else an owner first")
	}
	return nil
}
