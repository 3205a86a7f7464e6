package archive

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io/fs"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// sample is a sound archive and a shop to take it in.
func sample(t testing.TB) (data []byte, into *workshop) {
	t.Helper()
	a := newWorkshop(t, "sqlite", "Aldersay", 1)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	a.write(job, 0, &record.Noted{Text: "hello"})
	a.write(job, 0, &record.Found{Part: "piston", Text: "worn", Tool: a.tools[0]})
	a.write(job, 0, &record.Pictured{Photo: a.photo(rand.New(rand.NewPCG(1, 2)))})
	return a.export(job), newWorkshop(t, "sqlite", "Tarn", 0)
}

// refused says that an archive is refused with some code, and that nothing of it is kept.
func refused(t *testing.T, w *workshop, what string, data []byte, codes ...record.Code) {
	t.Helper()
	before, err := w.st.Last(ctx())
	if err != nil {
		t.Fatal(err)
	}
	_, err = w.take(data)
	if !slices.Contains(codes, record.CodeOf(err)) {
		t.Errorf("%s: got %v, want %v", what, err, codes)
	}
	if after, err := w.st.Last(ctx()); err != nil || after != before {
		t.Errorf("%s: something was written (%v)", what, err)
	}
	if sum, err := w.st.JobByUID(ctx(), "u1"); err != nil || sum != nil {
		t.Errorf("%s: the job is here (%v)", what, err)
	}
}

// TestChanged changes each field of each line, with the manifest made to fit, as somebody would who wants another history.
func TestChanged(t *testing.T) {
	data, w := sample(t)
	files, names := unpack(t, data), namesOf(t, data)
	lines := bytes.Split(bytes.TrimSpace(files[entriesName]), []byte("\n"))
	for i, line := range lines {
		var l map[string]any
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatal(err)
		}
		for field, v := range l {
			if field == "refers" {
				continue
			}
			changed := map[string]any{}
			for k, x := range l {
				changed[k] = x
			}
			switch x := v.(type) {
			case float64:
				changed[field] = int64(x) + 1
			case string:
				changed[field] = strings.Replace(x, x[len(x)-2:], string(x[len(x)-2]^1)+x[len(x)-1:], 1)
			}
			text, err := json.Marshal(changed)
			if err != nil {
				t.Fatal(err)
			}
			all := slices.Clone(lines)
			all[i] = text
			files[entriesName] = append(bytes.Join(all, []byte("\n")), '\n')
			refused(t, w, fmt.Sprintf("line %d, %s", i+1, field), pack(t, files, names), record.Invalid, record.Damaged)
		}
	}
	for what, all := range map[string][][]byte{"one left out": append(slices.Clone(lines[:1]), lines[2:]...), "two swapped": {lines[0], lines[2], lines[1], lines[3]}, "one twice": {lines[0], lines[1], lines[1], lines[2], lines[3]}, "none": {}} {
		files[entriesName] = append(bytes.Join(all, []byte("\n")), '\n')
		refused(t, w, what, pack(t, files, names), record.Invalid)
	}
}

// TestSpliced puts the last entry of another job, sound in itself, in the place of the last of this one.
func TestSpliced(t *testing.T) {
	a := newWorkshop(t, "sqlite", "Aldersay", 0)
	var lines [2][][]byte
	var files map[string][]byte
	var names []string
	for i, uid := range []string{"u2", "u1"} {
		job := a.book(uid, a.usual("Ferry yard", "ALD-1", ""))
		a.n = 101 // the same person and device write in both
		a.write(job, 0, &record.Noted{Text: uid})
		data := a.export(job)
		files, names = unpack(t, data), namesOf(t, data)
		lines[i] = bytes.Split(bytes.TrimSpace(files[entriesName]), []byte("\n"))
	}
	var l Line
	if err := json.Unmarshal(lines[0][1], &l); err != nil {
		t.Fatal(err)
	}
	var m Manifest
	if err := json.Unmarshal(files[manifestName], &m); err != nil {
		t.Fatal(err)
	}
	m.Last, l.Refers = l.Hash, map[string]string{"by": "person-1", "device": "device-1"}
	if l.Device == 0 {
		delete(l.Refers, "device")
	}
	text, err := json.Marshal(l)
	if err != nil {
		t.Fatal(err)
	}
	if files[manifestName], err = json.Marshal(m); err != nil {
		t.Fatal(err)
	}
	files[entriesName] = append(append(append(bytes.Clone(lines[1][0]), '\n'), text...), '\n')
	_, err = newWorkshop(t, "sqlite", "Tarn", 0).take(pack(t, files, names))
	if record.CodeOf(err) != record.Invalid || !strings.Contains(err.Error(), "does not follow") {
		t.Errorf("got %v", err)
	}
}

