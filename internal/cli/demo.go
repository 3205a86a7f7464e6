package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

func (a *app) demoCmd() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use:   "demo",
		Short: "Do the demo workshop's whole job: as found, next check, order of work, build, proof, report",
		Long: `Takes one pump of the demo workshop (the coatings workshop of the invented Aldersay ferry yard) through the whole job and
writes its files: pump sheets, hold sheets, a prior, a build record, pictures, a simulated trace and the report. All invented.`,
		Example: `  evenstroke demo
  evenstroke demo --dir my-folder --units imperial`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return a.runDemo(dir) },
	}
	c.Flags().StringVar(&dir, "dir", "evenstroke-demo", "folder to write into")
	return c
}

// demoSerial is the serial number of the demo pump.
const demoSerial = "ALD-0417"

// demoJob is the demo pump on its way through the shop.
type demoJob struct {
	dir    string
	p      *pump.Pump
	chosen pump.Chosen
	found  *hold.Result // from the first readings
	again  *hold.Result // with the check that was asked for
	left   *hold.Result
	steps  []pump.Step
	deps   []pump.Departure
	traces []*stroke.Trace // as found, rebuilt
	moves  []string        // what was simulated, by trace
	files  [][2]string     // names and what they are
}

func (a *app) runDemo(dir string) error {
	if err := writeDemoFiles(dir); err != nil {
		return err
	}
	p, err := loadPump("orrin-30", "")
	if err != nil {
		return err
	}
	j := &demoJob{dir: dir, p: p, chosen: demoChoice()}
	if !a.json {
		a.chapter("The demo workshop: coatings workshop of the Aldersay ferry yard. Everything in it is invented.")
		a.para("  ", "On the bench: %s, serial %s. Complaint: creeps at the stall with the gun shut.", p.Name, demoSerial)
	}
	for _, part := range []struct {
		do   func(*demoJob) error
		tell func(*demoJob)
	}{{demoFound, a.tellFound}, {demoWork, a.tellWork}, {demoBuild, a.tellBuild}, {demoProof, a.tellProof}, {demoMove, a.tellMove}, {a.demoReport, a.tellFiles}} {
		if err := part.do(j); err != nil {
			return err
		}
		if !a.json {
			part.tell(j)
		}
	}
	if a.json {
		return a.printJSON(describeDemo(a, j))
	}
	return nil
}

// demoChoice is what the workshop decided after the second analysis.
func demoChoice() pump.Chosen {
	return pump.Chosen{
		"piston leather ring": pump.Replace, "piston polyethylene ring": pump.Replace, "throat leather ring": pump.Replace,
		"throat polyethylene ring": pump.Replace, "cylinder": pump.Keep, "rod": pump.Keep, "piston valve seat": pump.TurnOver, "piston valve ball": pump.Replace,
	}
}

func writeDemoFiles(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return badInput("%s: cannot make the folder: %v", dir, err)
	}
	for _, name := range demo.Names() {
		data, ok := demo.File(name)
		if !ok {
			return fmt.Errorf("demo file %s is missing", name)
		}
		if err := outfile.Write(filepath.Join(dir, name), data); err != nil {
			return err
		}
	}
	for _, name := range pump.Demo() {
		data, err := pump.DemoSheet(name)
		if err != nil {
			return err
		}
		if err := outfile.Write(filepath.Join(dir, name+".yaml"), data); err != nil {
			return err
		}
	}
	return nil
}

func (a *app) chapter(title string) {
	fmt.Fprintf(a.out, "\n%s\n%s\n", a.bold(a.wrap(title, "")), strings.Repeat("─", min(a.width(), 78)))
}

// hold analyses one of the demo's hold sheets.
func (j *demoJob) hold(name string) (*hold.Result, error) {
	data, ok := demo.File(name)
	if !ok {
		return nil, fmt.Errorf("demo file %s is missing", name)
	}
	s, err := hold.ReadSheet(name, data, nil)
	if err != nil {
		return nil, err
	}
	pr, err := loadPrior("shop-prior.yaml")
	if err != nil {
		return nil, err
	}
	return hold.Analyse(j.p, s, pr, hold.Options{Seed: 1, Next: true})
}

func demoFound(j *demoJob) (err error) {
	if j.found, err = j.hold("orrin-as-found.yaml"); err != nil {
		return err
	}
	j.again, err = j.hold("orrin-as-found-2.yaml")
	return err
}

