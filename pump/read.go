package pump

import (
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Limits of what is taken for a pump of this trade; a value outside is a slip of the pen, most often of the unit.
const (
	maxLength   = 2.0       // m
	maxHose     = 500.0     // m
	maxPressure = 400e6     // Pa
	maxForce    = 1e6       // N
	maxVolume   = 0.1       // m³
	maxSoak     = 48 * 3600 // s
	maxHold     = 24 * 3600 // s
)

// Read reads a pump sheet (schema/pump.schema.json), checks it and derives what the sheet leaves to the pressure map. The error
// is sheet.Errors: everything that is wrong, each with file, line, what was found, what is expected and how to mend it.
func Read(file string, data []byte) (*Pump, error) {
	doc, err := sheet.Read(file, data)
	if err != nil {
		return nil, err
	}
	return read(doc)
}

func read(doc *sheet.Doc) (*Pump, error) {
	r := &reader{doc: doc, p: &Pump{File: doc.File}, at: map[item]*sheet.Map{}}
	top := doc.Root()
	if !top.Format("pump", 1) {
		return nil, doc.Err()
	}
	r.top(top)
	r.references()
	if err := doc.Err(); err != nil { // what follows needs sound numbers and names
		return nil, err
	}
	r.physics()
	r.possible()
	r.lips()
	if err := doc.Err(); err != nil {
		return nil, err
	}
	r.sequence()
	if err := doc.Err(); err != nil {
		return nil, err
	}
	r.plausible()
	r.overloads()
	return r.p, nil
}

// reader keeps, beside the pump, the block of the sheet that each item came from.
type reader struct {
	doc   *sheet.Doc
	p     *Pump
	at    map[item]*sheet.Map
	rings [][]*sheet.Map // by stack
}

// item names one block of the sheet: {"valve", 0} is the first valve, {"drive", 0} the drive.
type item struct {
	list string
	i    int
}

func (r *reader) top(m *sheet.Map) {
	p := r.p
	r.at[item{"top", 0}] = m
	p.Name = m.Name("name", "the name of the pump model")
	p.Note = strings.TrimSpace(m.OptText("note", "a note", ""))
	p.Invented = m.OptBool("invented", false)
	p.Fluids = m.Texts("fluids", "a fluid that the pump is meant for")
	if g := m.Map("geometry", "bore, rod, stroke, moving_mass"); g != nil {
		r.geometry(g)
	}
	if d := m.Map("drive", "what moves the rod"); d != nil {
		r.drive(d)
	}
	if h := m.Map("hose", "the line from pump to gun"); h != nil {
		r.hose(h)
	}
	if l := m.Map("limits", "what the pump has to meet"); l != nil {
		r.limits(l)
	}
	r.chambers(m.List("chambers", "chambers", 1, 2))
	r.valves(m.List("valves", "valves", 1, 8))
	r.seals(m.List("seals", "seals", 1, 20))
	r.outlets(m.OptList("outlets", "outlets", 20))
	r.parts(m.List("parts", "parts", 1, 100))
	r.joints(m.List("joints", "joints", 1, 40))
	r.stacks(m.OptList("stacks", "stacks", 12))
	r.order(m.OptList("order", "constraints of order", 100))
	m.Done()
}

func (r *reader) geometry(m *sheet.Map) {
	p := r.p
	r.at[item{"geometry", 0}] = m
	p.Bore = m.SI("bore", unit.Length, sheet.Positive(maxLength))
	p.Rod = m.SI("rod", unit.Length, sheet.Positive(maxLength))
	p.TailRod = m.OptSI("tail_rod", unit.Length, sheet.NotNegative(maxLength), 0)
	p.Stroke = m.SI("stroke", unit.Length, sheet.Positive(maxLength))
	p.MovingMass = m.SI("moving_mass", unit.Mass, sheet.Positive(1000))
	if p.Rod >= p.Bore {
		m.Fail("rod", "a rod of "+show(p.Rod, unit.Length), "a rod thinner than the bore of "+show(p.Bore, unit.Length), "check that bore and rod are not swapped")
	}
	if p.TailRod >= p.Bore {
		m.Fail("tail_rod", "a tail rod of "+show(p.TailRod, unit.Length), "a tail rod thinner than the bore of "+show(p.Bore, unit.Length), "leave it out when the rod ends in the piston")
	}
	m.Done()
}

func (r *reader) drive(m *sheet.Map) {
	d := &r.p.Drive
	r.at[item{"drive", 0}] = m
	d.Kind = DriveKind(m.Choice("kind", string(ForceHeld), string(Crank)))
	own, other := forceKeys, crankKeys
	switch d.Kind {
	case ForceHeld:
		d.ForceUp = m.SI("force_up", unit.Force, sheet.Positive(maxForce))
		d.ForceDown = m.SI("force_down", unit.Force, sheet.Positive(maxForce))
		d.FreeSpeed = m.SI("free_speed", unit.Velocity, sheet.Positive(20))
		d.Changeover = m.SI("changeover", unit.Time, sheet.NotNegative(10))
	case Crank:
		own, other = crankKeys, forceKeys
		d.Speed = m.SI("speed", unit.Frequency, sheet.Positive(100))
		d.Stop = m.SI("stop", unit.Pressure, sheet.Positive(maxPressure))
		d.Restart = m.SI("restart", unit.Pressure, sheet.Positive(maxPressure))
		if d.Restart >= d.Stop {
			m.Fail("restart", "a restart pressure of "+show(d.Restart, unit.Pressure), "one below the stop pressure of "+show(d.Stop, unit.Pressure), "the motor starts again when the line has fallen by the dead band")
		}
	default:
		return
	}
	for _, k := range other {
		if m.Has(k) {
			m.Fail(k, "a key of the other kind of drive", "for "+string(d.Kind)+": "+strings.Join(own, ", "), "remove the line or change kind")
			m.Ignore(k)
		}
	}
	m.Done()
}

var (
	forceKeys = []string{"force_up", "force_down", "free_speed", "changeover"}
	crankKeys = []string{"speed", "stop", "restart"}
)

func (r *reader) hose(m *sheet.Map) {
	h := &r.p.Hose
	r.at[item{"hose", 0}] = m
	h.Length = m.SI("length", unit.Length, sheet.NotNegative(maxHose))
	h.Bore = m.SI("bore", unit.Length, sheet.Positive(0.2))
	h.Expansion = m.SI("expansion", unit.Compliance, sheet.NotNegative(1e-9))
	h.Fittings = m.SI("fittings", unit.Volume, sheet.NotNegative(maxVolume))
	h.Tip = m.OptSI("tip", unit.Length, sheet.NotNegative(0.02), 0)
	h.Segments = m.OptCount("segments", "pieces that the moving pump cuts the hose into", 1, 200, 8)
	m.Done()
}

func (r *reader) limits(m *sheet.Map) {
	l := &r.p.Limits
	r.at[item{"limits", 0}] = m
	l.Rated = m.SI("rated", unit.Pressure, sheet.Positive(maxPressure))
	l.Hold = m.SI("hold", unit.Pressure, sheet.Positive(maxPressure))
	l.StrokeTime = m.SI("stroke_time", unit.Time, sheet.Positive(maxHold))
	l.HoldFor = m.SI("hold_for", unit.Time, sheet.Positive(maxHold))
	l.Leaks = map[Place]Allowed{}
	for _, place := range Places() {
		l.Leaks[place] = allowed(m, place)
	}
	if l.Hold > l.Rated {
		m.Fail("hold", "a hold pressure of "+show(l.Hold, unit.Pressure), "at most the rated "+show(l.Rated, unit.Pressure), "never test above the lowest rated part")
	}
	if k := m.OptMap("minutes", "minutes by kind of step"); k != nil {
		l.MinutesEach = map[string]float64{}
		for _, kind := range StepKinds() {
			if t := k.OptSI(string(kind), unit.Time, sheet.NotNegative(8*3600), math.NaN()); !math.IsNaN(t) {
				l.MinutesEach[string(kind)] = t / 60
			}
		}
		k.Done()
	}
	m.Done()
}

func (r *reader) chambers(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"chamber", i}] = m
		r.p.Chambers = append(r.p.Chambers, Chamber{
			Name:   m.Name("name", "the name of the chamber"),
			Rod:    m.Choice("side", "rod", "head") == "rod",
			Dead:   m.SI("dead_volume", unit.Volume, sheet.NotNegative(maxVolume)),
			OpenTo: m.OptChoice("open_to", "", Line),
		})
		m.Done()
	}
}

