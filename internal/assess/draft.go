package assess

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Running is a watch that still runs: a draft counts it as if it ended now.
type Running struct {
	Watch   string        // as in record.Pressed
	Device  int64         // of the watch; 0 when only one device has a watch of this name
	Elapsed time.Duration // since its start
}

// Draft is a hold sheet made from the record of a job.
type Draft struct {
	JSON        []byte      // in the format of schema/hold.schema.json
	Sheet       *hold.Sheet // the same, read
	Origins     []Origin    // by reading of the sheet
	Seqs        []int64     // entries that the sheet was made of, rising
	Ignored     []Ignored   // what was pressed or typed and is not in the sheet, with the reason
	Provisional bool        // a running watch is counted as if it ended now
}

// Origin says where a reading comes from.
type Origin struct {
	Seqs     []int64      // entries, rising
	Watch    int          // 1 for the first watch of the hold; 0 for a typed reading
	From, To record.Press // the presses between which the time of a watch's reading lies; To is "" while the watch runs
	Half     bool         // only the second half of that time
}

// String writes an origin as "watch 2, top to bottom" or "typed, entry 14".
func (o Origin) String() string {
	if o.Watch == 0 {
		if len(o.Seqs) == 1 {
			return fmt.Sprintf("typed, entry %d", o.Seqs[0])
		}
		return "typed"
	}
	to := string(o.To)
	if to == "" {
		to = "now"
	}
	s := fmt.Sprintf("watch %d, %s to %s", o.Watch, o.From, to)
	if o.Half {
		s += ", second half"
	}
	return s
}

// Ignored is an entry, or the stretch of time that ends with it, that gives no reading. A press may still serve another stretch.
type Ignored struct {
	Seq    int64
	Reason string
	Mend   string // how to mend it, "" when there is nothing to mend
	Broken bool   // what was typed cannot be read: no verdict before it is mended
}

// SheetOf makes the hold sheet of one hold of a job from the bench, the readings that were typed and the presses. running is the
// watch that still runs, nil when none does.
//
// Errors: *record.Fault of code Invalid when the bench cannot be read. A reading or a press that cannot be used is no error; it
// stands in Ignored.
func SheetOf(j *record.Job, h record.HoldStage, p *pump.Pump, running *Running) (Draft, error) {
	doc, err := newDocument(p.Name, j.Bench[h])
	if err != nil {
		return Draft{}, err
	}
	_, bench, err := doc.read()
	if err != nil {
		return Draft{}, fault(err, benchField)
	}
	m := &maker{p: p, creep: p.Map().Creep, bench: bench, head: doc}
	m.typedReadings(j, h)
	for _, w := range m.watches(j, h, running) {
		n := len(m.made)
		if w.stalled(p) {
			m.stall(w)
		} else {
			m.locked(w)
		}
		m.provisional = m.provisional || w.running && len(m.made) > n
	}
	doc.ID, doc.Serial, doc.Stage = fmt.Sprintf("job %d", j.Number), plainText(j.Serial), h
	return m.draft(doc)
}

// maker collects the readings of one hold.
type maker struct {
	p           *pump.Pump
	creep       map[pump.Dir]float64
	bench       *hold.Sheet // without readings: what the hold is made with
	head        document
	all         []*press
	made        []made
	ignored     []Ignored
	provisional bool
}

// made is one reading with where it comes from.
type made struct {
	raw    json.RawMessage
	origin Origin
}

// reading is a reading made from presses, in the words of a hold sheet.
type reading struct {
	Creep        string  `json:"creep,omitempty"`
	Changeover   string  `json:"changeover,omitempty"`
	Still        string  `json:"still,omitempty"`
	NoChangeover string  `json:"no_changeover,omitempty"`
	Locked       string  `json:"locked,omitempty"`
	Pressure     string  `json:"pressure,omitempty"`
	Travel       string  `json:"travel,omitempty"`
	Time         string  `json:"time,omitempty"`
	Seen         string  `json:"seen,omitempty"`
	Pressures    []point `json:"pressures,omitempty"`
	Note         string  `json:"note,omitempty"`
}

type point struct {
	At       string `json:"at"`
	Pressure string `json:"pressure"`
}

