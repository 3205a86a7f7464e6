// Peers solves the same moving pump with package stroke, with SUNDIALS CVODE in C and with SciPy, and prints error and CPU
// time of each side by side. See the Makefile beside it.
//
// The equations go to the others as tables of numbers (stroke.WriteTables), so that all solve the same ones, with the same
// scaling of the tolerances and the same analytic Jacobian. Error is the root mean square, over samples every 0.1 s, of rod
// position over stroke and line pressure over 20 MPa, against a run of package stroke at a tolerance of 1e-11.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
)

// problem is one case with what the others are given of it.
type problem struct {
	name    string
	setup   stroke.Setup
	seconds float64 // that SciPy simulates
}

// row is one point of a work-precision line.
type row struct {
	method   string
	tol      float64
	err, cpu float64
	steps    int
	restarts int
}

// tolerances of the runs in Go and C.
var tolerances = [...]float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7}

func main() {
	cvode := flag.String("cvode", "./cvode", "program built from sundials/cvode.c")
	python := flag.String("python", "/usr/bin/python3", "Python with SciPy; empty to leave it out")
	repeats := flag.Int("repeats", 5, "runs of each point; the fastest counts")
	flag.Parse()
	dir, err := os.MkdirTemp("", "peers")
	if err == nil {
		err = compare(dir, *cvode, *python, *repeats)
		os.RemoveAll(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "peers:", err)
		os.Exit(1)
	}
}

func compare(dir, cvode, python string, repeats int) error {
	runtime.LockOSThread()
	for _, p := range problems() {
		ref, err := reference(p)
		if err != nil {
			return err
		}
		tables := filepath.Join(dir, "tables.txt")
		if err := writeTables(tables, p.setup); err != nil {
			return err
		}
		fmt.Printf("\n%s\n", p.name)
		ours, theirs, err := goAndC(p, ref, tables, cvode, repeats)
		if err != nil {
			return err
		}
		if e := theirs[len(theirs)-1].err; e > 1e-4 {
			return fmt.Errorf("CVODE at its tightest is %.2g away: the programs do not solve the same problem", e)
		}
		printRows(append(ours, theirs...))
		printCVODE(ours, theirs)
		if python == "" {
			continue
		}
		short, others, err := goAndSciPy(p, ref, tables, python, repeats)
		if err != nil {
			return err
		}
		fmt.Printf("  the first %g s only, for both:\n", p.seconds)
		printRows(append(short, others...))
		printSciPy(short, others)
	}
	return nil
}

// problems are the two that the project promises figures for.
func problems() []problem {
	p := examplePump()
	fl := stroke.Fluid{Density: 860, Viscosity: 0.05, Bulk: 1.6e9, Air: 0.005}
	return []problem{
		{"A: 120 s force-held stall, leaks of piston packings and inlet valve, a stroke every 6 s", stroke.Setup{
			Pump: p, Fluid: fl, Mode: stroke.Stall, Duration: 120, Sample: 0.1, Faults: []stroke.Fault{
				{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 8e-6}},
				{Path: "inlet valve", Leak: leak.Law{Quad: 20e6 / 25e-12}},
			}}, 12},
		{"B: 60 s of running with the tip open, inlet ball 50 ms late", stroke.Setup{
			Pump: p, Fluid: fl, Mode: stroke.Run, Duration: 60, Sample: 0.1, Faults: []stroke.Fault{
				{Path: "inlet valve", Late: 0.05},
			}}, 3},
	}
}

// examplePump is an invented force-held pump of the coatings workshop at the Aldersay ferry yard.
func examplePump() *pump.Pump {
	const mm = 1e-3
	return &pump.Pump{
		Name: "Aldersay 30", Bore: 30 * mm, Rod: 21.2 * mm, Stroke: 100 * mm, MovingMass: 1.5,
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, Dead: 13.5e-6, OpenTo: pump.Line}, {Name: "lower", Dead: 10.8e-6}},
		Valves: []pump.Valve{
			{Name: "inlet valve", From: pump.Suction, To: "lower", Ball: 16.5 * mm, Seat: 12.6 * mm, Lift: 3.3 * mm, Density: 7800},
			{Name: "piston valve", From: "lower", To: "upper", Ball: 12.6 * mm, Seat: 9 * mm, Lift: 2.7 * mm, Density: 7800, OnPiston: true},
		},
		Seals: []pump.Seal{
			{Name: "throat packings", Kind: pump.Packing, Between: [2]string{"upper", pump.Air}, On: "rod"},
			{Name: "piston packings", Kind: pump.Packing, Between: [2]string{"upper", "lower"}, On: "bore"},
		},
		Drive: pump.Drive{Kind: pump.ForceHeld, ForceUp: 7100, ForceDown: 7100, FreeSpeed: 0.6, Changeover: 0.04},
		Hose:  pump.Hose{Length: 15, Bore: 6.35 * mm, Expansion: 4.5e-12, Fittings: 20e-6, Tip: 0.6 * mm, Segments: 3},
	}
}

// samples are the pairs that errors are measured on.
type samples struct{ x, p []float64 }

func reference(p problem) (samples, error) {
	s := p.setup
	s.RelTol = 1e-11
	tr, err := stroke.Simulate(s)
	if err != nil {
		return samples{}, err
	}
	return samples{tr.X, tr.P[pump.Line]}, nil
}

