package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/unit"
)

// words are the words of the reports in the language of a person.
func (f *Frame) words() report.Words { return func(key string) string { return f.Raw(key) } }

// readingWords says the readings of a hold sheet in words.
func readingWords(v *JobView, sheet *hold.Sheet) []string {
	var out []string
	for _, q := range sheet.Readings {
		q.Sign = v.F.Told(q.Sign)
		out = append(out, v.F.words().Reading(q, v.J.Model.Pump, v.F.Units))
	}
	return out
}

// readingView is a reading that was typed.
type readingView struct {
	Seq       int64
	Text      string
	Who, When string
}

func (d *HoldPage) readings(h record.HoldStage) {
	for _, l := range d.J.Readings {
		if l.Body.Hold == h {
			d.Readings = append(d.Readings, readingView{l.First.Seq, d.F.plainReading(l.Body.Reading), d.F.Person(l.Entry.By), d.F.When(l.Entry.At)})
		}
	}
}

// readingKinds are the kinds of readings that can be typed, in the order in which the page offers them.
var readingKinds = []string{"creep", "still", "changeover", "no_changeover", "locked", "restart", "run", "drips", "caught", "sign"}

type readingsPage struct {
	*HoldPage
	Kind    string
	Kinds   []option
	Strokes []option
	Paths   []option
	Signs   []option
	Fluids  []option
	FluidIs string
	GaugeIs map[string]string
	RulerIs string
	WatchIs string
	Check   bool // opened by the key of a next check: what that says is filled in
	Begin   bool // and it is just now opened: the minute begins
	Path    string
	Back    string // where a reading of a check leads: to the next place at which nobody looked, else to the hold
	Minute  string // for how long is counted, in s
	AtPress string
}

// viewReadings is the page on which readings are typed by hand, and what the hold is made with.
func (s *Server) viewReadings(w http.ResponseWriter, r *http.Request, form *Form) error {
	h := holdOf(r)
	v, err := s.jobView(r, form, "reading.title")
	if err != nil {
		return err
	}
	p := v.J.Model.Pump
	d := &readingsPage{HoldPage: &HoldPage{JobView: v, Stage: h}, Kind: form.Value("kind", r.URL.Query().Get("kind")), Path: r.URL.Query().Get("path")}
	d.readings(h)
	for _, k := range readingKinds {
		if !hold.Kind(k).Fits(p.Drive.Kind) {
			continue
		}
		d.Kinds = append(d.Kinds, option{k, v.F.T("reading.kind." + k), v.F.T("reading.kind." + k + ".why")})
	}
	if !has(d.Kinds, d.Kind) {
		d.Kind = d.Kinds[0].Value
	}
	d.Strokes = []option{{"up", v.F.T("stroke.up"), ""}, {"down", v.F.T("stroke.down"), ""}}
	if d.Kind == "locked" || d.Kind == "restart" {
		d.Strokes = append(d.Strokes, option{"unknown", v.F.T("stroke.unknown"), ""})
	}
	for _, q := range p.Map().Paths {
		if q.Visible {
			d.Paths = append(d.Paths, option{Value: q.Name, Word: q.Name})
		}
	}
	for _, sign := range hold.Signs {
		d.Signs = append(d.Signs, option{Value: sign, Word: v.F.Told(sign)})
	}
	d.check(r)
	if err := s.benchOf(r, d); err != nil {
		return err
	}
	v.F.Data = d
	return s.render(w, statusOf(form), "readings", "frame.html", v.F)
}

// check fills in what the next check says that led to the page: the place, the hold pressure and the minute.
func (d *readingsPage) check(r *http.Request) {
	q := r.URL.Query()
	if d.Check = q.Get("check") != ""; !d.Check {
		return
	}
	d.Begin = q.Get("check") == "yes"
	d.Path, d.Minute = q.Get("path"), "60"
	d.Back = jobPath(d.Number, d.HoldPath()+"?done=kept")
	if q.Get("check") == "look" {
		rest := slices.DeleteFunc(assess.Unlooked(d.J.Job, d.Stage, d.J.Model.Pump), func(path string) bool { return path == d.Path })
		if len(rest) > 0 {
			d.Back = jobPath(d.Number, lookPath(d.Stage, rest[0])+"&done=kept")
		}
	}
	d.AtPress = number(d.F.Units, d.J.Model.Pump.Limits.Hold, unit.Pressure)
	if d.Kind == string(hold.Run) {
		d.Minute, d.AtPress = "", ""
	}
}

