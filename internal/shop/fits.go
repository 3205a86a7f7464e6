package shop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// fits refuses a value of the catalogue that does not go with the others: a price below nothing or of a model or part that is not there, a
// serial that another tool has.
func (s *Shop) fits(ctx context.Context, sub record.Subject, i record.Item) error {
	switch v := i.(type) {
	case *record.Price:
		return s.fitsPrice(ctx, v)
	case *record.Tool:
		return s.fitsSerial(ctx, sub, v)
	}
	return nil
}

func (s *Shop) fitsPrice(ctx context.Context, v *record.Price) error {
	if v.Each < 0 {
		return record.Faultf(record.Invalid, "each", "a price below nothing", "a price of 0 or more", "write a discount as a line of the bill")
	}
	if v.Model == "" {
		return nil
	}
	models, err := s.Models(ctx)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(models, func(c Choice) bool { return c.Name == v.Model })
	if at < 0 {
		var names []string
		for _, c := range models {
			names = append(names, c.Name)
		}
		return record.Faultf(record.Invalid, "model", fmt.Sprintf("%.60q", v.Model), "a pump model: "+strings.Join(names, ", "), "choose one of them, or leave it empty")
	}
	if v.Part == "" {
		return nil
	}
	m, err := s.Model(ctx, models[at].Sheet, v.Model)
	if err != nil {
		return err
	}
	if _, ok := m.Part(v.Part); !ok {
		return record.Faultf(record.Invalid, "part", fmt.Sprintf("%.60q", v.Part), "a part that the pump sheet lists", "write it as the sheet does, or leave it empty")
	}
	return nil
}

func (s *Shop) fitsSerial(ctx context.Context, sub record.Subject, v *record.Tool) error {
	if v.Serial == "" {
		return nil
	}
	tools, err := s.All(ctx, record.OfTool)
	if err != nil {
		return err
	}
	for _, i := range tools {
		t, ok := i.Value.(*record.Tool)
		if ok && i.Subject.ID != sub.ID && t.Sort == v.Sort && strings.EqualFold(strings.TrimSpace(t.Serial), strings.TrimSpace(v.Serial)) {
			return record.Faultf(record.Invalid, "serial", fmt.Sprintf("%.60q, which %.60q has", v.Serial, t.Name), "a serial of its own", "look at the tool, or change the one that is there")
		}
	}
	return nil
}
