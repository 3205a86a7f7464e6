package assess

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// clock is when the jobs of these tests begin.
var clock = time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC)

func demoPump(t tester, name string) (*pump.Pump, []byte) {
	t.Helper()
	data, err := pump.DemoSheet(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := pump.Read(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return p, data
}

// tester is a test or a property.
type tester interface {
	Helper()
	Fatal(...any)
	Errorf(string, ...any)
}

// book is the record of one job while a test writes it.
type book struct {
	t       tester
	entries []record.Entry
	at      time.Time
	device  int64
}

func newBook(t tester, p *pump.Pump) *book {
	b := &book{t: t, at: clock, device: 1}
	b.write(&record.Booked{Customer: 1, CustomerName: "Aldersay ferry yard", Pump: 1, Serial: "ALD-0417", Model: p.Name, Complaint: "surges"})
	return b
}

// write adds an entry a minute after the last and returns its number.
func (b *book) write(body record.Body) int64 { return b.correct(0, body) }

func (b *book) correct(seq int64, body record.Body) int64 {
	b.t.Helper()
	b.at = b.at.Add(time.Minute)
	n := int64(len(b.entries)) + 1
	e, err := record.Draft{Subject: record.JobSubject(1042), At: b.at, By: 7, Device: b.device, Key: fmt.Sprint("k", n), Corrects: seq, Body: body}.Entry()
	if err != nil {
		b.t.Fatal(err)
	}
	e.Seq, e.ID, e.Stored = n, n, b.at
	b.entries = append(b.entries, e)
	return n
}

func (b *book) job() *record.Job {
	b.t.Helper()
	j, err := record.Fold(b.entries)
	if err != nil {
		b.t.Fatal(err)
	}
	return j
}

// key is one press: elapsed seconds, the key, and what was typed.
type key struct {
	at            float64
	press         record.Press
	pressure, rod string
	stroke        string
	locked        bool
}

// presses writes the presses of a watch and returns their numbers.
func (b *book) presses(h record.HoldStage, watch string, ks ...key) []int64 {
	b.t.Helper()
	var out []int64
	for _, k := range ks {
		out = append(out, b.write(&record.Pressed{Hold: h, Watch: watch, Press: k.press, Elapsed: int64(k.at*1000 + 0.5), Stroke: k.stroke, Locked: k.locked,
			Pressure: k.pressure, Rod: k.rod}))
	}
	return out
}

func (b *book) read(h record.HoldStage, readings ...string) {
	b.t.Helper()
	for _, r := range readings {
		b.write(&record.Read{Hold: h, Reading: json.RawMessage(r)})
	}
}

func bench(h record.HoldStage) *record.Benched {
	return &record.Benched{Hold: h, Fluid: json.RawMessage(`{"kind": "water", "temperature": "20 °C"}`),
		Gauge: json.RawMessage(`{"range": "400 bar", "class": "1.6 %", "resolution": "5 bar"}`), Stopwatch: "0.3 s", Ruler: "0.5 mm"}
}

func draftOf(t tester, j *record.Job, h record.HoldStage, p *pump.Pump, r *Running) Draft {
	t.Helper()
	d, err := SheetOf(j, h, p, r)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
