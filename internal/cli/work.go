package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

type workFlags struct {
	replace, keep, turn, lap, hone []string
	all, build, override           string
}

// stepDoc is the JSON of one step.
type stepDoc struct {
	N        int      `json:"n"`
	ID       string   `json:"id"`
	Kind     string   `json:"kind"`
	Title    string   `json:"title"`
	Detail   string   `json:"detail"`
	Part     string   `json:"part,omitempty"`
	Stack    string   `json:"stack,omitempty"`
	Ring     int      `json:"ring,omitempty"`
	Lips     string   `json:"lips,omitempty"`
	Toward   string   `json:"lips_toward,omitempty"`
	Joint    string   `json:"joint,omitempty"`
	TorqueNM float64  `json:"torque_n_m,omitempty"`
	TolNM    float64  `json:"tolerance_n_m,omitempty"`
	StartMin float64  `json:"start_min"`
	WaitMin  float64  `json:"wait_min,omitempty"`
	Minutes  float64  `json:"minutes"`
	Cautions []string `json:"cautions,omitempty"`
	Why      string   `json:"why,omitempty"`
	After    []string `json:"after,omitempty"`

	Doubts []doubtDoc `json:"doubts,omitempty"` // what the joint, or what it presses, would not stand
}

type departDoc struct {
	Kind     string      `json:"kind"`
	Step     string      `json:"step,omitempty"`
	Text     string      `json:"text"`
	Figures  []figureDoc `json:"figures,omitempty"`
	NoFigure string      `json:"no_figure,omitempty"`
}

type figureDoc struct {
	What    string  `json:"what"`
	SI      float64 `json:"si"`
	Unit    string  `json:"unit"`
	AtLeast bool    `json:"at_least,omitempty"` // a rating: the true value is that or more
	Assumes string  `json:"assumes,omitempty"`
}

type workDoc struct {
	Pump       string       `json:"pump"`
	Steps      []stepDoc    `json:"steps,omitempty"`
	Override   *overrideDoc `json:"override,omitempty"`
	Departures []departDoc  `json:"departures,omitempty"`
}

