package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Import is a job as another shop wrote it: its entries as they were hashed there, and what the numbers in them stand for.
type Import struct {
	UID        string
	Shop       string // name of the shop that it comes from
	By, Device int64  // who takes it in
	Items      []ImportItem
	Entries    []ImportEntry           // all, the booking first
	Photos     iter.Seq2[Photo, error] // the pictures that entries name; it may be walked more than once
}

// ImportItem is a value of the catalogue of another shop. The numbers in Value are not read: Refs says what they stand for.
type ImportItem struct {
	Kind    record.SubjectKind
	Names   []record.Digest // see Store.Names
	Value   record.Item
	Refs    map[string]int // field of the value → index in Items, below its own
	BuiltIn bool           // a pump sheet that comes with this program, letter for letter
}

// ImportEntry is an entry as it was hashed, and for each of its numbers that stands for something the index in Items.
type ImportEntry struct {
	record.Entry
	Refs map[string]int
}

// Imported says what became of an Import.
type Imported struct {
	Number int64 // of the job here
	Added  int   // entries; 0 when all were here already
	New    bool  // the job was not here before
}

// ahead is by how much a time of storing may be later than the clock here.
const ahead = 24 * time.Hour

// ImportJob takes a job in, or what another shop added to a job that is here; all or nothing. Its entries keep the digests that they
// were hashed with; in the numbers that stand here, what stood for something of the other shop stands for the same thing here:
//
//   - people and devices become retired ones of their own, unless an import made them before: nobody who works here is taken for the
//     person of the same number, or of the same digest, elsewhere;
//   - a customer is one of the same name, a pump one of the same serial and model, a pump sheet one of the same text, and whatever was here
//     before is itself; all else is made anew, tools, prices and pump sheets retired.
//
// Errors: *record.Fault of code Invalid or Damaged for entries that no shop can have written, of code Conflict when the job is here and
// went on differently.
func (s *Store) ImportJob(ctx context.Context, in Import) (Imported, error) {
	if err := in.check(s.now()); err != nil {
		return Imported{}, err
	}
	var out Imported
	err := s.do(ctx, "taking a job in", func(ctx context.Context, tx *sql.Tx) error {
		m := &importer{Store: s, ctx: ctx, tx: tx, in: &in, items: make([]int64, len(in.Items)), known: make([]bool, len(in.Items))}
		var err error
		out, err = m.run()
		return err
	})
	if err != nil {
		return Imported{}, err
	}
	return out, nil
}

func badEntry(i int, found, want string) error {
	return record.Faultf(record.Invalid, fmt.Sprintf("entry %d", i+1), found, want, "have the archive made again")
}

// check recomputes the chain and opens the bodies.
func (in *Import) check(now time.Time) error {
	if in.UID == "" || plain("uid", in.UID) != nil || plain("shop", in.Shop) != nil {
		return record.Faultf(record.Invalid, "uid", "none, or one that cannot be kept", "the identifier of a job", "have the archive made again")
	}
	if len(in.Entries) == 0 {
		return record.Faultf(record.Invalid, "entries", "none", "a job that begins with its booking", "have the archive made again")
	}
	keys := map[string]bool{}
	var prev record.Digest
	stored := int64(0)
	for i := range in.Entries {
		e := &in.Entries[i]
		switch {
		case e.Subject.Kind != record.OfJob || e.Subject.ID < 1 || e.By < 0 || e.Device < 0 || e.Corrects < 0:
			return badEntry(i, "a number that no shop gives", "a job, people and devices with numbers from 1")
		case e.Seq != int64(i)+1 || e.Prev != prev:
			return badEntry(i, "one that does not follow the entry before it", "entries in their order, none missing")
		case !e.Intact():
			return badEntry(i, "one that was changed after it was written", "the digest of what it says")
		case !goodKey(e.Key) || keys[e.Key]:
			return badEntry(i, "a key that cannot be, or that another entry has", "a key of its own")
		case e.At.Year() < 2000 || e.At.Year() > 2199 || e.Stored.UnixMicro() < stored || e.Stored.After(now.Add(ahead)):
			return badEntry(i, "a time that cannot be", "times that follow each other, not after today")
		}
		if _, err := e.Open(); err != nil {
			return err
		}
		prev, stored, keys[e.Key] = e.Hash, e.Stored.UnixMicro(), true
	}
	return nil
}

// goodKey says whether a key is one that a device may make (record.Draft).
func goodKey(key string) bool {
	for _, r := range key {
		if r <= ' ' || r > '~' {
			return false
		}
	}
	return key != "" && len(key) <= 80
}

// importer is one run of ImportJob.
type importer struct {
	*Store
	ctx   context.Context
	tx    *sql.Tx
	in    *Import
	items []int64 // number here, by index in in.Items
	known []bool  // whether items has it
}

func (m *importer) run() (Imported, error) {
	number, have, err := m.here()
	if err != nil {
		return Imported{}, err
	}
	out := Imported{Number: number, Added: max(0, len(m.in.Entries)-len(have)), New: number == 0}
	if out.Added == 0 {
		return out, nil
	}
	if out.New {
		if out.Number, err = next(m.ctx, m.tx, string(record.OfJob)); err != nil {
			return Imported{}, err
		}
	}
	if err := m.photos(); err != nil {
		return Imported{}, err
	}
	local := make([]record.Entry, 0, len(m.in.Entries))
	for _, w := range have {
		local = append(local, w.Here)
	}
	for i := len(have); i < len(m.in.Entries); i++ {
		e, err := m.entry(i, out.Number)
		if err != nil {
			return Imported{}, err
		}
		local = append(local, e)
	}
	return out, m.save(local, len(have) == 0)
}

