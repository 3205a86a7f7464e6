package store

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// moment is for how long Board and Glance may not see what another process on the same database wrote. What this process wrote they
// see at once.
const moment = 500 * time.Millisecond

// glimpse is what was read, and when: after how many writes of this process, and at what time.
type glimpse[V any] struct {
	v      V
	writes int64
	at     time.Time
}

func (g *glimpse[V]) holds(writes int64) bool {
	return g != nil && g.writes == writes && time.Since(g.at) < moment
}

// glances keeps the items that were just read.
type glances struct {
	mu   sync.Mutex
	seen map[record.Subject]*glimpse[*Item]
}

// mostGlances bounds them. Few items are read again and again: the shop itself, its people, devices and sheets.
const mostGlances = 2000

// Glance is Item as it was at most a moment ago, for what stands on every page: the name of the shop, who wrote an entry. It is not to
// be changed.
func (s *Store) Glance(ctx context.Context, sub record.Subject) (*Item, error) {
	writes := s.kept.Load() // before it is read: what is written meanwhile makes it old
	s.glances.mu.Lock()
	g := s.glances.seen[sub]
	s.glances.mu.Unlock()
	if g.holds(writes) {
		return g.v, nil
	}
	begin := time.Now()
	i, err := s.Item(ctx, sub)
	if err != nil {
		return nil, err
	}
	s.glances.mu.Lock()
	defer s.glances.mu.Unlock()
	if len(s.glances.seen) >= mostGlances || s.glances.seen == nil {
		s.glances.seen = map[record.Subject]*glimpse[*Item]{}
	}
	s.glances.seen[sub] = &glimpse[*Item]{i, writes, begin}
	return i, nil
}

// laneCount is how many lanes the board has: one for each open stage.
const laneCount = 7

// lanes counts the writes of this process by the lanes of the board that they may have changed.
type lanes struct{ writes [laneCount]atomic.Int64 }

// write counts a write that concerned jobs in these stages; in no matter which when none is given, or one is not known.
func (l *lanes) write(in ...record.Stage) {
	for i, st := range record.OpenStages() {
		if len(in) == 0 || slices.Contains(in, st) || slices.Contains(in, "") {
			l.writes[i].Add(1)
		}
	}
}

func (l *lanes) count() (out [laneCount]int64) {
	for i := range out {
		out[i] = l.writes[i].Load()
	}
	return out
}

// boardOf is the board as it was read.
type boardOf struct {
	limit  int
	lanes  []Lane
	writes [laneCount]int64 // when each lane was read
	at     time.Time        // when the lanes were read all together
}

// Board gives the open jobs by stage, at most limit a stage, as they were at most a moment ago. It is not to be changed. After a write of
// this process only the lanes that it may have changed are read.
func (s *Store) Board(ctx context.Context, limit int) ([]Lane, error) {
	now := &boardOf{limit: max(limit, 1), writes: s.lanes.count(), at: time.Now()}
	all := make([]int, laneCount)
	for i := range all {
		all[i] = i
	}
	old := s.board.Load()
	if old == nil || old.limit != now.limit || now.at.Sub(old.at) >= moment {
		now.lanes = make([]Lane, len(all))
	} else {
		now.lanes, now.at = slices.Clone(old.lanes), old.at
		all = slices.DeleteFunc(all, func(i int) bool { return old.writes[i] == now.writes[i] })
	}
	if len(all) == 0 {
		return old.lanes, nil
	}
	if err := s.readLanes(ctx, now.limit, now.lanes, all); err != nil {
		return nil, err
	}
	s.board.Store(now)
	return now.lanes, nil
}
