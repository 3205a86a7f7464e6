package blind

import (
	"encoding/json"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/blind/gen"
	"github.com/evenstroke/evenstroke/internal/blind/score"
)

const module = "github.com/evenstroke/evenstroke/"

// The generator shares no code with hold: of this module it imports package pump alone.
func TestGeneratorStandsAlone(t *testing.T) {
	files, err := filepath.Glob("gen/*.go")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, im := range f.Imports {
			path, err := strconv.Unquote(im.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			std := !strings.Contains(strings.SplitN(path, "/", 2)[0], ".")
			if !std && path != module+"pump" {
				t.Errorf("%s imports %s", name, path)
			}
		}
	}
}

// small is the set of `go run ./internal/blind/cmd/blind -n 150 -draws 20000 -cases internal/blind/testdata/small.json`.
func small(t *testing.T) []gen.Case {
	t.Helper()
	data, err := os.ReadFile("testdata/small.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []gen.Case
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

// The small set is too small to prove 95 % or 0.03; it must not contradict them: an interval of 95 % that lies wholly outside
// fails, and so does a calibration error beyond what is needed and what chance adds. The whole is docs/blind.md.
func TestSmallSet(t *testing.T) {
	cases := small(t)
	if testing.Short() {
		n := 0
		for i := 0; i < len(cases); i += 3 {
			cases[n] = cases[i]
			n++
		}
		cases = cases[:n]
	}
	outcomes := judge(t, cases)
	var all score.Tally
	for i := range outcomes {
		all.Add(&outcomes[i])
	}
	meets := func(name string, s score.Share, n score.Need) {
		if lo, hi := s.Interval(); hi < n.Lo || lo > n.Hi {
			t.Errorf("%s: %d of %d; want %g to %g", name, s.Hits, s.Of, n.Lo, n.Hi)
		}
	}
	meets("right fault set first", all.Tellable, score.NeedTell)
	meets("interval of the leak", all.Cover, score.NeedCover)
	meets("does not hold, but meets its limit", all.NotHold, score.NeedVerdict)
	meets("does not hold, but healthy", all.NotHoldWell, score.NeedVerdict)
	meets("holds, but does not meet its limit", all.Holds, score.NeedVerdict)
	if !testing.Short() && (all.Passed.Of < 15 || all.Passed.Hits < all.Passed.Of/3) { // the crank pumps among them cannot prove their inlet
		t.Errorf("%d of %d rebuilt pumps that meet their limits are passed", all.Passed.Hits, all.Passed.Of)
	}
	for name, c := range map[string]*score.Curve{"first fault set": &all.Set, "each path": &all.Path} {
		if e := c.Error(); e > score.NeedCurve.Hi+1.5*c.Chance() {
			t.Errorf("calibration error of %s: %.3f, %.3f of it by chance", name, e, c.Chance())
		}
	}
	if !testing.Short() && all.Tellable.Of < 10 || all.Cover.Of < len(cases)/2 || all.Refused > len(cases)/10 {
		t.Errorf("the set says little: %d can be told, %d leaks, %d refused", all.Tellable.Of, all.Cover.Of, all.Refused)
	}
}

func judge(t *testing.T, cases []gen.Case) []score.Outcome {
	t.Helper()
	out := make([]score.Outcome, len(cases))
	var done sync.WaitGroup
	const workers = 2
	for k := range workers {
		j, err := score.NewJudge(time.Now)
		if err != nil {
			t.Fatal(err)
		}
		done.Add(1)
		go func() {
			defer done.Done()
			for i := k; i < len(cases); i += workers {
				var err error
				if out[i], err = j.Try(cases[i]); err != nil {
					t.Error(err)
				}
			}
		}()
	}
	done.Wait()
	return out
}

// A generator of another day must make the same cases, else the report cannot be repeated.
func TestSameSeedSameCases(t *testing.T) {
	setups, err := gen.Setups()
	if err != nil {
		t.Fatal(err)
	}
	s := setups[0]
	a, err := json.Marshal(s.Make(5, 3, 500))
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(s.Make(5, 3, 500))
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Error("the same seed gave other cases")
	}
}
