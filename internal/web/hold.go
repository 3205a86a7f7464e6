package web

import (
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// holdOf is the hold that an address is about.
func holdOf(r *http.Request) record.HoldStage {
	if strings.HasSuffix(r.URL.Path, "/prove") {
		return record.AsLeft
	}
	v := r.URL.Query().Get("hold")
	if v == "" && r.PostForm != nil {
		v = r.PostForm.Get("hold")
	}
	if record.HoldStage(v) == record.AsLeft {
		return record.AsLeft
	}
	return record.AsFound
}

func holdPath(h record.HoldStage) string {
	if h == record.AsLeft {
		return "/prove"
	}
	return "/found"
}

// pressView is a press as the script of the page knows it.
type pressView struct {
	Seq      int64        `json:"seq"`
	Key      string       `json:"key"`
	Press    record.Press `json:"press"`
	Watch    string       `json:"watch"`
	Elapsed  int64        `json:"elapsed_ms"`
	Stroke   string       `json:"stroke,omitempty"`
	Pressure string       `json:"pressure,omitempty"`
	Rod      string       `json:"rod,omitempty"`
	Locked   bool         `json:"locked,omitempty"`
	Struck   bool         `json:"struck"`
	Device   int64        `json:"device"`
	Person   int64        `json:"person"`
	By       string       `json:"by"` // name of the person
	On       string       `json:"on"` // name of the device
	At       int64        `json:"at"` // ms since 1970, by the clock of its device
	Over     string       `json:"takes_over,omitempty"`
}

// watchView is the watch that runs, as the script of the page knows it.
type watchView struct {
	Watch  string `json:"watch"`
	Device int64  `json:"device"`
	By     string `json:"by"`
	On     string `json:"on"`
	At     int64  `json:"at"`
}

// HoldPage is the page of a live hold.
type HoldPage struct {
	*JobView
	Stage     record.HoldStage
	Known     string // presses, as JSON
	Runs      string // the watch that runs, as JSON
	Presses   []pressView
	Cautions  cautionsView
	Rated     string
	OnlyLock  bool
	Readings  []readingView // that were typed
	Count     int           // of readings, those of watches among them
	Last      *verdictView
	Live      bool // there are readings that the last verdict does not know
	Fluid     string
	Gauge     string
	HoldFor   string
	HoldAt    string // the hold pressure with its unit, which may lie below the rated one
	HoldPress string
	Stroke    string // on which the next watch is meant to begin
}

// outcomeView is what a hold says so far.
type outcomeView struct {
	F           *Frame
	V           *verdictView
	Fault       *record.Fault // why there is no outcome
	Provisional bool
	Ignored     []template.HTML
	Number      int64
	Stage       record.HoldStage
	Count       int
}

type cautionView struct{ Text, By, When string }

type cautionsView struct {
	F      *Frame
	List   []cautionView
	Number int64
	Back   string
	Why    string // said above those not read
	Then   string // "reload" when the page has more to show once all are read
}

// Unread are the cautions that nobody has acknowledged on this job.
func (c cautionsView) Unread() []cautionView { return c.pick(false) }

// Read are those that somebody has.
func (c cautionsView) Read() []cautionView { return c.pick(true) }

// After is how many unread cautions come after one of them.
func (c cautionsView) After(i int) int { return max(0, len(c.Unread())-1-i) }

func (c cautionsView) pick(read bool) []cautionView {
	var out []cautionView
	for _, v := range c.List {
		if (v.By != "") == read {
			out = append(out, v)
		}
	}
	return out
}

// holdCautions lists what to mind at a hold, what nobody has read yet first.
func (v *JobView) holdCautions() cautionsView {
	c := cautionsView{F: v.F, Number: v.J.Number, Back: v.F.here}
	for _, k := range v.Work.Hold {
		c.List = append(c.List, v.caution(k))
	}
	slices.SortStableFunc(c.List, func(a, b cautionView) int { return strings.Compare(a.By, b.By) })
	return c
}

func (v *JobView) caution(k assess.Caution) cautionView {
	c := cautionView{Text: k.Text}
	if k.Minded != nil {
		c.By, c.When = v.F.Person(k.Minded.By), v.F.When(k.Minded.At)
	}
	return c
}

func (s *Server) viewHold(w http.ResponseWriter, r *http.Request, form *Form) error {
	h := holdOf(r)
	v, err := s.jobView(r, form, "hold."+holdKey(h))
	if err != nil {
		return err
	}
	p := v.J.Model.Pump
	d := &HoldPage{JobView: v, Stage: h, Cautions: v.holdCautions(), OnlyLock: p.Drive.Kind == pump.Crank,
		Rated: v.F.Units.Show(p.Limits.Rated, unit.Pressure), HoldFor: draw.Watched(p.Limits.HoldFor),
		HoldAt: v.F.Units.Show(p.Limits.Hold, unit.Pressure), HoldPress: number(v.F.Units, p.Limits.Hold, unit.Pressure), Stroke: r.URL.Query().Get("stroke")}
	d.Cautions.Why = v.F.T("caution.holdwhy")
	if err := d.presses(h); err != nil {
		return err
	}
	d.readings(h)
	if err := d.last(h); err != nil {
		return err
	}
	v.F.Data = d
	if v.Open {
		v.F.Hold, v.F.Main = string(h), "hold"
	}
	v.F.Live = true
	return s.render(w, statusOf(form), "hold", "frame.html", v.F)
}

// number is a value in the unit of a person without the unit.
func number(sys unit.System, si float64, d unit.Dim) string {
	s := sys.Show(si, d)
	num, _, _ := strings.Cut(s, " ")
	return num
}

// presses fills the presses of a hold and the watch that runs, for people and for the script.
func (d *HoldPage) presses(h record.HoldStage) error {
	d.Presses = d.pressesOf(h)
	known, err := json.Marshal(d.Presses)
	if err != nil {
		return err
	}
	runs, err := json.Marshal(d.runs(h))
	d.Known, d.Runs = string(known), string(runs)
	return err
}

func (v *JobView) pressesOf(h record.HoldStage) []pressView {
	out := []pressView{}
	for _, l := range v.J.Presses {
		if b := l.Body; b.Hold == h {
			out = append(out, pressView{Seq: l.First.Seq, Key: l.First.Key, Press: b.Press, Watch: b.Watch, Elapsed: b.Elapsed, Stroke: b.Stroke, Pressure: b.Pressure, Rod: b.Rod, Locked: b.Locked,
				Device: l.First.Device, Person: l.First.By, By: v.F.Person(l.First.By), On: v.F.Device(l.First.Device), At: l.First.At.UnixMilli(), Over: b.TakesOver})
		}
	}
	return out
}

// runs is the watch of a hold that runs, nil when none does.
func (v *JobView) runs(h record.HoldStage) *watchView {
	w := v.J.Running(h)
	if w == nil {
		return nil
	}
	e := w.Start.First
	return &watchView{Watch: w.Name, Device: w.Device, By: v.F.Person(e.By), On: v.F.Device(w.Device), At: e.At.UnixMilli()}
}

// pressesNow answers the presses of a hold and the watch that runs, for a page that is open.
func (s *Server) pressesNow(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "")
	if err != nil {
		return err
	}
	h := holdOf(r)
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	return wrote(json.NewEncoder(w).Encode(map[string]any{"presses": v.pressesOf(h), "runs": v.runs(h), "seq": v.J.Seq}))
}

