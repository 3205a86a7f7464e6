// Package shop is what can be done in a workshop: book a pump in, write something down, judge a hold, keep a value of the
// catalogue. The pages and the REST API call the same functions, so that what one refuses the other refuses too: who may do it
// (package gate), whether it can be (package assess), and then the store keeps it.
package shop

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"runtime"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Shop is one workshop. It is safe for concurrent use.
type Shop struct {
	st      *store.Store
	version string
	now     func() time.Time
	prior   *hold.Prior
	models  sync.Map      // modelKey → *Model
	desks   chan struct{} // how many analyses may run at once
	room    *room         // for large bodies
	pressed *store.Recent[pressKey, struct{}]
	jobs    *store.Recent[int64, *latest] // by number
	works   *store.Recent[workKey, *assess.Work]
	nexts   *store.Recent[nextKey, assess.Action]
}

// jobsKept is half of how many jobs, and orders of work, are kept, some 50 kB each: those at which somebody works.
const jobsKept = 200

// Desks is how many analyses may run at once: one takes a processor for some 30 ms, and pages must not wait for all of them.
func Desks() int { return max(1, runtime.NumCPU()/2) }

// New makes a shop on a store. version is that of the program; now is the clock.
func New(st *store.Store, version string, now func() time.Time) *Shop {
	return &Shop{st: st, version: version, now: now, prior: hold.DefaultPrior(), desks: make(chan struct{}, Desks()), room: newRoom(now),
		pressed: store.NewRecent[pressKey, struct{}](pressesKept),
		jobs:    store.NewRecent[int64, *latest](jobsKept), works: store.NewRecent[workKey, *assess.Work](jobsKept), nexts: store.NewRecent[nextKey, assess.Action](10 * jobsKept)}
}

// Store is where the records are.
func (s *Shop) Store() *store.Store { return s.st }

// Version is the version of the program.
func (s *Shop) Version() string { return s.version }

// Now is the clock of the shop.
func (s *Shop) Now() time.Time { return s.now() }

// By says who writes, when by the clock of the device, and under which key. Corrects and IfSeq are as in package store; a zero
// IfSeq takes the entry whatever came before it.
type By struct {
	gate.Who
	At       time.Time
	Key      string
	Corrects int64
	IfSeq    int64
}

func (s *Shop) draft(by By, b record.Body) record.Draft {
	d := record.Draft{At: by.At, By: by.Person, Device: by.Device, Key: by.Key, Corrects: by.Corrects, Body: b}
	if d.At.IsZero() {
		d.At = s.now()
	}
	if d.Key == "" {
		d.Key = NewKey()
	}
	return d
}

func (by By) ifSeq() int64 {
	if by.IfSeq == 0 {
		return store.AnySeq
	}
	return by.IfSeq
}

// NewKey makes a key for an entry: 128 random bits.
func NewKey() string {
	var b [16]byte
	rand.Read(b[:]) // never fails: crypto/rand ends the program instead
	return hex.EncodeToString(b[:])
}

// Profile reads the workshop's own record; nil before it is set up.
func (s *Shop) Profile(ctx context.Context) (*record.Shop, int64, error) {
	i, err := s.st.Glance(ctx, record.Subject{Kind: record.OfShop, ID: 1})
	if record.CodeOf(err) == record.NotFound {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, err
	}
	return i.Value.(*record.Shop), i.Seq, nil
}