func (a *app) tellFound(j *demoJob) {
	a.chapter("1  As found: a mark on the rod, a stopwatch, a gauge")
	a.printHold(j.p, j.found)
	a.chapter("2  The same with the check that was asked for: creep at lower pressures")
	a.printHold(j.p, j.again)
}

func demoWork(j *demoJob) (err error) {
	j.steps, err = j.p.Work(j.chosen)
	return err
}

func (a *app) tellWork(j *demoJob) {
	last := j.steps[len(j.steps)-1]
	a.chapter(fmt.Sprintf("3  Order of work: %d steps, about %.0f min; here the joints and the rings", len(j.steps), last.Start+last.Minutes))
	t := table{head: []string{"step", "", "torque", "lips"}}
	for i, s := range j.steps {
		if s.Torque == 0 && s.Lips == "" {
			continue
		}
		torque := ""
		if s.Torque > 0 {
			torque = a.show(s.Torque, unit.Torque)
		}
		t.add(fmt.Sprint(i+1), s.Title, torque, lips(s.Lips))
	}
	t.print(a.out, a.width())
	fmt.Fprintln(a.out, "\n  the whole order: evenstroke work orrin-30 --all replace")
}

func demoBuild(j *demoJob) error {
	data, ok := demo.File("orrin-build.yaml")
	if !ok {
		return errors.New("demo file orrin-build.yaml is missing")
	}
	b, err := pump.ReadBuild("orrin-build.yaml", data)
	if err != nil {
		return err
	}
	j.deps, err = j.p.Departures(j.chosen, b, pump.Conditions{})
	return err
}

func (a *app) tellBuild(j *demoJob) {
	a.chapter("4  The apprentice's first build, compared with the order of work")
	a.printDepartures(j.deps)
	fmt.Fprintln(a.out, "\n  Taken apart again and built by the order of work.")
}

func demoProof(j *demoJob) (err error) {
	j.left, err = j.hold("orrin-as-left.yaml")
	return err
}

func (a *app) tellProof(j *demoJob) {
	a.chapter("5  Proof")
	a.printHold(j.p, j.left)
}

// demoMove simulates the pump as it was found and as it is now.
func demoMove(j *demoJob) error {
	flow := 0.0
	for _, q := range j.again.Paths {
		if q.Path == "piston packing" {
			flow = q.Flow.Q50
		}
	}
	for _, faults := range [][]string{{fmt.Sprintf("piston packing=%.3g mL/min", flow)}, nil} {
		f := strokeFlags{mode: "stall", start: "up", duration: "120 s", sample: "0.2 s", fluid: "water", temperature: "20 °C", air: "0.5 %", curve: "rod", faults: faults, relTol: 1e-5}
		set, err := f.setup(j.p)
		if err != nil {
			return err
		}
		tr, err := stroke.Simulate(set)
		if err != nil {
			return err
		}
		word := "rebuilt, tight"
		if len(faults) > 0 {
			word = "as found, " + faults[0]
		}
		j.traces, j.moves = append(j.traces, tr), append(j.moves, word)
	}
	data, err := traceCSV(j.traces[0])
	if err != nil {
		return err
	}
	return outfile.Write(filepath.Join(j.dir, "orrin-simulated.csv"), data)
}

func (a *app) tellMove(j *demoJob) {
	a.chapter("6  The same in the full model: 120 s at the stall")
	for i, tr := range j.traces {
		a.para("  ", "%s: %s; mass balance closes to %.1e", j.moves[i], count(len(tr.Changeovers), "changeover"), tr.MassError)
	}
}

// demoReport writes the pictures and the report.
func (a *app) demoReport(j *demoJob) (err error) {
	if j.files, err = a.writeReport(j); err != nil {
		return err
	}
	if j.dir, err = filepath.Abs(j.dir); err != nil {
		return fmt.Errorf("%s: %w", j.dir, err)
	}
	return nil
}

// tellFiles says where everything is.
func (a *app) tellFiles(j *demoJob) {
	a.chapter("Files")
	fmt.Fprintf(a.out, "  %s\n", j.dir)
	t := table{head: []string{"file", "what"}}
	for _, f := range j.files {
		t.add(f[0], f[1])
	}
	t.print(a.out, a.width())
	fmt.Fprintf(a.out, "\n  Open the report: %s\n", filepath.Join(j.dir, "report.html"))
	fmt.Fprintf(a.out, "\n%s\n    evenstroke serve --demo --data %s\n", a.wrap("The same workshop in a browser, a tablet or a phone; open the address that it prints:", "  "), filepath.Join(j.dir, "workshop"))
}
