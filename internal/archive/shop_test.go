package archive

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/picture"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// workshop is a store with some people, devices and things in it.
type workshop struct {
	t       testing.TB
	st      *store.Store
	mu      sync.Mutex // of now
	now     time.Time
	n       int
	people  []int64
	devices []int64
	tools   []int64
	prices  []int64
}

func ctx() context.Context { return context.Background() }

// newWorkshop opens an empty store of an engine. skip makes its numbers differ from those of other workshops.
func newWorkshop(t testing.TB, engine, name string, skip int) *workshop {
	t.Helper()
	w := &workshop{t: t, now: time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC)}
	where := filepath.Join(t.TempDir(), "shop.db")
	if engine == "postgresql" {
		where = pgtest.Start(t)
	}
	st, err := store.Open(ctx(), where, store.Options{Now: w.tick})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	w.st = st
	w.keep(record.OfShop, &record.Shop{Name: name, Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4"})
	for i := range skip {
		w.keep(record.OfPerson, &record.Person{Name: fmt.Sprintf("%s hand %d", name, i), Initials: "H", Role: record.Owner})
		w.keep(record.OfDevice, &record.Device{Name: fmt.Sprintf("%s screen %d", name, i)})
		w.keep(record.OfCustomer, &record.Customer{Name: fmt.Sprintf("%s customer %d", name, i)})
		w.keep(record.OfPump, &record.Pump{Serial: fmt.Sprintf("%s-%d", name, i), Model: "varn-40"})
		w.keep(record.OfTool, &record.Tool{Name: fmt.Sprintf("%s tool %d", name, i), Sort: "other"})
		w.keep(record.OfPrice, &record.Price{Text: fmt.Sprintf("%s price %d", name, i)})
	}
	for i := range 2 {
		w.people = append(w.people, w.keep(record.OfPerson, &record.Person{Name: fmt.Sprintf("%s person %d", name, i), Initials: "P", Role: record.Trainer, Look: "dark"}))
		w.devices = append(w.devices, w.keep(record.OfDevice, &record.Device{Name: fmt.Sprintf("%s tablet %d", name, i), Place: "bench"}))
		w.tools = append(w.tools, w.keep(record.OfTool, &record.Tool{Name: fmt.Sprintf("%s wrench %d", name, i), Sort: "wrench", Serial: "W1"}))
		w.prices = append(w.prices, w.keep(record.OfPrice, &record.Price{Text: fmt.Sprintf("%s hour %d", name, i), Each: 9000}))
	}
	return w
}

// tick is the clock: each look at it is 7 s later.
func (w *workshop) tick() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = w.now.Add(7 * time.Second)
	return w.now
}

func (w *workshop) key() string { w.n++; return fmt.Sprintf("k%d", w.n) }

func (w *workshop) keep(k record.SubjectKind, i record.Item) int64 {
	w.t.Helper()
	body, err := record.Keep(i)
	if err != nil {
		w.t.Fatal(err)
	}
	r, err := w.st.Keep(ctx(), store.AnySeq, record.Draft{Subject: record.Subject{Kind: k}, At: w.now, Key: w.key(), Body: body})
	if err != nil {
		w.t.Fatal(err)
	}
	return r.Entry.Subject.ID
}

// book books a pump in and returns the number of the job.
func (w *workshop) book(uid string, b record.Booked) int64 {
	w.t.Helper()
	r, err := w.st.NewJob(ctx(), uid, record.Draft{At: w.now, By: w.people[0], Device: w.devices[0], Key: "book-" + uid, Body: &b})
	if err != nil {
		w.t.Fatal(err)
	}
	return r.Entry.Subject.ID
}

// usual is a booking with a customer, a pump and, where text is not "", a pump sheet of the catalogue.
func (w *workshop) usual(customer, serial, text string) record.Booked {
	b := record.Booked{CustomerName: customer, Serial: serial, Model: "orrin-30", Complaint: "surges"}
	b.Customer = w.keep(record.OfCustomer, &record.Customer{Name: customer, Phone: "01", Note: "<b>\u2028é"})
	if text != "" {
		b.Sheet = w.keep(record.OfSheet, &record.PumpSheet{Name: "orrin-30", Text: text})
	}
	b.Pump = w.keep(record.OfPump, &record.Pump{Serial: serial, Model: "orrin-30", Sheet: b.Sheet, Customer: b.Customer})
	return b
}