// TestBadBytes flips bytes of an archive: it is refused, or the change was in what does not matter.
func TestBadBytes(t *testing.T) {
	data, w := sample(t)
	r := rand.New(rand.NewPCG(3, 4))
	harmless := 0
	for range 200 {
		bad := bytes.Clone(data)
		bad[r.IntN(len(bad))] ^= byte(1 + r.IntN(255))
		_, err := w.take(bad)
		if err == nil { // a byte that no reader looks at: the time or the version in a header
			harmless++
		} else if record.CodeOf(err) == "" {
			t.Errorf("an error without a code: %v", err)
		}
	}
	if harmless > 40 {
		t.Errorf("%d of 200 changes were not noticed", harmless)
	}
	for n := range 40 {
		if _, err := w.take(data[:len(data)*n/40]); record.CodeOf(err) != record.Invalid {
			t.Errorf("cut off at %d of 40: %v", n, err)
		}
	}
}

// TestRefused lists what is no archive of a job.
func TestRefused(t *testing.T) {
	data, w := sample(t)
	names := namesOf(t, data)
	edit := func(name string, change func(string) string) []byte {
		files := unpack(t, data)
		files[name] = []byte(change(string(files[name])))
		return pack(t, files, names)
	}
	replace := func(old, now string) func(string) string {
		return func(s string) string {
			if !strings.Contains(s, old) {
				t.Fatalf("no %q in %s", old, s)
			}
			return strings.Replace(s, old, now, 1)
		}
	}
	manifest := func(change func(*Manifest)) []byte {
		files := unpack(t, data)
		var m Manifest
		if err := json.Unmarshal(files[manifestName], &m); err != nil {
			t.Fatal(err)
		}
		change(&m)
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		files[manifestName] = text
		return packAs(t, files, names)
	}
	refused(t, w, "nothing", nil, record.Invalid)
	refused(t, w, "a newer version", manifest(func(m *Manifest) { m.Version = 2 }), record.Newer)
	refused(t, w, "another format", manifest(func(m *Manifest) { m.Format = "x" }), record.Invalid)
	refused(t, w, "no uid", manifest(func(m *Manifest) { m.UID = "" }), record.Invalid)
	refused(t, w, "another last digest", manifest(func(m *Manifest) { m.Last[0] ^= 1 }), record.Invalid)
	refused(t, w, "other counts", manifest(func(m *Manifest) { m.Counts.Items++ }), record.Invalid)
	refused(t, w, "a member not listed", manifest(func(m *Manifest) { m.Members = m.Members[1:] }), record.Invalid)
	refused(t, w, "a member listed twice", manifest(func(m *Manifest) { m.Members[1] = m.Members[0] }), record.Invalid)
	refused(t, w, "another digest of a member", manifest(func(m *Manifest) { m.Members[1].SHA256[3] ^= 1 }), record.Damaged)
	refused(t, w, "a person who is a customer", edit(entriesName, replace(`"by":"person-1"`, `"by":"customer-1"`)), record.Invalid)
	refused(t, w, "a person who is not there", edit(entriesName, replace(`"by":"person-1"`, `"by":"person-9"`)), record.Invalid)
	refused(t, w, "nobody", edit(entriesName, replace(`"by":"person-1",`, ``)), record.Invalid)
	refused(t, w, "more than it refers to", edit(entriesName, replace(`"by":"person-1"`, `"by":"person-1","tool":"tool-1"`)), record.Invalid)
	refused(t, w, "an unknown field of a line", edit(entriesName, replace(`"subject"`, `"x":1,"subject"`)), record.Invalid)
	refused(t, w, "a role of a person", edit("items/person-1.json", replace(`"initials"`, `"role":"owner","initials"`)), record.Invalid)
	refused(t, w, "a pump of a number here", edit("items/pump-1.json", replace(`"sheet":0`, `"sheet":1`)), record.Invalid)
	refused(t, w, "a pump sheet that is none", edit("items/sheet-1.json", replace(`"text":"`, `"text":"x`)), record.Invalid)
	refused(t, w, "another kind", edit("items/tool-1.json", replace(`"kind":"tool"`, `"kind":"price"`)), record.Invalid)
	for _, name := range []string{"../x", "/etc/x", "items/..", "items/shop-1.json", "items/person-0.json", `items\person-1.json`, "photos/x.jpg", "MANIFEST.JSON", "a\x00b"} {
		files := unpack(t, data)
		files[name] = []byte("x")
		refused(t, w, "the member "+name, packAs(t, files, append(slices.Clone(names), name)), record.Invalid)
	}
	refused(t, w, "a member twice", packAs(t, unpack(t, data), append(slices.Clone(names), entriesName)), record.Invalid)
	w.mustTake(data)
}

// TestPhotoOnly: a photo is a picture and nothing else.
func TestPhotoOnly(t *testing.T) {
	data, w := sample(t)
	files := unpack(t, data)
	for name := range files {
		if !photoName.MatchString(name) {
			continue
		}
		jpg := files[name]
		if !bare(jpg) {
			t.Fatal("a photo of the program is refused")
		}
		app := append([]byte("\xff\xd8\xff\xe1\x00\x06Exif"), jpg[2:]...)
		for what, bad := range map[string][]byte{"something behind it": append(bytes.Clone(jpg), "PK\x03\x04"...), "an Exif segment": app, "a comment": append([]byte("\xff\xd8\xff\xfe\x00\x04hi"), jpg[2:]...),
			"no picture": []byte("hello"), "half": jpg[:len(jpg)/2], "nothing": nil} {
			if bare(bad) {
				t.Errorf("%s is taken", what)
			}
		}
		bad := unpack(t, data)
		bad[name][len(jpg)/2] ^= 1
		refused(t, w, "another picture", pack(t, bad, namesOf(t, data)), record.Damaged)
	}
}