// last shows the last verdict of the hold, marked as old when something came in after it, and says whether there is more to show.
func (d *HoldPage) last(h record.HoldStage) error {
	now, err := assess.SheetOf(d.J.Job, h, d.J.Model.Pump, nil)
	if err != nil {
		return nil //nolint:nilerr // a bench that cannot be read is told where it is typed
	}
	d.Count = len(now.Sheet.Readings)
	l := d.J.Verdict(h)
	if d.Live = d.Count > 0 && (l == nil || !now.Current(l.Body)); l == nil {
		return nil
	}
	v, err := d.verdict(l.Body, l.Entry)
	if err != nil {
		return err
	}
	v.Old = !now.Current(l.Body)
	d.Last = &v
	return nil
}

// look answers what a hold says so far, as a piece of the page.
func (s *Server) look(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "")
	if err != nil {
		return err
	}
	h := holdOf(r)
	var running *assess.Running
	if watch := r.URL.Query().Get("watch"); watch != "" {
		ms, err := strconv.ParseInt(r.URL.Query().Get("elapsed_ms"), 10, 64)
		if err != nil || ms < 0 || ms > 86400_000 {
			return record.Faultf(record.Invalid, "elapsed_ms", r.URL.Query().Get("elapsed_ms"), "0 to 86400000", "")
		}
		running = &assess.Running{Watch: watch, Elapsed: time.Duration(ms) * time.Millisecond, Device: v.F.Who.Device}
	}
	o := &outcomeView{F: v.F, Number: v.J.Number, Stage: h}
	out, err := s.Shop.Look(r.Context(), v.J, h, running, true)
	var fault *record.Fault
	switch {
	case errors.As(err, &fault) && status(fault.Code) < 500:
		o.Fault = fault
	case err != nil:
		return err
	default:
		vv := v.result(out.Result)
		vv.Hold, vv.Open = h, v.Open
		o.V, o.Provisional, o.Count = &vv, out.Provisional, len(out.Sheet.Readings)
		o.Ignored = v.ignored(out.Draft)
	}
	v.F.Data = o
	return s.render(w, http.StatusOK, "hold", "outcome", v.F)
}

