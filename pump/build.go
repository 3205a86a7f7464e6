package pump

import (
	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Build is the record of one rebuild: what was done, in which order, and which way round the rings stand.
type Build struct {
	File   string
	Pump   string // name of the pump model
	Note   string
	Done   []Done  // in the order in which it was done
	Stacks []Built // stacks as they were built; a stack that is not listed is taken to be as the sheet has it
}

// Done is one step that was done, by the ID of Step, with what was read while doing it. Zero is "not recorded".
type Done struct {
	Step     string
	Torque   float64 // N·m, what the wrench showed or was set to
	Wrench   float64 // m, hand to drive of the wrench
	Adapter  float64 // m, what the spanner added
	Angle    float64 // rad, between spanner and wrench: 0 in line, π/2 square
	Turned   bool    // Adapter and Angle were recorded
	Tool     string  // class of ISO 6789-1, as "II A"
	Soaked   float64 // s
	Pressure float64 // Pa, of the hold
	Held     float64 // s
}

// Built is one stack as it was built.
type Built struct {
	Stack string
	Shim  *float64 // m; nil when not recorded
	Rings []BuiltRing
}

// BuiltRing is one ring, from the lowest to the highest.
type BuiltRing struct {
	Part string
	Lips string // "up", "down" or "" when not recorded or when it has none
}

// ReadBuild reads the record of a build (schema/build.schema.json). It checks the file in itself; what in it departs from the
// order of work is found by Departures, which knows the pump. The error is sheet.Errors.
func ReadBuild(file string, data []byte) (Build, error) {
	doc, err := sheet.Read(file, data)
	if err != nil {
		return Build{}, err
	}
	return readBuild(doc)
}

func readBuild(doc *sheet.Doc) (Build, error) {
	m := doc.Root()
	b := Build{File: doc.File}
	if !m.Format("build", 1) {
		return Build{}, doc.Err()
	}
	b.Pump = m.Name("pump", "the name of the pump model")
	b.Note = m.OptText("note", "a note", "")
	for _, d := range m.List("done", "steps in the order in which they were done", 0, 1000) {
		b.Done = append(b.Done, readDone(d))
	}
	seen := map[string]bool{}
	for _, s := range m.OptList("stacks", "stacks as they were built", 12) {
		built := readBuilt(s)
		if seen[built.Stack] {
			s.Fail("name", "the stack "+quoted(built.Stack)+" a second time", "each stack once", "")
		}
		seen[built.Stack] = true
		b.Stacks = append(b.Stacks, built)
	}
	m.Done()
	if err := doc.Err(); err != nil {
		return Build{}, err
	}
	return b, nil
}

func readDone(m *sheet.Map) Done {
	d := Done{
		Step:     m.Text("step", "the step that was done, by its ID in the order of work"),
		Torque:   m.OptSI("torque", unit.Torque, sheet.Positive(10000), 0),
		Wrench:   m.OptSI("wrench", unit.Length, sheet.Positive(3), 0),
		Adapter:  m.OptSI("adapter", unit.Length, sheet.NotNegative(1), 0),
		Angle:    m.OptSI("angle", unit.Angle, sheet.Between(0, 3.2), 0),
		Tool:     m.OptText("tool", "the class of the torque wrench, as II A", ""),
		Soaked:   m.OptSI("soaked", unit.Time, sheet.Positive(maxSoak*4), 0),
		Pressure: m.OptSI("pressure", unit.Pressure, sheet.Positive(maxPressure), 0),
		Held:     m.OptSI("held", unit.Time, sheet.Positive(maxHold), 0),
	}
	d.Turned = m.Has("adapter")
	if m.Has("angle") && !m.Has("adapter") {
		m.Fail("angle", "an angle without an adapter", "the length of the adapter beside it", "add a line `adapter: …`")
	}
	if d.Adapter > 0 && d.Wrench == 0 && !bolt.Square(d.Angle) {
		m.Fail("adapter", "an adapter without the length of the wrench", "both lengths, or an adapter square to the wrench", "add a line `wrench: …`, from the hand to the drive")
	}
	if d.Wrench > 0 {
		if _, err := bolt.TorqueThrough(1, d.Wrench, d.Adapter, d.Angle); err != nil {
			m.Fail("wrench", "a wrench shorter than the adapter folded back on it", "a longer wrench", "")
		}
	}
	for _, k := range []string{"wrench", "adapter", "tool"} {
		if m.Has(k) && d.Torque == 0 {
			m.Fail(k, "a wrench without a torque", "the torque that it showed", "add a line `torque: …`")
			break
		}
	}
	if d.Tool != "" {
		if _, err := bolt.NewTool(d.Tool); err != nil {
			m.Fail("tool", quoted(d.Tool), "a class of ISO 6789-1, I A to I E or II A to II G", "")
		}
	}
	m.Done()
	return d
}

func readBuilt(m *sheet.Map) Built {
	b := Built{Stack: m.Name("name", "the name of the stack")}
	if m.Has("shim") {
		shim := m.SI("shim", unit.Length, sheet.NotNegative(0.05))
		b.Shim = &shim
	} else {
		m.OptSI("shim", unit.Length, sheet.Any(), 0)
	}
	for _, r := range m.List("rings", "rings, from the lowest to the highest", 0, 60) {
		b.Rings = append(b.Rings, BuiltRing{Part: r.Name("part", "the part"), Lips: r.OptChoice("lips", "", "up", "down")})
		r.Done()
	}
	m.Done()
	return b
}
