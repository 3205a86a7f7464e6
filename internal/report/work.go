package report

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// stepView is one step of the order of work in words.
type stepView struct {
	N                       int
	Title, Detail, Why      string
	Torque, Tolerance, Wait string
	Lips                    string
	Picture                 template.HTML // of the lips
	svg                     string        // the same, with its colours, for paper
	Done                    []string      // who and when
	Cautions                string        // numbers of the cautions that belong to it
}

type departureView struct{ Kind, Step, Text string }

type torqueView struct {
	Name, Thread, Torque, Tool, With, Set, Clamp, Read string
	Outside                                            bool
}

// work fills the order of work. Cautions are said once, numbered, before the steps; a step names their numbers.
func (v *view) work(doc Document) {
	v.Cautions = append(v.Cautions, doc.Say.all(doc.Cautions)...)
	pictures := map[string]string{}
	used := make([]bool, len(doc.SignOffs))
	for i, raw := range doc.Steps {
		s := doc.Say.Step(raw)
		k := stepView{N: i + 1, Title: s.Title, Detail: s.Text(doc.Units), Why: s.Why, Lips: doc.Words.lips(s.Lips)}
		if s.Torque > 0 {
			k.Torque = doc.Units.Show(s.Torque, unit.Torque)
		}
		if s.Torque > 0 && s.Tol > 0 {
			k.Tolerance = "± " + doc.Units.Show(s.Tol, unit.Torque)
		}
		if s.Wait > 0 {
			k.Wait = doc.Words.t("steps.wait", "time", doc.Units.Show(60*s.Wait, unit.Time))
		}
		if s.Lips != "" {
			if _, ok := pictures[s.Lips]; !ok {
				pictures[s.Lips] = draw.Lips(s.Lips, draw.In(doc.Say))
			}
			k.svg = pictures[s.Lips]
			k.Picture = inline(k.svg)
		}
		var numbers []int
		for _, c := range s.Cautions {
			n := slices.Index(v.Cautions, c)
			if n < 0 {
				n = len(v.Cautions)
				v.Cautions = append(v.Cautions, c)
			}
			numbers = append(numbers, n+1)
		}
		slices.Sort(numbers)
		k.Cautions = list(numbers)
		k.Done = signedOff(doc, raw, used)
		v.Steps = append(v.Steps, k)
	}
	for n, q := range doc.SignOffs {
		if !used[n] {
			v.SignOffs = append(v.SignOffs, q)
		}
	}
	for _, d := range doc.Departures {
		v.Departures = append(v.Departures, doc.departure(d))
	}
}

func (doc Document) departure(d pump.Departure) departureView {
	v := departureView{Kind: doc.Say.t(string(d.Kind)), Text: doc.Words.Departure(d, doc.Say, doc.Units)}
	if d.Step != "" {
		v.Step = doc.Say.StepName(d.Step)
	}
	return v
}

// lips names the direction of lips.
func (w Words) lips(dir string) string {
	switch dir {
	case "up":
		return w.t("lips.up")
	case "down":
		return w.t("lips.down")
	}
	return dir
}

// signedOff says who signed a step off and when, and marks those lines as used.
func signedOff(doc Document, s pump.Step, used []bool) []string {
	var out []string
	for n, q := range doc.SignOffs {
		if q.What == "" || q.What != s.ID && q.What != s.Title {
			continue
		}
		used[n] = true
		if q.When == "" {
			out = append(out, doc.Words.t("steps.doneBy", "who", q.Who))
		} else {
			out = append(out, doc.Words.t("steps.done", "who", q.Who, "when", q.When))
		}
	}
	return out
}

// list writes numbers with commas between them.
func list(numbers []int) string {
	out := make([]string, len(numbers))
	for i, n := range numbers {
		out[i] = strconv.Itoa(n)
	}
	return strings.Join(out, ", ")
}

func (v *view) torques(doc Document) {
	sys := doc.Units
	for _, q := range doc.Torques {
		k := torqueView{Name: q.Joint.Name, Thread: q.Joint.Thread, Torque: sys.Show(q.Joint.Torque, unit.Torque), Tool: doc.Say.t(q.Joint.Spanner), With: q.With, Outside: q.Outside}
		if q.Joint.Tol > 0 {
			k.Torque += " ± " + sys.Show(q.Joint.Tol, unit.Torque)
		}
		if q.Joint.Adapter > 0 {
			k.Tool = strings.TrimPrefix(k.Tool+", "+doc.Words.t("torques.adds", "length", sys.Show(q.Joint.Adapter, unit.Length)), ", ")
		}
		if a := q.Analysis; a != nil {
			k.Set = sys.Show(a.Wrench.Set, unit.Torque)
			k.Clamp = draw.Range(a.Clamp.Q05, a.Clamp.Q95, unit.Force, sys)
		}
		if q.Read > 0 {
			k.Read = sys.Show(q.Read, unit.Torque)
		}
		v.AnyRead, v.AnySet, v.AnyClamp = v.AnyRead || k.Read != "", v.AnySet || k.Set != "", v.AnyClamp || k.Clamp != ""
		v.Tool = v.Tool || k.Tool != "" || k.With != ""
		v.Torques = append(v.Torques, k)
	}
}

// unknown collects what the report does not know: what the caller says, what the results assume, what is missing.
func unknown(doc Document) []string {
	w, out := doc.Words, slices.Clone(doc.Unknown)
	add := func(s string) {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, h := range doc.Holds {
		for _, a := range h.Result.Assumed {
			add(w.t("unknown.assumed", "what", doc.Say.t(a)))
		}
		if h.Result.StdErr > 0 {
			add(w.t("unknown.draws", "draws", strconv.Itoa(h.Result.Draws), "error", w.Share(h.Result.StdErr)))
		}
	}
	if len(doc.Holds) == 0 {
		add(w.t("unknown.noHold"))
	}
	if slices.ContainsFunc(doc.Torques, func(q Torque) bool { return q.Analysis != nil }) {
		add(w.t("unknown.clamps"))
	}
	for _, s := range doc.Stacks {
		if s.Analysis == nil {
			add(w.t("unknown.stack", "stack", s.Name))
		}
	}
	return out
}

// Share writes a small ratio with one digit, never as nothing.
func (w Words) Share(x float64) string {
	if x < 0.001 {
		return w.t("unknown.under")
	}
	return unit.Format(x, unit.Ratio, "%", 1)
}
