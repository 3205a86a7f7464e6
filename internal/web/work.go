package web

import (
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

func cutPrefix(s, p string) (string, bool) { return strings.CutPrefix(s, p) }

type stepRow struct {
	Class, Icon, State, Title, To, Who, Ready string
	Now                                       bool
}

type phaseView struct {
	ID, Word string
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
	case assess.Off:
		r.Class, r.Icon = "off", "stop"
	case assess.Named:
		r.Class, r.Icon = "named", "warn"
	case assess.Skipped:
		r.Class, r.Icon = "skip", "cross"
	case assess.Soaking, assess.Ready:
		r.Class, r.Icon, r.Ready = "soak", "clock", f.ISO(st.Until)
	}
	r.State = f.T("step.state." + string(st.State))
	if v.Work.Next != nil && v.Work.Next.ID == st.ID {
		if r.Now = true; st.State != assess.Off {
			r.Class, r.Icon, r.State = "now", "next", f.T("step.state.next")
		}
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
		p := phaseView{ID: "phase-" + string(ph), Word: v.F.T("phase." + string(ph)), Done: v.Work.Progress[ph].Done, Of: v.Work.Progress[ph].Of}
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
	var out []departureView
	for _, q := range v.Work.Departures {
		out = append(out, v.departure(q))
	}
	return out
}

// departure is one departure, and its figures below it.
func (v *JobView) departure(q assess.Departure) departureView {
	f, alone := v.F, q.Departure
	alone.Figures, alone.NoFigure = nil, ""
	d := departureView{Text: f.departure(alone), Reason: q.Reason}
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
	return d
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
	Blocked  []stepRow
	Prev     *stepRow
	After    *stepRow
	Soak     bool
	Ready    string          // when a soak that is under way is ready; "" for any other step
	Amiss    []departureView // of a step that was done otherwise than asked for; a torque says so itself
	Settled  bool
	Off      bool
	Hold     string // where the hold is made; "" for any other step
	Held     *verdictView
	Measure  string // where sizes are written down
	Run      int    // plain steps that can be signed with this one
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
	if st == nil && id == "" { // what is left in the browser by a form that was refused
		http.Redirect(w, r, jobPath(v.J.Number, "/work"), http.StatusSeeOther)
		return nil
	}
	if st == nil {
		return notFound(r.URL.Path)
	}
	f := v.F
	f.here = jobPath(v.J.Number, "/step?id="+escape(id))
	v.Small = true
	d := &stepPage{JobView: v, S: st, Row: v.row(st), Of: len(v.Work.Steps), Detail: f.detail(st.Step), Soak: st.Kind == pump.StepSoak,
		Settled: st.State.Happened() || st.State == assess.Skipped, Off: st.State == assess.Off, Run: len(v.Work.Run(id))}
	d.Cautions = cautionsView{F: f, Number: v.J.Number, Back: f.here, Then: "reload"}
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
	d.doubts()
	d.amiss()
	if err := s.stepOwn(r, d, form); err != nil {
		return err
	}
	if err := d.picture(); err != nil {
		return err
	}
	f.Title = f.T("job.page", f.Told(st.Title), strconv.FormatInt(v.J.Number, 10))
	v.F.Data, v.F.Live = d, true
	return s.render(w, statusOf(form), "step", "frame.html", v.F)
}

// amiss says what is wrong with a step that was done, and until when one that is under way is not ready.
func (d *stepPage) amiss() {
	if d.S.State == assess.Soaking {
		d.Ready = d.F.When(d.S.Until)
	}
	if d.S.State != assess.Off || d.S.Kind == pump.StepTorque {
		return
	}
	for _, q := range d.Work.Departures {
		if q.Step == d.S.ID {
			d.Amiss = append(d.Amiss, d.departure(q))
		}
	}
}

// doubts says what the joint of a step would not stand, and who answers for it.
func (d *stepPage) doubts() {
	f := d.F
	d.MayOver = f.May("overriding a verdict")
	for _, q := range d.S.Doubts {
		d.Doubts = append(d.Doubts, f.doubt(q))
	}
	if o := assess.Answer(d.J.Job, d.S.Step); o != nil {
		d.Answered = f.T("step.answered", f.Person(o.Entry.By), f.When(o.Entry.At), o.Body.Reason)
	}
}

// stepOwn fills in what the kind of the step asks for.
func (s *Server) stepOwn(r *http.Request, d *stepPage, form *Form) (err error) {
	st := d.S
	switch st.Kind {
	case pump.StepHold:
		d.Hold = jobPath(d.Number, "/prove")
		if l := d.J.Verdict(record.AsLeft); l != nil && st.Signed != nil && st.Signed.Seq == l.Entry.Seq {
			vv, err := d.verdict(l.Body, l.Entry)
			if err != nil {
				return err
			}
			d.Held = &vv
		}
	case pump.StepMeasure:
		d.Measure = jobPath(d.Number, "/findings?part="+escape(st.Part))
	}
	if st.Wrench != nil {
		d.Torque, err = s.torque(r, d.JobView, st, picking(form, r.URL.Query()))
	}
	return err
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
	var err error
	d.Wide, d.Narrow, err = d.stackPictures(d.S.Stack)
	return err
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
	if f.Get("do") == "show" { // a page without scripts: what to set on the wrench that was picked
		return jobPath(v.Number, "/step?"+shown(f)), nil
	}
	b, err := s.did(r, st, f, skip)
	if err != nil {
		return "", err
	}
	if st.Did != nil && st.Signed != nil && f.Get("do") != "again" {
		f.Values.Set("corrects", strconv.FormatInt(st.Signed.Seq, 10))
	}
	if _, err := s.add(r, f, b, ""); err != nil {
		return "", err
	}
	return s.afterStep(r, v.J.Number)
}

// did is the record of a step as a form has it.
func (s *Server) did(r *http.Request, st *assess.Step, f *Form, skip bool) (*record.Did, error) {
	if st.Wrench != nil && !skip {
		b, err := s.torqueOf(r, st, f)
		if err != nil {
			return nil, err
		}
		b.Note = f.Text("note")
		return b, nil
	}
	return &record.Did{Step: st.ID, Soaked: f.Quantity("soaked"), Note: f.Text("note"), Skipped: skip}, nil
}

// shown are the choices of a torque page as they stand in its address.
func shown(f *Form) string {
	q := url.Values{}
	for _, name := range []string{"tool", "turn", "wrench", "wrench.unit", "adapter", "adapter.unit", "torque", "torque.unit"} {
		q.Set(name, f.Get(name))
	}
	q.Set("id", f.Get("step"))
	return q.Encode()
}

// afterStep is the page of what is next in the work, or the list when nothing of it is.
func (s *Server) afterStep(r *http.Request, number int64) (string, error) {
	v, err := s.jobView(r, &Form{}, "")
	if err != nil {
		return "", err
	}
	switch v.Action.What {
	case assess.DoStep, assess.DoRun:
		return v.Next.To, nil
	}
	if v.Work.Next != nil && v.Work.Next.State == assess.Off {
		return jobPath(number, "/step?id="+escape(v.Work.Next.ID)), nil
	}
	return jobPath(number, "/work"), nil
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