// Counts says whether the page counts drops.
func (d *readingsPage) Counts() bool { return d.Kind == string(hold.Drips) }

// benchOf fills what the hold is made with: as kept, else as usual in this shop.
func (s *Server) benchOf(r *http.Request, d *readingsPage) error {
	fluids, err := s.Shop.All(r.Context(), record.OfFluid)
	if err != nil {
		return err
	}
	d.GaugeIs = map[string]string{}
	b := d.J.Bench[d.Stage]
	d.Fluids = []option{{"", d.F.T("bench.water"), ""}}
	for _, i := range fluids {
		v := i.Value.(*record.Fluid)
		if len(v.Test) == 0 {
			continue
		}
		d.Fluids = append(d.Fluids, option{string(v.Test), v.Name, ""})
		if b != nil && string(b.Fluid) == string(v.Test) {
			d.FluidIs = string(v.Test)
		}
	}
	if b == nil {
		return nil
	}
	if len(b.Gauge) > 0 {
		if err := json.Unmarshal(b.Gauge, &d.GaugeIs); err != nil {
			return err
		}
	}
	d.RulerIs, d.WatchIs = b.Ruler, b.Stopwatch
	return nil
}

// addReading keeps a reading that was typed.
func (s *Server) addReading(r *http.Request, f *Form) (string, error) {
	kind := f.Get("kind")
	m := map[string]any{}
	put := func(key, text string) {
		if text != "" {
			m[key] = text
		}
	}
	switch kind {
	case "creep", "still", "changeover", "no_changeover", "locked", "restart":
		m[kind] = f.Get("stroke")
	case "drips", "caught":
		m[kind] = f.Get("path")
	case "sign":
		m[kind] = f.Get("sign")
	case "run":
		n, err := f.Number("cycles")
		if err != nil {
			return "", err
		}
		m[kind] = n
	default:
		return "", record.Faultf(record.Invalid, "kind", kind, strings.Join(readingKinds, ", "), "")
	}
	for _, q := range []string{"pressure", "travel", "time", "seen", "volume", "up_time", "down_time", "temperature"} {
		put(q, f.Quantity(q))
	}
	if kind == "drips" {
		n, err := f.Number("drops")
		if err != nil {
			return "", err
		}
		m["drops"] = n
	}
	if kind == "locked" {
		m["pressures"] = points(f)
		if f.Is("vented") {
			m["vented"] = true
		}
	}
	put("note", f.Get("note"))
	raw, err := json.Marshal(m)
	if err != nil {
		return "", err
	}
	h := record.HoldStage(f.Get("hold"))
	return s.add(r, f, &record.Read{Hold: h, Reading: raw}, "/readings?hold="+escape(string(h))+"&done=kept")
}

// points reads the rows of a locked hold.
func points(f *Form) []map[string]string {
	var out []map[string]string
	for _, n := range []string{"0", "1", "2", "3", "4", "5", "6", "7"} {
		at, p := f.Quantity("at"+n), f.Quantity("p"+n)
		if at != "" || p != "" {
			out = append(out, map[string]string{"at": at, "pressure": p})
		}
	}
	return out
}

// keepBench keeps with what the hold is made.
func (s *Server) keepBench(r *http.Request, f *Form) (string, error) {
	b := &record.Benched{Hold: record.HoldStage(f.Get("hold")), Stopwatch: f.Quantity("stopwatch"), Ruler: f.Quantity("ruler")}
	if v := f.Get("fluid"); v != "" {
		fluid := map[string]any{}
		if err := json.Unmarshal([]byte(v), &fluid); err != nil {
			return "", record.Faultf(record.Invalid, "fluid", "a fluid that cannot be read", "one of the list", "")
		}
		if t := f.Quantity("temperature"); t != "" {
			fluid["temperature"] = t
		}
		raw, err := json.Marshal(fluid)
		if err != nil {
			return "", err
		}
		b.Fluid = raw
	}
	gauge := map[string]string{}
	for _, k := range []string{"range", "class", "resolution"} {
		if q := f.Quantity(k); q != "" {
			gauge[k] = q
		}
	}
	if len(gauge) > 0 {
		raw, err := json.Marshal(gauge)
		if err != nil {
			return "", err
		}
		b.Gauge = raw
	}
	return s.add(r, f, b, "/readings?hold="+escape(string(b.Hold))+"&done=kept")
}
