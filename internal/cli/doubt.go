package cli

import (
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// doubtDoc is the JSON of what a joint or a packing set would not stand, or of what can hardly be on a sheet.
type doubtDoc struct {
	Kind    string      `json:"kind"`
	Joint   string      `json:"joint,omitempty"`
	Stack   string      `json:"stack,omitempty"`
	Line    int         `json:"line,omitempty"` // of the pump sheet
	Key     string      `json:"key,omitempty"`
	Text    string      `json:"text"`
	Figures []figureDoc `json:"figures,omitempty"`
}

func describeDoubts(ds []pump.Doubt, sys unit.System) []doubtDoc {
	var out []doubtDoc
	for _, d := range ds {
		out = append(out, doubtDoc{string(d.Kind), d.Joint, d.Stack, d.Line, d.Key, d.Text(sys), describeFigures(d.Figures)})
	}
	return out
}

func describeFigures(fs []pump.Figure) []figureDoc {
	var out []figureDoc
	for _, g := range fs {
		out = append(out, figureDoc{g.What, g.SI, g.Dim.SI(), g.AtLeast, g.Assumes})
	}
	return out
}

// printDoubts prints each doubt, in red on a terminal, and what its figures rest on.
func (a *app) printDoubts(ds []doubtDoc, indent string) {
	for _, d := range ds {
		where := ""
		if d.Line > 0 {
			where = fmt.Sprintf("line %d, %s: ", d.Line, d.Key)
		}
		fmt.Fprintln(a.out, a.red(a.wrap("✘ "+where+d.Text, indent)))
		a.printRests(d.Figures, indent+"  ")
	}
}

// printRests says what figures rest on beside the sheet, each reason once.
func (a *app) printRests(fs []figureDoc, indent string) {
	var reasons []string
	seen := map[string]bool{"": true}
	for _, f := range fs {
		for _, reason := range strings.Split(f.Assumes, "; ") {
			if !seen[reason] {
				seen[reason] = true
				reasons = append(reasons, reason)
			}
		}
	}
	if len(reasons) > 0 {
		fmt.Fprintln(a.out, a.wrap("rests on: "+strings.Join(reasons, "; "), indent))
	}
}

// strictly is the exit code of --strict when there are doubts.
func (a *app) strictly(doubts bool) error {
	if a.strict && doubts {
		return verdictError(exitOverload)
	}
	return nil
}

// overloadError is an order of work through joints or packing sets that would not stand it, without the name of a person who answers
// for that.
type overloadError struct {
	doubts []doubtDoc
}

func (e overloadError) Error() string {
	lines := []string{"no order of work: a joint or a packing set would not stand what the sheet asks of it. Mend the sheet, or answer for it with --override \"NAME: REASON\""}
	for _, d := range e.doubts {
		lines = append(lines, "✘ "+strings.TrimSpace(d.Joint+" "+d.Stack)+": "+d.Text)
	}
	return strings.Join(lines, "\n")
}

// overrideDoc is the JSON of who answers for an order of work that goes through what would not stand it.
type overrideDoc struct {
	By     string     `json:"by"`
	Reason string     `json:"reason"`
	Doubts []doubtDoc `json:"doubts"`
}

// overridden lets an order of work through: nil when it has no doubts, who answers for it, or an overloadError.
func (a *app) overridden(steps []pump.Step, override string) (*overrideDoc, error) {
	var doubts []doubtDoc
	for _, s := range steps {
		doubts = append(doubts, describeDoubts(s.Doubts, a.sys)...)
	}
	by, reason, ok := strings.Cut(override, ":")
	by, reason = strings.TrimSpace(by), strings.TrimSpace(reason)
	switch {
	case override != "" && (!ok || by == "" || reason == ""):
		return nil, badInput("--override: found %q; expected a person's name and a reason, as \"T. Brand: studs of a better class\"", override)
	case len(doubts) == 0:
		return nil, nil
	case override == "":
		return nil, overloadError{doubts}
	}
	return &overrideDoc{by, reason, doubts}, nil
}
