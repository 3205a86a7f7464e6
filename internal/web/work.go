package web

import (
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

func cutPrefix(s, p string) (string, bool) { return strings.CutPrefix(s, p) }

type stepRow struct {
	Class, Icon, State, Title, To, Who, Ready string
	Now                                       bool
}

type phaseView struct {
	Word     string
	Done, Of int
	Rows     []stepRow
}

type departureView struct {
	Text    template.HTML
	Reason  string
	Figures []template.HTML
}

type workPage struct {
	*JobView
	Phases     []phaseView
	Departures []departureView
	Wide       string
}

func (v *JobView) row(st *assess.Step) stepRow {
	f := v.F
	r := stepRow{Class: "todo", Icon: "ring", Title: f.Told(st.Title), To: jobPath(v.J.Number, "/step?id="+escape(st.ID))}
	switch st.State {
	case assess.Done:
		r.Class, r.Icon = "done", "check"
	case assess.Passed:
		r.Class, r.Icon = "done", "check"
	case assess.Skipped:
		r.Class, r.Icon = "skip", "cross"
	case assess.Soaking, assess.Ready:
		r.Class, r.Icon, r.Ready = "soak", "clock", f.ISO(st.Until)
	}
	r.State = f.T("step.state." + string(st.State))
	if v.Work.Next != nil && v.Work.Next.ID == st.ID {
		r.Class, r.Icon, r.State, r.Now = "now", "next", f.T("step.state.next"), true
	}
	if st.Signed != nil {
		r.Who = f.Person(st.Signed.By) + " " + f.When(st.Signed.At)
	}
	return r
}

// viewWork is the order of work of a job.
func (s *Server) viewWork(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "work.title")
	if err != nil {
		return err
	}
	d := &workPage{JobView: v}
	for _, ph := range assess.Phases() {
		p := phaseView{Word: v.F.T("phase." + string(ph)), Done: v.Work.Progress[ph].Done, Of: v.Work.Progress[ph].Of}
		for i := range v.Work.Steps {
			if v.Work.Steps[i].Phase == ph {
				p.Rows = append(p.Rows, v.row(&v.Work.Steps[i]))
			}
		}
		if len(p.Rows) > 0 {
			d.Phases = append(d.Phases, p)
		}
	}
	d.Departures = v.departures()
	v.F.Data = d
	return s.render(w, statusOf(form), "work", "frame.html", v.F)
}

func (v *JobView) departures() []departureView {
	f := v.F
	var out []departureView
	for _, q := range v.Work.Departures {
		d := departureView{Text: f.departure(q.Departure), Reason: q.Reason}
		for _, g := range q.Figures {
			text := f.E(g.What) + template.HTML(template.HTMLEscapeString(": "+f.words().Figure(g, f.Units))) //nolint:gosec // escaped
			if g.Assumes != "" {
				text += " (" + f.E(g.Assumes) + ")"
			}
			d.Figures = append(d.Figures, text)
		}
		if q.NoFigure != "" {
			d.Figures = append(d.Figures, f.E(q.NoFigure))
		}
		out = append(out, d)
	}
	return out
}

// departure says one departure, in English as a whole when a part of it has no translation.
func (f *Frame) departure(d pump.Departure) template.HTML {
	ok := true
	say := func(english string) string {
		said, known := f.Engine(english)
		ok = ok && known
		return said
	}
	text := say(string(d.Kind)) + ": " + f.words().Departure(d, say, f.Units)
	if !ok {
		text = d.Text(f.Units)
	}
	return marked(text, ok)
}

// doubt says what a joint would not stand, in English as a whole when a part of it has no translation.
func (f *Frame) doubt(d pump.Doubt) template.HTML {
	ok, parts := true, [3]string{d.Found, d.Want, d.Fix}
	for i, english := range parts {
		said, known := f.Engine(english)
		ok = ok && known
		parts[i] = pump.Step{Detail: said, Quantities: d.Quantities}.Text(f.Units)
	}
	if !ok {
		return marked(d.Text(f.Units), false)
	}
	return marked(f.T("step.doubt", parts[0], parts[1], parts[2]), true)
}

