package gate

import (
	"context"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// peopleLife is how long a person that was read is believed to be the same: so long a change of role may take to be seen when
// Changed was not called.
const peopleLife = 3 * time.Second

// people keeps the persons that were just read.
type people struct {
	mu   sync.Mutex
	kept map[int64]kept
}

type kept struct {
	p  *record.Person
	at time.Time
}

// person reads a person who works here; nil when there is none or the person has left.
func (g *Gate) person(ctx context.Context, id int64) (*record.Person, error) {
	now := g.opt.Now()
	g.people.mu.Lock()
	k, ok := g.people.kept[id]
	g.people.mu.Unlock()
	if age := now.Sub(k.at); ok && age >= 0 && age < peopleLife {
		return k.p, nil
	}
	i, err := g.st.Item(ctx, record.Subject{Kind: record.OfPerson, ID: id})
	if record.CodeOf(err) == record.NotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	p, ok := i.Value.(*record.Person)
	if !ok || i.Retired {
		return nil, nil
	}
	g.people.mu.Lock()
	defer g.people.mu.Unlock()
	g.people.kept[id] = kept{p, now}
	return p, nil
}

func (g *Gate) forget(id int64) {
	g.people.mu.Lock()
	defer g.people.mu.Unlock()
	delete(g.people.kept, id)
}
