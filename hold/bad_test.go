package hold

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/pump"

	"github.com/evenstroke/evenstroke/sheet"
)

const top = "hold: 1\npump: orrin-30\n"

// Every kind of bad hold sheet gives one clear error: where, what was found, what is expected.
func TestBadHoldSheets(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":                {"", "found an empty file"},
		"not yaml":             {"hold: [1", "YAML"},
		"a list":               {"- 1\n- 2\n", "not a list of keys"},
		"binary":               {"hold: 1\x00\xff\xfe", "UTF-8"},
		"no version":           {"pump: x\nreadings: []\n", "hold: found nothing"},
		"newer version":        {"hold: 2\npump: x\nreadings: []\n", `hold: found "2"; expected the version`},
		"no pump":              {"hold: 1\nreadings: []\n", "pump: found nothing"},
		"unknown key":          {top + "gage: {}\nreadings: []\n", `gage: found an unknown key`},
		"spelling":             {top + "readings: []\nseriel: a\n", `did you mean "serial"?`},
		"no unit":              {top + "readings:\n  - {creep: up, pressure: 2330, travel: 60 mm, time: 9 s}\n", `x.yaml:4: readings[1].pressure: found "2330" has no unit`},
		"wrong unit":           {top + "readings:\n  - {creep: up, pressure: 60 mm, travel: 60 mm, time: 9 s}\n", `found "60 mm" is a length; expected a pressure`},
		"negative":             {top + "readings:\n  - {creep: up, pressure: -3 bar, travel: 60 mm, time: 9 s}\n", "above 0"},
		"nan":                  {top + "readings:\n  - {creep: up, pressure: NaN bar, travel: 60 mm, time: 9 s}\n", "readings[1].pressure"},
		"two kinds":            {top + "readings:\n  - {creep: up, still: up, pressure: 3 bar, travel: 6 mm, time: 9 s}\n", "2 kinds of reading (creep, still)"},
		"no kind":              {top + "readings:\n  - {pressure: 3 bar}\n", "0 kinds of reading"},
		"no such stroke":       {top + "readings:\n  - {creep: left, pressure: 3 bar, travel: 6 mm, time: 9 s}\n", `"left"; expected one of up, down`},
		"times run back":       {top + "readings:\n  - locked: up\n    pressures: [{at: 9 s, pressure: 3 bar}, {at: 3 s, pressure: 2 bar}]\n", "times that grow"},
		"one pressure":         {top + "readings:\n  - locked: up\n    pressures: [{at: 9 s, pressure: 3 bar}]\n", "1 items; expected 2 to 40"},
		"run of nothing":       {top + "readings:\n  - {run: 20, pressure: 100 bar}\n", "without volume and without stroke times"},
		"half a cycle":         {top + "readings:\n  - {run: 2.5, pressure: 100 bar, up_time: 1 s, down_time: 1 s}\n", "a whole number"},
		"negative drops":       {top + "readings:\n  - {drips: throat packing, pressure: 9 bar, time: 60 s, drops: -1}\n", "drops"},
		"unknown sign":         {top + "readings:\n  - {sign: hums}\n", `"hums"; expected one of surges`},
		"trace not here":       {top + "readings:\n  - {trace: a.csv, drive: locked}\n", "traces in files"},
		"no number of reading": {top + "readings: 3\n", `readings: found "3"; expected a list of readings`},
		"anchor":               {top + "readings: &a []\nx: *a\n", "anchor"},
		"twice":                {top + "pump: y\nreadings: []\n", "second time"},
		"cut off":              {top + "readings:\n  - {creep: up, pressure: 3 bar, tra", "YAML"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadSheet("x.yaml", []byte(c.text), nil)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v\nwant an error with %q", err, c.want)
			}
			checkErrors(t, err)
		})
	}
}

// checkErrors asks of every error of a file that it names the file, what was found and what is expected.
func checkErrors(t *testing.T, err error) {
	t.Helper()
	list := sheet.List(err)
	if len(list) == 0 {
		t.Fatalf("%v is no error of a sheet", err)
	}
	for _, e := range list {
		if e.File == "" || e.Found == "" || e.Want == "" || strings.Contains(e.Error(), "\n") {
			t.Errorf("incomplete: %+v", e)
		}
	}
}

func TestBadPriors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"no version":    {"healthy: 20 %\n", "prior: found nothing"},
		"not a share":   {"prior: 1\nhealthy: 120 %\n", "healthy"},
		"shares":        {"prior: 1\nfaults: {one: 70 %, two: 10 %, three: 1 %}\n", "100 %"},
		"spread":        {"prior: 1\npaths: [{kind: seat, leak: 3 mL/min, spread: 0.5}]\n", "spread"},
		"negative leak": {"prior: 1\npaths: [{kind: seat, leak: -3 mL/min}]\n", "leak"},
		"kind":          {"prior: 1\npaths: [{kind: gasket, weight: 1}]\n", "one of packing"},
		"weight":        {"prior: 1\npaths: [{kind: seat, weight: -1}]\n", "weight"},
		"unknown":       {"prior: 1\nhealth: 20 %\n", `did you mean "healthy"?`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadPrior("p.yaml", []byte(c.text))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v\nwant an error with %q", err, c.want)
			}
			checkErrors(t, err)
		})
	}
}

