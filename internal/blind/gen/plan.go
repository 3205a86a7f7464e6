package gen

import (
	"fmt"

	"github.com/evenstroke/evenstroke/pump"
)

// itemKind is what a technician sets out to do; what he writes down may be another kind, since a mark that does not reach its
// line in time is measured, and one that does not move is still.
type itemKind uint8

const (
	doCreep      itemKind = iota // time a mark over a distance, or measure it at the end
	doStill                      // watch a mark
	doChangeover                 // time a whole stroke
	doWatch                      // wait for a changeover, rod position not known
	doDrips                      // count drops, or catch what is too much to count
	doLocked                     // read the gauge with the rod locked
	doRestart                    // time from stop to restart
	doRun                        // run with the gun open
	doSign                       // note what strikes the eye
)

// item is one thing to do.
type item struct {
	kind    itemKind
	stroke  pump.Dir  // 0 when it is not known
	at      float64   // pressure over that of the hold test
	travel  float64   // share of the stroke that a creep is timed over
	span    float64   // s, how long at most
	path    string    // where drops are counted
	again   int       // number of the reseating
	warmer  float64   // K above the sheet's temperature
	vented  bool      // lower chamber vented
	times   []float64 // s, of the gauge readings
	cycles  int
	tip     float64 // bore of the gun over that of the sheet
	strokes bool    // time the strokes, instead of catching the volume
	place   bool    // note the rod position
	sign    string
}

// plan is a list of things to do, chosen before anything is seen.
type plan struct {
	name  string
	items []item
}

// The stages of a hold sheet.
const (
	AsFound = "as found"
	AsLeft  = "as left"
)

func creep(d pump.Dir, at float64) item {
	return item{kind: doCreep, stroke: d, at: at, travel: 0.3, span: 90}
}

func drips(path string, d pump.Dir) item {
	return item{kind: doDrips, stroke: d, at: test, path: path, span: 60}
}

func change(d pump.Dir) item { return item{kind: doChangeover, stroke: d, at: test, span: 180} }

func still(d pump.Dir) item { return item{kind: doStill, stroke: d, at: test, span: 30} }

func locked(d pump.Dir, vented bool) item {
	return item{kind: doLocked, stroke: d, at: 1, vented: vented, times: []float64{0, 30, 60, 120}}
}

func again(it item) item {
	it.again = 1
	return it
}

const (
	test  = 0.95 // usual pressure of a stall, over that of the hold test
	low   = 0.4
	wet   = "throat packing"
	drain = "drain valve"
	leaky = "outside"
)

var creepUp, creepDown = creep(pump.Up, test), creep(pump.Down, test)

// forcePlans are the plans for a force-held drive.
func forcePlans() []plan {
	lowUp, warm, placed := creep(pump.Up, low), creepUp, creepUp
	warm.warmer, placed.place = 18, true
	slowRun := item{kind: doRun, at: test, tip: 0.33, cycles: 3}
	timed := slowRun
	timed.strokes = true
	return []plan{
		{"creeps and drips", []item{creepUp, creepDown, drips(wet, pump.Up)}},
		{"changeovers", []item{change(pump.Up), change(pump.Down)}},
		{"two pressures", []item{creepUp, lowUp, creepDown, drips(wet, pump.Up)}},
		{"reseat", []item{creepUp, creepDown, again(creepUp), again(creepDown)}},
		{"still", []item{still(pump.Up), still(pump.Down)}},
		{"watch", []item{{kind: doWatch, stroke: pump.Up, at: test, span: 60}, drips(wet, pump.Up)}},
		{"creep and run", []item{creepUp, slowRun}},
		{"timed run and drain", []item{timed, drips(drain, 0), creepDown}},
		{"warm", []item{creepUp, warm, creepDown, drips(wet, pump.Up)}},
		{"signs", []item{{kind: doSign, sign: "surges"}, change(pump.Up), change(pump.Down), drips(wet, pump.Up)}},
		{"one creep", []item{creepDown}},
		{"creeps, cup, drain", []item{placed, creepDown, drips(wet, pump.Up), drips(drain, 0)}},
	}
}

// crankPlans are the plans for a crank drive.
func crankPlans() []plan {
	restart := item{kind: doRestart, span: 300}
	run := item{kind: doRun, tip: 1, cycles: 40}
	return []plan{
		{"locked both", []item{locked(pump.Up, false), locked(pump.Down, false)}},
		{"locked, restart, drips", []item{locked(0, false), restart, drips(wet, 0)}},
		{"vented and down", []item{locked(pump.Up, true), locked(pump.Down, false), drips(wet, 0), drips(drain, 0)}},
		{"run and restart", []item{run, restart}},
		{"three locked", []item{locked(pump.Up, true), locked(pump.Up, false), locked(pump.Down, false)}},
		{"one locked", []item{locked(0, false)}},
		{"signs and locked", []item{{kind: doSign, sign: "paint in the wet cup"}, locked(pump.Down, false), drips(wet, 0)}},
		{"vented and visible", []item{locked(pump.Up, true), drips(wet, 0), drips(drain, 0), drips(leaky, 0)}},
	}
}

