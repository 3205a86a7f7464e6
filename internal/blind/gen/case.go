package gen

import (
	"math"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// Truth is what is really the matter with a pump.
type Truth struct {
	Paths []string           `json:"paths"` // at fault
	Leak  map[string]float64 `json:"leak_ml_min"`
	Form  map[string]string  `json:"form"`
	Meets bool               `json:"meets"`
	Wrong []int              `json:"wrong"` // readings, 1 for the first
}

// Case is one blind case.
type Case struct {
	ID       int     `json:"id"`
	Pump     string  `json:"pump"`
	Drive    string  `json:"drive"`
	Plan     string  `json:"plan"`
	Stage    string  `json:"stage"`
	Prior    string  `json:"prior"`
	Fluid    string  `json:"fluid"`
	Readings int     `json:"readings"`
	Sheet    string  `json:"sheet"`
	Truth    Truth   `json:"truth"`
	Ideal    Verdict `json:"ideal"`
}

// Verdict is the ideal observer's opinion in short.
type Verdict struct {
	Top       []string `json:"top"`
	P         float64  `json:"p"`
	TrueP     float64  `json:"p_true"` // of the true set
	Effective float64  `json:"effective"`
	Tell      string   `json:"tell"` // yes, no, or undecided
}

// Tellable is the probability from which the ideal observer is sure of a fault set.
const Tellable = 0.95

// Make makes n cases of a setup with an observer of the given number of draws.
func (s *Setup) Make(seed uint64, n, draws int) []Case {
	rng := rand.New(rand.NewPCG(seed, 0x5ca1ab1e))
	lib := s.newLibrary(rng, draws)
	out := make([]Case, 0, n)
	for i := range n {
		set := pickSet(rng, s.sets)
		var w world
		drawWorld(rng, &w, s.r, s.Fluid, s.Temperature, &s.Prior, set, s.sets[set].paths, s.Gauge)
		readings := s.take(rng, &w, s.Prior.Wrong)
		c := Case{
			ID: i + 1, Pump: s.Pump, Drive: s.Drive, Plan: s.Plan, Stage: s.Stage, Prior: s.Prior.Name, Fluid: s.Fluid.Kind,
			Readings: len(readings), Sheet: s.sheet(readings), Truth: s.truth(&w, readings),
		}
		c.Ideal = lib.verdict(rng, readings, set)
		out = append(out, c)
	}
	return out
}

func (s *Setup) truth(w *world, readings []Reading) Truth {
	t := Truth{Paths: s.names(w.bad), Leak: map[string]float64{}, Form: map[string]string{}, Meets: w.meets(), Wrong: []int{}}
	for _, j := range w.bad {
		name := s.r.paths[j].Name
		t.Leak[name] = roundTo(w.q[j]*60e6, 4)
		t.Form[name] = w.law[j].name()
	}
	for i, r := range readings {
		if r.Wrong {
			t.Wrong = append(t.Wrong, i+1)
		}
	}
	return t
}

func (l *law) name() string {
	name := formName[l.form]
	switch {
	case l.amp > 0:
		return name + ", bore worn in the middle"
	case l.side == int(pump.Up):
		return name + ", of one set, leaks on the upstroke"
	case l.side == int(pump.Down):
		return name + ", of one set, leaks on the downstroke"
	}
	return name
}

func (lib *library) verdict(rng *rand.Rand, readings []Reading, set int) Verdict {
	o := lib.opinion(rng, readings)
	v := Verdict{Top: []string{}, Effective: math.Round(o.Effective), Tell: "no"}
	truth := lib.s.names(lib.s.sets[set].paths)
	for i, sh := range o.Sets {
		if i == 0 {
			v.Top, v.P = sh.Paths, roundTo(sh.P, 4)
		}
		if same(sh.Paths, truth) {
			v.TrueP = roundTo(sh.P, 4)
		}
	}
	switch {
	case o.Effective < Few:
		v.Tell = "undecided"
	case v.P >= Tellable:
		v.Tell = "yes"
	}
	return v
}

func same(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// roundTo rounds to so many significant digits.
func roundTo(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-float64(digits-1))
	return math.Round(x/unit) * unit
}
