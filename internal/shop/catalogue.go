package shop

import (
	"context"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/pump"
)

// maxAll bounds lists that are shown as a whole: people, devices, tools, sheets, fluids.
const maxAll = 1000

// All lists the values of a kind that has few.
func (s *Shop) All(ctx context.Context, k record.SubjectKind) ([]store.Item, error) {
	return s.st.Items(ctx, k, store.Page{Limit: maxAll})
}

// Keep keeps a value of the catalogue; sub.ID 0 adds one.
func (s *Shop) Keep(ctx context.Context, by By, sub record.Subject, i record.Item) (store.Receipt, error) {
	if err := s.mayKeep(ctx, by, sub, i); err != nil {
		return store.Receipt{}, err
	}
	if err := checkItem(i); err != nil {
		return store.Receipt{}, err
	}
	if err := s.checkItemRefs(ctx, i, sub.ID != 0); err != nil {
		return store.Receipt{}, err
	}
	if err := s.fits(ctx, sub, i); err != nil {
		return store.Receipt{}, err
	}
	if p, ok := i.(*record.Person); ok {
		if err := s.keepsOwner(ctx, sub, p); err != nil {
			return store.Receipt{}, err
		}
	}
	body, err := record.Keep(i)
	if err != nil {
		return store.Receipt{}, err
	}
	d := s.draft(by, body)
	d.Subject = sub
	return s.st.Keep(ctx, by.ifSeq(), d)
}

// Retire takes a value of the catalogue out of the lists.
func (s *Shop) Retire(ctx context.Context, by By, sub record.Subject, reason string) (store.Receipt, error) {
	have, err := s.st.Item(ctx, sub)
	if err != nil {
		return store.Receipt{}, err
	}
	if err := s.mayKeep(ctx, by, sub, have.Value); err != nil {
		return store.Receipt{}, err
	}
	if p, ok := have.Value.(*record.Person); ok {
		// who may change how the program speaks to them may not take themselves out
		if err := gate.MayKeepPerson(by.Who, p.Role, p.Role); err != nil {
			return store.Receipt{}, err
		}
		if err := s.keepsOwner(ctx, sub, nil); err != nil {
			return store.Receipt{}, err
		}
	}
	d := s.draft(by, &record.Retired{Reason: reason})
	d.Subject = sub
	return s.st.Keep(ctx, by.ifSeq(), d)
}

// checkItem reads what a value says in the words of a file: a pump sheet, a fluid.
func checkItem(i record.Item) error {
	switch v := i.(type) {
	case *record.PumpSheet:
		p, err := pump.Read(v.Name, []byte(v.Text))
		if err != nil {
			return &record.Fault{Code: record.Invalid, Where: "text", Found: err.Error(), Err: err}
		}
		if p.Name != v.Name {
			return record.Faultf(record.Invalid, "name", v.Name, p.Name+", the name in the sheet", "give both the same name")
		}
	case *record.Tool:
		return assess.CheckTool(v)
	case *record.Fluid:
		if len(v.Test) > 0 {
			_, err := hold.ReadSheet(v.Name, []byte(`{"hold": 1, "pump": "any", "readings": [], "fluid": `+string(v.Test)+`}`), nil)
			if err != nil {
				return &record.Fault{Code: record.Invalid, Where: "test", Found: err.Error(), Err: err}
			}
		}
	}
	return nil
}

// mayKeep says whether a person may change a value of a kind: owners are made by owners, and everybody may change how the
// program speaks to them.
func (s *Shop) mayKeep(ctx context.Context, by By, sub record.Subject, i record.Item) error {
	if p, ok := i.(*record.Person); ok {
		return s.mayKeepPerson(ctx, by, sub, p)
	}
	return gate.May(by.Who, gate.Keeping(sub.Kind))
}
