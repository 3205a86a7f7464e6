package archive

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Export writes a job as an archive; engine is the version of the program. Photos are written one after the other as they are read.
// Errors: *record.Fault of code NotFound when there is no such job, Damaged when something that an entry stands on is missing or was
// changed, TooLarge for a job beyond what Import takes; an error of w. After an error what was written is no archive.
func Export(ctx context.Context, st *store.Store, engine string, number int64, w io.Writer) error {
	x := &exporter{ctx: ctx, st: st, numbers: map[string]string{}, count: map[record.SubjectKind]int{}, seen: map[record.Digest]bool{}}
	files, err := x.read(number)
	if err != nil {
		return err
	}
	m, err := x.manifest(engine, number, files)
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, f := range append([]file{{manifestName, m}}, files...) {
		if err := put(z, f.name, zip.Deflate, f.data); err != nil {
			return err
		}
	}
	for _, d := range x.photos {
		p, err := st.GetPhoto(ctx, d, false)
		if err != nil {
			return err
		}
		if record.Digest(sha256.Sum256(p.Data)) != d {
			return record.Faultf(record.Damaged, "photo "+d.Short(), "another picture", "the picture of this digest", "restore a backup")
		}
		if err := put(z, photoPath(d), zip.Store, p.Data); err != nil {
			return err
		}
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	return nil
}

type file struct {
	name string
	data []byte
}

// put writes a member without a time, so that the same job gives the same bytes.
func put(z *zip.Writer, name string, method uint16, data []byte) error {
	f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method})
	if err == nil {
		_, err = f.Write(data)
	}
	if err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	return nil
}

// exporter gathers what the entries of one job refer to.
type exporter struct {
	ctx     context.Context
	st      *store.Store
	uid     string
	last    record.Digest
	entries int
	numbers map[string]string // kind and number here → name of the item
	count   map[record.SubjectKind]int
	items   []file
	photos  []record.Digest
	seen    map[record.Digest]bool
}

// read gives the members but for the manifest and the photos.
func (x *exporter) read(number int64) ([]file, error) {
	sum, err := x.st.Summary(x.ctx, number)
	if err != nil {
		return nil, err
	}
	all, err := x.st.Written(x.ctx, number)
	if err != nil {
		return nil, err
	}
	var lines bytes.Buffer
	for i := range all {
		l, err := x.line(&all[i])
		if err != nil {
			return nil, err
		}
		if err := encode(&lines, l); err != nil {
			return nil, err
		}
		x.last = l.Hash
	}
	x.uid, x.entries = sum.UID, len(all)
	if len(all) > maxEntries || lines.Len() > maxLines || len(x.items)+len(x.photos)+2 > maxMembers {
		return nil, record.Faultf(record.TooLarge, fmt.Sprintf("job %d", number), fmt.Sprintf("%d entries, %d photos", len(all), len(x.photos)),
			fmt.Sprintf("at most %d entries and some thousand photos", maxEntries), "keep a backup of the shop instead")
	}
	return append([]file{{entriesName, lines.Bytes()}}, x.items...), nil
}

// encode writes a value as one line of JSON.
func encode(w *bytes.Buffer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	return nil
}

func (x *exporter) line(w *store.Written) (*Line, error) {
	e := w.There
	if !e.Intact() {
		return nil, record.Faultf(record.Damaged, fmt.Sprintf("%s, entry %d", w.Here.Subject, e.Seq), "an entry that was changed after it was written", "the digest of what it says", "restore a backup")
	}
	l := &Line{Subject: e.Subject.ID, Seq: e.Seq, Kind: e.Kind, At: e.At.UnixMicro(), Stored: e.Stored.UnixMicro(), By: e.By, Device: e.Device, Key: e.Key,
		Corrects: e.Corrects, Body: string(e.Body), Prev: e.Prev, Hash: e.Hash, Refers: map[string]string{}}
	there, err := e.Open()
	if err != nil {
		return nil, err
	}
	here, err := w.Here.Open()
	if err != nil {
		return nil, err
	}
	model := ""
	switch b := here.(type) {
	case *record.Booked:
		model = b.Model
	case *record.Pictured:
		if !x.seen[b.Photo] {
			x.seen[b.Photo] = true
			x.photos = append(x.photos, b.Photo)
		}
	}
	return l, x.refer(l.Refers, store.Refs(&e, there), store.Refs(&w.Here, here), model)
}

// refer notes for each number what it stands for. there are the numbers as they were hashed, here those of this shop.
func (x *exporter) refer(refers map[string]string, there, here []store.Ref, model string) error {
	for i, r := range there {
		if !r.Stands() || !here[i].Stands() {
			continue
		}
		name, err := x.item(record.Subject{Kind: r.Kind, ID: *here[i].ID}, model)
		if record.CodeOf(err) == record.NotFound && (r.Kind == record.OfTool || r.Kind == record.OfPrice) {
			continue // a number that somebody typed and that stands for nothing
		}
		if record.CodeOf(err) == record.NotFound {
			return &record.Fault{Code: record.Damaged, Where: r.Field, Found: err.Error(), Want: "what the entry stands on", Mend: "restore a backup", Err: err}
		}
		if err != nil {
			return err
		}
		refers[r.Field] = name
	}
	return nil
}

// manifest lists the members. A photo is named by its digest.
func (x *exporter) manifest(engine string, number int64, files []file) ([]byte, error) {
	m := Manifest{Format: Format, Version: Version, Engine: engine, UID: x.uid, Number: number,
		Counts: Counts{Entries: x.entries, Items: len(x.items), Photos: len(x.photos)}, Last: x.last}
	shop, err := x.st.Item(x.ctx, record.Subject{Kind: record.OfShop, ID: 1})
	switch {
	case err == nil:
		m.Shop = shop.Label
	case record.CodeOf(err) != record.NotFound:
		return nil, err
	}
	for _, f := range files {
		m.Members = append(m.Members, Member{f.name, sha256.Sum256(f.data)})
	}
	for _, d := range x.photos {
		m.Members = append(m.Members, Member{photoPath(d), d})
	}
	out, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("archive: %w", err)
	}
	return append(out, '\n'), nil
}
