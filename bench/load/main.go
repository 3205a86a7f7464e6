// Load measures the bench web app as a workshop would feel it: the released program as a process of its own, a store filled with
// many jobs, 200 tablets that read and write. See the README beside it.
//
// Nothing leaves the machine: the program listens on 127.0.0.1, PostgreSQL on a Unix socket. The tablets run in this process and
// share the processors with the program; how much of them they took is printed.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// options say what is measured.
type options struct {
	cache   string // folder of the filled stores
	bin     string // the program; "" builds it
	engines []string
	jobs    []int
	think   time.Duration
	long    time.Duration // of each run
	starts  int
	only    bool // only fill
}

// longest is the longest run that is taken.
const longest = time.Minute

func main() {
	o, err := readFlags()
	if err == nil {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		err = measure(ctx, o)
		stop()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

func readFlags() (options, error) {
	o := options{cache: os.Getenv("EVENSTROKE_LOAD")}
	if o.cache == "" {
		o.cache = filepath.Join(os.TempDir(), "evenstroke-load")
	}
	engines := flag.String("engines", "sqlite,postgres", "engines, with commas")
	jobs := flag.String("jobs", "1000,100000,1000000", "sizes of the store, with commas; the first is what the others are compared with")
	flag.StringVar(&o.bin, "program", "", "the program to measure; empty builds it as it is released")
	flag.DurationVar(&o.think, "think", time.Second, "mean of the time that a tablet thinks (exponential)")
	flag.DurationVar(&o.long, "for", 30*time.Second, "how long each run lasts, at most a minute")
	flag.IntVar(&o.starts, "starts", 10, "how often the program is started to measure that")
	flag.BoolVar(&o.only, "fill", false, "only fill the stores")
	flag.Parse()
	o.engines = strings.Split(*engines, ",")
	for _, text := range strings.Split(*jobs, ",") {
		n, err := strconv.Atoi(text)
		if err != nil || n < 500 {
			return o, fmt.Errorf("jobs: found %q; expected numbers of 500 and more", text)
		}
		o.jobs = append(o.jobs, n)
	}
	if o.long > longest || o.long < time.Second || o.starts < 1 || o.starts > 50 {
		return o, errors.New("expected a run of a second to a minute, and 1 to 50 starts")
	}
	return o, nil
}

// measure fills what is not filled, measures each store and prints the tables.
func measure(ctx context.Context, o options) error {
	if err := os.MkdirAll(o.cache, 0o755); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "load-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if o.bin == "" && !o.only {
		if o.bin, err = build(dir); err != nil {
			return err
		}
	}
	var all []*result
	for _, engine := range o.engines {
		got, err := measureEngine(ctx, o, dir, engine)
		if err != nil {
			return fmt.Errorf("%s: %w", engine, err)
		}
		all = append(all, got...)
	}
	if o.only {
		return nil
	}
	return report(os.Stdout, o, all)
}

func measureEngine(ctx context.Context, o options, dir, engine string) (out []*result, err error) {
	var c *cluster
	switch engine {
	case "sqlite":
	case "postgres":
		if c, err = startCluster(o.cache); err != nil {
			return nil, err
		}
		defer func() { err = errors.Join(err, c.stop()) }()
	default:
		return nil, errors.New("expected sqlite or postgres")
	}
	for _, n := range o.jobs {
		p := &place{engine: engine, jobs: n, cluster: c, data: dir}
		if c == nil {
			p.data = filepath.Join(o.cache, fmt.Sprintf("sqlite-%d", n))
		}
		fmt.Fprintf(os.Stderr, "%s, %d jobs\n", engine, n)
		if err := p.fill(ctx); err != nil {
			return nil, err
		}
		if o.only {
			continue
		}
		r, err := p.measure(ctx, o)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}
