package report

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/unit"
)

// holdView is one hold in words and pictures.
type holdView struct {
	Heading, Sentence   string
	Word, Class, Chance string        // of the verdict
	Wide, Narrow        template.HTML // leak map
	svg                 string        // the wide one, with its colours, for paper
	Paths               []pathRow
	Groups              []string
	Doubts              []string
	Needs               []string
	Next                []checkView
	Readings            []string
	Curves              []pictures
	Sound               string
}

type pathRow struct{ Name, Chance, Flow, Overall, How string }

type checkView struct {
	Do, Settles, About string
	Hazards            []string
}

func newHold(doc Document, h Hold) (holdView, error) {
	r, sys := h.Result, doc.Units
	v := holdView{Heading: h.Heading, svg: draw.LeakMap(doc.Pump, r, sys, draw.In(doc.Say)), Narrow: inline(draw.LeakMapNarrow(doc.Pump, r, sys, draw.In(doc.Say)))}
	v.Wide = inline(v.svg)
	if v.Heading == "" {
		stage := doc.Say.t(r.Stage)
		v.Heading = strings.ToUpper(stage[:min(1, len(stage))]) + stage[min(1, len(stage)):]
	}
	if v.Heading == "" {
		v.Heading = doc.Words.t("hold")
	}
	v.Word, v.Class, v.Chance = doc.Words.verdict(r.Verdict.Word), verdictClass(r.Verdict.Word), doc.Say.t(draw.Chance(r.Verdict.Meets))
	v.Sentence = doc.Words.t("hold.sentence", "verdict", v.Word, "chance", v.Chance)
	v.paths(r, sys, doc.Say)
	for _, s := range r.Sets {
		if len(s.Paths) == 0 {
			v.Sound = doc.Say.t(draw.Chance(s.P))
		}
	}
	for _, g := range r.Groups {
		v.Groups = append(v.Groups, strings.Join(g, ", "))
	}
	for _, d := range r.Doubts {
		v.Doubts = append(v.Doubts, doc.Say.t(d.Text))
	}
	for _, n := range r.Verdict.Need {
		v.Needs = append(v.Needs, doc.Say.t(n.Text))
	}
	v.checks(r.Next, doc.Words, doc.Say, sys)
	if h.Sheet == nil {
		return v, nil
	}
	for _, q := range h.Sheet.Readings {
		q.Sign = doc.Say.t(q.Sign)
		v.Readings = append(v.Readings, doc.Words.reading(q, doc.Pump, sys))
	}
	for _, q := range draw.HoldCurves(doc.Pump, h.Sheet) {
		p, err := plot(q, sys, doc.Say)
		if err != nil {
			return v, err
		}
		v.Curves = append(v.Curves, p)
	}
	return v, nil
}

// checks lists the next checks. A hazard is said in full at the first check that has it, after that by the number of that check.
func (v *holdView) checks(next []hold.Check, w Words, say Say, sys unit.System) {
	said := map[string]int{}
	for i, c := range next {
		k := checkView{Do: say.t(c.Do), Settles: w.t("hold.settles", "what", say.t(c.Settles)), About: w.t("hold.about", "minutes", draw.Short(60*c.Minutes, unit.Time, sys))}
		var again []string
		for _, h := range c.Hazards {
			if n, ok := said[h]; !ok {
				said[h] = i + 1
				k.Hazards = append(k.Hazards, say.t(h))
			} else if s := strconv.Itoa(n); !slices.Contains(again, s) {
				again = append(again, s)
			}
		}
		if len(again) > 0 {
			k.Hazards = append(k.Hazards, w.t("hold.again", "checks", strings.Join(again, ", ")))
		}
		v.Next = append(v.Next, k)
	}
}

// paths fills the table, the likeliest path first.
func (v *holdView) paths(r *hold.Result, sys unit.System, say Say) {
	paths := slices.Clone(r.Paths)
	slices.SortStableFunc(paths, func(a, b hold.PathShare) int {
		switch {
		case a.P > b.P:
			return -1
		case a.P < b.P:
			return 1
		}
		return 0
	})
	for _, q := range paths {
		v.Paths = append(v.Paths, pathRow{q.Path, say.t(draw.Chance(q.P)), say.t(draw.FlowRange(q.Flow, sys)), say.t(draw.FlowRange(q.Overall, sys)), how(q.How, say)})
	}
}

// how names the two likeliest ways in which a path is at fault.
func how(shares map[string]float64, say Say) string {
	names := make([]string, 0, len(shares))
	for name := range shares {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if shares[a] != shares[b] {
			if shares[a] > shares[b] {
				return -1
			}
			return 1
		}
		return strings.Compare(a, b)
	})
	var out []string
	for _, name := range names[:min(2, len(names))] {
		out = append(out, say.t(name)+" "+say.t(draw.Chance(shares[name])))
	}
	return strings.Join(out, ", ")
}
