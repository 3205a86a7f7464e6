package store

import (
	"context"
	"sync"
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

// Board gives the open jobs by stage, at most limit a stage, as they were at most a moment ago. It is not to be changed.
func (s *Store) Board(ctx context.Context, limit int) ([]Lane, error) {
	limit = max(limit, 1)
	writes := s.written.Load()
	b := s.board.Load()
	if b.holds(writes) && b.v.limit == limit {
		return b.v.lanes, nil
	}
	begin := time.Now()
	lanes, err := s.readBoard(ctx, limit)
	if err != nil {
		return nil, err
	}
	s.board.Store(&glimpse[boardOf]{boardOf{limit, lanes}, writes, begin})
	return lanes, nil
}

type boardOf struct {
	limit int
	lanes []Lane
}
