// Command blind makes blind cases, puts them before package hold and writes the report.
//
//	go run ./internal/blind/cmd/blind -n 4000 -out docs/blind.md
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/blind/gen"
	"github.com/evenstroke/evenstroke/internal/blind/score"
)

func main() {
	o := options{}
	flag.IntVar(&o.n, "n", 4000, "cases")
	flag.IntVar(&o.draws, "draws", 100000, "draws of the ideal observer for each setup")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of everything")
	flag.StringVar(&o.out, "out", "", "write the report to this file instead of printing it")
	flag.StringVar(&o.cases, "cases", "", "write the cases to this file, as JSON")
	flag.StringVar(&o.from, "from", "", "take the cases from this file, made earlier with the same -n, -draws and -seed, instead of making them")
	flag.Parse()
	if err := o.run(); err != nil {
		fmt.Fprintln(os.Stderr, "blind:", err)
		os.Exit(1)
	}
}

type options struct {
	n, draws         int
	seed             uint64
	out, cases, from string
}

func (o options) run() error {
	cases, err := o.load()
	if err != nil {
		return err
	}
	if o.cases != "" {
		data, err := json.MarshalIndent(cases, "", " ")
		if err != nil {
			return err
		}
		if err := os.WriteFile(o.cases, append(data, '\n'), 0o644); err != nil {
			return err
		}
	}
	start := time.Now()
	outcomes, err := judge(cases)
	if err != nil {
		return err
	}
	all := score.Tally{}
	for i := range outcomes {
		all.Add(&outcomes[i])
	}
	median, high := all.Times()
	fmt.Fprintf(os.Stderr, "judged %d cases in %.0f s; a sheet takes %.0f ms (median), %.0f ms (95 %% point)\n", len(cases), time.Since(start).Seconds(),
		1e3*median.Seconds(), 1e3*high.Seconds())
	text := score.Report(outcomes, fmt.Sprintf("go run ./internal/blind/cmd/blind -n %d -draws %d -seed %d", o.n, o.draws, o.seed))
	if o.out == "" {
		fmt.Print(text)
		return nil
	}
	return os.WriteFile(o.out, []byte(text), 0o644)
}

func (o options) load() ([]gen.Case, error) {
	if o.from != "" {
		data, err := os.ReadFile(o.from)
		if err != nil {
			return nil, err
		}
		var cases []gen.Case
		return cases, json.Unmarshal(data, &cases)
	}
	return o.make()
}

// make makes the cases, setup by setup, on two cores.
func (o options) make() ([]gen.Case, error) {
	setups, err := gen.Setups()
	if err != nil {
		return nil, err
	}
	start := time.Now()
	each := make([][]gen.Case, len(setups))
	var done sync.WaitGroup
	var lock sync.Mutex
	free, ready := make(chan bool, 2), 0
	for i, s := range setups {
		done.Add(1)
		go func() {
			defer done.Done()
			free <- true
			defer func() { <-free }()
			n := o.n/len(setups) + min(1, max(0, o.n%len(setups)-i))
			each[i] = s.Make(o.seed*1000+uint64(i), n, o.draws)
			lock.Lock()
			defer lock.Unlock()
			ready++
			fmt.Fprintf(os.Stderr, "%2d of %d setups, %.0f s: %s\n", ready, len(setups), time.Since(start).Seconds(), s.Name())
		}()
	}
	done.Wait()
	var cases []gen.Case
	for _, c := range each {
		cases = append(cases, c...)
	}
	for i := range cases {
		cases[i].ID = i + 1
	}
	return cases, nil
}

// judge analyses the cases on two cores.
func judge(cases []gen.Case) ([]score.Outcome, error) {
	out := make([]score.Outcome, len(cases))
	errs := make([]error, 2)
	var done sync.WaitGroup
	for k := range errs {
		j, err := score.NewJudge(time.Now)
		if err != nil {
			return nil, err
		}
		done.Add(1)
		go func() {
			defer done.Done()
			for i := k; i < len(cases) && errs[k] == nil; i += len(errs) {
				out[i], errs[k] = j.Try(cases[i])
			}
		}()
	}
	done.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}
