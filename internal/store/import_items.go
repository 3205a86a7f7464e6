package store

import (
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
)

// item is the number here of a value of the other shop: found, or made.
func (m *importer) item(at int) (int64, error) {
	if m.known[at] {
		return m.items[at], nil
	}
	it := &m.in.Items[at]
	if it.BuiltIn && it.Kind == record.OfSheet {
		m.known[at] = true
		return 0, nil
	}
	value, err := m.value(at)
	if err != nil {
		return 0, err
	}
	id, err := m.find(it, value)
	if err == nil && id == 0 {
		id, err = m.make(it, value)
	}
	if err != nil {
		return 0, err
	}
	for _, name := range it.Names {
		if _, err := m.tx.ExecContext(m.ctx, `INSERT INTO item_alias (kind, name, id) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`, string(it.Kind), name[:], id); err != nil {
			return 0, err
		}
	}
	m.items[at], m.known[at] = id, true
	return id, nil
}

// value is a copy of the value with the numbers of this shop.
func (m *importer) value(at int) (record.Item, error) {
	it := &m.in.Items[at]
	data, err := json.Marshal(it.Value)
	if err != nil {
		return nil, fmt.Errorf("store: a %s: %w", it.Kind, err)
	}
	value, err := record.DecodeItem(it.Kind, data)
	if err != nil {
		return nil, err
	}
	for _, r := range ItemRefs(value) {
		*r.ID = 0
		to, ok := it.Refs[r.Field]
		if !ok {
			continue
		}
		if to < 0 || to >= at || m.in.Items[to].Kind != r.Kind {
			return nil, record.Faultf(record.Invalid, string(it.Kind), "a "+r.Field+" that is none", "one that came before it", "have the archive made again")
		}
		if *r.ID, err = m.item(to); err != nil {
			return nil, err
		}
	}
	return value, nil
}

// stranger says whether a kind is one of which an import never finds what this shop made itself.
func stranger(k record.SubjectKind) bool { return k == record.OfPerson || k == record.OfDevice }

// find looks for the same thing here; 0 when there is none.
func (m *importer) find(it *ImportItem, value record.Item) (int64, error) {
	for _, name := range it.Names {
		id, err := m.one(`SELECT id FROM item_alias WHERE kind = $1 AND name = $2`, string(it.Kind), name[:])
		if err == nil && id == 0 && !stranger(it.Kind) {
			id, err = m.one(`SELECT subject_id FROM entry WHERE hash = $2 AND seq = 1 AND subject = $1`, string(it.Kind), name[:])
		}
		if err != nil {
			return 0, err
		}
		if id == 0 {
			continue
		}
		have, err := m.lockItem(m.ctx, m.tx, record.Subject{Kind: it.Kind, ID: id})
		if err != nil {
			return 0, err
		}
		if !stranger(it.Kind) || record.NameKey(have.Label) == record.NameKey(value.Label()) {
			return id, nil
		}
	}
	return m.same(it, value)
}

// same looks for a value that means the same thing, whoever made it: a customer of the same name, as booking in does; a pump of the
// same serial and model; a pump sheet of the same text; or the one that was made here for it before.
func (m *importer) same(it *ImportItem, value record.Item) (int64, error) {
	if id, err := m.one(`SELECT id FROM item WHERE kind = $1 AND key = $2`, string(it.Kind), itemKey(it, value)); id != 0 || err != nil {
		return id, err
	}
	where := ` AND retired = 0`
	switch it.Kind {
	case record.OfCustomer, record.OfPump:
	case record.OfSheet:
		where = ``
	default:
		return 0, nil
	}
	var found int64
	err := each(m.ctx, m.tx, func(row scanner) error {
		i, err := scanItem(row, record.Subject{Kind: it.Kind})
		if err == nil && found == 0 && alike(i.Value, value) {
			found = i.Subject.ID
		}
		return err
	}, `SELECT `+itemColumns+` FROM item WHERE kind = $1 AND name = $2`+where+` ORDER BY id DESC LIMIT 50`, string(it.Kind), nameKey(value))
	return found, err
}

// alike compares two values of the same name.
func alike(a, b record.Item) bool {
	switch a := a.(type) {
	case *record.Pump:
		return a.Model == b.(*record.Pump).Model
	case *record.PumpSheet:
		return a.Text == b.(*record.PumpSheet).Text
	}
	return true
}

// one reads one number; 0 when there is no row.
func (m *importer) one(query string, args ...any) (int64, error) {
	var id int64
	err := m.tx.QueryRowContext(m.ctx, query, args...).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil
	}
	return id, err
}

// itemKey is the key of the first entry of a value that an import made. It has a space, which the key of a device cannot have: nobody
// can make a value here that is taken for one of another shop.
func itemKey(it *ImportItem, value record.Item) string {
	h := sha256.New()
	if len(it.Names) > 0 {
		h.Write(it.Names[0][:])
	}
	h.Write([]byte(value.Label()))
	if s, ok := value.(*record.PumpSheet); ok {
		h.Write([]byte(s.Text))
	}
	return fmt.Sprintf("from %x", h.Sum(nil))
}

// make keeps a value of the other shop. Customers, pumps and their sheets are offered here from then on, so that a pump that came with its job can
// be booked in again; all else is retired: it can be looked at and
// is kept for its job, and nobody signs in as it or works with it.
func (m *importer) make(it *ImportItem, value record.Item) (int64, error) {
	body, err := record.Keep(value)
	if err != nil {
		return 0, err
	}
	text, err := json.Marshal(body)
	if err != nil {
		return 0, fmt.Errorf("store: a %s: %w", it.Kind, err)
	}
	e := record.Entry{Subject: record.Subject{Kind: it.Kind}, Kind: record.KindKept, At: micro(m.now().UnixMicro()), By: m.in.By, Device: m.in.Device, Key: itemKey(it, value), Body: text}
	r, err := m.keepNew(m.ctx, m.tx, e, body)
	if err != nil || it.Kind == record.OfCustomer || it.Kind == record.OfPump || it.Kind == record.OfSheet {
		return r.Entry.Subject.ID, err
	}
	gone := &record.Retired{Reason: "came with a job of " + m.in.Shop}
	if text, err = json.Marshal(gone); err != nil {
		return 0, fmt.Errorf("store: a %s: %w", it.Kind, err)
	}
	e = record.Entry{Subject: r.Entry.Subject, Kind: record.KindRetired, At: e.At, By: m.in.By, Device: m.in.Device, Key: "retired with its job", Body: text}
	_, err = m.keep(m.ctx, m.tx, AnySeq, e, gone)
	return e.Subject.ID, err
}
