package web

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/unit"
)

// pointView is one thing that has to be answered before a job is closed as good.
type pointView struct {
	ID      string
	Open    bool
	Bad     bool // it is about the pump, not about papers
	Text    template.HTML
	Figures []template.HTML
	To, Key string // where it is done
	Answer  string // who answered, when and why
}

// points lists what has to be answered, what is open first.
func (s *Server) points(r *http.Request, d *handPage) error {
	points, err := s.Shop.Points(d.J)
	if err != nil {
		return err
	}
	for _, open := range []bool{true, false} {
		for _, q := range points {
			if q.Open() == open {
				d.Points = append(d.Points, d.point(q))
			}
		}
	}
	d.OpenNow = len(assess.OpenPoints(points))
	d.Named, err = s.Shop.WhoMay(r.Context(), gate.Override)
	return err
}

func (v *JobView) point(q assess.Point) pointView {
	f := v.F
	out := pointView{ID: q.ID, Open: q.Open(), Bad: q.Code != assess.PointHanded && q.Code != assess.PointBill, Answer: v.answer(q)}
	say := func(key string, args ...any) { out.Text = marked(f.T(key, args...), true) }
	step := func(key string) { out.To, out.Key = v.stepTo(q), f.T(key) }
	switch q.Code {
	case assess.PointProof:
		say("point.proof." + string(q.Proof))
		out.To, out.Key = jobPath(v.Number, "/prove"), f.T("next.prove")
	case assess.PointLook:
		say("point.look", q.Path)
		out.To, out.Key = jobPath(v.Number, lookPath(record.AsLeft, q.Path)), f.T("point.tolook")
	case assess.PointHold:
		v.short(&out, q)
		out.To, out.Key = jobPath(v.Number, "/prove"), f.T("next.prove")
	case assess.PointDepart:
		v.departed(&out, q)
		step("point.step")
	case assess.PointUnsigned:
		say("point.unsigned", len(q.Steps), titles(f, q.Steps))
		out.To, out.Key = jobPath(v.Number, "/work"), f.T("work.title")
	case assess.PointUnread:
		out.Text = f.E(q.Unread.Reason)
		out.To, out.Key = jobPath(v.Number, "/history"), f.T("job.history")
	case assess.PointWorn:
		say("point.worn", q.Part)
		out.To, out.Key = jobPath(v.Number, "/choose"), f.T("next.choose")
	case assess.PointOverdue:
		say("point.overdue", titles(f, q.Steps))
		step("point.step")
	case assess.PointHanded:
		say("point.handed")
		out.To, out.Key = "#handover", f.T("next.hand")
	case assess.PointBill:
		say("point.bill")
		out.To, out.Key = "#bill", f.T("next.bill")
	}
	return out
}

// departed says a departure with its consequence; a joint of an earlier round has no departure, but its torque.
func (v *JobView) departed(out *pointView, q assess.Point) {
	if q.Depart == nil {
		t := q.Steps[0].Wrench
		said := v.F.saidTorque(t, t.Read, t.Got)
		out.Text = v.F.E(q.Steps[0].Title) + ": " + said.Lines[0]
		out.Figures = said.Lines[1:]
		return
	}
	d := v.departure(*q.Depart)
	out.Text, out.Figures = d.Text, d.Figures
}

// short says of each stroke that was held for less than the pump sheet asks for how much is missing, and what was held would have shown.
func (v *JobView) short(out *pointView, q assess.Point) {
	f := v.F
	out.Text = marked(f.T("point.hold"), true)
	for _, c := range q.Short {
		key := "point.hold.locked"
		if c.Stroke != "" {
			key = "point.hold." + c.Stroke
		}
		text := f.T(key, draw.Watched(c.Seconds), draw.Watched(c.Asked), draw.Watched(math.Ceil(c.Short())))
		if c.AtLimit > 0 {
			text += " " + f.T("point.hold.limit", draw.Short(c.AtLimit, unit.Length, f.Units))
		}
		out.Figures = append(out.Figures, marked(text, true))
	}
}

// stepTo is the page of the step that a point is about, or the order of work.
func (v *JobView) stepTo(q assess.Point) string {
	if len(q.Steps) == 1 && v.stepByID(q.Steps[0].ID) != nil {
		return jobPath(v.Number, "/step?id="+escape(q.Steps[0].ID))
	}
	return jobPath(v.Number, "/work")
}

// answer says who answered for a point: by a reason for it, by leaving a step out, or by using a tool all the same.
func (v *JobView) answer(q assess.Point) string {
	if q.By == nil {
		return ""
	}
	reason := ""
	switch {
	case q.Named != nil:
		reason = q.Named.Body.Reason
	case len(q.Steps) > 0 && q.Steps[0].Did != nil && q.Code == assess.PointOverdue:
		reason = q.Steps[0].Did.Despite
	case len(q.Steps) > 0 && q.Steps[0].Did != nil:
		reason = q.Steps[0].Did.Note
	}
	return v.F.T("point.answered", v.F.Person(q.By.By), v.F.When(q.By.At), reason)
}

// titles names steps in one line, the first few of many.
func titles(f *Frame, steps []*assess.Step) string {
	const most = 4
	var out []string
	for i, st := range steps {
		if i == most {
			out = append(out, "…")
			break
		}
		out = append(out, f.Told(st.Title))
	}
	return strings.Join(out, "; ")
}

// Ticked says whether a point was ticked in a form that was refused.
func (d *handPage) Ticked(id string) bool { return slices.Contains(d.Form.Values["point"], id) }