// write writes an entry; one that the job does not take is left out.
func (w *workshop) write(job int64, corrects int64, b record.Body) {
	w.t.Helper()
	d := record.Draft{At: w.now, By: w.people[w.n%2], Device: w.devices[w.n%2], Key: w.key(), Corrects: corrects, Body: b}
	if w.n%3 == 0 {
		d.Device = 0
	}
	_, err := w.st.Append(ctx(), job, store.AnySeq, d)
	switch record.CodeOf(err) {
	case record.NotAllowed, record.Conflict, record.NotFound, record.Invalid:
	default:
		if err != nil {
			w.t.Fatal(err)
		}
	}
}

// photo keeps a small picture of random colours.
func (w *workshop) photo(r *rand.Rand) record.Digest {
	w.t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 24, 16))
	for i := range m.Pix {
		m.Pix[i] = byte(r.Uint32())
	}
	m.Set(0, 0, color.Black)
	var buf bytes.Buffer
	if err := png.Encode(&buf, m); err != nil {
		w.t.Fatal(err)
	}
	p, err := picture.Read(&buf, 0)
	if err != nil {
		w.t.Fatal(err)
	}
	d, err := w.st.PutPhoto(ctx(), store.Photo{Data: p.Data, Thumb: p.Thumb, Width: p.Width, Height: p.Height})
	if err != nil {
		w.t.Fatal(err)
	}
	return d
}

func (w *workshop) export(job int64) []byte {
	w.t.Helper()
	var buf bytes.Buffer
	if err := Export(ctx(), w.st, "test 1", job, &buf); err != nil {
		w.t.Fatal(err)
	}
	return buf.Bytes()
}

func (w *workshop) take(data []byte) (store.Imported, error) {
	return Import(ctx(), w.st, bytes.NewReader(data), int64(len(data)), w.people[0], w.devices[0])
}

func (w *workshop) mustTake(data []byte) store.Imported {
	w.t.Helper()
	got, err := w.take(data)
	if err != nil {
		w.t.Fatal(err)
	}
	return got
}

// sound lets the store verify itself.
func (w *workshop) sound() {
	w.t.Helper()
	r, err := w.st.Verify(ctx())
	if err != nil {
		w.t.Fatal(err)
	}
	if err := r.Err(); err != nil {
		w.t.Errorf("%v: %+v", err, r.Problems)
	}
}

// told is a job as somebody reads it: the fold, with names in the place of numbers.
func (w *workshop) told(job int64) string {
	w.t.Helper()
	entries, err := w.st.Entries(ctx(), record.JobSubject(job), 0, 0)
	if err != nil {
		w.t.Fatal(err)
	}
	j, err := record.Fold(entries)
	if err != nil {
		w.t.Fatal(err)
	}
	j.Number, j.Customer, j.Pump, j.Booked.Customer, j.Booked.Pump, j.Booked.Sheet = 0, 0, 0, 0, 0, 0
	var out bytes.Buffer
	for i := range entries {
		e := &entries[i]
		b, err := e.Open()
		if err != nil {
			w.t.Fatal(err)
		}
		for _, r := range store.Refs(e, b) {
			if l := w.label(record.Subject{Kind: r.Kind, ID: *r.ID}); l != "" {
				fmt.Fprintf(&out, "entry %d %s: %s\n", e.Seq, r.Field, l)
			}
			*r.ID = 0
		}
		body, err := json.Marshal(b)
		if err != nil {
			w.t.Fatal(err)
		}
		fmt.Fprintf(&out, "entry %d %s %s %s %s\n", e.Seq, e.Kind, e.At, e.Stored, body)
	}
	sum, err := json.Marshal(j.Summary)
	if err != nil {
		w.t.Fatal(err)
	}
	fmt.Fprintf(&out, "%s\n%d readings, %d findings, %d struck, closed %v, total %d\n", sum, len(j.Readings), len(j.Findings), len(j.Struck), j.Closed != nil, j.Total())
	return out.String()
}

func (w *workshop) label(sub record.Subject) string {
	w.t.Helper()
	if sub.Kind == record.OfSheet && sub.ID == 0 {
		return "orrin-30"
	}
	i, err := w.st.Item(ctx(), sub)
	if record.CodeOf(err) == record.NotFound {
		return ""
	}
	if err != nil {
		w.t.Fatal(err)
	}
	return i.Label
}
