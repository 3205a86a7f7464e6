package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/store"
)

// place is one store to measure.
type place struct {
	engine  string
	jobs    int
	cluster *cluster // nil with SQLite
	data    string   // folder that the program is given
	address string   // of the database; "" with SQLite
	passes  []pass
}

// fill fills the store and signs the tablets in.
func (p *place) fill(ctx context.Context) (err error) {
	where := filepath.Join(p.data, "workshop.db")
	if p.cluster != nil {
		if p.address, err = p.cluster.database(ctx, p.name()); err != nil {
			return err
		}
		where = p.address
	}
	st, err := store.Open(ctx, where, store.Options{})
	if err != nil {
		return err
	}
	err = fill(ctx, st, p.jobs, os.Stderr)
	if err == nil {
		p.passes, err = signIn(ctx, st, tablets)
	}
	if err = errors.Join(err, st.Close()); err != nil || p.cluster == nil {
		return err
	}
	return p.cluster.settle(ctx, p.name())
}

// result is what was measured of one place.
type result struct {
	*place
	starts     []time.Duration // sorted
	idle       int64           // resident bytes before the load
	calm, full *load           // with and without time to think
	alone      crowd
	wire       map[string]int64
	binary     int64
}

// load is one run of all tablets.
type load struct {
	crowd
	long                         time.Duration
	peak                         int64         // resident bytes at most
	server, tablets, db, strange time.Duration // processor time
	stolen                       time.Duration // by the host of a virtual machine
}

// wirePages are the pages whose first load is measured.
var wirePages = []string{"board", "job", "search", "hold"}

// warm reads the whole store once, so that it lies in the memory of the system as it does on a server that has run for a while.
func (p *place) warm(ctx context.Context) error {
	dir := p.data
	if p.cluster != nil {
		var err error
		if dir, err = p.cluster.folder(ctx, p.name()); err != nil {
			return err
		}
	}
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		_, err = io.Copy(io.Discard, f)
		return errors.Join(err, f.Close(), ctx.Err())
	})
}

func (p *place) name() string { return fmt.Sprintf("shop_%d", p.jobs) }

func (p *place) measure(ctx context.Context, o options) (*result, error) {
	r := &result{place: p, wire: map[string]int64{}}
	info, err := os.Stat(o.bin)
	if err != nil {
		return nil, err
	}
	r.binary = info.Size()
	if err := p.warm(ctx); err != nil {
		return nil, err
	}
	for range o.starts {
		s, err := serve(ctx, o.bin, p.data, p.address, p.passes[0])
		if err != nil {
			return nil, err
		}
		r.starts = append(r.starts, s.took)
		if err := s.stop(); err != nil {
			return nil, err
		}
	}
	slices.Sort(r.starts)
	s, err := serve(ctx, o.bin, p.data, p.address, p.passes[0])
	if err != nil {
		return nil, err
	}
	if err := errors.Join(r.under(ctx, o, s), s.stop()); err != nil {
		return nil, err
	}
	return r, nil
}

// under measures the running program: idle, one tablet, all tablets.
func (r *result) under(ctx context.Context, o options, s *server) error {
	time.Sleep(2 * time.Second)
	r.idle = resident(s.cmd.Process.Pid)
	var err error
	a := newAsker(r.jobs, seeded(1))
	for _, page := range wirePages {
		path := "/"
		for _, k := range kinds {
			if k.name == page {
				path = k.ask(a).path
			}
		}
		if page == "job" || page == "hold" { // of a job that has a verdict with its pictures
			path = fmt.Sprintf("/jobs/%d%s", a.read(), map[string]string{"hold": "/found"}[page])
		}
		if r.wire[page], err = wireSize(ctx, s.url, r.passes[0], path); err != nil {
			return err
		}
	}
	if r.alone, err = alone(ctx, s.url, r.passes[0], r.jobs, 100); err != nil {
		return err
	}
	if r.calm, err = r.load(ctx, s, o.think, o.long); err != nil {
		return err
	}
	r.full, err = r.load(ctx, s, 0, min(o.long, 15*time.Second))
	return err
}

// load runs all tablets and watches memory and processors meanwhile.
func (r *result) load(ctx context.Context, s *server, think, long time.Duration) (*load, error) {
	l := &load{long: long}
	pid := s.cmd.Process.Pid
	var watch sync.WaitGroup
	over, stop := context.WithCancel(ctx)
	watch.Go(func() {
		for over.Err() == nil {
			l.peak = max(l.peak, resident(pid))
			time.Sleep(100 * time.Millisecond)
		}
	})
	var db []int
	if r.cluster != nil {
		time.Sleep(time.Second) // until each connection that will be used has its process
		db = r.cluster.processes()
	}
	began := time.Now()
	server, tablets, base := cpu(pid), cpu(os.Getpid()), cpu(db...)
	all, stolen := busy()
	l.crowd = work(ctx, s.url, r.passes, r.jobs, think, long)
	if r.cluster != nil {
		db = r.cluster.processes() // those that came meanwhile too
	}
	l.server, l.tablets, l.db = cpu(pid)-server, cpu(os.Getpid())-tablets, cpu(db...)-base
	allNow, stolenNow := busy()
	l.strange, l.stolen = allNow-all-l.server-l.tablets-l.db, stolenNow-stolen
	l.long = time.Since(began)
	stop()
	watch.Wait()
	if n := len(l.failed); n > 0 {
		fmt.Fprintf(os.Stderr, "%d of %d requests failed, the first: %v\n", n, n+l.asked, l.failed[0])
	}
	return l, ctx.Err()
}