// TestBombs: archives that would unpack to far more than they are.
func TestBombs(t *testing.T) {
	data, w := sample(t)
	files := unpack(t, data)
	files["items/tool-2.json"] = bytes.Repeat([]byte(" "), 3<<20)
	refused(t, w, "3 MB of spaces", packAs(t, files, append(namesOf(t, data), "items/tool-2.json")), record.TooLarge)
	files["items/tool-2.json"] = make([]byte, maxSmall+1)
	for i := range files["items/tool-2.json"] {
		files["items/tool-2.json"][i] = byte(rand.Uint32())
	}
	refused(t, w, "an item that is too large", packAs(t, files, append(namesOf(t, data), "items/tool-2.json")), record.TooLarge)

	var many bytes.Buffer
	z := zip.NewWriter(&many)
	for i := range maxMembers + 1 {
		if _, err := z.Create(fmt.Sprintf("items/tool-%d.json", i+1)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	refused(t, w, "too many members", many.Bytes(), record.TooLarge)

	refused(t, w, "much in all", statedLarge(t), record.TooLarge)

	// a member that states a smaller size than it has
	var lying bytes.Buffer
	z = zip.NewWriter(&lying)
	h := &zip.FileHeader{Name: manifestName, Method: zip.Store, CompressedSize64: 4000, UncompressedSize64: 4, CRC32: crc32.ChecksumIEEE([]byte("    "))}
	f, err := z.CreateRaw(h)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(bytes.Repeat([]byte(" "), 4000)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	refused(t, w, "a size that is a lie", lying.Bytes(), record.Invalid)

	var link bytes.Buffer
	z = zip.NewWriter(&link)
	h = &zip.FileHeader{Name: manifestName}
	h.SetMode(fs.ModeSymlink | 0o777)
	if _, err := z.CreateHeader(h); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	refused(t, w, "a symbolic link", link.Bytes(), record.Invalid)
	if _, err := Import(ctx(), w.st, bytes.NewReader(nil), maxSize+1, 1, 1); record.CodeOf(err) != record.TooLarge {
		t.Errorf("a file that is too large: %v", err)
	}
}

// statedLarge is an archive of 40 photos that each state 24 MB, and are a hundredth of it.
func statedLarge(t *testing.T) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for i := range 40 {
		h := &zip.FileHeader{Name: fmt.Sprintf("photos/%064x.jpg", i), Method: zip.Deflate, CompressedSize64: 240 << 10, UncompressedSize64: 24 << 20}
		f, err := z.CreateRaw(h)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write(make([]byte, 240<<10)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// TestTakenByTwo: two imports of the same archive at once give one job.
func TestTakenByTwo(t *testing.T) {
	for _, engine := range []string{"sqlite", "postgresql"} {
		t.Run(engine, func(t *testing.T) {
			data, _ := sample(t)
			w := newWorkshop(t, engine, "Tarn", 0)
			got := make([]store.Imported, 6)
			errs := make(chan error, len(got))
			for i := range got {
				go func() {
					var err error
					got[i], err = Import(ctx(), w.st, bytes.NewReader(data), int64(len(data)), w.people[0], w.devices[0])
					errs <- err
				}()
			}
			for range got {
				if err := <-errs; err != nil {
					t.Error(err)
				}
			}
			fresh := 0
			for _, g := range got {
				if g.Number != got[0].Number {
					t.Errorf("numbers %d and %d", g.Number, got[0].Number)
				}
				if g.New {
					fresh++
				}
			}
			if fresh != 1 {
				t.Errorf("%d were the first", fresh)
			}
			w.sound()
		})
	}
}

func FuzzImport(f *testing.F) {
	data, w := sample(f)
	files := unpack(f, data)
	names := namesOf(f, data)
	f.Add(data, []byte(nil), []byte(nil), []byte(nil))
	f.Add([]byte(nil), files[manifestName], files[entriesName], files["items/pump-1.json"])
	f.Fuzz(func(t *testing.T, raw, manifest, entries, item []byte) {
		if len(raw) == 0 {
			mine := map[string][]byte{}
			for n, d := range files {
				mine[n] = d
			}
			mine[entriesName], mine["items/pump-1.json"] = entries, item
			var m Manifest
			if json.Unmarshal(manifest, &m) == nil {
				mine[manifestName] = manifest
				if len(m.Members) > 0 {
					ok := true
					for _, l := range m.Members {
						ok = ok && mine[l.Name] != nil
					}
					if ok {
						raw = pack(t, mine, names)
					}
				}
			}
		}
		if _, err := w.take(raw); err != nil && record.CodeOf(err) == "" {
			t.Fatalf("an error without a code: %v", err)
		}
	})
}
