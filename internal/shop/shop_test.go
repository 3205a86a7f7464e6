package shop

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// bench is a shop with an owner, a technician and an office.
type bench struct {
	*Shop
	owner, tech, office gate.Who
}

func newBench(t *testing.T) *bench {
	t.Helper()
	ctx := context.Background()
	st, err := store.Open(ctx, filepath.Join(t.TempDir(), "workshop.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	b := &bench{Shop: New(st, "test", time.Now)}
	first := gate.Who{Person: 1, Device: 1, P: record.Person{Name: "Mara Kell", Initials: "MK", Role: record.Owner}}
	if _, err := b.Keep(ctx, By{Who: first}, record.Subject{Kind: record.OfShop}, &record.Shop{Name: "Aldersay", Currency: "EUR", Units: "metric", Lang: "en"}); err != nil {
		t.Fatal(err)
	}
	people := []*record.Person{{Name: "Mara Kell", Initials: "MK", Role: record.Owner}, {Name: "Ilse Varga", Initials: "IV", Role: record.Technician}, {Name: "Tomas Lund", Initials: "TL", Role: record.Office}}
	var who []gate.Who
	for _, p := range people {
		r, err := b.Keep(ctx, By{Who: first}, record.Subject{Kind: record.OfPerson}, p)
		if err != nil {
			t.Fatal(err)
		}
		who = append(who, gate.Who{Person: r.Entry.Subject.ID, Device: 1, P: *p})
	}
	b.owner, b.tech, b.office = who[0], who[1], who[2]
	return b
}

func (b *bench) book(t *testing.T, key string) int64 {
	t.Helper()
	n, err := b.BookIn(context.Background(), By{Who: b.tech, Key: key}, record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0417", Model: "orrin-30", Complaint: "creeps", Hours: "310 h"})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func (b *bench) add(t *testing.T, who gate.Who, n int64, body record.Body) store.Receipt {
	t.Helper()
	r, err := b.Add(context.Background(), By{Who: who}, n, body)
	if err != nil {
		t.Fatalf("%s: %v", body.Kind(), err)
	}
	return r
}

func reading(h record.HoldStage, text string) *record.Read {
	return &record.Read{Hold: h, Reading: json.RawMessage(text)}
}

var leftReadings = []string{`{"still":"up","pressure":"2330 psi","time":"60 s","seen":"0.5 mm"}`, `{"still":"down","pressure":"2330 psi","time":"60 s","seen":"0.5 mm"}`, `{"drips":"throat packing","pressure":"2330 psi","time":"60 s","drops":0}`}

func code(t *testing.T, err error, want record.Code) {
	t.Helper()
	if record.CodeOf(err) != want {
		t.Errorf("got %v, want code %s", err, want)
	}
}

func TestBookingTwiceIsOneJob(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	one, two := b.book(t, "k1"), b.book(t, "k1")
	if one != two {
		t.Errorf("the same booking sent twice gave jobs %d and %d", one, two)
	}
	other := b.book(t, "k2")
	if other == one {
		t.Fatal("another booking gave the same job")
	}
	customers, err := b.All(ctx, record.OfCustomer)
	if err != nil || len(customers) != 1 {
		t.Errorf("%d customers, %v; want 1", len(customers), err)
	}
	pumps, err := b.All(ctx, record.OfPump)
	if err != nil || len(pumps) != 1 {
		t.Errorf("%d pumps, %v; want 1", len(pumps), err)
	}
}

func TestWhatCannotBeReadIsNotKept(t *testing.T) {
	b := newBench(t)
	n := b.book(t, "k1")
	for name, body := range map[string]record.Body{
		"a reading without a pressure":   reading(record.AsFound, `{"creep":"up","travel":"60 mm","time":"14 s"}`),
		"a reading without a unit":       reading(record.AsFound, `{"creep":"up","pressure":"2330","travel":"60 mm","time":"14 s"}`),
		"an unknown path":                reading(record.AsFound, `{"drips":"bilge","pressure":"2330 psi","time":"60 s","drops":1}`),
		"a torque in millimetres":        &record.Did{Step: "torque throat nut", Torque: "20 mm"},
		"an unknown step":                &record.Did{Step: "paint it"},
		"an unknown part":                &record.Found{Part: "sail", Text: "torn"},
		"an action the part cannot take": &record.Chose{Parts: map[string]string{"rod": "lap"}},
		"another currency":               &record.Priced{Text: "kit", Quantity: 1000, Each: 100, Currency: "USD"},
	} {
		who := b.tech
		if _, ok := body.(*record.Priced); ok {
			who = b.office
		}
		_, err := b.Add(context.Background(), By{Who: who}, n, body)
		if c := record.CodeOf(err); c != record.Invalid && c != record.NotFound {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, v := range map[string]record.Booked{"hours without a unit": {Hours: "300"}, "litres of time": {Litres: "300 h"}, "a model that is not there": {Model: "galleon"}} {
		v.CustomerName, v.Serial, v.Complaint = "Harbour painters", "ALD-0417", "creeps"
		if v.Model == "" {
			v.Model = "orrin-30"
		}
		if _, err := b.BookIn(context.Background(), By{Who: b.tech}, v); record.CodeOf(err) != record.Invalid && record.CodeOf(err) != record.NotFound {
			t.Errorf("booking with %s: %v", name, err)
		}
	}
	_, err := b.Add(context.Background(), By{Who: b.owner}, n, &record.Judged{Hold: record.AsFound, Word: "holds", Meets: 1, Engine: "x", Model: "1", Sheet: json.RawMessage(`{}`), Result: json.RawMessage(`{}`)})
	code(t, err, record.NotAllowed)
}

// A job cannot be closed as good without a verdict of its present readings, or somebody's word.
func TestClosingNeedsProofOrAName(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	_, err := b.Add(ctx, By{Who: b.owner}, n, &record.Closed{Good: true})
	code(t, err, record.NotAllowed)

	var last store.Receipt
	for _, q := range leftReadings {
		last = b.add(t, b.tech, n, reading(record.AsLeft, q))
	}
	out, _, err := b.Judge(ctx, By{Who: b.tech}, n, record.AsLeft)
	if err != nil {
		t.Fatal(err)
	}
	if out.Body.Word != record.Holds {
		t.Fatalf("the demo readings of a sound pump give %q", out.Body.Word)
	}
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	if j.Stage != record.StageHand {
		t.Errorf("after a verdict that holds the stage is %q", j.Stage)
	}
	if open := b.open(t, n); !slices.Equal(open, []string{"look drain valve", "look outside", "hold", "unsigned", "handed", "bill"}) {
		t.Errorf("with proof there is open: %q", open)
	}
	_, err = b.Add(ctx, By{Who: b.owner}, n, &record.Closed{Good: true})
	code(t, err, record.NotAllowed)
	b.add(t, b.tech, n, &record.Struck{Seq: last.Entry.Seq, Reason: "counted at the wrong joint"})
	if open := b.open(t, n); open[0] != "proof" {
		t.Errorf("with a reading struck there is open: %q", open)
	}
	_, err = b.Add(ctx, By{Who: b.tech}, n, &record.Overrode{Verdict: "holds", Reason: "seen it hold"})
	code(t, err, record.NotAllowed) // not a technician
	b.add(t, b.owner, n, &record.Overrode{Verdict: "holds", Reason: "drips watched again by hand"})
	if open := b.open(t, n); slices.Contains(open, "proof") {
		t.Errorf("the verdict is answered for, and open: %q", open)
	}
	_, err = b.Add(ctx, By{Who: b.owner}, n, &record.Overrode{Reason: "r", Points: []string{"moon"}})
	code(t, err, record.NotFound)
	b.add(t, b.owner, n, &record.Overrode{Reason: "only looked at", Points: []string{"hold", "unsigned"}})
	b.add(t, b.tech, n, &record.Handed{To: "A. Kin"})
	_, err = b.Add(ctx, By{Who: b.owner}, n, &record.Closed{Good: true})
	code(t, err, record.NotAllowed)
	b.add(t, b.office, n, &record.Priced{Text: "test", Quantity: 1000, Each: 100, Currency: "EUR"})
	b.add(t, b.owner, n, &record.Closed{Good: true})
	_, err = b.Add(ctx, By{Who: b.owner}, n, &record.Did{Step: "earth"})
	code(t, err, record.NotAllowed)
	b.add(t, b.tech, n, &record.Noted{Text: "collected on Friday"})
	b.add(t, b.owner, n, &record.Moved{To: record.StageHand, Reason: "came back"})
	if j, err = b.Job(ctx, n); err != nil || !j.Open() {
		t.Errorf("reopened: %v %v", j.Stage, err)
	}
}

// open are the points of a job that nobody has answered for.
func (b *bench) open(t *testing.T, n int64) []string {
	t.Helper()
	j, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	points, err := b.Points(j)
	if err != nil {
		t.Fatal(err)
	}
	out := []string{}
	for _, q := range assess.OpenPoints(points) {
		out = append(out, q.ID)
	}
	return out
}

func TestOwnEntriesAreOnesOwn(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	mine := b.add(t, b.tech, n, &record.Noted{Text: "mine"})
	theirs := b.add(t, b.owner, n, &record.Noted{Text: "theirs"})
	if _, err := b.Add(ctx, By{Who: b.tech, Corrects: mine.Entry.Seq}, n, &record.Noted{Text: "mine, mended"}); err != nil {
		t.Error(err)
	}
	_, err := b.Add(ctx, By{Who: b.tech, Corrects: theirs.Entry.Seq}, n, &record.Noted{Text: "mended by another"})
	code(t, err, record.NotAllowed)
	_, err = b.Add(ctx, By{Who: b.tech}, n, &record.Struck{Seq: theirs.Entry.Seq, Reason: "no"})
	code(t, err, record.NotAllowed)
	_, err = b.Add(ctx, By{Who: b.tech}, n, &record.Priced{Text: "kit", Quantity: 1000, Each: 1, Currency: "EUR"})
	code(t, err, record.NotAllowed)
	_, err = b.Add(ctx, By{}, n, &record.Noted{Text: "nobody"})
	code(t, err, record.NotAllowed)
}

func TestPeopleAreKeptByThoseWhoMay(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	me := record.Subject{Kind: record.OfPerson, ID: b.tech.Person}
	p := b.tech.P
	p.Units = "imperial"
	if _, err := b.Keep(ctx, By{Who: b.tech}, me, &p); err != nil {
		t.Errorf("own units: %v", err)
	}
	now := func(who gate.Who) By { who.Since = time.Now(); return By{Who: who} } // so that nothing is refused because the sign-in is old
	p.Role = record.Trainer
	_, err := b.Keep(ctx, now(b.tech), me, &p)
	code(t, err, record.NotAllowed)
	p.Role = record.Owner
	for _, who := range []gate.Who{b.tech, b.office} {
		_, err := b.Keep(ctx, now(who), me, &p)
		code(t, err, record.NotAllowed)
		_, err = b.Keep(ctx, now(who), record.Subject{Kind: record.OfPerson}, &record.Person{Name: "X", Initials: "X", Role: record.Owner})
		code(t, err, record.NotAllowed)
		_, err = b.Keep(ctx, now(who), record.Subject{Kind: record.OfPerson, ID: b.owner.Person}, &record.Person{Name: "X", Initials: "X", Role: record.Technician})
		code(t, err, record.NotAllowed)
	}
	_, err = b.Keep(ctx, By{Who: b.tech}, record.Subject{Kind: record.OfPrice}, &record.Price{Text: "kit", Each: 1})
	code(t, err, record.NotAllowed)
}

// A verdict is of the job that its reader has seen, or there is none.
func TestJudgeOfWhatWasSeen(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	for _, r := range leftReadings {
		b.add(t, b.tech, n, reading(record.AsFound, r))
	}
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	seen := j.Seq
	b.add(t, b.tech, n, reading(record.AsFound, leftReadings[0]))
	_, _, err = b.Judge(ctx, By{Who: b.tech, IfSeq: seen}, n, record.AsFound)
	var f *record.Fault
	if !errors.As(err, &f) || f.Code != record.Conflict || f.Seq != seen+1 || f.Mend == "" {
		t.Errorf("%v", err)
	}
	if _, _, err := b.Judge(ctx, By{Who: b.tech, IfSeq: seen + 1}, n, record.AsFound); err != nil {
		t.Error(err)
	}
}

// Another role, and bringing back who left, take a sign-in within ten minutes (ASVS 5.0 requirement 7.5.1, from memory).
func TestRoleTakesAFreshSignIn(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	sub := record.Subject{Kind: record.OfPerson, ID: b.tech.Person}
	keep := func(ago time.Duration, who gate.Who, change func(*record.Person)) error {
		i, err := b.Store().Item(ctx, sub)
		if err != nil {
			t.Fatal(err)
		}
		p := *i.Value.(*record.Person)
		change(&p)
		who.Since = time.Now().Add(-ago)
		_, err = b.Keep(ctx, By{Who: who}, sub, &p)
		return err
	}
	trainer := func(p *record.Person) { p.Role = record.Trainer }
	for _, who := range []gate.Who{b.office, b.owner} {
		code(t, keep(11*time.Minute, who, trainer), record.NotAllowed)
		code(t, keep(11*time.Minute, who, func(p *record.Person) { p.Role = record.Owner }), record.NotAllowed)
	}
	for _, err := range []error{
		keep(11*time.Minute, b.office, func(p *record.Person) { p.Name = "Ilse Varga-Lund" }), // a name gives nothing
		keep(9*time.Minute, b.office, trainer),
	} {
		if err != nil {
			t.Error(err)
		}
	}
	code(t, keep(time.Minute, b.tech, func(p *record.Person) { p.Role = record.Office }), record.NotAllowed)
	if _, err := b.Retire(ctx, By{Who: b.office}, sub, "left"); err != nil {
		t.Fatal(err)
	}
	code(t, keep(11*time.Minute, b.office, func(*record.Person) {}), record.NotAllowed)
	if err := keep(time.Minute, b.office, func(*record.Person) {}); err != nil {
		t.Error(err)
	}
	token := gate.Who{Person: b.owner.Person, P: record.Person{Role: record.Office}, Token: true, Scope: "write", Whole: record.Owner}
	code(t, keep(0, token, func(p *record.Person) { p.Role = record.Office }), record.NotAllowed)
}

// A number in an entry stands for something of the catalogue that is there, in use, and could have been used for it.
func TestNumbersStandForSomething(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	keep := func(i record.Item) int64 {
		t.Helper()
		k := record.OfTool
		if _, ok := i.(*record.Price); ok {
			k = record.OfPrice
		}
		r, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: k}, i)
		if err != nil {
			t.Fatal(err)
		}
		return r.Entry.Subject.ID
	}
	gauge, wrench := keep(&record.Tool{Name: "bench gauge", Sort: "gauge"}), keep(&record.Tool{Name: "torque wrench 2", Sort: "wrench"})
	rule, other := keep(&record.Tool{Name: "steel rule", Sort: "ruler"}), keep(&record.Tool{Name: "own jig", Sort: "other"})
	kit := keep(&record.Price{Text: "kit", Each: 9000})
	found := func(tool int64) record.Body {
		return &record.Found{Part: "rod", Size: "diameter", Value: "21.19 mm", Tool: tool}
	}
	torque := func(tool int64) record.Body { return &record.Did{Step: "throat nut", Torque: "52 N·m", Tool: tool} }
	priced := func(item int64) record.Body {
		return &record.Priced{Item: item, Text: "kit", Quantity: 1000, Each: 9000, Currency: "EUR"}
	}
	bench := func(tool int64) record.Body {
		return &record.Benched{Hold: record.AsFound, Tool: tool, Fluid: json.RawMessage(`{"kind": "water", "temperature": "20 °C"}`)}
	}
	words := &record.Found{Part: "rod", Text: "scored", Tool: wrench}
	ok := []record.Body{found(0), found(rule), found(other), priced(0), priced(kit), bench(gauge), bench(0), words}
	for _, body := range ok {
		if _, err := b.Add(ctx, By{Who: b.owner}, n, body); err != nil {
			t.Errorf("%+v: %v", body, err)
		}
	}
	refuse := func(body record.Body, field, found string) {
		t.Helper()
		_, err := b.Add(ctx, By{Who: b.owner}, n, body)
		var f *record.Fault
		if !errors.As(err, &f) || f.Code != record.Invalid || f.Where != field || !strings.Contains(f.Found, found) || f.Want == "" || f.Mend == "" {
			t.Errorf("%+v: %v", body, err)
		}
	}
	refuse(found(99), "tool", "tool 99, which is not in the catalogue")
	refuse(torque(99), "tool", "not in the catalogue")
	refuse(bench(99), "tool", "not in the catalogue")
	refuse(priced(99), "item", "price 99, which is not in the catalogue")
	refuse(priced(-1), "item", "not in the catalogue")
	refuse(found(gauge), "tool", "a gauge")
	refuse(found(wrench), "tool", "a wrench")
	refuse(torque(rule), "tool", "a ruler")
	refuse(bench(rule), "tool", "a ruler")
	first := b.add(t, b.owner, n, found(rule)).Entry.Seq
	for _, sub := range []record.Subject{{Kind: record.OfTool, ID: rule}, {Kind: record.OfPrice, ID: kit}} {
		if _, err := b.Retire(ctx, By{Who: b.owner}, sub, "lost"); err != nil {
			t.Fatal(err)
		}
	}
	refuse(found(rule), "tool", "retired")
	refuse(priced(kit), "item", "retired")
	if _, err := b.Add(ctx, By{Who: b.owner, Corrects: first}, n, found(rule)); err != nil {
		t.Errorf("a correction of what was measured with it: %v", err)
	}
}

func TestPumpSheetsAreReadBeforeTheyAreKept(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	_, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: "x", Text: "pump: 1\nname: x\n"})
	code(t, err, record.Invalid)
	m, err := b.Model(ctx, 0, "orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: "other name", Text: string(m.Text)})
	code(t, err, record.Invalid)
	text := strings.Replace(string(m.Text), "name: orrin-30", "name: orrin-31", 1)
	r, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: "orrin-31", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	own, err := b.Model(ctx, r.Entry.Subject.ID, "orrin-31")
	if err != nil || own.Name != "orrin-31" || own.Bore != m.Bore {
		t.Errorf("%v, %v", own, err)
	}
	_, err = b.Model(ctx, 0, "no such pump")
	code(t, err, record.NotFound)
}

// Many tablets write in one job at the same moment: every entry is there once, and the stage moved once.
func TestTabletsWriteSideBySide(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 10 {
				if _, err := b.Add(ctx, By{Who: b.tech}, n, reading(record.AsFound, leftReadings[0])); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Readings) != 80 || j.Stage != record.StageFound {
		t.Errorf("%d readings at stage %q", len(j.Readings), j.Stage)
	}
	r, err := b.Store().Verify(ctx)
	if err != nil || !r.Sound() {
		t.Errorf("%v %v", r, err)
	}
}

// An analysis that breaks gives an error and frees its desk; one that is not wanted any more gives up its place in the queue.
func TestAnalyse(t *testing.T) {
	b := newBench(t)
	for range 2 * Desks() {
		if out, err := b.analyse(t.Context(), func() (*assess.Outcome, error) { panic("at the desk") }); out != nil || err == nil || !strings.Contains(err.Error(), "at the desk") {
			t.Fatalf("%v, %v", out, err)
		}
	}
	held, release := make(chan struct{}), make(chan struct{})
	var all sync.WaitGroup
	for range Desks() {
		all.Go(func() {
			_, err := b.analyse(t.Context(), func() (*assess.Outcome, error) { held <- struct{}{}; <-release; return nil, nil })
			if err != nil {
				t.Error(err)
			}
		})
		<-held
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := b.analyse(ctx, func() (*assess.Outcome, error) { t.Error("ran beside the desks"); return nil, nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	close(release)
	all.Wait()
}

// A pump of the catalogue names a customer and a sheet that are there; one that was retired may go on being named.
func TestPumpNamesWhatIsThere(t *testing.T) {
	b, ctx := newBench(t), context.Background()
	keep := func(sub record.Subject, customer, sheet int64) (store.Receipt, error) {
		return b.Keep(ctx, By{Who: b.owner}, sub, &record.Pump{Serial: "ALD-0501", Model: "orrin-30", Customer: customer, Sheet: sheet})
	}
	c, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "Slipway"})
	if err != nil {
		t.Fatal(err)
	}
	customer := c.Entry.Subject.ID
	fresh := record.Subject{Kind: record.OfPump}
	for _, x := range [][2]int64{{customer + 7, 0}, {customer, 99}} {
		_, err := keep(fresh, x[0], x[1])
		code(t, err, record.Invalid)
	}
	p, err := keep(fresh, customer, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Retire(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfCustomer, ID: customer}, "moved away"); err != nil {
		t.Fatal(err)
	}
	if _, err := keep(p.Entry.Subject, customer, 0); err != nil {
		t.Error(err)
	}
	_, err = b.Keep(ctx, By{Who: b.owner}, fresh, &record.Pump{Serial: "ALD-0502", Model: "orrin-30", Customer: customer})
	code(t, err, record.Invalid)
}
