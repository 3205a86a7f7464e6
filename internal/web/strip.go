package web

import (
	"net/http"
	"slices"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

type findingView struct {
	Seq                    int64
	Part, Text, Size, Room string
	Who, When              string
	Past                   *saidView // of a size past its limit
}

type findingsPage struct {
	*JobView
	Parts    []option
	Sizes    []option
	Part     string
	Findings []findingView
	Tools    []option
	Unsafe   *stepRow // what is to be done before anything is opened; nil when it is
}

// viewFindings is the page on which is written what was seen and measured on the parts.
func (s *Server) viewFindings(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "find.title")
	if err != nil {
		return err
	}
	p := v.J.Model.Pump
	d := &findingsPage{JobView: v, Part: form.Value("part", r.URL.Query().Get("part"))}
	for _, q := range p.Parts {
		d.Parts = append(d.Parts, option{Value: q.Name, Word: q.Name})
	}
	if !has(d.Parts, d.Part) && len(d.Parts) > 0 {
		d.Part = d.Parts[0].Value
	}
	if part, ok := p.Part(d.Part); ok {
		for _, z := range part.Wear {
			d.Sizes = append(d.Sizes, option{Value: z.Size, Word: v.F.Told(z.Size), Small: v.sizeWords(part.Name, z.Size)})
		}
	}
	for i := range v.Work.Steps {
		if st := &v.Work.Steps[i]; st.Phase == assess.PhaseSafe && !st.State.Settled() && d.Unsafe == nil {
			row := v.row(st)
			d.Unsafe = &row
		}
	}
	past := v.past()
	for _, l := range v.J.Findings {
		b := l.Body
		fv := findingView{Past: past[l.First.Seq], Seq: l.First.Seq, Part: b.Part, Text: b.Text, Who: v.F.Person(l.Entry.By), When: v.F.When(l.Entry.At)}
		if b.Value != "" {
			fv.Size, fv.Room = v.F.Told(b.Size)+" "+b.Value, v.sizeWords(b.Part, b.Size)
		}
		d.Findings = append(d.Findings, fv)
	}
	if d.Tools, err = s.tools(r, v.F, "micrometer", "ruler", "other"); err != nil {
		return err
	}
	v.photos()
	v.F.Data, v.F.Live = d, true
	return s.render(w, statusOf(form), "findings", "frame.html", v.F)
}

// past says which findings are sizes past their limits, by their first entry.
func (v *JobView) past() map[int64]*saidView {
	out := map[int64]*saidView{}
	for _, m := range assess.MeasuredOf(v.J.Job, v.J.Model.Pump) {
		if m.Side != assess.Inside {
			said := v.F.measured(m)
			out[m.Line.First.Seq] = &said
		}
	}
	return out
}

// tools lists the tools of some sorts, those out of calibration marked.
func (s *Server) tools(r *http.Request, f *Frame, sorts ...string) ([]option, error) {
	items, err := s.Shop.All(r.Context(), record.OfTool)
	if err != nil {
		return nil, err
	}
	out := []option{{"", f.T("tool.none"), ""}}
	for _, i := range items {
		t := i.Value.(*record.Tool)
		if !slices.Contains(sorts, t.Sort) {
			continue
		}
		word := t.Name
		if t.Due != "" && t.Due < f.Day(f.now) {
			word += " — " + f.T("tool.overdue", t.Due)
		}
		out = append(out, option{Value: strconv.FormatInt(i.Subject.ID, 10), Word: word})
	}
	return out, nil
}

func (s *Server) addFinding(r *http.Request, f *Form) (string, error) {
	tool, err := f.Number("tool")
	if err != nil {
		return "", err
	}
	b := &record.Found{Part: f.Get("part"), Text: f.Text("text"), Value: f.Quantity("value"), Tool: tool}
	if b.Value != "" {
		b.Size = f.Get("size")
	}
	return s.add(r, f, b, "/findings?part="+escape(b.Part)+"&done=kept")
}

type partRow struct {
	Name, Kind, Note string
	Count            int
	Options          []option
	Now, Word        string // what is chosen, or what would be
	Suggested        string
	Measured         []measuredView
}

// measuredView is one size that was measured, beside what the pump sheet asks for.
type measuredView struct {
	Size string
	Said saidView
}

type choosePage struct {
	*JobView
	Rows    []partRow
	Verdict *verdictView
	Chosen  bool
}

// viewChoose is the page on which is decided what becomes of each part.
func (s *Server) viewChoose(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "choose.title")
	if err != nil {
		return err
	}
	d := &choosePage{JobView: v, Chosen: v.J.Chosen != nil}
	proposed, err := assess.Propose(v.J.Job, v.J.Model.Pump)
	if err != nil {
		return err
	}
	if l := assess.Cause(v.J.Job); l != nil {
		vv, err := v.verdict(l.Body, l.Entry)
		if err != nil {
			return err
		}
		d.Verdict = &vv
	}
	for _, q := range v.J.Model.Parts {
		d.Rows = append(d.Rows, v.partRow(q, proposed))
	}
	v.F.Data = d
	return s.render(w, statusOf(form), "choose", "frame.html", v.F)
}

// partRow is what a page says of one part before somebody chooses, or of what was chosen. A part that was measured past its limit is
// to be replaced until somebody says otherwise in the knowledge of it.
func (v *JobView) partRow(q pump.Part, proposed assess.Proposed) partRow {
	row := partRow{Name: q.Name, Kind: q.Kind, Count: q.Quantity, Now: string(proposed.Parts[q.Name]), Options: []option{{"", v.F.T("action.leave"), ""}}}
	for _, a := range pump.Actions() {
		if q.Allows(a) {
			row.Options = append(row.Options, option{string(a), v.F.action(a), ""})
		}
	}
	if c := v.J.Chosen; c != nil && (!v.Open || !assess.WornSince(v.J.Job, v.J.Model.Pump, q.Name, c.Entry.Seq)) {
		row.Now = c.Body.Parts[q.Name]
	}
	if row.Word = v.F.T("action.leave"); row.Now != "" {
		row.Word = v.F.action(pump.Action(row.Now))
	}
	switch proposed.Reason[q.Name] {
	case assess.BySize:
		row.Suggested = v.F.T("choose.worn")
	case assess.ByVerdict:
		row.Suggested = v.F.T("choose.suggested", v.F.action(proposed.Parts[q.Name]))
	}
	for _, l := range v.J.Findings {
		if l.Body.Part == q.Name && l.Body.Text != "" {
			row.Note += l.Body.Text + " "
		}
	}
	for _, m := range assess.MeasuredOf(v.J.Job, v.J.Model.Pump) {
		if m.Part == q.Name {
			row.Measured = append(row.Measured, measuredView{v.F.Told(m.Size.Size), v.F.measured(m)})
		}
	}
	return row
}

func (f *Frame) action(a pump.Action) string {
	key := actionKey(a)
	if key == "" {
		return string(a)
	}
	return f.T("action." + key)
}

// actionKey is the key of an action in the catalogue of words, "" for one that is none.
func actionKey(a pump.Action) string {
	return map[pump.Action]string{pump.Keep: "keep", pump.Replace: "replace", pump.TurnOver: "turn", pump.Lap: "lap", pump.Hone: "hone"}[a]
}

func (s *Server) choose(r *http.Request, f *Form) (string, error) {
	b := &record.Chose{Parts: map[string]string{}}
	for name, values := range f.Values {
		if part, ok := cutPrefix(name, "part:"); ok && len(values) > 0 && values[0] != "" {
			b.Parts[part] = values[0]
		}
	}
	return s.add(r, f, b, "/work")
}