// checkKey is the key of a check: the page on which its reading is made, with all that the check says filled in.
type checkKey struct{ To, Key string }

// CheckTo is the key of a check; nil when the job takes no readings, or the check is one of an older version that does not say its reading.
func (v verdictView) CheckTo(c checkView) *checkKey {
	if !v.Open || c.Reading == "" {
		return nil
	}
	q := url.Values{"stroke": {c.Stroke}}
	k := &checkKey{Key: v.F.T("check.go." + c.Reading)}
	switch hold.Kind(c.Reading) {
	case hold.Creep, hold.Locked: // by the watch of the hold
		k.To = jobPath(v.F.Job, holdPath(v.Hold)+"?"+q.Encode())
	default:
		q = url.Values{"hold": {string(v.Hold)}, "kind": {c.Reading}, "path": {c.Path}, "check": {"yes"}}
		k.To = jobPath(v.F.Job, "/readings?"+q.Encode())
	}
	return k
}

// ignored lists what a hold does not count, with the reason and how to mend it: a press by its name and its time, as on the watch.
func (v *JobView) ignored(d assess.Draft) []template.HTML {
	f, named := v.F, map[int64]string{}
	for _, l := range v.J.Presses {
		named[l.First.Seq] = f.T("hold.pressat", f.T("press."+string(l.Body.Press)), draw.Pressed(float64(l.Body.Elapsed)/1000))
	}
	var out []template.HTML
	for _, i := range d.Ignored {
		what, pressed := named[i.Seq]
		if !pressed {
			what = f.T("hold.entry", i.Seq)
		}
		s := marked(what, true) + ": " + f.E(i.Reason)
		if i.Mend != "" {
			s += "; " + f.E(i.Mend)
		}
		out = append(out, s)
	}
	return out
}

// judge makes the verdict of a hold.
func (s *Server) judge(r *http.Request, f *Form) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	h := record.HoldStage(f.Get("hold"))
	_, got, err := s.Shop.Judge(r.Context(), by(r, f), n, h)
	return jobPath(n, "/verdict/"+strconv.FormatInt(got.Entry.Seq, 10)), err
}

type verdictPage struct {
	*JobView
	V     verdictView
	Sheet []string
	Later bool
}

// viewVerdict shows one verdict as it was given.
func (s *Server) viewVerdict(w http.ResponseWriter, r *http.Request) error {
	seq, err := mustNumber(r, "seq")
	if err != nil {
		return err
	}
	v, err := s.jobView(r, &Form{}, "verdict.title")
	if err != nil {
		return err
	}
	for _, l := range v.J.Verdicts {
		if l.Entry.Seq != seq {
			continue
		}
		vv, err := v.verdict(l.Body, l.Entry)
		if err != nil {
			return err
		}
		vv.Old = v.J.Verdict(l.Body.Hold).Entry.Seq == seq && !assess.Current(v.J.Job, l.Body.Hold, v.J.Model.Pump)
		_, sheet, err := assess.Recall(l.Body)
		if err != nil {
			return err
		}
		d := &verdictPage{JobView: v, V: vv, Sheet: readingWords(v, sheet), Later: v.J.Verdict(l.Body.Hold).Entry.Seq != seq}
		v.F.Data = d
		return s.render(w, http.StatusOK, "verdict", "frame.html", v.F)
	}
	return notFound(r.URL.Path)
}

// OfDrive is a text that speaks of how the pump of the job stops: force-held at a stall, with a crank when its motor is switched off.
func (v *JobView) OfDrive(key string, args ...any) string {
	if v.J.Model.Pump.Drive.Kind == pump.Crank {
		key += ".crank"
	}
	return v.F.T(key, args...)
}
