package main

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
)

// All data is invented: the coatings workshop of the Aldersay ferry yard, which there is not.

// Sizes of the invented shop beside its jobs.
const (
	people    = 40
	tablets   = 200
	customers = 2000
	pumps     = 5000
	keepsOne  = 20 // of so many closed jobs one keeps its verdict
)

// began is when the first job of the invented shop was booked in.
var began = time.Date(2027, 1, 4, 7, 0, 0, 0, time.UTC)

var (
	places     = []string{"Harbour", "Aldersay", "Inner islands", "North quay", "Lighthouse", "Saltmarsh", "Ropewalk", "Old mole", "Cutter lane", "Windward", "Causeway", "Tidewater"}
	trades     = []string{"painters", "slipway", "ferry line", "coatings", "yard", "hire", "boatworks", "steel", "tanks", "decks"}
	complaints = []string{
		"Creeps at the stall with the gun shut; loses pressure overnight.", "The motor starts every few seconds with the gun shut.", "Paint in the wet cup.",
		"Yearly overhaul before the season.", "Surges on the down stroke only.", "Will not build pressure after a change of colour.",
		"Runs fast and gives little.", "Drips at the throat after an hour.", "Stood dry over the winter.", "Was run with a torn strainer.",
		"Stalls, then creeps; worse when warm.", "Knocks at the top changeover.",
	}
	fluids = []string{"deck grey, two-component epoxy", "white alkyd", "zinc primer", "anti-fouling, hard"}
)

// model is a pump model with holds that were analysed once: jobs of the same readings have the same verdict.
type model struct {
	name  string
	bench record.Benched
	holds []heldOnce
	sheet *pump.Pump
}

type heldOnce struct {
	readings []string
	verdict  *record.Judged
}

// given are the pump models of the shop with readings that each can have.
var given = []struct {
	name     string
	readings [][]string
}{
	{"orrin-30", [][]string{creep("2330 psi", "60 mm", "14.2 s"), creep("2330 psi", "18 mm", "20 s"), creep("2330 psi", "31 mm", "16 s"), creep("2330 psi", "9 mm", "30 s")}},
	{"tolsk-18", [][]string{locked("6.5 s", "175 bar", "130 bar"), locked("12 s", "188 bar", "166 bar"), locked("30 s", "195 bar", "186 bar")}},
	{"varn-40", [][]string{creep("150 bar", "45 mm", "15 s"), creep("150 bar", "12 mm", "25 s"), creep("150 bar", "27 mm", "18 s"), creep("150 bar", "70 mm", "12 s")}},
}

// models are the sheets that come with the program, with readings that each can have.
func models(version string) ([]model, error) {
	var out []model
	for _, g := range given {
		text, err := pump.DemoSheet(g.name)
		if err != nil {
			return nil, err
		}
		m := model{name: g.name, bench: record.Benched{Hold: record.AsFound, Fluid: json.RawMessage(`{"kind":"water","temperature":"19 °C"}`),
			Gauge: json.RawMessage(`{"range":"400 bar","class":"1.6 %","resolution":"5 bar"}`)}}
		if m.sheet, err = pump.Read(g.name, text); err != nil {
			return nil, err
		}
		for _, readings := range g.readings {
			h := heldOnce{readings: readings}
			if h.verdict, err = m.judge(text, readings, version); err != nil {
				return nil, fmt.Errorf("%s, %v: %w", g.name, readings, err)
			}
			m.holds = append(m.holds, h)
		}
		out = append(out, m)
	}
	return out, nil
}

func creep(pressure, travel, after string) []string {
	return []string{fmt.Sprintf(`{"creep":"up","pressure":%q,"travel":%q,"time":%q}`, pressure, travel, after),
		fmt.Sprintf(`{"still":"down","pressure":%q,"time":"30 s","seen":"0.5 mm"}`, pressure)}
}

func locked(restart, five, fifteen string) []string {
	return []string{fmt.Sprintf(`{"restart":"unknown","time":%q}`, restart),
		fmt.Sprintf(`{"locked":"down","pressures":[{"at":"0 s","pressure":"200 bar"},{"at":"5 s","pressure":%q},{"at":"15 s","pressure":%q}]}`, five, fifteen)}
}