// here finds the job and what is here of it. An archive that went on differently is refused.
func (m *importer) here() (int64, []Written, error) {
	var number int64
	err := m.tx.QueryRowContext(m.ctx, `SELECT number FROM job WHERE uid = $1`+m.forUpdate(), m.in.UID).Scan(&number)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil, nil
	}
	if err != nil {
		return 0, nil, err
	}
	have, err := written(m.ctx, m.tx, number)
	if err != nil {
		return 0, nil, err
	}
	for i := range min(len(have), len(m.in.Entries)) {
		if have[i].There.Hash != m.in.Entries[i].Hash {
			return 0, nil, &record.Fault{Code: record.Conflict, Where: fmt.Sprintf("job %d", number),
				Found: fmt.Sprintf("an archive of the same job that went on differently from entry %d on", i+1),
				Want:  "an archive that has the entries that are here, or their beginning", Mend: "two shops wrote in this job: go on in one of them, and write there what the other found", Seq: int64(i) + 1}
		}
	}
	return number, have, nil
}

// photos keeps the pictures that are not here yet.
func (m *importer) photos() error {
	if m.in.Photos == nil {
		return nil
	}
	for p, err := range m.in.Photos {
		if err != nil {
			return notOurs{err}
		}
		if record.Digest(sha256.Sum256(p.Data)) != p.Hash || len(p.Thumb) == 0 {
			return notOurs{record.Faultf(record.Damaged, "photo "+p.Hash.Short(), "another picture", "the picture of this digest", "have the archive made again")}
		}
		_, err := m.tx.ExecContext(m.ctx, `INSERT INTO photo (hash, width, height, stored, size, thumb, data) VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING`,
			p.Hash[:], p.Width, p.Height, m.now().UnixMicro(), len(p.Data), p.Thumb, p.Data)
		if err != nil {
			return err
		}
	}
	return nil
}

// entry keeps the i-th entry of the import with the numbers of this shop.
func (m *importer) entry(i int, number int64) (record.Entry, error) {
	there := &m.in.Entries[i]
	e := there.Entry
	body, err := e.Open()
	if err != nil {
		return e, err
	}
	e.Subject.ID = number
	refs := Refs(&e, body)
	changed := false
	for n, r := range refs {
		if !r.Stands() {
			continue
		}
		at, ok := there.Refs[r.Field]
		if !ok && (r.Kind == record.OfTool || r.Kind == record.OfPrice) { // somebody typed a number that stands for nothing
			*r.ID, changed = 0, true
			continue
		}
		if !ok || at < 0 || at >= len(m.in.Items) || m.in.Items[at].Kind != r.Kind {
			return e, badEntry(i, "nothing that says what its "+r.Field+" is", "a "+string(r.Kind)+" among what came with it")
		}
		id, err := m.item(at)
		if err != nil {
			return e, err
		}
		changed = changed || n > 1 && *r.ID != id
		*r.ID = id
	}
	if changed {
		if e.Body, err = json.Marshal(body); err != nil {
			return e, fmt.Errorf("store: a body: %w", err)
		}
	}
	if p, ok := body.(*record.Pictured); ok {
		if err := havePhoto(m.ctx, m.tx, p.Photo); err != nil {
			return e, err
		}
	}
	return e, m.keepEntry(there, &e)
}

func (m *importer) keepEntry(there *ImportEntry, e *record.Entry) error {
	sealed := *e
	sealed.Seal(e.Prev)
	e.ID = 0
	if err := m.insert(m.ctx, m.tx, e); err != nil {
		return err
	}
	_, err := m.tx.ExecContext(m.ctx, `INSERT INTO origin (`+originColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		e.ID, there.Subject.ID, there.By, there.Device, string(there.Body), sealed.Hash[:], m.in.Shop, m.now().UnixMicro(), m.in.By)
	return err
}

// save brings the row and the words of the job up to date.
func (m *importer) save(local []record.Entry, fresh bool) error {
	job, err := record.Fold(local)
	if err != nil {
		return &record.Fault{Code: record.Invalid, Where: "the archive", Found: err.Error(), Want: "entries that a job can have", Mend: "have the archive made again", Err: err}
	}
	sum := &job.Summary
	sum.UID = m.in.UID
	sub := record.JobSubject(sum.Number)
	if !fresh {
		old, err := m.lockJob(m.ctx, m.tx, sum.Number)
		if err != nil {
			return err
		}
		if err := m.saveJob(m.ctx, m.tx, sum); err != nil {
			return err
		}
		return saveWords(m.ctx, m.tx, sub, old.Words(), sum.Words())
	}
	var same int64 // the same job, which another import has just taken in, is found when this one is run again
	switch err := m.tx.QueryRowContext(m.ctx, `SELECT number FROM job WHERE key = $1 AND uid <> $2`, local[0].Key, sum.UID).Scan(&same); {
	case err == nil:
		return record.Faultf(record.Conflict, "key", fmt.Sprintf("that of the booking of job %d", same), "a booking of its own", "have the archive made again")
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	if err := insertJob(m.ctx, m.tx, sum, local[0].Key); err != nil {
		return err
	}
	return saveWords(m.ctx, m.tx, sub, nil, sum.Words())
}
