package archive

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Import takes the job of an archive of size bytes in, in the name of a person at a device of this shop. A job that is here already is
// not taken twice: an archive that has no more than what is here changes nothing, one that goes on from it adds what it has more.
//
// Everything is checked before anything is written, and it is all or nothing. Errors: *record.Fault of code Invalid, Damaged, TooLarge or
// Newer for a file that is no sound archive, of code Conflict when both shops wrote in the job.
func Import(ctx context.Context, st *store.Store, r io.ReaderAt, size, person, device int64) (store.Imported, error) {
	m, err := open(r, size)
	if err != nil {
		return store.Imported{}, err
	}
	man, err := m.manifest()
	if err != nil {
		return store.Imported{}, err
	}
	in, err := m.job(ctx, man)
	if err != nil {
		return store.Imported{}, err
	}
	in.By, in.Device = person, device
	return st.ImportJob(ctx, *in)
}

// job checks all members and makes of them what the store takes.
func (m members) job(ctx context.Context, man *Manifest) (*store.Import, error) {
	b := &bundle{members: m, index: map[string]int{}, photos: map[record.Digest]bool{}}
	var pictures []store.Photo
	in := &store.Import{UID: man.UID, Shop: man.Shop}
	if err := record.Plain("shop", man.Shop, 120); err != nil {
		return nil, err
	}
	for _, l := range man.Members {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		data, err := m.checked(l)
		if err != nil {
			return nil, err
		}
		switch {
		case l.Name == entriesName:
			b.lines = data
		case strings.HasPrefix(l.Name, "items/"):
			if err := b.item(l.Name, data); err != nil {
				return nil, err
			}
		default:
			p, err := photo(l.Name, data)
			if err != nil {
				return nil, err
			}
			b.photos[p.Hash] = true
			pictures = append(pictures, p)
		}
	}
	var err error
	if in.Items, err = b.itemList(); err != nil {
		return nil, err
	}
	if in.Entries, err = b.entries(); err != nil {
		return nil, err
	}
	if n := len(in.Entries); n == 0 || in.Entries[n-1].Hash != man.Last || (Counts{n, len(in.Items), len(pictures)}) != man.Counts {
		return nil, bad(manifestName, "counts, or a last digest, of something else", "those of this job")
	}
	in.Photos = m.pictures(pictures)
	return in, nil
}

// bundle is what was read of an archive so far.
type bundle struct {
	members
	lines  []byte
	items  []Item
	names  []string
	index  map[string]int // name of an item → place in items
	photos map[record.Digest]bool
}

func (b *bundle) item(path string, data []byte) error {
	var it Item
	if err := strict(data, &it); err != nil {
		return at(path, err)
	}
	match := itemName.FindStringSubmatch(path)
	if string(it.Kind) != match[2] || len(it.Names) > 100 {
		return bad(path, "a "+short(string(it.Kind)), "a "+match[2])
	}
	b.index[match[1]] = len(b.items)
	b.items, b.names = append(b.items, it), append(b.names, path)
	return nil
}

// at says in which member a fault is.
func at(path string, err error) error {
	return &record.Fault{Code: record.Invalid, Where: path, Found: err.Error(), Want: "what an archive of a job has", Mend: "have the archive made again", Err: err}
}

func (b *bundle) itemList() ([]store.ImportItem, error) {
	out := make([]store.ImportItem, len(b.items))
	for i := range b.items {
		it := &b.items[i]
		value, err := it.open()
		if err != nil {
			return nil, at(b.names[i], err)
		}
		refs, err := b.refs(it.Refers)
		if err != nil {
			return nil, at(b.names[i], err)
		}
		out[i] = store.ImportItem{Kind: it.Kind, Names: it.Names, Value: value, Refs: refs, BuiltIn: builtIn(value)}
		if err := b.itemRefs(i, value, refs); err != nil {
			return nil, at(b.names[i], err)
		}
	}
	return out, nil
}

