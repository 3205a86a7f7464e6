package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"sort"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

type holdFlags struct {
	pump, prior, svg string
	lines, ask       bool
	seed             uint64
	noNext           bool
}

func (a *app) holdCmd() *cobra.Command {
	var f holdFlags
	c := &cobra.Command{
		Use:   "hold [HOLD]",
		Short: "Analyse the readings of a hold: does it hold, what leaks, what to check next",
		Long: `Reads a hold sheet (YAML or JSON) and says whether the pump holds, which path leaks with what probability and flow, and which
check is worth doing next. With --ask it asks for the readings, says at once what cannot be, and saves every answer in the hold sheet HOLD;
when that file is there already, it goes on with it. With --lines it reads one JSON hold sheet a line from the
standard input and writes one JSON result a line, in the same order.`,
		Example: `  evenstroke hold orrin-as-found.yaml
  evenstroke hold orrin-as-found-2.yaml --prior shop-prior.yaml --units imperial
  evenstroke hold tolsk-as-found.yaml --json
  evenstroke hold varn-as-found.yaml --svg varn-leakmap.svg`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.runHold(f, args) },
	}
	c.Flags().StringVar(&f.pump, "pump", "", "pump sheet to use instead of the one the hold sheet names")
	c.Flags().StringVar(&f.prior, "prior", "", "prior file with the shop's own rates")
	c.Flags().StringVar(&f.svg, "svg", "", "also draw the leak map into this SVG file (- for the standard output)")
	c.Flags().BoolVar(&f.lines, "lines", false, "batch: one JSON document a line, in and out")
	c.Flags().BoolVar(&f.ask, "ask", false, "ask for the readings; the answers are saved in HOLD, or in a new file named after the pump")
	c.Flags().BoolVar(&f.noNext, "no-next", false, "do not rank the next checks")
	c.Flags().Uint64Var(&f.seed, "seed", 1, "seed of the draws; the same seed gives the same answer")
	c.Flags().BoolVar(&a.strict, "strict", false, "exit with 3 on \"does not hold\", 4 on \"not proven yet\"")
	return c
}

func (a *app) runHold(f holdFlags, args []string) error {
	pr, err := loadPrior(f.prior)
	if err != nil {
		return err
	}
	if f.lines {
		return a.holdLines(f, pr)
	}
	if len(args) == 0 && !f.ask {
		return badInput("hold: found no hold sheet; expected a file, or --ask, or --lines")
	}
	file := strings.Join(args, "")
	s, dir, err := a.loadHold(f, file)
	if err != nil {
		return err
	}
	p, err := pumpOf(f, s, file, dir)
	if err != nil {
		return err
	}
	quiet, err := a.takesStdout(written{"--svg", f.svg})
	if err != nil {
		return err
	}
	r, err := hold.Analyse(p, s, pr, hold.Options{Seed: f.seed, Next: !f.noNext})
	if err != nil {
		return named(file, asInput(err))
	}
	if f.svg != "" {
		if err := a.writeFile(f.svg, []byte(draw.LeakMap(p, r, a.sys))); err != nil {
			return err
		}
	}
	switch {
	case quiet:
	case a.json:
		err = a.printJSON(r)
	default:
		a.printHold(p, r)
		if f.svg != "" {
			fmt.Fprintf(a.out, "\n  leak map: %s\n", f.svg)
		}
	}
	return errors.Join(err, a.verdictCode(r))
}

// pumpOf loads the pump of a hold sheet, file in dir: the one of the flag, else the one that the sheet names.
func pumpOf(f holdFlags, s *hold.Sheet, file, dir string) (*pump.Pump, error) {
	if f.pump != "" {
		return loadPump(f.pump, "")
	}
	p, err := loadPump(s.Pump, dir)
	return p, named(file, err)
}

func (a *app) verdictCode(r *hold.Result) error {
	if !a.strict {
		return nil
	}
	switch r.Verdict.Word {
	case hold.DoesNotHold:
		return verdictError(exitNo)
	case hold.NotProven:
		return verdictError(exitUnproven)
	}
	return nil
}

func loadPrior(name string) (*hold.Prior, error) {
	if name == "" {
		return hold.DefaultPrior(), nil
	}
	data, _, err := loadText(name)
	if err != nil {
		return nil, err
	}
	return hold.ReadPrior(name, data)
}

func (a *app) loadHold(f holdFlags, file string) (*hold.Sheet, string, error) {
	if f.ask {
		return a.ask(f.pump, file)
	}
	data, dir, err := loadText(file)
	if err != nil {
		return nil, "", err
	}
	open := func(name string) ([]byte, error) { return readFile(filepath.Join(dir, name)) }
	s, err := hold.ReadSheet(file, data, open)
	return s, dir, err
}

var verdictSign = map[string]string{hold.Holds: "✔", hold.DoesNotHold: "✘", hold.NotProven: "…"}