type torqueView struct {
	Joint, Ask, Unit, Tol   string
	Set, Adapter, Spanner   string
	Wrench, Read, Got       string
	WrenchUnit, AdapterUnit string
	AdapterIs               string
}

type stepPage struct {
	*JobView
	S        *assess.Step
	Row      stepRow
	Of       int
	Detail   template.HTML
	Torque   *torqueView
	Cautions cautionsView
	Unread   int
	Wide     string
	Narrow   string
	Tools    []option
	Blocked  []stepRow
	Prev     *stepRow
	After    *stepRow
	Soak     bool
	Settled  bool
	Hold     string
	Rings    []ringRow
	Mine     departureView
	Doubts   []template.HTML // what the joint, or what it presses, would not stand
	Answered string          // who answers for it, and why
	MayOver  bool
}

type ringRow struct{ Part, Lips string }

func (v *JobView) stepByID(id string) *assess.Step {
	for i := range v.Work.Steps {
		if v.Work.Steps[i].ID == id {
			return &v.Work.Steps[i]
		}
	}
	return nil
}

// viewStep is one step of the work with its picture.
func (s *Server) viewStep(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "work.step")
	if err != nil {
		return err
	}
	id := form.Value("step", r.URL.Query().Get("id"))
	st := v.stepByID(id)
	if st == nil {
		return notFound(r.URL.Path)
	}
	f := v.F
	f.here = jobPath(v.J.Number, "/step?id="+escape(id))
	v.Small = true
	d := &stepPage{JobView: v, S: st, Row: v.row(st), Of: len(v.Work.Steps), Detail: f.detail(st.Step), Soak: st.Kind == pump.StepSoak, Settled: st.State == assess.Done || st.State == assess.Skipped}
	d.Cautions = cautionsView{F: f, Number: v.J.Number, Back: f.here}
	for _, c := range st.Mind {
		d.Cautions.List = append(d.Cautions.List, v.caution(c))
		if c.Minded == nil {
			d.Unread++
		}
	}
	for _, b := range st.Blocked {
		if q := v.stepByID(b); q != nil {
			d.Blocked = append(d.Blocked, v.row(q))
		}
	}
	if st.N > 1 {
		q := v.row(&v.Work.Steps[st.N-2])
		d.Prev = &q
	}
	if st.N < len(v.Work.Steps) {
		q := v.row(&v.Work.Steps[st.N])
		d.After = &q
	}
	if st.Wrench != nil {
		d.Torque = v.torque(st.Wrench)
	}
	d.MayOver = f.May("overriding a verdict")
	for _, q := range st.Doubts {
		d.Doubts = append(d.Doubts, f.doubt(q))
	}
	if o := assess.Answer(v.J.Job, st.Step); o != nil {
		d.Answered = f.T("step.answered", f.Person(o.Entry.By), f.When(o.Entry.At), o.Body.Reason)
	}
	if st.Kind == pump.StepHold {
		d.Hold = jobPath(v.J.Number, "/prove")
	}
	if err := d.picture(); err != nil {
		return err
	}
	if d.Tools, err = s.tools(r, f, "wrench", "gauge", "other"); err != nil {
		return err
	}
	f.Title = f.T("job.page", f.Told(st.Title), strconv.FormatInt(v.J.Number, 10))
	v.F.Data = d
	return s.render(w, statusOf(form), "step", "frame.html", v.F)
}

// detail is what to do in a step, with its quantities filled in after the translation.
func (f *Frame) detail(s pump.Step) template.HTML {
	said, ok := f.Engine(s.Detail)
	s.Detail = said
	return marked(s.Text(f.Units), ok)
}

// picture draws the stack that a step is about.
func (d *stepPage) picture() error {
	if d.S.Stack == "" {
		return nil
	}
	wide, err := draw.StackBare(d.J.Model.Pump, d.S.Stack, d.F.Units, draw.In(d.F.Told))
	if err != nil {
		return err
	}
	narrow, err := draw.StackNarrow(d.J.Model.Pump, d.S.Stack, nil, d.F.Units, draw.In(d.F.Told))
	if err != nil {
		return err
	}
	d.Wide, d.Narrow = draw.Inline(wide), draw.Inline(narrow)
	return nil
}