// itemRefs compares what an item says its numbers stand for with the numbers that it can have.
func (b *bundle) itemRefs(i int, value record.Item, refs map[string]int) error {
	left := len(refs)
	for _, r := range store.ItemRefs(value) {
		to, ok := refs[r.Field]
		if ok {
			left--
		}
		if ok && (to >= i || b.items[to].Kind != r.Kind) || !ok && r.Kind == record.OfSheet {
			return bad("refers."+r.Field, "nothing, or something that comes later", "a "+string(r.Kind)+" listed before it")
		}
	}
	if left > 0 {
		return bad("refers", "more than it has", "its numbers")
	}
	return nil
}

// refs finds the items that names stand for.
func (b *bundle) refs(names map[string]string) (map[string]int, error) {
	out := map[string]int{}
	for field, name := range names {
		i, ok := b.index[name]
		if !ok {
			return nil, bad("refers", short(name), "the name of an item of the archive")
		}
		out[field] = i
	}
	return out, nil
}

func (b *bundle) entries() ([]store.ImportEntry, error) {
	var out []store.ImportEntry
	used := map[record.Digest]bool{}
	for n, text := range bytes.Split(bytes.TrimSuffix(b.lines, []byte("\n")), []byte("\n")) {
		where := fmt.Sprintf("%s, line %d", entriesName, n+1)
		if n >= maxEntries {
			return nil, record.Faultf(record.TooLarge, entriesName, "more lines", fmt.Sprintf("at most %d", maxEntries), "")
		}
		var l Line
		if err := strict(text, &l); err != nil {
			return nil, at(where, err)
		}
		e, err := b.entry(&l)
		if err != nil {
			return nil, at(where, err)
		}
		body, err := e.Open()
		if err != nil {
			return nil, at(where, err)
		}
		if err := b.complete(&e, body); err != nil {
			return nil, at(where, err)
		}
		if p, ok := body.(*record.Pictured); ok {
			used[p.Photo] = true
			if !b.photos[p.Photo] {
				return nil, bad(where, "a photo that is not in the archive", "photos/"+p.Photo.String()+".jpg")
			}
		}
		out = append(out, e)
	}
	if len(used) != len(b.photos) {
		return nil, bad("photos", "one that no entry names", "the photos of the job")
	}
	return out, nil
}

func (b *bundle) entry(l *Line) (store.ImportEntry, error) {
	refs, err := b.refs(l.Refers)
	if err != nil {
		return store.ImportEntry{}, err
	}
	return store.ImportEntry{Refs: refs, Entry: record.Entry{Subject: record.JobSubject(l.Subject), Seq: l.Seq, Kind: l.Kind, At: time.UnixMicro(l.At).UTC(),
		Stored: time.UnixMicro(l.Stored).UTC(), By: l.By, Device: l.Device, Key: l.Key, Corrects: l.Corrects, Body: json.RawMessage(l.Body), Prev: l.Prev, Hash: l.Hash}}, nil
}

// complete compares what a line says its numbers stand for with the numbers that it has.
func (b *bundle) complete(e *store.ImportEntry, body record.Body) error {
	left := len(e.Refs)
	for _, r := range store.Refs(&e.Entry, body) {
		i, ok := e.Refs[r.Field]
		if ok {
			left--
		}
		free := r.Kind == record.OfTool || r.Kind == record.OfPrice // a number that somebody typed may stand for nothing
		if ok && (!r.Stands() || b.items[i].Kind != r.Kind) || !ok && r.Stands() && !free {
			return bad("refers."+r.Field, "nothing, or another kind of thing", "a "+string(r.Kind)+" for each number that is not 0")
		}
	}
	if left > 0 {
		return bad("refers", "more than the entry has", "its numbers")
	}
	return nil
}

// pictures reads the photos again, one by one, for the store.
func (m members) pictures(checked []store.Photo) iter.Seq2[store.Photo, error] {
	return func(yield func(store.Photo, error) bool) {
		for _, p := range checked {
			var err error
			p.Data, err = m.read(photoPath(p.Hash))
			if !yield(p, err) || err != nil {
				return
			}
		}
	}
}