// A prior that names a path of another pump is refused when it meets the pump.
func TestPriorForAnotherPump(t *testing.T) {
	pr, err := ReadPrior("p.yaml", []byte("prior: 1\npaths: [{path: left inlet, weight: 2}]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Analyse(differential(), bench4(), pr, Options{}); err == nil || !strings.Contains(err.Error(), "left inlet") {
		t.Errorf("got %v, want an error that names the path", err)
	}
}

func TestBadTraces(t *testing.T) {
	row := "1;200\n2;199\n3;198\n4;197\n5;196\n"
	for name, c := range map[string]struct{ text, want string }{
		"empty":          {"", "no header"},
		"no units":       {"time;pressure\n" + row, "a name with its unit"},
		"no pressure":    {"time (s);level (mm)\n" + row, "expected the columns time and pressure"},
		"wrong unit":     {"time (s);pressure (mm)\n" + row, "pressure"},
		"twice":          {"time (s);time (s)\n" + row, "twice"},
		"a word":         {"time (s);pressure (bar)\n1;200\n2;n/a\n", "line 3: pressure: found \"n/a\""},
		"nan":            {"time (s);pressure (bar)\n1;NaN\n" + row, "line 2"},
		"time runs back": {"time (s);pressure (bar)\n3;200\n2;199\n", "times that grow"},
		"cut off":        {"time (s);pressure (bar)\n1;200\n2\n", "cut off"},
		"too short":      {"time (s);pressure (bar)\n1;200\n", "at least 5"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadTrace("t.csv", []byte(c.text), TraceOptions{Kind: "locked"})
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "t.csv: ") {
				t.Errorf("got %v\nwant an error of t.csv with %q", err, c.want)
			}
		})
	}
}

func FuzzReadSheet(f *testing.F) {
	for _, name := range []string{"hold-full.yaml", "hold-orrin.yaml", "hold-tolsk.yaml"} {
		text, err := os.ReadFile("testdata/good/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte(`{"hold":1,"pump":"x","readings":[{"restart":"up","time":"4 s"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ReadSheet("f", data, nil)
		if err != nil {
			checkErrors(t, err)
			return
		}
		if len(s.Readings) > 6 {
			return
		}
		pump := differential()
		if len(s.Readings) > 0 && (s.Readings[0].Kind == Locked || s.Readings[0].Kind == Restart) {
			pump = cranked()
		}
		r, err := Analyse(pump, s, DefaultPrior(), Options{Draws: 200, Next: true})
		if err != nil {
			if err.Error() == "" {
				t.Error("an empty error")
			}
			return
		}
		var sum float64
		for _, x := range r.Sets {
			sum += x.P
		}
		if !(sum > 0.999 && sum < 1.001) {
			t.Errorf("the fault sets add up to %g for %q", sum, data)
		}
	})
}

func FuzzReadPrior(f *testing.F) {
	text, err := os.ReadFile("testdata/good/prior-full.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Fuzz(func(t *testing.T, data []byte) {
		pr, err := ReadPrior("f", data)
		if err != nil {
			checkErrors(t, err)
			return
		}
		if !(pr.Healthy > 0 && pr.Healthy < 1) {
			t.Errorf("share of healthy pumps %g from %q", pr.Healthy, data)
		}
	})
}

func FuzzReadTrace(f *testing.F) {
	f.Add([]byte("time (s);pressure (bar);position (mm)\n0;200;1\n1;199;2\n2;198,5;3\n3;198;4\n4;197;5\n5;196;4\n6;195;2\n"), "force-held")
	f.Add([]byte("time (s),pressure (psi)\n0,3000\n1,2990\n2,2980\n3,2970\n4,2960\n5,2950\n"), "locked")
	f.Fuzz(func(t *testing.T, data []byte, kind string) {
		rs, err := ReadTrace("f", data, TraceOptions{Kind: kind, Stroke: 1, Ruler: 5e-4, Gauge: Gauge{Class: 0.016}})
		if err == nil && len(rs) == 0 {
			t.Error("neither readings nor an error")
		}
		for _, r := range rs {
			if r.Kind != Locked && !(r.Time > 0) {
				t.Errorf("a reading of %g s from %q", r.Time, data)
			}
		}
	})
}

// What is missing is an error, not a panic; so is a reading of which nothing was filled in.
func TestNothingGiven(t *testing.T) {
	p, s, pr := differential(), &Sheet{Fluid: FluidSpec{Kind: "water", Temperature: 293.15, Air: math.NaN()}}, DefaultPrior()
	var missing *MissingError
	for what, call := range map[string]func() error{
		"pump":       func() error { _, err := Analyse(nil, s, pr, Options{}); return err },
		"hold sheet": func() error { _, err := Analyse(p, nil, pr, Options{}); return err },
		"prior":      func() error { _, err := Analyse(p, s, nil, Options{}); return err },
	} {
		if err := call(); !errors.As(err, &missing) || missing.What != what {
			t.Errorf("without a %s: %v", what, err)
		}
	}
	if !errors.As(Refuse(nil, s), &missing) || !errors.As(Refuse(p, nil), &missing) {
		t.Error("Refuse takes nothing for something")
	}
	for _, kind := range kindList {
		for _, r := range []Reading{{Kind: kind}, {Kind: kind, Warmth: math.NaN(), At: math.NaN(), Volume: math.NaN(), UpTime: math.NaN(), DownTime: math.NaN()}} {
			for _, pump := range []*pump.Pump{differential(), cranked()} {
				s.Readings = []Reading{r}
				res, err := Analyse(pump, s, pr, Options{Draws: 100, Next: true})
				if (res == nil) == (err == nil) {
					t.Errorf("%s: %v, %v", kind, res, err)
				}
			}
		}
	}
}
