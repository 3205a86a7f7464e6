package hold

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Prior is what is believed before any reading. The defaults are general experience, no published source; a shop replaces
// them by its own rates with a prior file.
type Prior struct {
	Healthy float64            // share of pumps with no path at fault, as found
	AsLeft  float64            // the same for pumps that have just been rebuilt
	Number  [3]float64         // share of one, two, three paths among the faulty; sums to 1
	Weight  map[string]float64 // relative weight by path name, else by kind
	Size    map[string]Size    // leak at rated pressure of a path at fault, by path name, else by kind
	Sound   Size               // leak of a path that is not at fault; Median 0 means none
	Wrong   float64            // probability that a reading is wrong
	Model   float64            // relative error of the forward model (standard deviation)
	Drift   float64            // m³/s, standard deviation of the flow that a stretching hose and a small line take; what cooling takes out of a large one is added
	Default bool               // nothing was replaced
}

// Size is a lognormal leak at rated pressure [m³/s]: Median, and Spread = exp(standard deviation of ln q).
type Size struct {
	Median, Spread float64
	Relative       bool // Median is a multiple of the leak limit of the pump instead of m³/s
}

// DefaultPrior returns the prior that holds when the shop gives none: assumptions from general experience.
func DefaultPrior() *Prior {
	return &Prior{
		Healthy: 0.25,
		AsLeft:  0.80,
		Number:  [3]float64{0.75, 0.20, 0.05},
		Weight: map[string]float64{
			string(pump.PathPacking): 1, string(pump.PathSeat): 1, string(pump.PathStatic): 0.3,
			string(pump.PathDrain): 0.3, string(pump.PathFitting): 0.2,
		},
		Size: map[string]Size{
			string(pump.PathPacking): {1.5, 4, true}, rodPacking: {0.3, 5, true}, string(pump.PathSeat): {2.5, 4, true}, string(pump.PathStatic): {1, 4, true},
			string(pump.PathDrain): {2, 4, true}, string(pump.PathFitting): {0.5, 4, true},
		},
		Sound:   Size{0.0004, 2.5, true},
		Wrong:   0.05,
		Model:   0.03,
		Drift:   0.2e-6 / 60,
		Default: true,
	}
}

// Where a packing runs, as a kind of its own in a prior: what weeps past a rod is less than what passes a piston.
const (
	rodPacking  = "rod packing"
	borePacking = "bore packing"
)

var priorKinds = []string{string(pump.PathPacking), rodPacking, borePacking, string(pump.PathSeat), string(pump.PathStatic), string(pump.PathDrain), string(pump.PathFitting)}

// lookup finds what a prior says of a path: by its name, else by where its packing runs, else by its kind.
func lookup[V any](m map[string]V, p pump.Path) V {
	where := ""
	switch {
	case p.Kind == pump.PathPacking && p.OnRod:
		where = rodPacking
	case p.Kind == pump.PathPacking && p.OnBore:
		where = borePacking
	}
	for _, key := range []string{p.Name, where} {
		if v, ok := m[key]; ok {
			return v
		}
	}
	return m[string(p.Kind)]
}

func (pr *Prior) weight(p pump.Path) float64 { return lookup(pr.Weight, p) }

// healthy returns the share of healthy pumps at a stage.
func (pr *Prior) healthy(stage string) float64 {
	if stage == "as left" {
		return pr.AsLeft
	}
	return pr.Healthy
}

// size returns the lognormal of a path's leak when at fault: median [m³/s] and sd of ln q.
func (pr *Prior) size(p pump.Path, limit float64) (median, sd float64) {
	s := lookup(pr.Size, p)
	return s.absolute(limit), math.Log(s.Spread)
}

func (s Size) absolute(limit float64) float64 {
	if s.Relative {
		return s.Median * limit
	}
	return s.Median
}