func (v *JobView) torque(t *assess.Torque) *torqueView {
	u := v.F.Units
	out := &torqueView{Joint: t.Joint, Ask: number(u, t.Asked, unit.Torque), Unit: u.Unit(unit.Torque), Spanner: t.Spanner, WrenchUnit: u.Unit(unit.Length), AdapterUnit: u.Unit(unit.Length)}
	if t.Tol > 0 {
		out.Tol = u.Show(t.Tol, unit.Torque)
	}
	if t.Adapter > 0 {
		out.Adapter, out.AdapterIs = u.Show(t.Adapter, unit.Length), number(u, t.Adapter, unit.Length)
	}
	if t.Length > 0 {
		out.Wrench = number(u, t.Length, unit.Length)
	}
	if t.InLine > 0 && math.Abs(t.InLine-t.Asked) > 1e-9 {
		out.Set = u.Show(t.InLine, unit.Torque)
	}
	if t.Read > 0 {
		out.Read = u.Show(t.Read, unit.Torque)
	}
	if t.Got > 0 {
		out.Got = u.Show(t.Got, unit.Torque)
	}
	return out
}

// doStep signs a step, or says why it is left out. Every caution of the step must have been read before.
func (s *Server) doStep(r *http.Request, f *Form) (string, error) {
	v, err := s.jobView(r, f, "work.step")
	if err != nil {
		return "", err
	}
	id := f.Get("step")
	st := v.stepByID(id)
	if st == nil {
		return "", record.Faultf(record.NotFound, "step", id, "a step of this job", "")
	}
	skip := f.Get("do") == "skip"
	for _, c := range st.Mind {
		if c.Minded == nil && !skip {
			return "", record.Faultf(record.NotAllowed, "caution", "a caution that nobody has read", "the cautions to be read first", "")
		}
	}
	tool, err := f.Number("tool")
	if err != nil {
		return "", err
	}
	b := &record.Did{Step: id, Torque: f.Quantity("torque"), Wrench: f.Quantity("wrench"), Adapter: f.Quantity("adapter"), Angle: f.Quantity("angle"),
		Tool: tool, Soaked: f.Quantity("soaked"), Pressure: f.Quantity("pressure"), Held: f.Quantity("held"), Note: f.Text("note"), Skipped: skip}
	if st.Wrench != nil && !skip && b.Torque == "" {
		return "", record.Faultf(record.Invalid, "torque", "no torque", "the torque read on the wrench", "")
	}
	if st.Did != nil && st.Signed != nil {
		f.Values.Set("corrects", strconv.FormatInt(st.Signed.Seq, 10))
	}
	if _, err := s.add(r, f, b, ""); err != nil {
		return "", err
	}
	return s.afterStep(r, v.J.Number)
}

// afterStep is the page of the next step to do, or the list when none is left.
func (s *Server) afterStep(r *http.Request, number int64) (string, error) {
	j, err := s.Shop.Job(r.Context(), number)
	if err != nil {
		return "", err
	}
	w, err := s.Shop.Work(j)
	if err != nil {
		return "", err
	}
	if w.Next == nil {
		return jobPath(number, "/work"), nil
	}
	return jobPath(number, "/step?id="+escape(w.Next.ID)), nil
}

// soak starts the soak of a step.
func (s *Server) soak(r *http.Request, f *Form) (string, error) {
	v, err := s.jobView(r, f, "work.step")
	if err != nil {
		return "", err
	}
	st := v.stepByID(f.Get("step"))
	if st == nil || st.Kind != pump.StepSoak {
		return "", record.Faultf(record.NotFound, "step", f.Get("step"), "a soak of this job", "")
	}
	soak, err := assess.StartSoak(st.Step, s.Shop.Now())
	if err != nil {
		return "", err
	}
	if _, err := s.add(r, f, soak, ""); err != nil {
		return "", err
	}
	return s.afterStep(r, v.J.Number)
}
