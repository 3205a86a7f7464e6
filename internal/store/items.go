package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Item is one value of the catalogue as it is now.
type Item struct {
	Subject record.Subject
	Value   record.Item
	Retired bool
	Seq     int64
	Label   string
	key     string // under which it was made
	text    string // Value as it is kept
	hash    record.Digest
	changed time.Time
}

// Keep keeps a new value of the catalogue, or another value of one that is there. draft.Subject has the kind and the number, 0
// for a new one; draft.Body is *record.Kept or *record.Retired. ifSeq as in Append.
func (s *Store) Keep(ctx context.Context, ifSeq int64, draft record.Draft) (Receipt, error) {
	if !slices.Contains(record.Catalogue(), draft.Subject.Kind) {
		return Receipt{}, record.Faultf(record.Invalid, "kind", string(draft.Subject.Kind), "a kind of the catalogue", "")
	}
	if draft.Corrects != 0 {
		return Receipt{}, record.Faultf(record.Invalid, "corrects", fmt.Sprint(draft.Corrects), "a new value, which replaces the one before", "")
	}
	e, err := draft.Entry()
	if err != nil {
		return Receipt{}, err
	}
	var out Receipt
	defer s.kept.Add(1) // also after an error: it may have been kept all the same
	err = s.transact(ctx, "keeping a "+string(draft.Subject.Kind), func(ctx context.Context, tx *sql.Tx) error {
		out, err = s.keep(ctx, tx, ifSeq, e, draft.Body)
		return err
	})
	return out, err
}

func (s *Store) keep(ctx context.Context, tx *sql.Tx, ifSeq int64, e record.Entry, b record.Body) (Receipt, error) {
	if e.Subject.ID == 0 {
		return s.keepNew(ctx, tx, e, b)
	}
	have, err := s.lockItem(ctx, tx, e.Subject)
	if err != nil {
		return Receipt{}, err
	}
	old, err := byKey(ctx, tx, e)
	if err != nil {
		return Receipt{}, err
	}
	if old != nil {
		return Receipt{Entry: *old, Duplicate: true}, nil
	}
	if ifSeq != AnySeq && ifSeq != have.Seq {
		return Receipt{}, between(e.Subject, have.Seq, ifSeq)
	}
	e.Seq, e.Stored = have.Seq+1, micro(s.stamp(have.changed.UnixMicro()))
	e.Seal(have.hash)
	if err := s.insert(ctx, tx, &e); err != nil {
		return Receipt{}, err
	}
	now := *have
	if err := now.apply(&e, b); err != nil {
		return Receipt{}, err
	}
	if _, err := tx.ExecContext(ctx, `UPDATE item SET key = $3, sort = $4, name = $5, retired = $6, value = $7, seq = $8, hash = $9, changed = $10 WHERE kind = $1 AND id = $2`, now.row()...); err != nil {
		return Receipt{}, err
	}
	return Receipt{Entry: e}, saveWords(ctx, tx, e.Subject, have.words(), now.words())
}

