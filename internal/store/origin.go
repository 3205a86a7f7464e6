package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Ref is a number in an entry, or in a value of the catalogue, that stands for something of this shop.
type Ref struct {
	Field string // "by", "device", or the field of the body
	Kind  record.SubjectKind
	ID    *int64
}

// Stands says whether the number stands for something: 0 is nothing, but for a pump sheet, where it is one of the program.
func (r Ref) Stands() bool { return *r.ID != 0 || r.Kind == record.OfSheet }

// Refs gives the numbers of an entry and of its opened body b, each in a fixed order, what others refer to first.
func Refs(e *record.Entry, b record.Body) []Ref {
	out := []Ref{{"by", record.OfPerson, &e.By}, {"device", record.OfDevice, &e.Device}}
	switch b := b.(type) {
	case *record.Booked:
		out = append(out, Ref{"customer", record.OfCustomer, &b.Customer}, Ref{"sheet", record.OfSheet, &b.Sheet}, Ref{"pump", record.OfPump, &b.Pump})
	case *record.Benched:
		out = append(out, Ref{"tool", record.OfTool, &b.Tool})
	case *record.Found:
		out = append(out, Ref{"tool", record.OfTool, &b.Tool})
	case *record.Did:
		out = append(out, Ref{"tool", record.OfTool, &b.Tool})
	case *record.Priced:
		out = append(out, Ref{"item", record.OfPrice, &b.Item})
	}
	return out
}

// ItemRefs gives the numbers of a value of the catalogue.
func ItemRefs(i record.Item) []Ref {
	if p, ok := i.(*record.Pump); ok {
		return []Ref{{"customer", record.OfCustomer, &p.Customer}, {"sheet", record.OfSheet, &p.Sheet}}
	}
	return nil
}

// Origin is where an entry was written, when that was another shop.
type Origin struct {
	Shop    string // its name, as the archive gave it
	Taken   time.Time
	TakenBy int64 // person of this shop who took the archive in
	subject int64
	by      int64
	device  int64
	body    string
	here    record.Digest
}

// written is an entry as it was hashed.
func (o *Origin) written(e record.Entry) record.Entry {
	e.Subject.ID, e.By, e.Device, e.Body = o.subject, o.by, o.device, json.RawMessage(o.body)
	return e
}

// intact says whether neither the entry as it was written nor the one that stands here for it was changed.
func (o *Origin) intact(e record.Entry) bool {
	w := o.written(e)
	e.Hash = o.here
	return w.Intact() && e.Intact()
}

// intact says whether an entry was not changed after it was written, here or in another shop.
func intact(e *record.Entry, origins map[int64]*Origin) bool {
	if o := origins[e.ID]; o != nil {
		return o.intact(*e)
	}
	return e.Intact()
}

// Written is an entry as it stands here, and as it was written and hashed: the same unless it came from another shop.
type Written struct {
	Here, There record.Entry
	Origin      *Origin // nil for an entry of this shop
}

// Written reads the entries of a job in both forms.
func (s *Store) Written(ctx context.Context, number int64) ([]Written, error) {
	tx, err := s.snapshot(ctx)
	if err != nil {
		return nil, s.fault("reading entries", err)
	}
	out, err := written(ctx, tx, number)
	return out, s.fault("reading entries", end(tx, err))
}

func written(ctx context.Context, q querier, number int64) ([]Written, error) {
	entries, err := entriesOf(ctx, q, record.JobSubject(number), 0, 0)
	if err != nil {
		return nil, err
	}
	origins, err := originsOf(ctx, q, `entry IN (SELECT id FROM entry WHERE subject = 'job' AND subject_id = $1)`, number)
	if err != nil {
		return nil, err
	}
	out := make([]Written, len(entries))
	for i, e := range entries {
		out[i] = Written{Here: e, There: e, Origin: origins[e.ID]}
		if o := origins[e.ID]; o != nil {
			out[i].There = o.written(e)
		}
	}
	return out, nil
}

// originsOf reads origins by a condition on the table, by the number of their entry.
func originsOf(ctx context.Context, q querier, where string, args ...any) (map[int64]*Origin, error) {
	out := map[int64]*Origin{}
	err := each(ctx, q, func(row scanner) error {
		var entry, taken int64
		var here []byte
		o := &Origin{}
		if err := row.Scan(&entry, &o.subject, &o.by, &o.device, &o.body, &here, &o.Shop, &taken, &o.TakenBy); err != nil {
			return err
		}
		if len(here) != len(o.here) {
			return record.Faultf(record.Damaged, fmt.Sprintf("entry %d", entry), "a digest of another length", "32 bytes", "restore a backup")
		}
		o.here, o.Taken = record.Digest(here), micro(taken)
		out[entry] = o
		return nil
	}, `SELECT `+originColumns+` FROM origin WHERE `+where, args...)
	if err != nil {
		return nil, err
	}
	return out, nil
}

const originColumns = `entry, subject_id, person, device, body, here, shop, taken, taken_by`

// Names gives the digests by which shops know a value of the catalogue: that of its first entry here, then those of other shops.
// Errors: a *record.Fault of code NotFound when there is no such value.
func (s *Store) Names(ctx context.Context, sub record.Subject) ([]record.Digest, error) {
	var first []byte
	err := s.read.QueryRowContext(ctx, `SELECT hash FROM entry WHERE subject = $1 AND subject_id = $2 AND seq = 1`, string(sub.Kind), sub.ID).Scan(&first)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, record.Faultf(record.NotFound, sub.String(), "nothing", "something that is kept", "")
	}
	all := [][]byte{first}
	if err == nil {
		err = each(ctx, s.read, func(row scanner) error {
			var b []byte
			err := row.Scan(&b)
			all = append(all, b)
			return err
		}, `SELECT name FROM item_alias WHERE kind = $1 AND id = $2 ORDER BY name`, string(sub.Kind), sub.ID)
	}
	if err != nil {
		return nil, s.fault("reading the catalogue", err)
	}
	out := make([]record.Digest, 0, len(all))
	for _, b := range all {
		if len(b) != len(record.Digest{}) {
			return nil, record.Faultf(record.Damaged, sub.String(), "a digest of another length", "32 bytes", "restore a backup")
		}
		out = append(out, record.Digest(b))
	}
	return out, nil
}

// origins reads where the entries of runs, which Verify looks at, were written; nil when all were written here.
func (v verifier) origins(runs [][]record.Entry) (map[int64]*Origin, error) {
	if !v.imports || len(runs) == 0 || runs[0][0].Subject.Kind != record.OfJob {
		return nil, nil
	}
	last := runs[len(runs)-1]
	return originsOf(v.ctx, v.tx, `entry IN (SELECT id FROM entry WHERE subject = 'job' AND subject_id >= $1 AND subject_id <= $2)`, runs[0][0].Subject.ID, last[0].Subject.ID)
}
