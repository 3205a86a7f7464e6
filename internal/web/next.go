package web

import (
	"html/template"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
)

// next is the one obvious next action, and what may be done as well.
type next struct {
	Why  template.HTML
	Key  string
	To   string
	Post bool // the key sends a form
	Or   *next
}

// words of an action: the key of its text in the catalogue, and where its key leads.
var actions = map[assess.What]struct{ key, to string }{
	assess.DoHold: {"hold", "/found"}, assess.DoProve: {"prove", "/prove"}, assess.DoJudge: {"judge", ""}, assess.DoAgain: {"again", ""}, assess.DoLonger: {"longer", ""},
	assess.DoCheck: {"check", ""}, assess.DoStrip: {"strip", "/step?id="}, assess.DoReopen: {"reopen", "/again"}, assess.DoChoose: {"choose", "/choose"},
	assess.DoStep: {"step", "/step?id="}, assess.DoRun: {"run", "/run?from="}, assess.DoAnswer: {"answer", "/hand#open"}, assess.DoHandOver: {"hand", "/hand#handover"},
	assess.DoBill: {"bill", "/hand#bill"}, assess.DoClose: {"close", "/hand#close"},
}

// next fills in what comes next, for the person who looks.
func (s *Server) next(v *JobView) {
	a := s.Shop.Next(v.J, v.Work, v.F.Who)
	v.Action = a
	if a.What == assess.DoNothing {
		return
	}
	v.Next = v.doing(a, a.What)
	v.Next.Why = v.why(a)
	if a.Or != assess.DoNothing {
		or := v.doing(a, a.Or)
		v.Next.Or = &or
	}
}

// doing is the key of an action.
func (v *JobView) doing(a assess.Action, what assess.What) next {
	q := actions[what]
	out := next{Key: v.F.T("next." + q.key), To: q.to, Post: what == assess.DoReopen}
	switch what {
	case assess.DoJudge, assess.DoAgain, assess.DoLonger, assess.DoCheck:
		if out.To = holdPath(a.Hold); what == assess.DoCheck && a.Path != "" {
			out.To = lookPath(a.Hold, a.Path)
		}
	case assess.DoStrip:
		if v.Work.Next == nil {
			out.To = "/choose"
			break
		}
		out.To += escape(v.Work.Next.ID)
	case assess.DoStep:
		out.To += escape(a.StepID)
	case assess.DoRun:
		out.Key, out.To = v.F.T("next.run", a.Steps), out.To+escape(a.StepID)
	}
	out.To = jobPath(v.Number, out.To)
	return out
}

// why says why an action is next: by the case of the job, or the step or the check that it is about.
func (v *JobView) why(a assess.Action) template.HTML {
	f := v.F
	key := "case." + string(a.Case)
	switch a.What {
	case assess.DoStep, assess.DoRun:
		if st := v.stepByID(a.StepID); st != nil {
			return f.E(st.Title)
		}
	case assess.DoCheck:
		if a.Path != "" {
			return marked(f.T("case.look", a.Path), true)
		}
		if do := v.checkOf(a.Hold); do != "" {
			return f.E(do)
		}
	case assess.DoAgain:
		return marked(f.T(key, a.Reading), true)
	case assess.DoLonger:
		stroke := a.Stroke
		if stroke == "" {
			stroke = "both"
		}
		return marked(f.T(key, f.T("longer."+stroke), draw.Watched(float64(a.Seconds))), true)
	case assess.DoAnswer:
		if a.Case == assess.CaseAnswer {
			return marked(f.T(key, a.Open), true)
		}
	}
	return marked(f.T(key), true)
}

// lookPath is the page on which drops are counted at a path.
func lookPath(h record.HoldStage, path string) string {
	return "/readings?hold=" + escape(string(h)) + "&kind=drips&path=" + escape(path) + "&check=look" // with what the look is made at filled in; its minute is begun by hand
}

// checkOf is what the last verdict of a hold would check next, "" when it says nothing.
func (v *JobView) checkOf(h record.HoldStage) string {
	l := v.J.Verdict(h)
	if l == nil {
		return ""
	}
	vv, err := v.verdict(l.Body, l.Entry)
	if err != nil || len(vv.Checks) == 0 {
		return ""
	}
	return vv.Checks[0].Do
}

// rung is one stage of the rail of a job.
type rung struct {
	N                           int
	State, To, Word, Say, Count string
}

// railStep is a stage on the rail; the pump is made safe between the hold as found and the strip.
type railStep struct {
	stage record.Stage
	phase assess.Phase
	to    string
}

var railSteps = []railStep{
	{record.StageBooked, "", ""}, {record.StageFound, "", "/found"}, {record.StageStrip, assess.PhaseSafe, "/work#phase-safe"}, {record.StageStrip, assess.PhaseStrip, "/work#phase-strip"},
	{record.StageChoose, "", "/choose"}, {record.StageBuild, assess.PhaseBuild, "/work#phase-build"}, {record.StageProve, "", "/prove"}, {record.StageHand, "", "/hand"}, {record.StageClosed, "", "/report"},
}

// rail marks the stages: where the next action belongs is now, and a stage is done when it is past and nothing of its work is left.
func (v *JobView) rail() {
	at, now := v.Action.Stage, -1
	safe := v.Action.Case == assess.CaseSafe || v.Action.Case == assess.CaseSoak && !v.settled(assess.PhaseSafe)
	for i, q := range railSteps {
		if q.stage == at && now < 0 && (q.phase != assess.PhaseSafe || safe) {
			now = i
		}
	}
	for i, q := range railSteps {
		g := rung{N: i + 1, State: "todo", Word: v.F.stage(q.stage), Say: v.F.T("rail.todo"), To: jobPath(v.J.Number, q.to)}
		if q.phase == assess.PhaseSafe {
			g.Word = v.F.T("stage.safe")
		}
		if c := v.Work.Progress[q.phase]; q.phase != "" && c.Of > 0 && c.Done < c.Of {
			g.Count = v.F.T("work.progress", c.Done, c.Of)
		}
		switch {
		case i == now:
			g.State = "now"
		case !v.Open || i < now && v.settled(q.phase):
			g.State, g.Say, g.Count = "done", v.F.T("rail.done"), ""
		case i < now:
			g.State, g.Say = "open", v.F.T("rail.open")
		default:
			g.Count = ""
		}
		v.Rail = append(v.Rail, g)
	}
}

// settled says that nothing of a phase is left to do. A phase of which the order of work has no step was never begun; what nobody had to do
// is as good as done.
func (v *JobView) settled(ph assess.Phase) bool {
	c := v.Work.Progress[ph]
	return c.Done == c.Of
}
