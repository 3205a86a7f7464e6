package shop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// checkRefs looks up what the numbers in an entry stand for, and that a tool measures what the entry says. A correction may go on naming what
// was retired since.
func (s *Shop) checkRefs(ctx context.Context, b record.Body, corrects bool) error {
	for _, r := range store.Refs(&record.Entry{}, b) {
		i, err := s.ref(ctx, r, corrects)
		if err != nil {
			return err
		}
		if i == nil {
			continue
		}
		if t, ok := i.Value.(*record.Tool); ok {
			if err := first(fitsTool(t, *r.ID, b), s.due(t, b)); err != nil {
				return err
			}
		}
	}
	return nil
}

// checkItemRefs looks up what the numbers in a value of the catalogue stand for. One that is kept anew may go on naming what was retired.
func (s *Shop) checkItemRefs(ctx context.Context, i record.Item, again bool) error {
	for _, r := range store.ItemRefs(i) {
		if _, err := s.ref(ctx, r, again); err != nil {
			return err
		}
	}
	return nil
}

// ref looks up what a number stands for: a value of the catalogue that is there, and in use unless it may be an old one; nil for 0, which
// is nothing, or a pump sheet of the program.
func (s *Shop) ref(ctx context.Context, r store.Ref, old bool) (*store.Item, error) {
	if *r.ID == 0 {
		return nil, nil
	}
	i, err := s.st.Item(ctx, record.Subject{Kind: r.Kind, ID: *r.ID})
	if record.CodeOf(err) == record.NotFound {
		return nil, record.Faultf(record.Invalid, r.Field, fmt.Sprintf("%s %d, which is not in the catalogue", r.Kind, *r.ID), "a "+string(r.Kind)+" of the catalogue", "choose one of the list, or add it there first")
	}
	if err != nil {
		return nil, err
	}
	if i.Retired && !old {
		return nil, record.Faultf(record.Invalid, r.Field, fmt.Sprintf("%s %d, %.60q, which was retired", r.Kind, *r.ID, i.Label), "a "+string(r.Kind)+" that is in use", "choose another one, or keep it in the catalogue again")
	}
	return i, nil
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Overdue says whether the calibration of a tool was due before today.
func (s *Shop) Overdue(t *record.Tool) bool {
	return t.Due != "" && t.Due < s.now().Local().Format(time.DateOnly)
}

// due refuses a step that is signed with a tool whose calibration was due, unless whoever signs says why it was used all the same.
func (s *Shop) due(t *record.Tool, b record.Body) error {
	did, ok := b.(*record.Did)
	if !ok || did.Despite != "" || !s.Overdue(t) {
		return nil
	}
	return record.Faultf(record.NotAllowed, "despite", fmt.Sprintf("%.60q, whose calibration was due on %s", t.Name, t.Due), "a tool that is in calibration", "take another one, or say why this one was used: your name stands beside it")
}

// fitsTool refuses a tool that cannot have measured what an entry says.
func fitsTool(t *record.Tool, id int64, b record.Body) error {
	var what string
	var sorts []string
	switch b := b.(type) {
	case *record.Benched:
		what, sorts = "the pressure of a bench", []string{"gauge"}
	case *record.Found:
		if b.Value != "" {
			what, sorts = "a size", []string{"micrometer", "ruler"}
		}
	case *record.Did:
		switch {
		case b.Torque != "":
			what, sorts = "a torque", []string{"wrench"}
		case b.Pressure != "":
			what, sorts = "a pressure", []string{"gauge"}
		}
	}
	if sorts == nil || t.Sort == "other" || slices.Contains(sorts, t.Sort) {
		return nil
	}
	return record.Faultf(record.Invalid, "tool", fmt.Sprintf("tool %d, %.60q, a %s", id, t.Name, t.Sort), "a "+strings.Join(append(sorts, "tool of another sort"), ", or a ")+": it measures "+what, "choose the tool that was used")
}
