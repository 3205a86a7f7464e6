package store

import (
	"bytes"
	"database/sql"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
)

// linkedKinds lists the kinds that enter the chain of the shop, as an SQL list.
func linkedKinds() string {
	list := ""
	for _, k := range record.Kinds() {
		if k.Linked() {
			list += ", '" + string(k) + "'"
		}
	}
	return list[2:]
}

// links recomputes the chain of the shop and compares its links with the entries they stand for.
func (v verifier) links() error {
	const where = "the chain of the shop"
	var end int64
	var head []byte
	if err := v.tx.QueryRowContext(v.ctx, `SELECT n, hash FROM chain WHERE id = 1`).Scan(&end, &head); err != nil {
		return err
	}
	last := make([]byte, len(record.Digest{}))
	sealedHere := int64(0)
	err := v.each(func(row scanner) error {
		var n, entry int64
		var sealed, prev, hash, have []byte
		var kind sql.NullString
		if err := row.Scan(&n, &entry, &sealed, &prev, &hash, &have, &kind); err != nil {
			return err
		}
		v.r.Links++
		switch {
		case n != v.r.Links:
			v.r.wrong(where, "link %d stands at place %d: links are missing", n, v.r.Links)
			v.r.Links = n
		case !bytes.Equal(prev, last) || len(sealed) != len(record.Digest{}) || !bytes.Equal(hash, linkHash(prev, record.Digest(sealed))):
			v.r.wrong(where, "link %d does not follow from the one before it", n)
		case !kind.Valid:
			v.r.wrong(where, "link %d stands for entry %d, which is missing", n, entry)
		case !record.Kind(kind.String).Linked() || !bytes.Equal(sealed, have):
			v.r.wrong(where, "link %d stands for entry %d, which was changed", n, entry)
		default:
			sealedHere++
		}
		last = hash
		return nil
	}, `SELECT l.n, l.entry, l.entry_hash, l.prev, l.hash, e.hash, e.kind FROM link l LEFT JOIN entry e ON e.id = l.entry ORDER BY l.n`)
	if err != nil {
		return err
	}
	if end != v.r.Links || !bytes.Equal(head, last) {
		v.r.wrong(where, "its head is at %d, its end at %d", end, v.r.Links)
	}
	if sealedHere == v.sums.signed { // each has its link: one stands for one entry, which the index of the links sees to
		return nil
	}
	return v.each(func(row scanner) error {
		var id, sub int64
		if err := row.Scan(&id, &sub); err != nil {
			return err
		}
		v.r.wrong(fmt.Sprintf("job %d", sub), "entry %d of the store is signed but not in the chain of the shop", id)
		return nil
	}, `SELECT e.id, e.subject_id FROM entry e LEFT JOIN link l ON l.entry = e.id WHERE e.kind IN (`+linkedKinds()+`) AND l.n IS NULL ORDER BY e.id`)
}