// looks are a minute's look at every path that leads out of the pump, at the hold pressure.
func looks(r *rig) []item {
	var out []item
	for j, q := range r.paths {
		if _, visible := r.allowed(j); !visible {
			continue
		}
		it := item{kind: doDrips, at: 1, path: q.Name, span: 60}
		if q.Shows[pump.Up] == 0 {
			it.stroke = pump.Down
		}
		out = append(out, it)
	}
	return out
}

// proofs are the plans of a pump that was rebuilt, at the hold pressure: every stroke, or the locked rod, then all that can be seen.
func proofs(r *rig) []plan {
	all := looks(r)
	with := func(items ...item) []item { return append(items, all...) }
	asked := r.p.Limits.HoldFor
	if r.p.Drive.Kind == pump.Crank {
		shut := func(d pump.Dir, vented bool) item {
			it := locked(d, vented)
			it.times[len(it.times)-1] = asked
			return it
		}
		return []plan{
			{"proof, locked", with(shut(pump.Up, false), shut(pump.Down, false))},
			{"proof, vented", with(shut(pump.Up, true), shut(pump.Down, false))},
			{"proof, restart", with(item{kind: doRestart, at: 1, span: 300}, shut(pump.Down, false))},
		}
	}
	hold := func(it item, span float64) item {
		it.at, it.span = 1, span
		return it
	}
	up, down := hold(still(pump.Up), asked), hold(still(pump.Down), asked)
	return []plan{
		{"proof, marks", with(up, down)},
		{"proof, a minute", with(hold(still(pump.Up), 60), hold(still(pump.Down), 60))},
		{"proof, changeovers", with(hold(change(pump.Up), asked+5), hold(change(pump.Down), asked+5))},
		{"proof, nobody looked", []item{up, down}},
	}
}

// Setup is a pump with a fluid, instruments, a plan and a prior: all that the cases made from it have in common.
type Setup struct {
	Pump, Plan  string
	Drive       string
	Stage       string
	Temperature float64 // K
	Fluid       Fluid
	Gauge       Gauge
	Prior       Prior
	round       float64 // s, to which times are written
	ruler       float64 // m, to which lengths are written
	items       []item
	r           *rig
	sets        []faultSet
	width       int // numbers that a prediction has
}

// the errors of hands and eyes that every technician has (standard deviations).
const (
	handTime   = 0.25   // s, two presses
	handLength = 0.5e-3 // m, mark and ruler
	gaugeTime  = 0.5    // s, when a gauge is read
	seen       = 0.5e-3 // m, least movement that is noticed
	jugShare   = 0.01
)

var gauges = []Gauge{
	{"bar", 400e5, 0.016, 5e5},
	{"psi", 5000 * 6894.757293168, 0.016, 100 * 6894.757293168},
	{"bar", 250e5, 0.016, 5e5},
}

// Setups returns every setup of the main set, then those of the second prior.
func Setups() ([]*Setup, error) {
	var out []*Setup
	for k, name := range []string{"orrin-30", "varn-40", "tolsk-18"} {
		p, err := pump.DemoPump(name)
		if err != nil {
			return nil, fmt.Errorf("pump sheet %s: %w", name, err)
		}
		r := newRig(p)
		if r.n > maxNodes || len(r.paths) > maxPaths || len(r.valves) > maxValves {
			return nil, fmt.Errorf("pump %s: more nodes, paths or valves than the generator has room for", name)
		}
		plans := forcePlans()
		if p.Drive.Kind == pump.Crank {
			plans = crankPlans()
		}
		for i, pl := range plans {
			out = append(out, newSetup(r, pl, General(), AsFound, i+k))
		}
		for i := 0; i < len(plans); i += 3 {
			out = append(out, newSetup(r, plans[i], Abrasive(), AsFound, i+k))
		}
		for i, pl := range proofs(r) {
			out = append(out, newSetup(r, pl, General(), AsLeft, i+k))
		}
		out = append(out, newSetup(r, proofs(r)[0], Abrasive(), AsLeft, k))
	}
	return out, nil
}

func newSetup(r *rig, pl plan, pr Prior, stage string, i int) *Setup {
	fluids := []Fluid{water, oil46, solvent, oil32}
	s := &Setup{
		Pump: r.p.Name, Plan: pl.name, Stage: stage, Drive: string(r.p.Drive.Kind), Prior: pr, items: pl.items, r: r,
		Temperature: 293.15, Fluid: fluids[i%len(fluids)], Gauge: gauges[i%2],
		round: []float64{0.1, 0.5, 1}[i%3], ruler: []float64{0.5e-3, 1e-3}[i%2],
	}
	if r.rated < 180e5 && !r.climbs() {
		s.Gauge = gauges[2]
	}
	if pl.name == "warm" { // only an oil changes enough
		s.Fluid = []Fluid{oil46, oil68}[i%2]
	}
	s.sets = pr.sets(r.paths, stage)
	for _, it := range s.items {
		s.width += it.width()
	}
	return s
}

// Name tells the setup from the others.
func (s *Setup) Name() string { return s.Pump + " / " + s.Plan + " / " + s.Prior.Name }

// viscosity returns the ratio to that at the sheet's temperature.
func (s *Setup) viscosity(it item) float64 {
	if it.warmer == 0 {
		return 1
	}
	return s.Fluid.viscosity(s.Temperature+it.warmer) / s.Fluid.viscosity(s.Temperature)
}
