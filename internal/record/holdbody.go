package record

import (
	"encoding/json"
	"fmt"
)

// Benched says with what a hold is made, in the words of a hold sheet (schema/hold.schema.json: fluid, gauge, stopwatch, ruler).
type Benched struct {
	Hold      HoldStage       `json:"hold"`
	Fluid     json.RawMessage `json:"fluid,omitempty"`
	Gauge     json.RawMessage `json:"gauge,omitempty"`
	Stopwatch string          `json:"stopwatch,omitempty"`
	Ruler     string          `json:"ruler,omitempty"`
	Tool      int64           `json:"tool,omitempty"` // the gauge, as an instrument of the shop
}

// Kind is KindBenched.
func (*Benched) Kind() Kind { return KindBenched }

// Check refuses an unknown hold and what is no JSON object.
func (b *Benched) Check() error {
	return first(b.Hold.check(), object("fluid", b.Fluid, false), object("gauge", b.Gauge, false), text("stopwatch", b.Stopwatch, short, false), text("ruler", b.Ruler, short, false))
}

// Press is a key of the hold page.
type Press string

// The keys. A watch runs from start to end; top and bottom are changeovers; mark is a reading of the rod or of the pressure.
const (
	PressStart  Press = "start"
	PressTop    Press = "top"
	PressBottom Press = "bottom"
	PressMark   Press = "mark"
	PressEnd    Press = "end"
)

// Pressed is one press of a key of the hold page. Watches are numbered by the device; Elapsed counts from the start of the
// watch by a clock that is never set.
type Pressed struct {
	Hold     HoldStage `json:"hold"`
	Watch    string    `json:"watch"`
	Press    Press     `json:"press"`
	Elapsed  int64     `json:"elapsed_ms"`
	Stroke   string    `json:"stroke,omitempty"`   // "up" or "down" at the start of a watch
	Locked   bool      `json:"locked,omitempty"`   // the rod is locked: marks read the pressure
	Pressure string    `json:"pressure,omitempty"` // as typed, with its unit
	Rod      string    `json:"rod,omitempty"`      // the ruler, as typed, with its unit
	// TakesOver is, at a start, the name of the watch of another device that it takes over; without it a start is refused while one runs.
	TakesOver string `json:"takes_over,omitempty"`
}

// Kind is KindPressed.
func (*Pressed) Kind() Kind { return KindPressed }

// Check refuses an unknown key, a time before the start or longer than a day.
func (b *Pressed) Check() error {
	switch b.Press {
	case PressStart, PressTop, PressBottom, PressMark, PressEnd:
	default:
		return Faultf(Invalid, "press", quoted(string(b.Press)), "start, top, bottom, mark or end", "")
	}
	if b.Elapsed < 0 || b.Elapsed > 86400_000 {
		return Faultf(Invalid, "elapsed_ms", fmt.Sprint(b.Elapsed), "0 to 86400000", "start a new watch")
	}
	if b.Stroke != "" && b.Stroke != "up" && b.Stroke != "down" {
		return Faultf(Invalid, "stroke", quoted(b.Stroke), `"up", "down" or nothing`, "")
	}
	return first(b.Hold.check(), text("watch", b.Watch, maxKey, true), text("takes_over", b.TakesOver, maxKey, false), text("pressure", b.Pressure, short, false), text("rod", b.Rod, short, false))
}

// Read is one reading in the words of a hold sheet, as {"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}.
type Read struct {
	Hold    HoldStage       `json:"hold"`
	Reading json.RawMessage `json:"reading"`
}

// Kind is KindRead.
func (*Read) Kind() Kind { return KindRead }

// Check refuses what is no JSON object. Whether it is a reading, package assess says.
func (b *Read) Check() error { return first(b.Hold.check(), object("reading", b.Reading, true)) }

// Judged is a verdict with all that it was made of.
type Judged struct {
	Hold   HoldStage       `json:"hold"`
	Word   string          `json:"word"`   // of the verdict
	Meets  float64         `json:"meets"`  // probability that the pump meets its limit
	Engine string          `json:"engine"` // version of the program
	Model  string          `json:"model"`  // version of the model
	Seed   uint64          `json:"seed"`
	Sheet  json.RawMessage `json:"sheet"` // the hold sheet
	Pump   Digest          `json:"pump"`  // SHA-256 of the text of the pump sheet
	Result json.RawMessage `json:"result"`
	Seqs   []int64         `json:"seqs"` // the entries that the sheet was made of
}

// Kind is KindJudged.
func (*Judged) Kind() Kind { return KindJudged }

// Check refuses a verdict without its word, its inputs or its result.
func (b *Judged) Check() error {
	if !(b.Meets >= 0 && b.Meets <= 1) {
		return Faultf(Invalid, "meets", fmt.Sprint(b.Meets), "a probability", "")
	}
	return first(b.Hold.check(), text("word", b.Word, short, true), text("engine", b.Engine, short, true), text("model", b.Model, short, true),
		object("sheet", b.Sheet, true), object("result", b.Result, true))
}
