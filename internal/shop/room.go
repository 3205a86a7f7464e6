package shop

import (
	"context"
	"fmt"
	"io"
	"slices"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// MostRoom is how much of photos and archives may be in memory at once, in bytes; mostShare how much of it one person may ask for at a time,
// unless it is in one piece; roomStep the pieces in which room is taken.
const (
	MostRoom  = 256 << 20
	mostShare = 64 << 20
	roomStep  = 256 << 10
)

// room is the memory for large bodies. It is taken as they come, so that who says much and sends little holds little, and given so that all that
// were begun can come to their end.
type room struct {
	mu     sync.Mutex
	now    func() time.Time
	free   int64
	all    []*Intake     // that were begun
	change chan struct{} // closed when room was given back
}

func newRoom(now func() time.Time) *room {
	return &room{now: now, free: MostRoom, change: make(chan struct{})}
}

// Intake is a large body that comes in.
type Intake struct {
	room       *room
	who        int64
	held, most int64
	done       bool
}

// Intake begins to take in a large body of n bytes (below 0: of a length that is not known) and at most so many. A person whose other bodies leave
// nothing of the share waits, as long as ctx allows; the error is then that of ctx. Done is to be called at the end.
func (s *Shop) Intake(ctx context.Context, person, n, most int64) (*Intake, error) {
	if n < 0 || n > most {
		n = most
	}
	in := &Intake{room: s.room, who: person, most: n}
	return in, s.room.until(ctx, func() bool {
		if sum := s.room.asked(person); sum > 0 && sum+n > mostShare {
			return false
		}
		s.room.all = append(s.room.all, in)
		return true
	})
}

// asked is how much a person asks for in all, with the room locked.
func (r *room) asked(person int64) (sum int64) {
	for _, in := range r.all {
		if in.who == person {
			sum += in.most
		}
	}
	return sum
}

// until waits until something can be done, and does it.
func (r *room) until(ctx context.Context, do func() bool) error {
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		r.mu.Lock()
		ok, change := do(), r.change
		r.mu.Unlock()
		if ok {
			return nil
		}
		select {
		case <-change:
		case <-ctx.Done():
		}
	}
}

// safe says whether all that were begun could still come to their end, one after another, if no more than what is free were given to them
// (the banker's algorithm for one resource, E. W. Dijkstra, EWD 623, from memory): else each might wait for what another holds.
func (r *room) safe() bool {
	order := slices.Clone(r.all)
	slices.SortFunc(order, func(a, b *Intake) int { return int((a.most - a.held) - (b.most - b.held)) })
	free := r.free
	for _, in := range order {
		if in.most-in.held > free {
			return false
		}
		free += in.held
	}
	return free >= 0
}

// grow takes room for n bytes more.
func (in *Intake) grow(ctx context.Context, n int64) error {
	r := in.room
	return r.until(ctx, func() bool {
		if r.free < n {
			return false
		}
		r.free, in.held = r.free-n, in.held+n
		if r.safe() {
			return true
		}
		r.free, in.held = r.free+n, in.held-n
		return false
	})
}

// Done gives all room of the body back.
func (in *Intake) Done() {
	r := in.room
	r.mu.Lock()
	defer r.mu.Unlock()
	if in.done {
		return
	}
	in.done = true
	r.free += in.held
	r.all = slices.DeleteFunc(r.all, func(x *Intake) bool { return x == in })
	close(r.change)
	r.change = make(chan struct{})
}

// A sender that sends less than leastRate bytes in each of the times that pace is cut off: it holds room that others wait for.
const (
	pace      = 10 * time.Second
	leastRate = 16 << 10 // a second
)

// paced hands a body on as there is room for it, and sees to it that it comes.
type paced struct {
	ctx    context.Context //nolint:containedctx // of the request whose body this is
	in     *Intake
	from   io.Reader
	wait   func(time.Time) error // sets the time by which something has to come; nil where that cannot be set
	have   int64                 // room that is taken and not yet filled
	waited time.Duration         // for the sender, since the rate was looked at
	came   int64                 // in that time
}

// Reader reads the body from where it comes: no more than there is room for, and no slower than leastRate. deadline sets the time by which something has
// to come at all, by the clock of the machine; it may be nil. A body that comes too slowly ends with a *record.Fault of code TooMany.
func (in *Intake) Reader(ctx context.Context, from io.Reader, deadline func(time.Time) error) io.Reader {
	return &paced{ctx: ctx, in: in, from: from, wait: deadline}
}

// Read reads.
func (p *paced) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, noRoom(err)
	}
	most := int64(len(b))
	if p.have == 0 && p.in.held < p.in.most {
		step := min(roomStep, p.in.most-p.in.held)
		if err := p.in.grow(p.ctx, step); err != nil {
			return 0, noRoom(err)
		}
		p.have = step
	}
	if most = min(most, p.have); p.have == 0 {
		most = min(int64(len(b)), 1) // its end, or one byte too many, for whoever reads to see
	}
	if p.wait != nil {
		// A connection without deadlines (of a test) has its own end.
		_ = p.wait(time.Now().Add(pace))
	}
	begin := p.in.room.now()
	n, err := p.from.Read(b[:most])
	p.have = max(0, p.have-int64(n))
	p.came += int64(n)
	p.waited += p.in.room.now().Sub(begin)
	if err != nil || p.waited < pace {
		return n, err
	}
	if float64(p.came) < leastRate*p.waited.Seconds() {
		return n, record.Faultf(record.TooMany, "upload", fmt.Sprintf("%d bytes in %.0f s", p.came, p.waited.Seconds()), fmt.Sprintf("at least %d bytes a second", leastRate), "go nearer to the network and send it again; nothing was kept")
	}
	p.waited, p.came = 0, 0
	return n, nil
}

// noRoom is the fault of an upload that waited for others for as long as it may.
func noRoom(err error) error {
	return &record.Fault{Code: record.TooMany, Where: "upload", Found: "many others at the same time", Want: "an upload when there is room", Mend: "try again in a moment; nothing was kept", Err: err}
}
