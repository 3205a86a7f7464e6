package assess

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// CheckReading checks one typed reading as strictly as a hold sheet and against the pump. bench may be nil. The error is a
// *record.Fault whose Where is the field of the reading, as "pressure" or "pressures[2].at", "" for the reading as a whole.
func CheckReading(p *pump.Pump, bench *record.Benched, raw json.RawMessage) error {
	head, err := newDocument(p.Name, bench)
	if err != nil {
		return err
	}
	if _, _, err = head.read(); err != nil {
		return fault(err, benchField)
	}
	m := &maker{p: p, head: head}
	_, s, err := m.readOne(raw)
	if err != nil {
		return err
	}
	return refusedAlone(p, s)
}

// readOne reads one reading as a sheet of its own. It returns the reading as it goes into the whole sheet.
func (m *maker) readOne(raw json.RawMessage) (json.RawMessage, *hold.Sheet, error) {
	out, err := canonical("", raw)
	if err == nil && out == nil {
		err = record.Faultf(record.Invalid, "", "nothing", "a reading", "")
	}
	if err != nil {
		return nil, nil, err
	}
	doc := m.head
	doc.Readings = []json.RawMessage{out}
	_, s, err := doc.read()
	if err != nil {
		return nil, nil, fault(err, readingField)
	}
	return out, s, nil
}

// readingField turns readings[1].pressure into pressure.
func readingField(key string) string {
	return strings.TrimPrefix(strings.TrimPrefix(key, "readings[1]"), ".")
}

// benchField leaves the key of what a hold is made with as it is.
func benchField(key string) string { return key }

// refusedAlone asks package hold whether the one reading of a sheet can come from the pump.
func refusedAlone(p *pump.Pump, s *hold.Sheet) error {
	var refusal *hold.Refusal
	if !errors.As(hold.Refuse(p, s), &refusal) {
		return nil
	}
	it := refusal.Items[0]
	return &record.Fault{Code: record.Invalid, Where: refusedField(s.Readings[0], it.Found), Found: it.Found, Want: it.Want, Mend: it.Fix, Err: refusal}
}

// refusedField finds the field that a refusal is about from the words with which package hold says what it found.
func refusedField(r hold.Reading, found string) string {
	for _, f := range []struct{ words, field string }{
		{"a pressure that rises", "pressures"}, {"a pressure of", "pressure"}, {"a travel of", "travel"}, {"a rod position", "at"},
		{"a rod speed", "time"}, {"a volume of", "volume"}, {"cycles a second", "time"}, {"a stroke in", ""}, {"fluid seen at", string(r.Kind)},
	} {
		if strings.Contains(found, f.words) {
			if f.field == "pressure" && r.Kind == hold.Locked {
				return "pressures"
			}
			return f.field
		}
	}
	return string(r.Kind)
}

// CheckBench checks with what a hold is made. The error is a *record.Fault whose Where is the field, as "fluid.kind".
func CheckBench(b *record.Benched) error {
	doc, err := newDocument("pump", b)
	if err != nil {
		return err
	}
	_, _, err = doc.read()
	return fault(err, benchField)
}

// CheckPress checks the quantities typed with a press against the pump, and that a start says the pressure. The error is a
// *record.Fault whose Where is the field.
func CheckPress(p *pump.Pump, b *record.Pressed) error {
	v, ok, err := quantity("pressure", b.Pressure, unit.Pressure, 0, mostPressure)
	if err != nil {
		return err
	}
	still := b.Locked || p.Drive.Kind != pump.ForceHeld
	switch {
	case !ok && b.Press == record.PressStart:
		return record.Faultf(record.Invalid, "pressure", "nothing", "the pressure at the start", "read the gauge")
	case ok && v.SI == 0 && (b.Press == record.PressStart || !still):
		return record.Faultf(record.Invalid, "pressure", fmt.Sprintf("%.60q", b.Pressure), "a pressure above 0", "read the gauge again")
	case ok && v.SI > 0:
		if err := pressureAlone(p, still, dirOf(b.Stroke), b.Pressure); err != nil {
			return err
		}
	}
	_, _, err = quantity("rod", b.Rod, unit.Length, -mostRod, mostRod)
	return err
}

// pressureAlone asks whether the pump can show a pressure at all: on the stroke d of a stall, on either when it is 0, or with its
// rod standing still.
func pressureAlone(p *pump.Pump, still bool, d pump.Dir, text string) error {
	var tries []reading
	if still {
		tries = []reading{{Locked: "unknown", Pressures: []point{{"0 s", text}, {"1 s", text}}}}
	}
	for _, x := range pump.Dirs {
		if !still && (d == 0 || d == x) {
			tries = append(tries, reading{NoChangeover: x.String(), Pressure: text, Time: "1 s"})
		}
	}
	var refused error
	for _, r := range tries {
		raw, err := encode(r)
		if err != nil {
			return err
		}
		if err = CheckReading(p, nil, raw); err == nil {
			return nil
		}
		refused = err
	}
	var f *record.Fault
	if errors.As(refused, &f) {
		f.Where = "pressure"
	}
	return refused
}