// judge makes the verdict of readings as the program does.
func (m *model) judge(sheet []byte, readings []string, version string) (*record.Judged, error) {
	j, err := record.Fold(seal(m.held(&record.Booked{CustomerName: "Aldersay", Serial: "ALD-0001", Model: m.name, Complaint: complaints[0]}, readings)))
	if err != nil {
		return nil, err
	}
	out, err := assess.Judge(j, record.AsFound, m.sheet, sheet, nil, nil, version, hold.Options{Next: true})
	if err != nil {
		return nil, err
	}
	return out.Body, nil
}

// held are the bodies of a job until its hold as found was read.
func (m *model) held(b *record.Booked, readings []string) []record.Body {
	out := []record.Body{b, &m.bench}
	for _, r := range readings {
		out = append(out, &record.Read{Hold: record.AsFound, Reading: json.RawMessage(r)})
	}
	return out
}

// seal makes entries of bodies, without a store.
func seal(bodies []record.Body) []record.Entry {
	out := make([]record.Entry, len(bodies))
	var prev record.Digest
	for i, b := range bodies {
		body, err := json.Marshal(b)
		if err != nil {
			panic(err) // bodies of this file
		}
		e := record.Entry{Subject: record.JobSubject(1), Seq: int64(i) + 1, Kind: b.Kind(), At: began, Stored: began, By: 1, Device: 1, Key: fmt.Sprint(i), Body: body}
		e.Seal(prev)
		prev = e.Hash
		out[i] = e
	}
	return out
}

// openJobs is how many of n jobs are still in the shop: enough to fill each lane of the board at any size.
func openJobs(n int) int { return min(n, max(400, n/50)) }

// factory makes the jobs of a shop of n jobs.
type factory struct {
	n      int
	models []model
}

// job is the i-th job, the same for the same i and n.
func (f *factory) job(i int) store.BulkJob {
	r := seeded(i)
	m := &f.models[r.IntN(len(f.models))]
	h := m.holds[r.IntN(len(m.holds))]
	p := int64(r.IntN(pumps)) + 1
	c := (p-1)%customers + 1
	b := &record.Booked{Customer: c, CustomerName: customerName(c), Pump: p, Serial: serial(p), Model: m.name, Complaint: complaints[r.IntN(len(complaints))],
		Fluid: fluids[r.IntN(len(fluids))], Hours: fmt.Sprintf("%d h", 20+r.IntN(900))}
	open := i >= f.n-openJobs(f.n)
	bodies := f.course(m, b, h, i, open)
	at := began.Add(time.Duration(i) * 3 * time.Minute)
	out := store.BulkJob{UID: hex16(r)}
	for _, body := range bodies {
		at = at.Add(time.Duration(1+r.IntN(1800)) * time.Second)
		out.Entries = append(out.Entries, record.Draft{At: at, By: int64(1 + r.IntN(people)), Device: int64(1 + r.IntN(tablets)), Key: hex16(r), Body: body})
	}
	return out
}

func seeded(i int) *rand.Rand { return rand.New(rand.NewPCG(uint64(i), 20270104)) }

// modelOf is which of the given models the i-th job has.
func modelOf(i int) int { return seeded(i).IntN(len(given)) }

// course is what was written about a job. Open jobs stand in each stage in turn; closed ones went through all of it.
func (f *factory) course(m *model, b *record.Booked, h heldOnce, i int, open bool) []record.Body {
	stage := i % len(record.OpenStages())
	if open && stage == 0 {
		return []record.Body{b}
	}
	out := append(m.held(b, h.readings), &record.Moved{To: record.StageFound})
	if open || i%keepsOne == 0 {
		out = append(out, h.verdict)
	}
	if open && stage == 1 {
		return out
	}
	out = append(out, &record.Found{Part: "rod", Text: "Bright, no scores."})
	if !open {
		return append(out, &record.Noted{Text: "Rebuilt with a new packing kit, run for ten minutes."}, &record.Closed{Reason: "Handed back before this shop kept its proofs here."})
	}
	out = append(out, &record.Noted{Text: "The owner wants it before Friday."})
	if stage > 1 {
		out = append(out, &record.Moved{To: record.OpenStages()[stage]})
	}
	return out
}

func hex16(r *rand.Rand) string {
	var b [16]byte
	for k := range b {
		b[k] = byte(r.Uint32())
	}
	return hex.EncodeToString(b[:])
}

func customerName(c int64) string {
	return fmt.Sprintf("%s %s %d", places[c%int64(len(places))], trades[c/int64(len(places))%int64(len(trades))], c)
}

func serial(p int64) string { return fmt.Sprintf("ALD-%05d", p) }
