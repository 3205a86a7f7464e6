package web

import (
	"html/template"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
)

// runStep is one step of a run.
type runStep struct {
	ID, Title, To, Lips string
	N                   int
	Detail, Why         template.HTML
}

// runPage is the page on which plain steps that follow each other are signed together.
type runPage struct {
	*JobView
	From         string
	Steps        []runStep
	Wide, Narrow string
}

// viewRun lists the plain steps from one on, each with what to do.
func (s *Server) viewRun(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "run.title")
	if err != nil {
		return err
	}
	from := form.Value("from", r.URL.Query().Get("from"))
	run := v.Work.Run(from)
	if len(run) == 0 && form.Wrong() {
		return form.Faults[0]
	}
	if len(run) == 0 { // signed meanwhile, or never plain: the step itself says why
		http.Redirect(w, r, jobPath(v.Number, "/work"), http.StatusSeeOther)
		return nil
	}
	f := v.F
	f.here = jobPath(v.Number, "/run?from="+escape(from))
	v.Small = true
	d := &runPage{JobView: v, From: from}
	for _, st := range run {
		d.Steps = append(d.Steps, v.runStep(st))
	}
	if stack := oneStack(run); stack != "" {
		if d.Wide, d.Narrow, err = v.stackPictures(stack); err != nil {
			return err
		}
	}
	f.Title = f.T("job.page", f.T("run.title"), strconv.FormatInt(v.Number, 10))
	f.Data = d
	return s.render(w, statusOf(form), "run", "frame.html", f)
}

func (v *JobView) runStep(st *assess.Step) runStep {
	q := runStep{ID: st.ID, N: st.N, Title: v.F.Told(st.Title), To: jobPath(v.Number, "/step?id="+escape(st.ID)), Detail: v.F.detail(st.Step)}
	if st.Why != "" {
		q.Why = v.F.E(st.Why)
	}
	if st.Lips != "" {
		q.Lips = v.F.T("lips." + st.Lips)
	}
	return q
}

// oneStack is the stack that steps are about, "" when they are about several or none.
func oneStack(run []*assess.Step) string {
	stack := ""
	for _, st := range run {
		if st.Stack != "" && stack != "" && st.Stack != stack {
			return ""
		}
		if st.Stack != "" {
			stack = st.Stack
		}
	}
	return stack
}

// stackPictures draws a stack for wide and narrow screens.
func (v *JobView) stackPictures(stack string) (wide, narrow string, err error) {
	if wide, err = draw.StackBare(v.J.Model.Pump, stack, v.F.Units, draw.In(v.F.Told)); err != nil {
		return "", "", err
	}
	narrow, err = draw.StackNarrow(v.J.Model.Pump, stack, nil, v.F.Units, draw.In(v.F.Told))
	return draw.Inline(wide), draw.Inline(narrow), err
}

// signRun signs the steps of a run together.
func (s *Server) signRun(r *http.Request, f *Form) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	if err := s.Shop.SignRun(r.Context(), by(r, f), n, f.Values["steps"]); err != nil {
		return "", err
	}
	return s.afterStep(r, n)
}