// ReadPrior reads a prior file (schema/prior.schema.json). What it does not say stays at the default.
func ReadPrior(file string, data []byte) (*Prior, error) {
	d, err := sheet.Read(file, data)
	if err != nil {
		return nil, err
	}
	m, pr := d.Root(), DefaultPrior()
	pr.Default = false
	if !m.Format("prior", 1) {
		return nil, d.Err()
	}
	m.OptText("note", "a note", "")
	pr.Healthy = m.OptSI("healthy", unit.Ratio, sheet.Between(1e-6, 1-1e-6), pr.Healthy)
	if m.Has("healthy") { // the shop's own rate holds for both stages unless it gives two
		pr.AsLeft = pr.Healthy
	}
	pr.AsLeft = m.OptSI("healthy_as_left", unit.Ratio, sheet.Between(1e-6, 1-1e-6), pr.AsLeft)
	pr.Wrong = m.OptSI("wrong_reading", unit.Ratio, sheet.Between(0, 0.5), pr.Wrong)
	pr.Model = m.OptSI("model_error", unit.Ratio, sheet.Between(0, 0.5), pr.Model)
	pr.Drift = m.OptSI("drift", unit.Flow, sheet.NotNegative(1e-4), pr.Drift)
	if n := m.OptMap("faults", "the shares of one, two and three faults"); n != nil {
		readNumber(n, pr)
	}
	for _, q := range m.OptList("paths", "paths with weight and leak", 40) {
		readPathPrior(q, pr)
	}
	if s := m.OptMap("sound", "the leak of a sound path"); s != nil {
		pr.Sound = readSize(s, pr.Sound, sheet.NotNegative(1))
		s.Done()
	}
	m.Done()
	if err := d.Err(); err != nil {
		return nil, err
	}
	return pr, nil
}

func readNumber(n *sheet.Map, pr *Prior) {
	share := sheet.Between(0, 1)
	got := [3]float64{n.OptSI("one", unit.Ratio, share, 0), n.OptSI("two", unit.Ratio, share, 0), n.OptSI("three", unit.Ratio, share, 0)}
	n.Done()
	sum := got[0] + got[1] + got[2]
	if !(math.Abs(sum-1) < 0.005) {
		n.Fail("", fmt.Sprintf("shares that add up to %.3g %%", 100*sum), "one + two + three = 100 %", "")
		return
	}
	for i := range got {
		pr.Number[i] = got[i] / sum
	}
}

func readPathPrior(q *sheet.Map, pr *Prior) {
	var name string
	if q.Has("kind") {
		name = q.Choice("kind", priorKinds...)
		if name == string(pump.PathPacking) { // the general word replaces the special defaults
			for _, k := range []string{rodPacking, borePacking} {
				delete(pr.Weight, k)
				delete(pr.Size, k)
			}
		}
	} else {
		name = q.Text("path", "the name of a leak path of the pump (or `kind: packing`)")
	}
	if q.Has("weight") {
		pr.Weight[name] = q.Number("weight", "a relative weight", sheet.NotNegative(1e6))
	}
	if q.Has("leak") || q.Has("leak_over_limit") {
		pr.Size[name] = readSize(q, Size{Spread: 2.5}, sheet.Positive(1))
	}
	q.Done()
}

// readSize reads leak (or leak_over_limit) and spread.
func readSize(m *sheet.Map, def Size, r sheet.Range) Size {
	s := def
	switch {
	case m.Has("leak"):
		s = Size{Median: m.SI("leak", unit.Flow, r), Spread: def.Spread}
	case m.Has("leak_over_limit"):
		s = Size{Median: m.Number("leak_over_limit", "the leak as a multiple of the limit", sheet.NotNegative(1e4)), Spread: def.Spread, Relative: true}
	}
	s.Spread = m.OptNumber("spread", "the factor within which two thirds of the leaks lie", sheet.Between(1.01, 100), s.Spread)
	return s
}

// check returns an error when the prior names a path that the pump has not, or leaves no path with weight.
func (pr *Prior) check(paths []pump.Path) error {
	known := map[string]bool{}
	var total float64
	for _, p := range paths {
		known[p.Name] = true
		total += pr.weight(p)
	}
	for _, k := range priorKinds {
		known[k] = true
	}
	for _, set := range []map[string]bool{keys(pr.Weight), keys(pr.Size)} {
		for name := range set {
			if !known[name] {
				return fmt.Errorf("the prior names the path %q, which this pump does not have; it has: %s", name, pathNames(paths))
			}
		}
	}
	if !(total > 0) {
		return fmt.Errorf("the prior gives every path of this pump the weight 0; give at least one path a weight above 0")
	}
	return nil
}

func keys[V any](m map[string]V) map[string]bool {
	out := make(map[string]bool, len(m))
	for k := range m {
		out[k] = true
	}
	return out
}

func pathNames(paths []pump.Path) string {
	s := ""
	for i, p := range paths {
		if i > 0 {
			s += ", "
		}
		s += p.Name
	}
	return s
}