func (a *app) workCmd() *cobra.Command {
	var f workFlags
	c := &cobra.Command{
		Use:   "work PUMP",
		Short: "The order of work for the parts chosen; or what a recorded build departed from",
		Long: `Prints the steps in an order that keeps every constraint: soaks early enough, rings one by one with their lips the right way,
joints with their torque, the hold at the end. It does not go through a joint or a packing set that would not stand what the sheet
asks of it, exit code 5, unless a person answers for that with --override; the name stands in the order. With --build it compares a recorded build and gives each departure's consequence.`,
		Example: `  evenstroke work orrin-30 --replace "piston leather ring" --turn "piston valve seat"
  evenstroke work tolsk-18 --all replace --units imperial
  evenstroke work orrin-30 --all replace --build orrin-build.yaml
  evenstroke work orrin-30 --all keep --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.runWork(f, args[0]) },
	}
	fl := c.Flags()
	fl.StringArrayVar(&f.replace, "replace", nil, "part to replace (may be repeated)")
	fl.StringArrayVar(&f.keep, "keep", nil, "part to take out, clean, measure and refit")
	fl.StringArrayVar(&f.turn, "turn", nil, "seat to turn over")
	fl.StringArrayVar(&f.lap, "lap", nil, "seat to lap with its ball")
	fl.StringArrayVar(&f.hone, "hone", nil, "cylinder to hone")
	fl.StringVar(&f.all, "all", "", "one action for every part that allows it: keep or replace")
	fl.StringVar(&f.build, "build", "", "recorded build to compare")
	fl.StringVar(&f.override, "override", "", `who answers for joints that would not stand their torque, and why: "NAME: REASON"`)
	fl.BoolVar(&a.strict, "strict", false, "exit with 3 when the build departs from the order of work, with 5 when a joint would not stand what it got")
	return c
}

func (f workFlags) chosen(p *pump.Pump) (pump.Chosen, error) {
	chosen := pump.Chosen{}
	switch f.all {
	case "":
	case string(pump.Keep), string(pump.Replace):
		chosen = p.All(pump.Action(f.all))
	default:
		return nil, badInput("--all: found %q; expected keep or replace", f.all)
	}
	for _, g := range []struct {
		parts  []string
		action pump.Action
	}{{f.replace, pump.Replace}, {f.keep, pump.Keep}, {f.turn, pump.TurnOver}, {f.lap, pump.Lap}, {f.hone, pump.Hone}} {
		for _, part := range g.parts {
			if _, ok := p.Part(part); !ok {
				var names []string
				for _, q := range p.Parts {
					names = append(names, q.Name)
				}
				return nil, notFound("part", part, p.Name, names)
			}
			chosen[part] = g.action
		}
	}
	return chosen, nil
}

func (a *app) runWork(f workFlags, name string) error {
	p, err := loadPump(name, "")
	if err != nil {
		return err
	}
	chosen, err := f.chosen(p)
	if err != nil {
		return err
	}
	if f.build != "" {
		return a.compareBuild(f, p, chosen)
	}
	steps, err := p.Work(chosen)
	if err != nil {
		return inputError{err}
	}
	over, err := a.overridden(steps, f.override)
	if err != nil {
		return err
	}
	if a.json {
		return a.printJSON(workDoc{Pump: p.Name, Steps: a.describeSteps(steps), Override: over})
	}
	a.printSteps(p, steps, over)
	return nil
}

func (a *app) describeSteps(steps []pump.Step) []stepDoc {
	var out []stepDoc
	for i, s := range steps {
		out = append(out, stepDoc{i + 1, s.ID, string(s.Kind), s.Title, s.Text(a.sys), s.Part, s.Stack, s.Ring, s.Lips, s.Toward, s.Joint,
			s.Torque, s.Tol, s.Start, s.Wait, s.Minutes, s.Cautions, s.Why, s.After, describeDoubts(s.Doubts, a.sys)})
	}
	return out
}

func (a *app) printSteps(p *pump.Pump, steps []pump.Step, over *overrideDoc) {
	last := steps[len(steps)-1]
	a.para("", "%s: %d steps, about %s", a.bold("Order of work for "+p.Name), len(steps), draw.Short(60*(last.Start+last.Minutes), unit.Time, a.sys))
	if over != nil {
		fmt.Fprintln(a.out, a.red(a.wrap(fmt.Sprintf("✘ goes through what would not stand it, by the word of %s: %s", over.By, over.Reason), "  ")))
	}
	for i, s := range steps {
		if s.Wait > 0 {
			fmt.Fprintf(a.out, "      wait %s\n", draw.Short(60*s.Wait, unit.Time, a.sys))
		}
		title := s.Title
		if s.Torque > 0 {
			title += ": " + a.show(s.Torque, unit.Torque)
		}
		title = strings.Replace(title, "lips "+s.Lips, "lips "+lips(s.Lips), 1)
		fmt.Fprintln(a.out, a.bold(a.hang(title, fmt.Sprintf("%4d  ", i+1), "      ")))
		if text := s.Text(a.sys); text != "" {
			fmt.Fprintln(a.out, a.wrap(text, "      "))
		}
		a.printDoubts(describeDoubts(s.Doubts, a.sys), "      ")
		for _, c := range s.Cautions {
			fmt.Fprintln(a.out, a.wrap("⚠ "+c, "      "))
		}
	}
	fmt.Fprintln(a.out)
	a.para("  ", "The maker's manual, local rules and licensed practice come first.")
}

// lips draws the way lips open before its word.
func lips(way string) string {
	return map[string]string{"up": "∨\u00a0up", "down": "∧\u00a0down"}[way]
}

func (a *app) compareBuild(f workFlags, p *pump.Pump, chosen pump.Chosen) error {
	data, _, err := loadText(f.build)
	if err != nil {
		return err
	}
	b, err := pump.ReadBuild(f.build, data)
	if err != nil {
		return err
	}
	deps, err := p.Departures(chosen, b, pump.Conditions{})
	if err != nil {
		return inputError{err}
	}
	if a.json {
		err = a.printJSON(workDoc{Pump: p.Name, Departures: describeDepartures(deps, a.sys)})
	} else {
		a.printDepartures(deps)
	}
	return errors.Join(err, a.departed(deps))
}

// departed is the exit code of --strict for a build.
func (a *app) departed(deps []pump.Departure) error {
	if slices.ContainsFunc(deps, func(d pump.Departure) bool { return d.Kind == pump.JointUnsound }) {
		return a.strictly(true)
	}
	if a.strict && len(deps) > 0 {
		return verdictError(exitNo)
	}
	return nil
}

func describeDepartures(deps []pump.Departure, sys unit.System) []departDoc {
	out := []departDoc{}
	for _, d := range deps {
		out = append(out, departDoc{Kind: string(d.Kind), Step: d.Step, Text: d.Text(sys), Figures: describeFigures(d.Figures), NoFigure: d.NoFigure})
	}
	return out
}

func (a *app) printDepartures(deps []pump.Departure) {
	if len(deps) == 0 {
		fmt.Fprintln(a.out, "  The build keeps the order of work.")
		return
	}
	fmt.Fprintf(a.out, "  %s from the order of work\n\n", count(len(deps), "departure"))
	for i, d := range deps {
		fmt.Fprintf(a.out, "%4d  %s\n", i+1, a.bold(string(d.Kind)))
		text := strings.TrimPrefix(strings.TrimSpace(d.Text(a.sys)), string(d.Kind)+": ")
		for _, line := range strings.Split(text, "\n") {
			fmt.Fprintln(a.out, a.wrap(line, "      "))
		}
		a.printRests(describeFigures(d.Figures), "      ")
	}
}
