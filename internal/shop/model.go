package shop

import (
	"context"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/pump"
)

// Model is a pump model: its sheet as read, and as text.
type Model struct {
	*pump.Pump
	Text     []byte
	Sheet    int64 // of the catalogue; 0 is one that comes with the program
	Seq      int64
	rebuilds *store.Recent[string, *pump.Rebuild] // by the choice of parts
}

// rebuildsKept is half of how many choices are kept worked out for each model.
const rebuildsKept = 20

func newModel(p *pump.Pump, text []byte, sheet, seq int64) *Model {
	return &Model{p, text, sheet, seq, store.NewRecent[string, *pump.Rebuild](rebuildsKept)}
}

// Rebuild is the work for a choice of parts. Many jobs have the same, and it takes longer than the rest of a page.
func (m *Model) Rebuild(c pump.Chosen) (*pump.Rebuild, error) {
	return m.rebuilds.Get(fmt.Sprintf("%q", c), func() (*pump.Rebuild, error) { return m.Pump.Rebuild(c) }) // a map is written in the order of its keys
}

type modelKey struct {
	sheet, seq int64
	name       string
}

func (m *Model) key() modelKey { return modelKey{m.Sheet, m.Seq, m.Name} }

// Model reads a pump sheet: one of the catalogue by its number, or one that comes with the program by its name. A sheet is read
// once and kept as long as it is not changed.
func (s *Shop) Model(ctx context.Context, sheet int64, name string) (*Model, error) {
	if sheet == 0 {
		return s.builtIn(name)
	}
	i, err := s.st.Glance(ctx, record.Subject{Kind: record.OfSheet, ID: sheet})
	if err != nil {
		return nil, err
	}
	v := i.Value.(*record.PumpSheet)
	key := modelKey{sheet, i.Seq, v.Name}
	if m, ok := s.models.Load(key); ok {
		return m.(*Model), nil
	}
	p, err := pump.Read(v.Name, []byte(v.Text))
	if err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: "pump sheet " + v.Name, Found: err.Error(), Want: "a sound pump sheet", Mend: "mend it under pump sheets", Err: err}
	}
	m := newModel(p, []byte(v.Text), sheet, i.Seq)
	s.models.Store(key, m)
	return m, nil
}

func (s *Shop) builtIn(name string) (*Model, error) {
	key := modelKey{name: name}
	if m, ok := s.models.Load(key); ok {
		return m.(*Model), nil
	}
	text, err := pump.DemoSheet(name)
	if err != nil {
		return nil, record.Faultf(record.NotFound, "pump sheet", fmt.Sprintf("%.60q", name), "a sheet of the catalogue, or one that comes with the program", "add it under pump sheets")
	}
	p, err := pump.Read(name, text)
	if err != nil {
		return nil, fmt.Errorf("shop: the sheet %s that comes with the program: %w", name, err)
	}
	m := newModel(p, text, 0, 0)
	s.models.Store(key, m)
	return m, nil
}

// Choice is a pump model that can be chosen.
type Choice struct {
	Sheet    int64
	Name     string
	Invented bool // comes with the program, for demonstration: no such pump is made
}

// Models lists the pump models: those of the catalogue, then those of the program that no sheet of the catalogue names anew.
func (s *Shop) Models(ctx context.Context) ([]Choice, error) {
	items, err := s.All(ctx, record.OfSheet)
	if err != nil {
		return nil, err
	}
	var out []Choice
	seen := map[string]bool{}
	for _, i := range items {
		out = append(out, Choice{Sheet: i.Subject.ID, Name: i.Label})
		seen[i.Label] = true
	}
	for _, name := range pump.Demo() {
		if !seen[name] {
			out = append(out, Choice{Name: name, Invented: true})
		}
	}
	return out, nil
}
