package cli

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

type strokeFlags struct {
	faults, late                          []string
	seed                                  uint64
	mode, start, at, duration, sample     string
	fluid, temperature, air, csvFile, svg string
	curve                                 string
	grade                                 int
	vented                                []string
	relTol                                float64
}

// What is taken for a simulation; beyond it is a slip of the pen, most often of the unit.
const (
	longestRun = 24 * 3600 // s
	mostLeak   = 1e-3      // m³/s at rated pressure
	latest     = 10        // s, delay of a ball
)

// The words that its flags take.
var (
	strokeModes  = []string{"stall", "run", "locked"}
	strokeFluids = []string{"water", "oil", "solvent"}
	strokeCurves = []string{"pressure", "rod"}
)

// strokeDoc is the JSON of a simulation.
type strokeDoc struct {
	Pump        string             `json:"pump"`
	Mode        string             `json:"mode"`
	DurationS   float64            `json:"duration_s"`
	Strokes     []strokeRow        `json:"strokes"`
	DeliveredM3 float64            `json:"delivered_m3"`
	LeakedM3    map[string]float64 `json:"leaked_m3"`
	LineStartPa float64            `json:"line_start_pa"`
	LineEndPa   float64            `json:"line_end_pa"`
	MassError   float64            `json:"mass_balance_error"`
	Steps       int                `json:"steps"`
}

type strokeRow struct {
	Dir       string  `json:"stroke"`
	StartS    float64 `json:"start_s"`
	DurS      float64 `json:"duration_s"`
	TravelM   float64 `json:"travel_m"`
	Delivered float64 `json:"delivered_m3"`
	LostM3    float64 `json:"lost_m3"`
	LinePa    float64 `json:"line_pa"`
}

