package serve

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// The demo workshop: the coatings workshop of the invented Aldersay ferry yard. People, customers, pumps, serials, readings and
// prices are made up.

// DemoPIN is the PIN of every person of the demo workshop that `serve --demo` makes.
const DemoPIN = "804937"

// demo sets an empty store up as the demo workshop.
func (w *workshop) demo(ctx context.Context) error {
	g := gate.New(w.st, gate.Options{Now: w.now, Log: w.log})
	up, err := g.IsSetUp(ctx)
	if err != nil || up {
		return err
	}
	profile := record.Shop{Name: "Aldersay ferry yard, coatings workshop", Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4", Phone: "(invented) 555 0117", Demo: true}
	_, err = g.SetUp(ctx, profile, record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}, DemoPIN, record.Device{Name: "bench screen", Place: "bench 1"})
	if err != nil {
		return err
	}
	if err := Seed(ctx, w.shop); err != nil {
		return err
	}
	people, err := w.shop.All(ctx, record.OfPerson)
	if err != nil {
		return err
	}
	for _, p := range people {
		if err := g.Recover(ctx, p.Subject.ID, DemoPIN); err != nil {
			return err
		}
	}
	return nil
}

// seeder writes the demo workshop as its people would have.
type seeder struct {
	ctx  context.Context
	sh   *shop.Shop
	who  gate.Who
	n    int
	errs []error
}

// Seed fills a workshop that was just set up with invented people, pumps, tools and jobs. What it writes is written in the name of the first
// person.
func Seed(ctx context.Context, sh *shop.Shop) error {
	people, err := sh.All(ctx, record.OfPerson)
	if err != nil {
		return err
	}
	if len(people) == 0 {
		return record.Faultf(record.NotAllowed, "demo workshop", "nobody in the shop", "a first person", "set the shop up first")
	}
	s := &seeder{ctx: ctx, sh: sh, who: gate.Who{Person: people[0].Subject.ID, P: *people[0].Value.(*record.Person), Device: 1}}
	s.people()
	s.shelves()
	s.jobs()
	return errors.Join(s.errs...)
}

func (s *seeder) by() shop.By {
	s.n++
	return shop.By{Who: s.who, Key: fmt.Sprintf("demo-%d", s.n), At: s.sh.Now().Add(-time.Duration(600-s.n) * time.Minute)}
}

func (s *seeder) keep(k record.SubjectKind, i record.Item) int64 {
	r, err := s.sh.Keep(s.ctx, s.by(), record.Subject{Kind: k}, i)
	if err != nil {
		s.errs = append(s.errs, fmt.Errorf("demo workshop, a %s: %w", k, err))
	}
	return r.Entry.Subject.ID
}

func (s *seeder) people() {
	s.keep(record.OfPerson, &record.Person{Name: "Jonas Brandt-Oye", Initials: "JB", Role: record.Trainer})
	s.keep(record.OfPerson, &record.Person{Name: "Ilse Varga", Initials: "IV", Role: record.Technician, Units: "imperial"})
	s.keep(record.OfPerson, &record.Person{Name: "Tomas Ferreira Lund", Initials: "TL", Role: record.Office, Lang: "es"})
}

