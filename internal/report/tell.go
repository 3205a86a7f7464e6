package report

import (
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Say gives a sentence of the science packages, which say all in English, in the language of the texts, or as it is when it has no
// translation.
type Say func(english string) string

func (s Say) t(english string) string {
	if s == nil {
		return english
	}
	return s(english)
}

// all says a list.
func (s Say) all(english []string) []string {
	out := make([]string, len(english))
	for i, e := range english {
		out[i] = s.t(e)
	}
	return out
}

// Step gives a step in the language of the texts. Its quantities, which stand in it by name, are filled in after that.
func (s Say) Step(p pump.Step) pump.Step {
	p.Title, p.Detail, p.Why, p.Cautions = s.t(p.Title), s.t(p.Detail), s.t(p.Why), s.all(p.Cautions)
	return p
}

// StepName names a step by its ID, which the catalogue has in quotes.
func (s Say) StepName(id string) string { return strings.Trim(s.t(`"`+id+`"`), `"`) }

// Departure says what a departure is and what it costs, without its kind.
func (w Words) Departure(d pump.Departure, say Say, sys unit.System) string {
	fill := func(english string) string {
		return pump.Step{Detail: say.t(english), Quantities: d.Quantities}.Text(sys)
	}
	s := w.t("departures.text", "found", fill(d.Found), "want", fill(d.Want))
	if d.Why != "" {
		s += " " + say.t(d.Why)
	}
	if len(d.Figures) > 0 {
		parts := make([]string, len(d.Figures))
		for i, f := range d.Figures {
			parts[i] = say.t(f.What) + ": " + w.Figure(f, sys)
		}
		s += " " + w.t("departures.numbers", "figures", strings.Join(parts, "; "))
		if rests := restsOn(d.Figures, say); rests != "" {
			s += " " + w.t("departures.rests", "what", rests)
		}
	}
	if d.NoFigure != "" {
		s += " " + w.t("departures.noNumber", "why", say.t(d.NoFigure))
	}
	return s
}

// Figure writes the value of a figure; one that is a rating says that the true value is that or more.
func (w Words) Figure(f pump.Figure, sys unit.System) string {
	if f.AtLeast {
		return w.t("departures.atLeast", "value", f.Show(sys))
	}
	return f.Show(sys)
}

// restsOn lists what figures rest on beside the sheet, each reason once.
func restsOn(fs []pump.Figure, say Say) string {
	var out []string
	for _, f := range fs {
		for reason := range strings.SplitSeq(f.Assumes, "; ") {
			if said := say.t(reason); reason != "" && !slices.Contains(out, said) {
				out = append(out, said)
			}
		}
	}
	return strings.Join(out, "; ")
}