func (m *maker) note(seq int64, reason, mend string) {
	m.ignored = append(m.ignored, Ignored{Seq: seq, Reason: reason, Mend: mend})
}

func (m *maker) ignore(q *press, reason, mend string) {
	if !q.told {
		m.note(q.seq, reason, mend)
		q.told = true
	}
}

func (m *maker) broken(seq int64, err error) {
	ig := Ignored{Seq: seq, Reason: err.Error(), Mend: "correct the entry", Broken: true}
	var f *record.Fault
	if errors.As(err, &f) {
		ig.Reason = strings.TrimPrefix(f.Where+": found "+f.Found, ": ")
		if f.Want != "" {
			ig.Reason += "; expected " + f.Want
		}
		if f.Mend != "" {
			ig.Mend = f.Mend
		}
	}
	m.ignored = append(m.ignored, ig)
}

// typedReadings takes over the readings that were typed.
func (m *maker) typedReadings(j *record.Job, h record.HoldStage) {
	for _, l := range j.Readings {
		if l.Body.Hold != h || l.First.Seq < j.From(h) {
			continue
		}
		raw, _, err := m.readOne(l.Body.Reading)
		if err != nil {
			m.broken(l.Entry.Seq, err)
			continue
		}
		m.made = append(m.made, made{raw, Origin{Seqs: []int64{l.Entry.Seq}}})
	}
}

// emit adds the reading of a stretch of a watch from a to b seconds, whose pressure is still to be found.
func (m *maker) emit(w *watch, all []*stretch, s *stretch, a, b float64, r reading, from, to *press) {
	vs, carried := m.pressures(w, all, s.dir)
	text, by, ok := m.over(vs, carried, a, b)
	if !ok {
		m.ignore(w.start(), "no pressure was typed with its watch", "correct the start: type the pressure")
		return
	}
	r.Pressure = text
	m.add(w, r, from, to, append(by, from, to))
}

// add adds a reading of a watch that rests on presses; some may be nil.
func (m *maker) add(w *watch, r reading, from, to *press, by []*press) {
	o := Origin{Watch: w.n, From: from.Press}
	if _, begun := turn(from.Press); begun && r.NoChangeover != "" {
		o.Half = true
	}
	if to != nil {
		o.To = to.Press
	}
	for _, q := range by {
		if q != nil {
			q.used = true
			o.Seqs = append(o.Seqs, q.seq)
		}
	}
	slices.Sort(o.Seqs)
	o.Seqs = slices.Compact(o.Seqs)
	r.Note = o.String()
	raw, err := encode(r)
	if err != nil {
		m.broken(from.seq, err)
		return
	}
	m.made = append(m.made, made{raw, o})
}

// draft puts the readings in the order of their entries and writes the sheet.
func (m *maker) draft(doc document) (Draft, error) {
	slices.SortStableFunc(m.made, func(a, b made) int { return int(a.origin.Seqs[0] - b.origin.Seqs[0]) })
	over := m.made[:max(0, len(m.made)-maxReadings)]
	m.made = m.made[len(over):]
	d := Draft{Ignored: m.ignored, Provisional: m.provisional}
	for _, x := range m.made {
		doc.Readings = append(doc.Readings, x.raw)
		d.Origins = append(d.Origins, x.origin)
		d.Seqs = append(d.Seqs, x.origin.Seqs...)
	}
	slices.Sort(d.Seqs)
	d.Seqs = slices.Compact(d.Seqs)
	for _, x := range over {
		for _, seq := range x.origin.Seqs {
			if _, used := slices.BinarySearch(d.Seqs, seq); !used {
				d.Ignored = append(d.Ignored, Ignored{Seq: seq, Reason: fmt.Sprintf("a sheet holds %d readings; the oldest are left out", maxReadings)})
			}
		}
	}
	slices.SortStableFunc(d.Ignored, func(a, b Ignored) int { return int(a.Seq - b.Seq) })
	d.Ignored = slices.Compact(d.Ignored)
	var err error
	if d.JSON, d.Sheet, err = doc.read(); err != nil {
		return Draft{}, fault(err, func(key string) string { return key })
	}
	return d, nil
}