func (s *seeder) shelves() {
	s.keep(record.OfTool, &record.Tool{Name: "torque wrench 2", Sort: "wrench", Serial: "TW-2", Class: "II A", Range: "200 N·m", Length: "400 mm", Due: s.sh.Now().AddDate(0, 5, 0).Format(time.DateOnly)})
	s.keep(record.OfTool, &record.Tool{Name: "bench gauge", Sort: "gauge", Serial: "G-11", Class: "1.6 %", Range: "400 bar", Step: "5 bar", Due: s.sh.Now().AddDate(0, -1, 0).Format(time.DateOnly)})
	s.keep(record.OfTool, &record.Tool{Name: "steel rule", Sort: "ruler", Range: "300 mm", Step: "0.5 mm"})
	s.keep(record.OfTool, &record.Tool{Name: "micrometer 25", Sort: "micrometer", Serial: "M-4", Range: "25 mm", Step: "0.01 mm", Due: s.sh.Now().AddDate(1, 0, 0).Format(time.DateOnly)})
	s.keep(record.OfFluid, &record.Fluid{Name: "water, bench tank", Test: json.RawMessage(`{"kind":"water","temperature":"19 °C"}`)})
	s.keep(record.OfFluid, &record.Fluid{Name: "test oil 32", Test: json.RawMessage(`{"kind":"oil","grade":32,"temperature":"20 °C"}`)})
	s.keep(record.OfFluid, &record.Fluid{Name: "deck grey, two-component epoxy", Hazards: "Epoxy resin and amine hardener sensitise the skin. See its safety data sheet."})
	s.keep(record.OfPrice, &record.Price{Text: "work at the bench", Each: 6400, Unit: "hour"})
	s.keep(record.OfPrice, &record.Price{Text: "orrin-30 packing kit", Model: "orrin-30", Each: 11850, Unit: "piece", Number: "ALD-K30"})
	s.keep(record.OfPrice, &record.Price{Text: "inlet valve seat", Model: "orrin-30", Part: "inlet valve seat", Each: 6600, Unit: "piece"})
}

type seedJob struct {
	booked   record.Booked
	readings []string
	choose   map[string]string
}

func (s *seeder) jobs() {
	for _, j := range []seedJob{
		{booked: record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0417", Model: "orrin-30", Complaint: "Creeps at the stall with the gun shut; loses pressure overnight.", Fluid: "deck grey, two-component epoxy", Hours: "310 h", Drive: "air motor"},
			readings: []string{`{"creep":"up","pressure":"160 bar","travel":"60 mm","time":"14.2 s"}`, `{"still":"down","pressure":"160 bar","time":"30 s","seen":"0.5 mm"}`},
			choose:   map[string]string{"throat leather ring": "replace", "throat polyethylene ring": "replace", "piston leather ring": "replace", "piston polyethylene ring": "replace", "inlet valve seat": "turn over"}},
		{booked: record.Booked{CustomerName: "Aldersay slipway", Serial: "ALD-0388", Model: "tolsk-18", Complaint: "Electric. The motor starts every few seconds with the gun shut.", Hours: "95 h", Drive: "electric"},
			readings: []string{`{"restart":"unknown","time":"6.5 s"}`, `{"locked":"down","pressures":[{"at":"0 s","pressure":"200 bar"},{"at":"5 s","pressure":"175 bar"},{"at":"15 s","pressure":"130 bar"}]}`}},
		{booked: record.Booked{CustomerName: "Inner islands ferry line", Serial: "ALD-0502", Model: "varn-40", Complaint: "Paint in the wet cup.", Litres: "2600 L"}},
		{booked: record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0431", Model: "orrin-30", Complaint: "Yearly overhaul before the season.", Hours: "540 h", Drive: "air motor"}},
	} {
		s.job(j)
	}
}

func (s *seeder) job(j seedJob) {
	n, err := s.sh.BookIn(s.ctx, s.by(), j.booked)
	if err != nil {
		s.errs = append(s.errs, fmt.Errorf("demo workshop, booking %s: %w", j.booked.Serial, err))
		return
	}
	add := func(b record.Body) {
		if _, err := s.sh.Add(s.ctx, s.by(), n, b); err != nil {
			s.errs = append(s.errs, fmt.Errorf("demo workshop, job %d: %w", n, err))
		}
	}
	if len(j.readings) == 0 {
		return
	}
	add(&record.Benched{Hold: record.AsFound, Fluid: json.RawMessage(`{"kind":"water","temperature":"19 °C"}`), Gauge: json.RawMessage(`{"range":"400 bar","class":"1.6 %","resolution":"5 bar"}`)})
	for _, q := range j.readings {
		add(&record.Read{Hold: record.AsFound, Reading: json.RawMessage(q)})
	}
	if _, _, err := s.sh.Judge(s.ctx, s.by(), n, record.AsFound); err != nil {
		s.errs = append(s.errs, fmt.Errorf("demo workshop, job %d: %w", n, err))
	}
	if len(j.choose) > 0 {
		add(&record.Found{Part: "rod", Text: "Bright, no scores."})
		add(&record.Chose{Parts: j.choose})
	}
}