func (r *reader) valves(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"valve", i}] = m
		v := Valve{
			Name:     m.Name("name", "the name of the valve"),
			From:     m.Name("from", "the node that fluid comes from"),
			To:       m.Name("to", "the node that fluid goes to"),
			Ball:     m.SI("ball", unit.Length, sheet.Positive(0.2)),
			Seat:     m.SI("seat", unit.Length, sheet.Positive(0.2)),
			Lift:     m.SI("lift", unit.Length, sheet.Positive(0.1)),
			Density:  m.SI("density", unit.Density, sheet.Between(500, 25000)),
			OnPiston: m.OptBool("on_piston", false),
			Turnable: m.OptBool("turnable", false),
		}
		if v.Seat >= v.Ball {
			m.Fail("seat", "a seat of "+show(v.Seat, unit.Length), "a contact circle smaller than the ball of "+show(v.Ball, unit.Length), "the ball would fall through: check that ball and seat are not swapped")
		}
		m.Done()
		r.p.Valves = append(r.p.Valves, v)
	}
}

func (r *reader) seals(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"seal", i}] = m
		s := Seal{Name: m.Name("name", "the name of the seal"), Kind: SealKind(m.Choice("kind", string(Packing), string(Static)))}
		if between := m.Texts("between", "one of the two nodes that the seal keeps apart"); len(between) == 2 {
			s.Between = [2]string{between[0], between[1]}
		} else {
			m.Fail("between", counts(len(between), "item"), "two nodes, as [upper, air]", "")
		}
		switch s.Kind {
		case Packing:
			s.On = m.Choice("on", "rod", "bore")
			if s.Stacks = m.Texts("stacks", "a packing stack"); len(s.Stacks) == 0 {
				m.Fail("stacks", "no stack", "the stacks that make up the packing, from the lowest to the highest", "add a line `stacks: [name]`")
			}
			r.foreign(m, "size", "a packing", "a static seal")
		case Static:
			s.Size = m.SI("size", unit.Length, sheet.Positive(maxLength))
			r.foreign(m, "on", "a static seal", "a packing")
			r.foreign(m, "stacks", "a static seal", "a packing")
		}
		if s.Kind != "" {
			m.Done()
		}
		r.p.Seals = append(r.p.Seals, s)
	}
}

// foreign notes a key that belongs to the other kind.
func (r *reader) foreign(m *sheet.Map, key, kind, other string) {
	if m.Has(key) {
		m.Fail(key, "a key that "+kind+" does not have", "it only on "+other, "remove the line or change kind")
		m.Ignore(key)
	}
}

func (r *reader) outlets(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"outlet", i}] = m
		r.p.Outlets = append(r.p.Outlets, Outlet{
			Name: m.Name("name", "the name of the outlet"),
			Kind: m.Choice("kind", "drain", "fitting"),
			From: m.Name("from", "the node under pressure"),
			To:   m.Choice("to", Pail, Air),
		})
		m.Done()
	}
}
