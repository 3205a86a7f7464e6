package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// tablet asks, waits for the answer, thinks, asks again. It has an address of its own on the loopback network, as it has in a
// workshop: the gate bounds the requests of an address.
type tablet struct {
	pass
	*asker
	base    string
	client  *http.Client
	think   time.Duration // mean of an exponential distribution; 0 does not think
	changed chan struct{} // something was written
	seen    map[string][]time.Duration
	failed  []error
	deaf    error     // why it hears nothing
	from    time.Time // what is asked before is not counted
}

func newTablet(i int, base string, p pass, a *asker, think time.Duration, from time.Time) *tablet {
	d := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 1, byte(i/250), byte(1+i%250))}}
	return &tablet{pass: p, asker: a, base: base, think: think, changed: make(chan struct{}, 1), seen: map[string][]time.Duration{}, from: from,
		client: &http.Client{Transport: &http.Transport{DialContext: d.DialContext, DisableCompression: true, MaxIdleConnsPerHost: 4},
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// run works until ctx ends.
func (t *tablet) run(ctx context.Context) {
	defer t.client.CloseIdleConnections()
	var ear sync.WaitGroup
	ear.Go(func() {
		if err := t.listen(ctx); ctx.Err() == nil {
			t.deaf = fmt.Errorf("events: %w", err)
		}
	})
	defer ear.Wait()
	t.wait(ctx, "")
	for ctx.Err() == nil {
		k := t.pick()
		t.one(ctx, k.name, k.ask(t.asker))
		t.wait(ctx, k.name)
	}
}

// one asks one question and notes how long its answer took, to its last byte.
func (t *tablet) one(ctx context.Context, name string, q question) {
	begin := time.Now()
	err := ask(ctx, t.client, t.base, t.pass, q, io.Discard)
	if ctx.Err() != nil || begin.Before(t.from) {
		return
	}
	if err != nil {
		t.failed = append(t.failed, err)
		return
	}
	t.seen[name] = append(t.seen[name], time.Since(begin))
}

// wait thinks. While a board is looked at, its page asks for its lanes when it hears that something was written.
func (t *tablet) wait(ctx context.Context, on string) {
	if t.think == 0 {
		return
	}
	over := time.NewTimer(time.Duration(t.r.ExpFloat64() * float64(t.think)))
	defer over.Stop()
	select {
	case <-t.changed: // what came before the page was asked for is in it
	default:
	}
	for {
		select {
		case <-ctx.Done():
			return
		case <-over.C:
			return
		case <-t.changed:
			if on == "board" {
				t.one(ctx, lanes, get("/board/lanes"))
			}
		}
	}
}

// listen hears the events of the board, as an open page does, until the stream ends.
func (t *tablet) listen(ctx context.Context) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, t.base+"/board/events", nil)
	if err != nil {
		return err
	}
	t.show(r.Header)
	res, err := t.client.Do(r)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		return errors.New(res.Status)
	}
	lines := bufio.NewScanner(res.Body)
	for lines.Scan() {
		if !strings.HasPrefix(lines.Text(), "event: jobs") {
			continue
		}
		select {
		case t.changed <- struct{}{}:
		default:
		}
	}
	return cmp.Or(lines.Err(), io.ErrUnexpectedEOF)
}

// crowd is what many tablets saw together.
type crowd struct {
	seen   map[string][]time.Duration // sorted
	failed []error
	asked  int
}

// work lets n tablets work for a time, after a second to warm up.
func work(ctx context.Context, base string, passes []pass, jobs int, think, long time.Duration) crowd {
	const warm = time.Second
	from := time.Now().Add(warm)
	ctx, stop := context.WithTimeout(ctx, warm+long)
	defer stop()
	all := make([]*tablet, len(passes))
	var wg sync.WaitGroup
	for i, p := range passes {
		all[i] = newTablet(i, base, p, newAsker(jobs, rand.New(rand.NewPCG(uint64(i), uint64(time.Now().UnixNano())))), think, from)
		wg.Go(func() { all[i].run(ctx) })
	}
	wg.Wait()
	out := crowd{seen: map[string][]time.Duration{}}
	for _, t := range all {
		for name, d := range t.seen {
			out.seen[name] = append(out.seen[name], d...)
			out.asked += len(d)
		}
		out.failed = append(out.failed, t.failed...)
		if t.deaf != nil {
			out.failed = append(out.failed, t.deaf)
		}
	}
	for _, d := range out.seen {
		slices.Sort(d)
	}
	return out
}

// alone lets one tablet ask each kind of question n times, one after the other, with nobody else there: what a page costs.
func alone(ctx context.Context, base string, p pass, jobs, n int) (crowd, error) {
	t := newTablet(0, base, p, newAsker(jobs, rand.New(rand.NewPCG(7, 7))), 0, time.Now())
	defer t.client.CloseIdleConnections()
	for _, k := range aloneKinds() {
		for i := range n {
			if i%20 == 19 { // the gate bounds how fast one tablet may ask
				time.Sleep(500 * time.Millisecond)
			}
			t.one(ctx, k.name, k.ask(t.asker))
		}
		slices.Sort(t.seen[k.name])
	}
	if len(t.failed) > 0 {
		return crowd{}, fmt.Errorf("one tablet alone: %w", t.failed[0])
	}
	return crowd{seen: t.seen}, ctx.Err()
}

// quantile is the smallest value that a share q of the sorted values does not exceed (nearest rank).
func quantile(sorted []time.Duration, q float64) time.Duration {
	if len(sorted) == 0 {
		return 0
	}
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))]
}
