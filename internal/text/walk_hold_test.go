package text_test

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

func (h heard) result(p *pump.Pump, r *hold.Result, sys unit.System) {
	h.add(r.Verdict.Word, r.Stage)
	h.add(draw.Findings(p, r, sys)...)
	h.add(r.Assumed...)
	for _, n := range r.Verdict.Need {
		h.add(n.Text)
	}
	for _, d := range r.Doubts {
		h.add(d.Text)
	}
	for _, c := range r.Next {
		h.add(c.Do, c.Settles)
		h.add(c.Hazards...)
	}
	for _, q := range r.Paths {
		for how := range q.How {
			h.add(how)
		}
	}
}

// sheets are the hold sheets of the tree by name, without logged traces.
func sheets(t *testing.T) map[string]*hold.Sheet {
	t.Helper()
	out := map[string]*hold.Sheet{}
	add := func(name string, data []byte) {
		s, err := hold.ReadSheet(name, data, func(string) ([]byte, error) {
			return []byte("time (s),pressure (bar)\n0,200\n1,199\n2,198\n3,198\n4,197\n5,197\n9,196\n"), nil
		})
		if err != nil {
			t.Fatal(err)
		}
		out[name] = s
	}
	for _, name := range demo.Names() {
		if data, _ := demo.File(name); strings.HasPrefix(string(data), "hold:") || strings.Contains(string(data), "\nhold: 1") {
			add(name, data)
		}
	}
	files, err := filepath.Glob("../../hold/testdata/good/hold-*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d hold sheets in the tests of hold, %v", len(files), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		add(filepath.Base(f), data)
	}
	return out
}

// holds walks the analyses: every sheet, every pump with one reading of every kind, readings that contradict each other.
func (h heard) holds(t *testing.T) {
	sys := unit.Metric()
	analyse := func(p *pump.Pump, s *hold.Sheet) {
		r, err := hold.Analyse(p, s, hold.DefaultPrior(), hold.Options{Draws: 300, StdErr: 0.1, Next: true})
		if err != nil {
			h.refusal(err)
			return
		}
		h.result(p, r, sys)
	}
	all := sheets(t)
	for name, s := range all {
		if p := demoPump(t, s.Pump); name != "hold-full.yaml" {
			analyse(p, s)
		} else { // one reading of every kind cannot come from one pump: each alone
			for i, q := range pumps(t) {
				if i%7 == 0 || i%7 == 6 { // as it is, and with a crank
					h.each(q, s, analyse)
				}
			}
		}
	}
	h.add(hold.Signs...)
	for _, q := range []pump.Dir{pump.Up, pump.Down} {
		h.add(q.String() + "stroke")
	}
	h.doubtful(t, all["orrin-as-found.yaml"], analyse)
}

// each analyses the readings of a sheet one by one, as they are and far beyond what a pump can do.
func (h heard) each(p *pump.Pump, s *hold.Sheet, analyse func(*pump.Pump, *hold.Sheet)) {
	for _, r := range s.Readings {
		one := *s
		one.Pump, one.Readings = p.Name, []hold.Reading{r}
		analyse(p, &one)
		for _, wild := range []func(r *hold.Reading){
			func(r *hold.Reading) { r.Pressure = 1e9 },
			func(r *hold.Reading) { r.Travel, r.At = 3, 3 },
			func(r *hold.Reading) { r.Time, r.UpTime, r.DownTime = 1e-3, 1e-3, 1e-3 },
			func(r *hold.Reading) { r.Volume = 9 },
			func(r *hold.Reading) { r.Path = "roof" },
			func(r *hold.Reading) { r.Points = []hold.Point{{Time: 0, Pressure: 1e7}, {Time: 5, Pressure: 1.6e7}} },
			func(r *hold.Reading) { r.Points = []hold.Point{{Time: 0, Pressure: 1e9}, {Time: 5, Pressure: 1e9}} },
			func(r *hold.Reading) { *r = hold.Reading{Kind: r.Kind, Line: r.Line} },
		} {
			w := r
			w.Points = slices.Clone(r.Points)
			wild(&w)
			one.Readings = []hold.Reading{w}
			if _, err := hold.Analyse(p, &one, hold.DefaultPrior(), hold.Options{Draws: 20, StdErr: 1}); err != nil {
				h.refusal(err)
			}
		}
	}
}

// doubtful gives readings that do not fit together, two, three and four of them.
func (h heard) doubtful(t *testing.T, s *hold.Sheet, analyse func(*pump.Pump, *hold.Sheet)) {
	p := demoPump(t, "orrin-30")
	for n := 2; n <= 5; n++ {
		odd := *s
		odd.Readings = nil
		for i := range n {
			r := s.Readings[0]
			r.Time *= math.Pow(9, float64(i))
			odd.Readings = append(odd.Readings, r)
		}
		analyse(p, &odd)
	}
}

func (h heard) refusal(err error) {
	if r, ok := err.(*hold.Refusal); ok {
		for _, it := range r.Items {
			h.add(it.Found, it.Want, it.Fix)
		}
	}
	h.add(err.Error())
}