func (a *app) strokeCmd() *cobra.Command {
	var f strokeFlags
	c := &cobra.Command{
		Use:   "stroke PUMP",
		Short: "Simulate the moving pump: a stall, a run or a locked hold, with any fault",
		Long: `Integrates the full model (chambers, balls, drive, hose) and prints each stroke. A fault is a path and its leak at rated
pressure; the law follows the kind of the path, or say how: laminar, orifice, mixed, loose (too little preload), reversed (lips),
worn middle (of the bore), debris (changes at each reseat). A late ball is given by --late.`,
		Example: `  evenstroke stroke orrin-30 --fault "piston packing=90 mL/min" --for "60 s"
  evenstroke stroke tolsk-18 --mode locked --fault "piston packing=60 mL/min" --for "60 s" --csv locked.csv --svg locked.svg
  evenstroke stroke orrin-30 --mode run --for "10 s" --late "inlet valve=30 ms" --fault "piston packing=60 mL/min loose"
  evenstroke stroke varn-40 --mode run --for "5 s" --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.runStroke(f, args[0]) },
	}
	fl := c.Flags()
	fl.StringArrayVar(&f.faults, "fault", nil, `leak path and its flow at rated pressure, "PATH=FLOW [how]" (may be repeated)`)
	fl.StringArrayVar(&f.late, "late", nil, `valve whose ball is late by a time, "VALVE=TIME" (may be repeated)`)
	fl.Uint64Var(&f.seed, "seed", 1, "seed of what changes at each reseat (debris)")
	fl.StringVar(&f.mode, "mode", "stall", either(strokeModes))
	fl.StringVar(&f.start, "start", "up", "stroke it starts with, or on which a locked rod stopped: up or down")
	fl.StringVar(&f.at, "at", "", "rod position at the start (default: middle of the stroke)")
	fl.StringVar(&f.duration, "for", "60 s", "time to simulate")
	fl.StringVar(&f.sample, "sample", "", "time between samples (default: a thousandth of the whole)")
	fl.StringVar(&f.fluid, "fluid", "water", either(strokeFluids))
	fl.IntVar(&f.grade, "grade", 32, "ISO viscosity grade of an oil")
	fl.StringVar(&f.temperature, "temperature", "20 °C", "temperature of the fluid")
	fl.StringVar(&f.air, "air", fmt.Sprintf("%g %%", 100*fluid.UsualAir), "air in the fluid, share of the volume at atmospheric pressure")
	fl.StringArrayVar(&f.vented, "vent", nil, "chamber that is open to the air in a locked hold")
	fl.Float64Var(&f.relTol, "tolerance", 1e-5, "relative tolerance of the integration")
	fl.StringVar(&f.csvFile, "csv", "", "write the samples into this CSV file (- for the standard output)")
	fl.StringVar(&f.svg, "svg", "", "draw a curve into this SVG file (- for the standard output)")
	fl.StringVar(&f.curve, "curve", "pressure", "which curve --svg draws: "+either(strokeCurves))
	return c
}

func (a *app) runStroke(f strokeFlags, name string) error {
	p, err := loadPump(name, "")
	if err != nil {
		return err
	}
	set, err := f.setup(p)
	if err != nil {
		return err
	}
	quiet, err := a.takesStdout(written{"--csv", f.csvFile}, written{"--svg", f.svg})
	if err != nil {
		return err
	}
	line := &progress{a: a}
	set.Progress = func(t float64) bool {
		line.show("", t/set.Duration)
		return true
	}
	tr, err := stroke.Simulate(set)
	line.clear()
	if err != nil {
		return from(err, f.places(p))
	}
	if err := a.writeTrace(f, p, tr); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(describeTrace(p, f, set, tr))
	}
	if !quiet {
		a.printTrace(f, p, set, tr)
	}
	return nil
}

// places are the flags, and the keys of the sheet, from which a simulation takes its quantities.
func (f strokeFlags) places(p *pump.Pump) map[string]string {
	return map[string]string{
		"temperature": "--temperature", "share of air in the fluid": "--air", "kind of fluid": "--fluid", "viscosity grade": "--grade",
		"time to simulate": "--for", "time between samples": "--sample", "tolerance of the integration": "--tolerance", "rod position at the start": "--at",
		"fault": "--fault", "delay of the ball": "--late", "chamber open to the air": "--vent", "mode": "--mode", "stroke at the start": "--start",
		"tip under `hose` of the pump sheet": p.File + ": hose.tip", "hose of the pump sheet": p.File + ": hose",
	}
}

func (a *app) errIsTerminal() bool { return !a.json && isTerminal(a.err) }

func (f strokeFlags) setup(p *pump.Pump) (stroke.Setup, error) {
	set := stroke.Setup{Pump: p, X0: p.Stroke / 2, RelTol: f.relTol, Vented: f.vented}
	modes := map[string]stroke.Mode{"stall": stroke.Stall, "run": stroke.Run, "locked": stroke.LockedHold}
	mode, ok := modes[f.mode]
	if !ok {
		return set, badInput("--mode: found %q; expected %s%s", f.mode, either(strokeModes), meant(f.mode, strokeModes))
	}
	set.Mode = mode
	if !slices.Contains(strokeCurves, f.curve) {
		return set, badInput("--curve: found %q; expected %s%s", f.curve, either(strokeCurves), meant(f.curve, strokeCurves))
	}
	switch f.start {
	case "up":
		set.Start = pump.Up
	case "down":
		set.Start = pump.Down
	default:
		return set, badInput("--start: found %q; expected up or down", f.start)
	}
	for _, q := range []struct {
		flag, text string
		d          unit.Dim
		r          sheet.Range
		to         *float64
	}{{"--at", f.at, unit.Length, sheet.Between(0, p.Stroke), &set.X0}, {"--for", f.duration, unit.Time, sheet.Positive(longestRun), &set.Duration},
		{"--sample", f.sample, unit.Time, sheet.Positive(longestRun), &set.Sample}} {
		if q.text == "" {
			continue
		}
		v, err := quantity(q.flag, q.text, q.d, q.r)
		if err != nil {
			return set, err
		}
		*q.to = v.SI
	}
	if set.Sample == 0 {
		set.Sample = set.Duration / 1000
	}
	liquid, err := f.liquid(p, &set)
	if err != nil {
		return set, err
	}
	for _, text := range f.faults {
		fault, err := parseFault(p, text, liquid)
		if err != nil {
			return set, err
		}
		set.Faults = append(set.Faults, fault)
	}
	for _, text := range f.late {
		fault, err := parseLate(p, text)
		if err != nil {
			return set, err
		}
		set.Faults = append(set.Faults, fault)
	}
	set.Rand = rand.New(rand.NewPCG(f.seed, 0x51ed270b))
	return set, nil
}

// liquid fills the fluid of the setup at the middle of its pressures.
func (f strokeFlags) liquid(p *pump.Pump, set *stroke.Setup) (leak.Liquid, error) {
	t, err := quantity("--temperature", f.temperature, unit.Temperature, sheet.Any())
	if err != nil {
		return leak.Liquid{}, err
	}
	air, err := quantity("--air", f.air, unit.Ratio, sheet.NotNegative(0.5))
	if err != nil {
		return leak.Liquid{}, err
	}
	spec := fluid.Spec{Kind: f.fluid}
	if f.fluid == "oil" {
		spec.Grade = f.grade
	}
	liq, err := fluid.New(spec)
	if err != nil {
		return leak.Liquid{}, from(err, f.places(p))
	}
	mid := p.Limits.Hold / 2
	rho, err1 := liq.Density(t.SI, mid)
	mu, err2 := liq.Viscosity(t.SI, mid)
	k, err3 := liq.BulkModulus(t.SI, mid)
	if err := errors.Join(err1, err2, err3); err != nil {
		return leak.Liquid{}, from(err, f.places(p))
	}
	set.Fluid = stroke.Fluid{Density: rho, Viscosity: mu, Bulk: k, Air: air.SI}
	return leak.Liquid{Density: rho, Viscosity: mu}, nil
}

// faultWords are the ways in which a path can be at fault, as `--fault` takes them; the first that fits is taken off the end.
var faultWords = []string{"laminar", "orifice", "mixed", "loose", "reversed", "worn middle", "debris"}

// parseFault reads "PATH=FLOW [word]".
func parseFault(p *pump.Pump, text string, l leak.Liquid) (stroke.Fault, error) {
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return stroke.Fault{}, badInput("--fault: found %q; expected PATH=FLOW, e.g. \"piston packing=40 mL/min\"", text)
	}
	name, rest = strings.TrimSpace(name), strings.TrimSpace(rest)
	word := ""
	for _, w := range faultWords {
		if cut, ok := strings.CutSuffix(rest, " "+w); ok {
			rest, word = cut, w
			break
		}
	}
	q, err := quantity("--fault "+name, rest, unit.Flow, sheet.NotNegative(mostLeak))
	if err != nil {
		return stroke.Fault{}, badInput("%w (after the flow may stand one of %s)", err, strings.Join(faultWords, ", "))
	}
	path, err := pathNamed(p, name)
	if err != nil {
		return stroke.Fault{}, err
	}
	f, err := makeFault(p, path, q.SI, word, l)
	if err != nil {
		return f, from(fmt.Errorf("--fault %s: %w", name, err), map[string]string{"leak": "flow"})
	}
	return f, nil
}

func pathNamed(p *pump.Pump, name string) (pump.Path, error) {
	var names []string
	for _, path := range p.Map().Paths {
		if path.Name == name {
			return path, nil
		}
		names = append(names, path.Name)
	}
	return pump.Path{}, notFound("leak path", name, p.Name, names)
}

// makeFault builds the law of a fault that leaks q at rated pressure.
func makeFault(p *pump.Pump, path pump.Path, q float64, word string, l leak.Liquid) (stroke.Fault, error) {
	f := stroke.Fault{Path: path.Name}
	rated := p.Limits.Rated
	share := map[pump.PathKind]float64{pump.PathPacking: 1, pump.PathStatic: 0.5, pump.PathFitting: 0.5}[path.Kind]
	switch word {
	case "laminar":
		share = 1
	case "orifice", "debris":
		share = 0
	case "mixed":
		share = 0.5
	case "loose", "reversed":
		facing, energise := leak.FacingPressure, rated/2
		if word == "reversed" {
			facing, energise = leak.FacingAway, rated
		}
		law, err := leak.RatedPacking(q, rated, energise, facing, l, 1)
		f.Leak = law
		return f, err
	case "worn middle":
		share, f.Along = 1, []float64{0.2, 4.8, -4.8}
	}
	if word == "debris" {
		f.Reseat = 0.6
	}
	law, err := leak.FromRated(q, rated, l, share)
	f.Leak = law
	return f, err
}

// parseLate reads "VALVE=TIME".
func parseLate(p *pump.Pump, text string) (stroke.Fault, error) {
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return stroke.Fault{}, badInput("--late: found %q; expected VALVE=TIME, e.g. \"inlet valve=30 ms\"", text)
	}
	name = strings.TrimSpace(name)
	t, err := quantity("--late "+name, strings.TrimSpace(rest), unit.Time, sheet.NotNegative(latest))
	if err != nil {
		return stroke.Fault{}, err
	}
	if _, ok := p.Valve(name); !ok {
		var names []string
		for _, v := range p.Valves {
			names = append(names, v.Name)
		}
		return stroke.Fault{}, notFound("valve", name, p.Name, names)
	}
	return stroke.Fault{Path: name, Late: t.SI}, nil
}

func describeTrace(p *pump.Pump, f strokeFlags, set stroke.Setup, tr *stroke.Trace) strokeDoc {
	d := strokeDoc{Pump: p.Name, Mode: f.mode, DurationS: set.Duration, DeliveredM3: tr.Delivered, LeakedM3: tr.Leaked, MassError: tr.MassError, Steps: tr.Stats.Steps, Strokes: []strokeRow{}}
	if line := tr.P[pump.Line]; len(line) > 0 {
		d.LineStartPa, d.LineEndPa = line[0], line[len(line)-1]
	}
	for _, s := range tr.Strokes {
		d.Strokes = append(d.Strokes, strokeRow{s.Dir.String(), s.Start, s.Dur, s.Travel, s.Delivered, s.Lost, s.Line})
	}
	return d
}

func (a *app) printTrace(f strokeFlags, p *pump.Pump, set stroke.Setup, tr *stroke.Trace) {
	d := describeTrace(p, f, set, tr)
	line := a.sys.Apart(unit.Pressure, d.LineStartPa, d.LineEndPa)
	fmt.Fprintln(a.out, a.hang(fmt.Sprintf("%s for %s: line from %s to %s", f.mode, draw.Short(set.Duration, unit.Time, a.sys), line[0], line[1]), a.bold(p.Name)+"  ", "  "))
	if len(d.Strokes) > 0 {
		a.strokeTable(d.Strokes).print(a.out, a.width())
		fmt.Fprintf(a.out, "  %s in all\n", count(len(d.Strokes), "stroke"))
	} else {
		fmt.Fprintln(a.out, "  no changeover")
	}
	var names []string
	for n := range d.LeakedM3 {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		fmt.Fprintf(a.out, "  leaked at %s: %s\n", n, a.show(d.LeakedM3[n], unit.Volume))
	}
	for _, file := range []string{f.csvFile, f.svg} {
		if file != "" {
			fmt.Fprintf(a.out, "  written: %s\n", file)
		}
	}
}

// mostRows is how many strokes the terminal lists.
const mostRows = 12

// strokeTable lists the strokes, each column in one unit.
func (a *app) strokeTable(rows []strokeRow) *table {
	shown := rows[:min(len(rows), mostRows)]
	columns := []struct {
		d  unit.Dim
		of func(strokeRow) float64
	}{
		{unit.Time, func(s strokeRow) float64 { return s.StartS }}, {unit.Time, func(s strokeRow) float64 { return s.DurS }},
		{unit.Length, func(s strokeRow) float64 { return s.TravelM }}, {unit.Volume, func(s strokeRow) float64 { return s.Delivered }},
		{unit.Volume, func(s strokeRow) float64 { return s.LostM3 }}, {unit.Pressure, func(s strokeRow) float64 { return s.LinePa }},
	}
	cells := make([][]string, len(shown))
	for i, s := range shown {
		cells[i] = []string{s.Dir}
	}
	for _, c := range columns {
		var values []float64
		for _, s := range shown {
			values = append(values, c.of(s))
		}
		for i, text := range a.column(c.d, values...) {
			cells[i] = append(cells[i], text)
		}
	}
	t := &table{head: []string{"stroke", "begins", "takes", "travel", "delivered", "lost", "line at its end"}, rows: cells}
	if len(rows) > mostRows {
		t.add("…")
	}
	return t
}

func (a *app) writeTrace(f strokeFlags, p *pump.Pump, tr *stroke.Trace) error {
	if f.csvFile != "" {
		data, err := traceCSV(tr)
		if err != nil {
			return err
		}
		if err := a.writeFile(f.csvFile, data); err != nil {
			return err
		}
	}
	if f.svg == "" {
		return nil
	}
	pressure, rod, err := tracePlot(p, f.mode, tr, a.sys)
	if err != nil {
		return err
	}
	if f.curve == "rod" {
		pressure = rod
	}
	return a.writeFile(f.svg, []byte(pressure))
}

// traceCSV writes the samples so that `trace:` of a hold sheet reads them back.
func traceCSV(tr *stroke.Trace) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	var nodes []string
	for n := range tr.P {
		if n != pump.Line {
			nodes = append(nodes, n)
		}
	}
	sort.Strings(nodes)
	head := []string{"time (s)", "pressure (Pa)", "position (m)"}
	for _, n := range nodes {
		head = append(head, "pressure in "+n+" (Pa)")
	}
	rows := [][]string{head}
	num := func(x float64) string { return strconv.FormatFloat(x, 'g', 9, 64) }
	for i, t := range tr.T {
		row := []string{num(t), num(tr.P[pump.Line][i]), num(tr.X[i])}
		for _, n := range nodes {
			row = append(row, num(tr.P[n][i]))
		}
		rows = append(rows, row)
	}
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

// tracePlot draws the line's pressure, the closed chambers and the rod, one picture above the other.
func tracePlot(p *pump.Pump, mode string, tr *stroke.Trace, sys unit.System) (pressure, rod string, err error) {
	var marks []draw.Mark
	for _, c := range tr.Changeovers {
		if len(marks) < 8 {
			marks = append(marks, draw.Mark{X: c.T, Word: c.Dir.String()})
		}
	}
	series := []draw.Series{{Name: "line at the pump", X: tr.T, Y: tr.P[pump.Line]}}
	for _, c := range p.Chambers {
		if y, ok := tr.P[c.Name]; ok && len(series) < 4 {
			series = append(series, draw.Series{Name: c.Name + " chamber", X: tr.T, Y: y})
		}
	}
	time := draw.Axis{Label: "time", Dim: unit.Time}
	a := draw.Plot{Title: p.Name + ", " + mode + ": pressure", Desc: "Simulated pressures against time.", X: time,
		Y: draw.Axis{Label: "pressure", Dim: unit.Pressure, From0: true}, Series: series, Marks: marks}
	b := draw.Plot{Title: p.Name + ", " + mode + ": rod position from the bottom", Desc: "Simulated rod position against time.", X: time,
		Y: draw.Axis{Label: "rod", Dim: unit.Length, From0: true}, Series: []draw.Series{{Name: "rod", X: tr.T, Y: tr.X}}, Marks: marks}
	if pressure, err = a.SVG(sys); err != nil {
		return "", "", err
	}
	rod, err = b.SVG(sys)
	return pressure, rod, err
}
