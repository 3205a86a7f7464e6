package shop

import (
	"context"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// may says whether a person may write an entry about a job: correcting or striking what somebody else wrote, overriding a
// verdict, writing a bill are not for everybody.
func (s *Shop) may(ctx context.Context, by By, number int64, b record.Body) error {
	if err := gate.May(by.Who, gate.WriteJob); err != nil {
		return err
	}
	switch b := b.(type) {
	case *record.Overrode:
		return gate.May(by.Who, gate.Override)
	case *record.Priced:
		return gate.May(by.Who, gate.Bill)
	case *record.Struck:
		return s.mayTouch(ctx, by, number, b.Seq, gate.StrikeOthers)
	}
	if by.Corrects != 0 {
		return s.mayTouch(ctx, by, number, by.Corrects, gate.CorrectOthers)
	}
	return nil
}

// mayTouch lets everybody correct and strike their own entries.
func (s *Shop) mayTouch(ctx context.Context, by By, number, seq int64, others gate.Action) error {
	entries, err := s.st.Entries(ctx, record.JobSubject(number), seq-1, 1)
	if err != nil || len(entries) == 0 || entries[0].Seq != seq {
		return err // the store says that there is no such entry
	}
	if entries[0].By == by.Person {
		return nil
	}
	return gate.May(by.Who, others)
}

// mayKeepPerson lets everybody change how the program speaks to them, and keeps the rest for those who keep people. Another role, and bringing
// somebody back, take a sign-in within the last ten minutes: both last.
func (s *Shop) mayKeepPerson(ctx context.Context, by By, sub record.Subject, will *record.Person) error {
	if sub.ID == 0 {
		return gate.MayKeepPerson(by.Who, "", will.Role)
	}
	have, err := s.st.Item(ctx, sub)
	if err != nil {
		return err
	}
	was := have.Value.(*record.Person)
	if was.Role != will.Role || have.Retired { // another role, or back in the shop
		if err := gate.MayKeepPerson(by.Who, was.Role, will.Role); err != nil {
			return err
		}
		return gate.Fresh(by.Who, s.now(), "changing a role")
	}
	if sub.ID == by.Person && !by.Token && was.Role == will.Role && was.Name == will.Name && was.Initials == will.Initials {
		return nil
	}
	return gate.MayKeepPerson(by.Who, was.Role, will.Role)
}