// keepNew numbers a new item. The key it was made under is looked up over all items of its kind.
func (s *Store) keepNew(ctx context.Context, tx *sql.Tx, e record.Entry, b record.Body) (Receipt, error) {
	var id int64
	err := tx.QueryRowContext(ctx, `SELECT id FROM item WHERE kind = $1 AND key = $2`, string(e.Subject.Kind), e.Key).Scan(&id)
	if err == nil {
		e.Subject.ID = id
		old, err := byKey(ctx, tx, e)
		if err != nil {
			return Receipt{}, err
		}
		if old == nil {
			return Receipt{}, record.Faultf(record.Damaged, e.Subject.String(), "no entry with the key it was made under", "its first entry", "restore a backup")
		}
		return Receipt{Entry: *old, Duplicate: true}, nil
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return Receipt{}, err
	}
	if e.Subject.ID, err = next(ctx, tx, string(e.Subject.Kind)); err != nil {
		return Receipt{}, err
	}
	e.Seq, e.Stored = 1, micro(s.stamp(0))
	e.Seal(record.Digest{})
	now := Item{key: e.Key}
	if err := now.apply(&e, b); err != nil {
		return Receipt{}, err
	}
	if err := s.insert(ctx, tx, &e); err != nil {
		return Receipt{}, err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO item (`+itemColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`, now.row()...); err != nil {
		return Receipt{}, err
	}
	return Receipt{Entry: e}, saveWords(ctx, tx, e.Subject, nil, now.words())
}

// apply brings an item up to date with its next entry.
func (i *Item) apply(e *record.Entry, b record.Body) error {
	switch b := b.(type) {
	case *record.Kept:
		v, err := record.DecodeItem(e.Subject.Kind, b.Value)
		if err != nil {
			return err
		}
		var text bytes.Buffer
		if err := json.Compact(&text, b.Value); err != nil {
			return err
		}
		i.Value, i.Label, i.Retired, i.text = v, v.Label(), false, text.String()
	case *record.Retired:
		if i.Value == nil {
			return record.Faultf(record.NotFound, string(e.Subject.Kind), "nothing to retire", "something that is there", "")
		}
		i.Retired = true
	default:
		return record.Faultf(record.Invalid, "body", string(e.Kind), "a value of the catalogue", "")
	}
	i.Subject, i.Seq, i.hash, i.changed = e.Subject, e.Seq, e.Hash, e.Stored
	return nil
}

func (i *Item) words() []string { return record.Words(i.Value.Words()...) }

// row is the row of an item in the order of itemColumns.
func (i *Item) row() []any {
	return []any{string(i.Subject.Kind), i.Subject.ID, i.key, record.SortKey(i.Label), nameKey(i.Value), flag(i.Retired), i.text, i.Seq, i.hash[:], i.changed.UnixMicro()}
}

// nameKey is the text by which an item is looked up: a pump by its serial, all else by its label.
func nameKey(v record.Item) string {
	if p, ok := v.(*record.Pump); ok {
		return record.NameKey(p.Serial)
	}
	return record.NameKey(v.Label())
}

func (s *Store) lockItem(ctx context.Context, tx *sql.Tx, sub record.Subject) (*Item, error) {
	return scanItem(tx.QueryRowContext(ctx, `SELECT `+itemColumns+` FROM item WHERE kind = $1 AND id = $2`+s.forUpdate(), string(sub.Kind), sub.ID), sub)
}

const itemColumns = `kind, id, key, sort, name, retired, value, seq, hash, changed`

func scanItem(row scanner, sub record.Subject) (*Item, error) {
	var i Item
	var kind, sort, name string
	var retired, changed int64
	var hash []byte
	err := row.Scan(&kind, &i.Subject.ID, &i.key, &sort, &name, &retired, &i.text, &i.Seq, &hash, &changed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, record.Faultf(record.NotFound, sub.String(), "nothing", "something that is kept", "")
	}
	if err != nil {
		return nil, err
	}
	i.Subject.Kind, i.Retired, i.changed = record.SubjectKind(kind), retired != 0, micro(changed)
	if len(hash) != len(i.hash) {
		return nil, record.Faultf(record.Damaged, i.Subject.String(), "a digest of another length", "32 bytes", "restore a backup")
	}
	i.hash = record.Digest(hash)
	if i.Value, err = record.DecodeItem(i.Subject.Kind, []byte(i.text)); err != nil {
		return nil, &record.Fault{Code: record.Damaged, Where: i.Subject.String(), Found: err.Error(), Mend: "restore a backup", Err: err}
	}
	i.Label = i.Value.Label()
	return &i, nil
}

// Item reads one value of the catalogue.
func (s *Store) Item(ctx context.Context, sub record.Subject) (*Item, error) {
	i, err := scanItem(s.read.QueryRowContext(ctx, `SELECT `+itemColumns+` FROM item WHERE kind = $1 AND id = $2`, string(sub.Kind), sub.ID), sub)
	return i, s.fault("reading the catalogue", err)
}

// Page says which part of a list to read: what comes after the label and number of the last one seen.
type Page struct {
	Label   string
	ID      int64
	Limit   int
	Retired bool // list what was retired instead
}

// Items lists the values of a kind by label, whatever its capitals and accents.
func (s *Store) Items(ctx context.Context, k record.SubjectKind, p Page) ([]Item, error) {
	after := record.SortKey(p.Label)
	if plain("label", after) != nil {
		return nil, record.Faultf(record.Invalid, "label", "one that cannot be", "the label of the last one seen", "begin at the first page")
	}
	return s.items(ctx, k, `SELECT `+itemColumns+` FROM item WHERE kind = $1 AND retired = $2 AND (sort, id) > ($3, $4)
		ORDER BY sort, id LIMIT $5`, string(k), flag(p.Retired), after, p.ID, max(p.Limit, 0))
}

func (s *Store) items(ctx context.Context, k record.SubjectKind, query string, args ...any) ([]Item, error) {
	var out []Item
	err := each(ctx, s.read, func(row scanner) error {
		i, err := scanItem(row, record.Subject{Kind: k})
		if err == nil {
			out = append(out, *i)
		}
		return err
	}, query, args...)
	if err != nil {
		return nil, s.fault("reading the catalogue", err)
	}
	return out, nil
}

// FindItems finds values of a kind that have all the words, by label; the last word may be unfinished. Retired ones are left out.
// When all the words are common, only the newest values are looked at.
func (s *Store) FindItems(ctx context.Context, k record.SubjectKind, query string, limit int) ([]Item, error) {
	h, err := s.hunt(ctx, k, query)
	if err != nil || h == nil {
		return nil, s.fault("reading the catalogue", err)
	}
	sub, args := h.query(`SELECT c.id AS found FROM (SELECT id, id AS subject_id, kind FROM item) AS c WHERE c.kind = $1 AND c.id > (SELECT max(id) FROM item WHERE kind = $1) - `, 0, 0)
	args = append(args, max(limit, 0))
	return s.items(ctx, k, fmt.Sprintf(`SELECT `+itemColumns+` FROM item WHERE kind = $1 AND retired = 0 AND id IN (%s) ORDER BY sort, id LIMIT $%d`, sub, len(args)), s.unplanned(args)...)
}

// PumpBySerial finds a pump by its serial, whatever its capitals; nil when there is none. With the same serial on two models the
// latest is given.
func (s *Store) PumpBySerial(ctx context.Context, serial string) (*Item, error) {
	return s.named(ctx, record.OfPump, serial)
}

// CustomerByName finds a customer by name, whatever the capitals; nil when there is none.
func (s *Store) CustomerByName(ctx context.Context, name string) (*Item, error) {
	return s.named(ctx, record.OfCustomer, name)
}

func (s *Store) named(ctx context.Context, k record.SubjectKind, name string) (*Item, error) {
	key := record.NameKey(name)
	if plain("name", key) != nil {
		return nil, nil
	}
	found, err := s.items(ctx, k, `SELECT `+itemColumns+` FROM item WHERE kind = $1 AND name = $2 AND retired = 0 ORDER BY id DESC LIMIT 1`, string(k), key)
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return &found[0], nil
}
