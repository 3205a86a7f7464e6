package gate

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"math"
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"github.com/evenstroke/evenstroke/internal/record"
)

// mostKeys bounds the memory of one set of limits.
const mostKeys = 4096

// limits is one rate limiter a key. A key that was not used for as long as its bucket takes to fill is forgotten: nothing is lost by
// it. Over mostKeys the one used longest ago is forgotten.
type limits struct {
	mu    sync.Mutex
	rate  rate.Limit
	burst int
	keys  map[string]*list.Element
	order list.List // of *limit, the latest first
}

type limit struct {
	key  string
	used time.Time
	*rate.Limiter
}

func newLimits(r rate.Limit, burst int) *limits {
	return &limits{rate: r, burst: burst, keys: map[string]*list.Element{}}
}

// take takes one from the bucket of a key: 0, or how long to wait for the next.
func (l *limits) take(key string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.forget(now)
	e, ok := l.keys[key]
	if !ok {
		e = l.order.PushFront(&limit{key: key, Limiter: rate.NewLimiter(l.rate, l.burst)})
		l.keys[key] = e
	}
	l.order.MoveToFront(e)
	x := e.Value.(*limit)
	x.used = now
	r := x.ReserveN(now, 1)
	wait := r.DelayFrom(now)
	if wait > 0 {
		r.CancelAt(now)
	}
	return wait
}

func (l *limits) forget(now time.Time) {
	full := time.Duration(float64(l.burst) / float64(l.rate) * float64(time.Second))
	for e := l.order.Back(); e != nil; e = l.order.Back() {
		x := e.Value.(*limit)
		if len(l.keys) < mostKeys && now.Sub(x.used) < full {
			return
		}
		l.order.Remove(e)
		delete(l.keys, x.key)
	}
}

// network is the key of an address: a whole /64 of IPv6, which one machine may have for itself.
func network(a netip.Addr) string {
	a = a.Unmap()
	if a.Is6() {
		p, err := a.WithZone("").Prefix(64)
		if err == nil {
			return p.String()
		}
	}
	return a.String()
}

// Wait is the cause of a TooMany fault: for how long nothing will be let through.
type Wait struct{ Left time.Duration }

// Error says for how long.
func (w *Wait) Error() string { return "wait " + w.Left.String() }

// Left is how long to wait before it makes sense to try again, 0 when the error does not say.
func Left(err error) time.Duration {
	var w *Wait
	if errors.As(err, &w) {
		return w.Left
	}
	return 0
}

func tooMany(where, found string, left time.Duration) *record.Fault {
	return &record.Fault{Code: record.TooMany, Where: where, Found: found, Want: "a pause", Mend: "try again in " + spoken(left), Err: &Wait{left}}
}

// spoken writes a time to wait, never too short.
func spoken(d time.Duration) string {
	s := int(math.Ceil(d.Seconds()))
	switch {
	case s <= 1:
		return "1 second"
	case s < 120:
		return fmt.Sprintf("%d seconds", s)
	case s <= 2*3600:
		return fmt.Sprintf("%d minutes", (s+59)/60)
	}
	return fmt.Sprintf("%d hours", (s+3599)/3600)
}

// turns lets one at a time do something for a person.
type turns [64]chan struct{}

func (t *turns) fill() {
	for i := range t {
		t[i] = make(chan struct{}, 1)
	}
}

// take waits for the turn; the function it returns gives it on.
func (t *turns) take(ctx context.Context, person int64) (func(), error) {
	c := t[uint64(person)%uint64(len(t))]
	select {
	case c <- struct{}{}:
		return func() { <-c }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// onceOK keeps the first result that is no error.
func onceOK[T any](fn func() (T, error)) func() (T, error) {
	var mu sync.Mutex
	var out T
	done := false
	return func() (T, error) {
		mu.Lock()
		defer mu.Unlock()
		if done {
			return out, nil
		}
		v, err := fn()
		if err == nil {
			out, done = v, true
		}
		return v, err
	}
}
