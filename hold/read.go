package hold

import (
	"fmt"
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Open gives the content of a file that a sheet names (a trace).
type Open func(name string) ([]byte, error)

// Signs are the things a person notices, in plain words.
var Signs = []string{"surges", "will not prime", "spits", "runs with the gun shut", "slow to build pressure", inWetCup,
	"throat dry", "outside dry", "drain tube dry", "wet at the throat", "wet outside", "runs from the drain tube"}

// inWetCup is the sign that fluid once passed the throat: it may be of long ago.
const inWetCup = "paint in the wet cup"

var kindList = []Kind{Creep, Changeover, Still, NoChangeover, Locked, Restart, Run, Drips, Caught, Sign, "trace"}

// ReadSheet reads a hold sheet (schema/hold.schema.json), YAML or JSON. open loads the traces it names; nil refuses them.
func ReadSheet(file string, data []byte, open Open) (*Sheet, error) {
	d, err := sheet.Read(file, data)
	if err != nil {
		return nil, err
	}
	m := d.Root()
	if !m.Format("hold", 1) {
		return nil, d.Err()
	}
	s := &Sheet{
		Pump:   m.Text("pump", "the name or file of a pump sheet"),
		Serial: m.OptText("serial", "a serial number", ""),
		Stage:  m.OptChoice("stage", "as found", "as found", "as left", "other"),
	}
	m.OptText("note", "a note", "")
	m.OptText("id", "an identifier", "")
	readBench(m, s)
	rd := reader{file: file, sheet: s, open: open}
	for _, q := range m.List("readings", "readings", 0, 60) {
		rd.reading(q)
	}
	m.Done()
	if err := d.Err(); err != nil {
		return nil, err
	}
	return s, nil
}

func readBench(m *sheet.Map, s *Sheet) {
	s.Fluid = FluidSpec{Kind: "water", Temperature: 293.15, Air: math.NaN()}
	if f := m.OptMap("fluid", "the fluid of the test"); f != nil {
		s.Fluid = ReadFluid(f)
	}
	s.Gauge = Gauge{Class: defaultClass}
	if g := m.OptMap("gauge", "the pressure gauge"); g != nil {
		s.Gauge.Range = g.SI("range", unit.Pressure, sheet.Positive(1e9))
		s.Gauge.Class = g.OptSI("class", unit.Ratio, sheet.Positive(0.2), defaultClass)
		s.Gauge.Resolution = g.OptSI("resolution", unit.Pressure, sheet.NotNegative(1e8), 0)
		g.Done()
	}
	s.Stop = m.OptSI("stopwatch", unit.Time, sheet.Positive(60), defaultStop)
	s.Ruler = m.OptSI("ruler", unit.Length, sheet.Positive(0.05), defaultRuler)
}

// ReadFluid reads the description of a fluid.
func ReadFluid(f *sheet.Map) FluidSpec {
	s := FluidSpec{Kind: f.Choice("kind", "water", "oil", "solvent", "coating"), Air: math.NaN()}
	s.Grade = f.OptCount("grade", "an ISO viscosity grade", 2, 1500, 0)
	s.Cup = f.OptText("cup", "the flow cup, e.g. ISO 4", "")
	s.CupTime = f.OptSI("cup_time", unit.Time, sheet.Positive(1000), 0)
	s.Density = f.OptSI("density", unit.Density, sheet.Between(500, 4000), 0)
	s.ShearIndex = f.OptNumber("shear_index", "the exponent of the power law", sheet.Between(0.2, 1), 1)
	s.Air = f.OptSI("air", unit.Ratio, sheet.NotNegative(0.2), math.NaN())
	s.Temperature = f.OptSI("temperature", unit.Temperature, sheet.Between(263, 373), 293.15)
	f.Done()
	return s
}

type reader struct {
	file  string
	sheet *Sheet
	open  Open
}

func (rd reader) reading(q *sheet.Map) {
	var kinds []string
	for _, k := range kindList {
		if q.Has(string(k)) && !(k == Drips && q.Has(string(Caught))) {
			kinds = append(kinds, string(k))
		}
	}
	names := make([]string, len(kindList))
	for i, k := range kindList {
		names[i] = string(k)
	}
	if len(kinds) != 1 {
		q.Fail("", fmt.Sprintf("%d kinds of reading (%s)", len(kinds), strings.Join(kinds, ", ")), "exactly one of "+strings.Join(names, ", "), "start each reading with its kind, e.g. `- creep: up`")
		return
	}
	r := Reading{Kind: Kind(kinds[0]), Line: q.Line(kinds[0]), At: math.NaN(), Warmth: math.NaN(), Volume: math.NaN(),
		UpTime: math.NaN(), DownTime: math.NaN(), Pressure: math.NaN()}
	r.Warmth = q.OptSI("temperature", unit.Temperature, sheet.Between(263, 373), math.NaN())
	r.Reseat = q.OptCount("reseat", "the number of the reseating", 0, 1000, 0)
	q.OptText("note", "a note", "")
	switch r.Kind {
	case Creep, Changeover, Still, NoChangeover:
		rd.stroke(q, &r)
	case Locked, Restart:
		rd.locked(q, &r)
	case Run:
		rd.run(q, &r)
	case Drips, Caught:
		rd.visible(q, &r)
	case Sign:
		r.Sign = q.Choice("sign", Signs...)
	case "trace":
		rd.trace(q, r)
		q.Done()
		return
	}
	q.Done()
	rd.sheet.Readings = append(rd.sheet.Readings, r)
}

// stall reads the pressure of a reading and its error from the gauge.
func (rd reader) pressure(q *sheet.Map, r *Reading) {
	v := q.Quantity("pressure", unit.Pressure, sheet.Positive(2e8))
	r.Pressure, r.UPress = v.SI, rd.sheet.Gauge.standard(v.SI)
	if v.HasU {
		r.UPress = v.U
	}
}

// standard is the standard uncertainty of one reading: the class as a rectangular limit of error of the range (of twice the
// reading when no range is given), with the resolution.
func (g Gauge) standard(p float64) float64 {
	span := g.Range
	if span == 0 {
		span = 1.5 * p
	}
	return math.Hypot(g.Class*span/math.Sqrt(3), g.Resolution/math.Sqrt(12))
}

// repeat is the standard deviation of a difference that the calibration does not enter.
func (g Gauge) repeat(p float64) float64 {
	span := g.Range
	if span == 0 {
		span = 1.5 * p
	}
	return math.Hypot(0.25*g.Class*span/math.Sqrt(3), g.Resolution/math.Sqrt(12))
}

func (rd reader) timed(q *sheet.Map, r *Reading, key string) {
	v := q.Quantity(key, unit.Time, sheet.Positive(86400))
	r.Time, r.UTime = v.SI, rd.sheet.Stop
	if v.HasU {
		r.UTime = v.U
	}
}

func (rd reader) stroke(q *sheet.Map, r *Reading) {
	r.Stroke = dir(q.Choice(string(r.Kind), "up", "down"))
	rd.pressure(q, r)
	rd.timed(q, r, "time")
	r.At = q.OptSI("at", unit.Length, sheet.NotNegative(2), math.NaN())
	switch r.Kind {
	case Creep:
		v := q.Quantity("travel", unit.Length, sheet.NotNegative(2))
		r.Travel, r.UTravel = v.SI, rd.sheet.Ruler
		if v.HasU {
			r.UTravel = v.U
		}
		r.TimeIt = q.OptChoice("measured", "time", "time", "travel") == "time" && r.Travel > 0
	case Still:
		r.Travel = q.OptSI("seen", unit.Length, sheet.Positive(0.1), defaultSeen)
		r.UTravel = rd.sheet.Ruler
	case Changeover:
		r.TimeIt = true
	}
}

func dir(s string) pump.Dir {
	switch s {
	case "up":
		return pump.Up
	case "down":
		return pump.Down
	}
	return 0
}

func (rd reader) locked(q *sheet.Map, r *Reading) {
	r.Stroke = dir(q.Choice(string(r.Kind), "up", "down", "unknown"))
	if r.Kind == Restart {
		rd.timed(q, r, "time")
		return
	}
	r.Vented = q.OptBool("vented", false)
	for _, pt := range q.List("pressures", "pressures, each with `at` and `pressure`", 2, 40) {
		v := Point{Time: pt.SI("at", unit.Time, sheet.NotNegative(86400)), Pressure: pt.SI("pressure", unit.Pressure, sheet.NotNegative(2e8))}
		pt.Done()
		if n := len(r.Points); n > 0 && !(v.Time > r.Points[n-1].Time) {
			pt.Fail("at", fmt.Sprintf("%g s after %g s", v.Time, r.Points[n-1].Time), "times that grow from line to line", "put the readings in the order they were taken")
		}
		r.Points = append(r.Points, v)
	}
	if len(r.Points) > 0 {
		r.Pressure, r.UPress = r.Points[0].Pressure, rd.sheet.Gauge.repeat(r.Points[0].Pressure)
		if !(r.Pressure > 0) {
			q.Fail("pressures", "a hold that starts at no pressure", "a first pressure above 0", "")
		}
	}
}

func (rd reader) run(q *sheet.Map, r *Reading) {
	r.Count = q.Count("run", "the number of whole cycles", 1, 100000)
	rd.pressure(q, r)
	if q.Has("time") {
		rd.timed(q, r, "time")
	} else {
		r.Time, r.UTime = math.NaN(), rd.sheet.Stop
	}
	if v, ok := q.OptQuantity("volume", unit.Volume, sheet.NotNegative(10)); ok {
		r.Volume, r.UVolume = v.SI, math.Hypot(0.01*v.SI, 2e-6)
		if v.HasU {
			r.UVolume = v.U
		}
	}
	r.UpTime = q.OptSI("up_time", unit.Time, sheet.Positive(3600), math.NaN())
	r.DownTime = q.OptSI("down_time", unit.Time, sheet.Positive(3600), math.NaN())
	hasVolume, hasTimes := !math.IsNaN(r.Volume), !math.IsNaN(r.UpTime) && !math.IsNaN(r.DownTime)
	if !hasVolume && !hasTimes {
		q.Fail("", "a run without volume and without stroke times", "`volume` and `time`, or `up_time` and `down_time`", "catch what the gun gives in a measure, or time an upstroke and a downstroke")
	}
	if hasVolume && math.IsNaN(r.Time) {
		q.Fail("time", "nothing", "the time of the whole run", "add a line `time: 30 s`")
	}
}

func (rd reader) visible(q *sheet.Map, r *Reading) {
	r.Path = q.Text(string(r.Kind), "the name of a path that can be seen")
	r.Stroke = dir(q.OptChoice("stroke", "", "up", "down"))
	rd.pressure(q, r)
	rd.timed(q, r, "time")
	if r.Kind == Drips {
		r.Count = q.Count("drops", "the number of drops", 0, 100000)
		r.Drop = q.OptSI("drop", unit.Volume, sheet.Positive(1e-6), defaultDrop)
		return
	}
	v := q.Quantity("volume", unit.Volume, sheet.NotNegative(10))
	r.Volume, r.UVolume = v.SI, math.Hypot(0.03*v.SI, 0.5e-6)
	if v.HasU {
		r.UVolume = v.U
	}
}

func (rd reader) trace(q *sheet.Map, r Reading) {
	name := q.Text("trace", "the name of a CSV file")
	opt := TraceOptions{
		Kind:   q.Choice("drive", "force-held", "locked"),
		Stroke: dir(q.OptChoice("stroke", "unknown", "up", "down", "unknown")),
		Vented: q.OptBool("vented", false),
		Line:   r.Line,
		Gauge:  rd.sheet.Gauge,
		Ruler:  rd.sheet.Ruler,
	}
	if name == "" || opt.Kind == "" {
		return
	}
	if rd.open == nil {
		q.Fail("trace", name, "readings in the sheet itself", "traces in files can be read only where files can be opened")
		return
	}
	data, err := rd.open(name)
	if err != nil {
		q.Fail("trace", err.Error(), "a CSV file that can be read", "give the file's path from the folder of the sheet")
		return
	}
	got, err := ReadTrace(name, data, opt)
	if err != nil {
		q.Fail("trace", err.Error(), "a trace in CSV: a header with units and rising times", "")
		return
	}
	rd.sheet.Readings = append(rd.sheet.Readings, got...)
}