func (a *app) printHold(p *pump.Pump, r *hold.Result) {
	title := r.Pump
	if r.Serial != "" {
		title += ", serial " + r.Serial
	}
	v := r.Verdict
	fmt.Fprintf(a.out, "%s, %s\n\n  %s\n", title, r.Stage, a.bold(verdictSign[v.Word]+" "+strings.ToUpper(v.Word)))
	fmt.Fprintln(a.out, "  chance that it meets its limit: "+draw.Chance(v.Meets))
	for _, f := range draw.Findings(p, r, a.sys) {
		fmt.Fprintln(a.out, a.wrap(f, "  "))
	}
	for _, n := range v.Need {
		fmt.Fprintln(a.out, a.wrap("to settle it: "+n.Text, "  "))
	}
	fmt.Fprintln(a.out)
	a.printSection(p, r)
	a.printSets(r)
	for _, g := range r.Groups {
		fmt.Fprintln(a.out, a.wrap("these readings cannot tell apart: "+strings.Join(g, ", "), "  "))
	}
	for _, d := range r.Doubts {
		fmt.Fprintln(a.out, a.wrap("! "+d.Text, "  "))
	}
	a.printNext(r)
	fmt.Fprintln(a.out, "\n"+a.wrap("rests on: "+strings.Join(r.Assumed, "; "), "  "))
}

func (a *app) printSets(r *hold.Result) {
	fmt.Fprintln(a.out)
	t := table{head: []string{"what is at fault", "probability"}}
	for i, s := range r.Sets {
		if i > 0 && (s.P < 0.02 || i >= 6) {
			break
		}
		name := strings.Join(s.Paths, " + ")
		if name == "" {
			name = "nothing"
		}
		t.add(name, draw.Chance(s.P))
	}
	t.print(a.out, a.width())
}

func (a *app) printNext(r *hold.Result) {
	if len(r.Next) == 0 {
		return
	}
	c := r.Next[0]
	fmt.Fprintf(a.out, "\n  %s\n%s\n", a.bold("NEXT CHECK"), a.wrap(c.Do, "  "))
	fmt.Fprintln(a.out, a.wrap(fmt.Sprintf("tells: %s (%s)", c.Settles, a.effort(c)), "  "))
	for _, h := range c.Hazards {
		fmt.Fprintln(a.out, a.wrap("⚠ "+h, "  "))
	}
	for i, c := range r.Next[1:] {
		if i == 0 {
			fmt.Fprintln(a.out, "\n  or:")
		}
		if i < 3 {
			fmt.Fprintln(a.out, a.hang(fmt.Sprintf("%s (%s)", c.Do, a.effort(c)), "  – ", "    "))
		}
	}
}

// effort says what a check takes and how much it tells.
func (a *app) effort(c hold.Check) string {
	return fmt.Sprintf("about %s, %.2f\u00a0bit", draw.Short(60*c.Minutes, unit.Time, a.sys), c.Bits)
}

// printSection draws the pump from top to bottom with each leak path at its place, as text.
func (a *app) printSection(p *pump.Pump, r *hold.Result) {
	share := map[string]hold.PathShare{}
	for _, q := range r.Paths {
		share[q.Path] = q
	}
	level := levels(p)
	paths := p.Map().Paths
	sort.SliceStable(paths, func(i, j int) bool { return place(level, paths[i]) < place(level, paths[j]) })
	name := length("leak map") - 2
	for _, q := range paths {
		name = max(name, length(q.Name))
	}
	cells := min(max(a.width()-name-36, 0), 12) // what the other columns leave for the bars
	row := func(first, bars, chance, flow string) {
		fmt.Fprintln(a.out, strings.TrimRight(fmt.Sprintf("  %-*s  %-*s %-10s %s", name+2, first, cells, bars, chance, flow), " "))
	}
	row("leak map", "", "at fault", "flow at rated")
	var last string
	for _, q := range paths {
		if at := boundary(level, q); at != last {
			fmt.Fprintln(a.out, "  "+at)
			last = at
		}
		s := share[q.Name]
		flow := ""
		if draw.Suspect(s.P) {
			flow = draw.FlowRange(s.Flow, a.sys)
		}
		row("│ "+q.Name, bar(s.P, cells), draw.Chance(s.P), flow)
	}
	fmt.Fprintln(a.out, a.wrap("flow: at rated pressure, if that path is at fault; nine in ten lie in the range", "  "))
}

// levels orders the nodes from the top of the pump to its bottom; what is outside the cylinder stands beside it.
func levels(p *pump.Pump) map[string]int {
	l := map[string]int{pump.Air: 0, pump.Suction: 40, pump.Line: 60, pump.Pail: 70}
	for _, c := range p.Chambers {
		if c.Rod {
			l[c.Name] = 10
		} else {
			l[c.Name] = 20
		}
	}
	return l
}

func place(level map[string]int, q pump.Path) int {
	a, b := level[q.From], level[q.To]
	if a == 60 && (b == 0 || b == 70) {
		return 1000 + b
	}
	return min(a, b)*100 + max(a, b)
}

func boundary(level map[string]int, q pump.Path) string {
	a, b := q.From, q.To
	if level[a] > level[b] {
		a, b = b, a
	}
	return fmt.Sprintf("┌ %s / %s", a, b)
}