// distance is the root mean square error over the samples that both have, at least n of them.
func distance(a, b samples, stroke float64, n int) (float64, error) {
	if len(a.x) < n || len(b.x) < n {
		return 0, fmt.Errorf("%d and %d samples, want at least %d", len(a.x), len(b.x), n)
	}
	sum := 0.0
	for i := range n {
		dx, dp := (a.x[i]-b.x[i])/stroke, (a.p[i]-b.p[i])/20e6
		sum += dx*dx + dp*dp
	}
	return math.Sqrt(sum / float64(n)), nil
}

func writeTables(name string, s stroke.Setup) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := stroke.WriteTables(f, s); err != nil {
		return err
	}
	return f.Close()
}

// cpuTime is the CPU time [s] that this process has used.
func cpuTime() float64 {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return math.NaN()
	}
	return float64(r.Utime.Sec+r.Stime.Sec) + 1e-6*float64(r.Utime.Usec+r.Stime.Usec)
}

// goAndC measures both at several tolerances. The runs alternate, so that a busy machine is equally unkind to both.
func goAndC(p problem, ref samples, tables, cvode string, repeats int) (ours, theirs []row, err error) {
	for _, tol := range tolerances {
		ours = append(ours, row{method: "stroke (Go, Rodas4)", tol: tol, cpu: math.Inf(1)})
		theirs = append(theirs, row{method: "CVODE (C, BDF)", tol: tol, cpu: math.Inf(1)})
	}
	for range repeats {
		for i, tol := range tolerances {
			if err := runGo(p, ref, tol, &ours[i]); err != nil {
				return nil, nil, err
			}
			if err := runC(p, ref, tables, cvode, tol, &theirs[i]); err != nil {
				return nil, nil, err
			}
		}
	}
	return ours, theirs, nil
}

func runGo(p problem, ref samples, tol float64, r *row) error {
	s := p.setup
	s.RelTol = tol
	start := cpuTime()
	tr, err := stroke.Simulate(s)
	if err != nil {
		return err
	}
	r.cpu = min(r.cpu, cpuTime()-start)
	r.steps, r.restarts = tr.Stats.Steps, tr.Stats.Events
	r.err, err = distance(samples{tr.X, tr.P[pump.Line]}, ref, s.Pump.Stroke, len(ref.x))
	return err
}

func runC(p problem, ref samples, tables, cvode string, tol float64, r *row) error {
	out := tables + ".c"
	got, v, err := runOther(out, cvode, tables, fmt.Sprint(tol), "1", out)
	if err != nil {
		return err
	}
	r.cpu = min(r.cpu, v[0])
	r.steps, r.restarts = int(v[1]), int(v[4])
	r.err, err = distance(got, ref, p.setup.Pump.Stroke, len(ref.x))
	return err
}

// runOther runs a program, and returns the samples it wrote and the numbers it printed.
func runOther(out, name string, args ...string) (samples, []float64, error) {
	cmd := exec.Command(name, args...)
	cmd.Stderr = os.Stderr
	text, err := cmd.Output()
	if err != nil {
		return samples{}, nil, fmt.Errorf("%s: %w", name, err)
	}
	v, err := numbers(string(text), 5)
	if err != nil {
		return samples{}, nil, err
	}
	f, err := os.Open(out)
	if err != nil {
		return samples{}, nil, err
	}
	defer f.Close()
	var s samples
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		w, err := numbers(lines.Text(), 3)
		if err != nil {
			return samples{}, nil, err
		}
		s.x, s.p = append(s.x, w[1]), append(s.p, w[2])
	}
	return s, v, lines.Err()
}

func numbers(text string, n int) ([]float64, error) {
	words := strings.Fields(text)
	if len(words) != n {
		return nil, fmt.Errorf("%d numbers in %q, want %d", len(words), text, n)
	}
	v := make([]float64, n)
	for i, w := range words {
		var err error
		if v[i], err = strconv.ParseFloat(w, 64); err != nil {
			return nil, err
		}
	}
	return v, nil
}

// snakes are the runs of SciPy. Its Radau at loose tolerances chatters for minutes, so it has the one that does well.
var snakes = []struct {
	method string
	tol    float64
}{
	{"LSODA", 1e-3}, {"LSODA", 1e-4}, {"LSODA", 1e-5}, {"LSODA", 1e-6},
	{"BDF", 1e-3}, {"BDF", 1e-4}, {"BDF", 1e-5}, {"Radau", 1e-5},
}

// goAndSciPy runs SciPy's stiff methods over the first seconds, and package stroke over the same, in between.
func goAndSciPy(p problem, ref samples, tables, python string, repeats int) (ours, theirs []row, err error) {
	n := int(p.seconds/p.setup.Sample + 0.5)
	ref = samples{ref.x[:n], ref.p[:n]}
	p.setup.Duration = p.seconds
	for _, tol := range tolerances {
		ours = append(ours, row{method: "stroke (Go, Rodas4)", tol: tol, cpu: math.Inf(1)})
	}
	for _, s := range snakes {
		for range repeats {
			for i, tol := range tolerances {
				if err := runGo(p, ref, tol, &ours[i]); err != nil {
					return nil, nil, err
				}
			}
		}
		out := tables + ".py"
		got, v, err := runOther(out, python, "scipy/peer.py", tables, s.method, fmt.Sprint(s.tol), fmt.Sprint(p.seconds), "2", out)
		if err != nil {
			return nil, nil, err
		}
		r := row{method: "SciPy " + s.method, tol: s.tol, cpu: v[0], steps: int(v[2]), restarts: int(v[4])}
		if r.err, err = distance(got, ref, p.setup.Pump.Stroke, n); err != nil {
			return nil, nil, err
		}
		theirs = append(theirs, r)
	}
	return ours, theirs, nil
}
