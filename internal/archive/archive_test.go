package archive

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/pump"
)

// unpack gives the members of an archive.
func unpack(t testing.TB, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// pack makes an archive of members, the manifest brought up to date with them.
func pack(t testing.TB, files map[string][]byte, names []string) []byte {
	t.Helper()
	var m Manifest
	if err := json.Unmarshal(files[manifestName], &m); err != nil {
		t.Fatal(err)
	}
	for i := range m.Members {
		m.Members[i].SHA256 = sha256.Sum256(files[m.Members[i].Name])
	}
	data, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	files[manifestName] = data
	return packAs(t, files, names)
}

func packAs(t testing.TB, files map[string][]byte, names []string) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, n := range names {
		if err := put(z, n, zip.Deflate, files[n]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func namesOf(t testing.TB, data []byte) []string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, f := range z.File {
		out = append(out, f.Name)
	}
	return out
}

var directions = [][2]string{{"sqlite", "postgresql"}, {"postgresql", "sqlite"}, {"sqlite", "sqlite"}}

// random writes n random entries into a job.
func (w *workshop) random(t *rapid.T, job int64, n int) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "photos"), 1))
	pick := func(name string, n int) int { return rapid.IntRange(0, n-1).Draw(t, name) }
	text := rapid.StringOfN(rapid.RuneFrom([]rune("abcé<&>\"\\ö \u2028漢")), 1, 12, -1)
	id := func(name string, ids []int64) int64 { return append(ids, 0, 7777)[pick(name, len(ids)+2)] }
	for range n {
		seq := int64(pick("seq", 12))
		corrects := int64(0)
		var b record.Body
		switch pick("kind", 12) {
		case 0:
			b = &record.Pictured{Photo: w.photo(r), Caption: text.Draw(t, "caption")}
		case 1:
			b = &record.Found{Part: "upper packing", Text: text.Draw(t, "text"), Tool: id("tool", w.tools)}
		case 2:
			b, corrects = &record.Found{Part: "upper packing", Text: text.Draw(t, "text"), Tool: id("tool", w.tools)}, seq
		case 3:
			b = &record.Did{Step: "strip", Tool: id("tool", w.tools), Torque: "52 N·m"}
		case 4:
			b = &record.Priced{Item: id("price", w.prices), Text: "an hour", Quantity: int64(pick("quantity", 5000)), Each: 9000, Currency: "EUR"}
		case 5:
			b = &record.Struck{Seq: max(1, seq), Reason: text.Draw(t, "reason")}
		case 6:
			b = &record.Benched{Hold: record.AsLeft, Tool: id("tool", w.tools), Fluid: json.RawMessage(`{"kind": "water", "temperature": "20 °C"}`)}
		case 7:
			b = &record.Read{Hold: record.AsLeft, Reading: json.RawMessage(`{"creep":"up","pressure":"2330 psi","travel":"60 mm","time":"14.2 s"}`)}
		case 8:
			b = &record.Judged{Hold: record.AsLeft, Word: "holds", Meets: 0.97, Engine: "1", Model: "1", Seed: 1 << 63, Sheet: json.RawMessage(`{}`), Result: json.RawMessage(`{"a":1e-300}`), Seqs: []int64{seq}}
		case 9:
			b = &record.Moved{To: record.Stages()[pick("stage", 8)], Reason: "so"}
		case 10:
			b = []record.Body{&record.Overrode{Reason: text.Draw(t, "why")}, &record.Closed{Good: true}, &record.Handed{To: "A. Ferry"}}[pick("end", 3)]
		default:
			b = &record.Noted{Text: text.Draw(t, "note")}
		}
		if s, ok := b.(*record.Struck); ok && strings.TrimSpace(s.Reason) == "" {
			s.Reason = "x"
		}
		w.write(job, corrects, b)
	}
}

// TestRoundTrip takes random jobs from a shop into another on another engine, goes on there, and brings them back.
func TestRoundTrip(t *testing.T) {
	sheet, err := pump.DemoSheet("orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range directions {
		t.Run(d[0]+" to "+d[1], func(t *testing.T) {
			a, b := newWorkshop(t, d[0], "Aldersay", 2), newWorkshop(t, d[1], "Tarn", 5)
			other := a.book("other", a.usual("Somebody", "X-1", ""))
			a.write(other, 0, &record.Noted{Text: "another job"})
			n := 0
			rapid.Check(t, func(t *rapid.T) {
				n++
				uid := fmt.Sprintf("uid-%s-%s-%d", d[0], d[1], n)
				text := []string{"", string(sheet) + "\n# ours\n"}[n%2]
				job := a.book(uid, a.usual(fmt.Sprintf("Ferry yard %d", n%4), fmt.Sprintf("ALD-%d", n%3), text))
				a.random(t, job, rapid.IntRange(0, 12).Draw(t, "entries"))
				roundTrip(t, a, b, job)
			})
			a.sound()
			b.sound()
		})
	}
}

type tester interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
	Errorf(string, ...any)
}

func roundTrip(t *rapid.T, a, b *workshop, job int64) {
	first := a.export(job)
	if !bytes.Equal(first, a.export(job)) {
		t.Fatal("the same job gave two archives")
	}
	got := b.mustTake(first)
	if !got.New || got.Added == 0 {
		t.Fatalf("taken in: %+v", got)
	}
	if x, y := a.told(job), b.told(got.Number); x != y {
		t.Fatalf("told differently:\n%s\n%s", x, y)
	}
	second := b.export(got.Number)
	sameJob(t, a.t, first, second)
	if again := b.mustTake(second); again.Added != 0 || again.Number != got.Number || again.New {
		t.Fatalf("taken in twice: %+v", again)
	}
	before := a.told(job)
	b.random(t, got.Number, rapid.IntRange(0, 6).Draw(t, "more"))
	third := b.export(got.Number)
	if home := a.mustTake(third); home.Number != job || home.New {
		t.Fatalf("came home as %+v, was %d", home, job)
	}
	if x, y := b.told(got.Number), a.told(job); x != y || !strings.HasPrefix(y, before[:strings.LastIndex(before[:len(before)-1], "\n{")]) {
		t.Fatalf("came home differently:\n%s\n%s", x, y)
	}
	sameJob(t, a.t, third, a.export(job))
	if old := a.mustTake(first); old.Added != 0 {
		t.Fatalf("an older archive added %+v", old)
	}
}

// sameJob says that two archives have the same entries, byte by byte, the same photos and the same job.
func sameJob(t tester, tb testing.TB, a, b []byte) {
	t.Helper()
	x, y := unpack(tb, a), unpack(tb, b)
	if !bytes.Equal(x[entriesName], y[entriesName]) {
		t.Fatalf("other entries:\n%s\n%s", x[entriesName], y[entriesName])
	}
	for _, files := range [][2]map[string][]byte{{x, y}, {y, x}} {
		for name := range files[0] {
			if strings.HasPrefix(name, "photos/") && !bytes.Equal(files[0][name], files[1][name]) {
				t.Fatalf("another photo %s", name)
			}
		}
	}
	var m, n Manifest
	if err := strict(x[manifestName], &m); err != nil {
		t.Fatal(err)
	}
	if err := strict(y[manifestName], &n); err != nil {
		t.Fatal(err)
	}
	if m.UID != n.UID || m.Last != n.Last || m.Counts.Entries != n.Counts.Entries || m.Counts.Photos != n.Counts.Photos {
		t.Fatalf("another job: %+v %+v", m, n)
	}
}

// TestStrangers: who wrote an entry elsewhere is nobody who works here, whatever the numbers and digests say.
func TestStrangers(t *testing.T) {
	a, b := newWorkshop(t, "sqlite", "Aldersay", 0), newWorkshop(t, "sqlite", "Tarn", 0)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	a.write(job, 0, &record.Noted{Text: "hello"})
	if a.people[0] != b.people[0] {
		t.Fatal("this test wants the same numbers in both shops")
	}
	n := b.mustTake(a.export(job)).Number
	entries, err := b.st.Entries(ctx(), record.JobSubject(n), 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	by := record.Subject{Kind: record.OfPerson, ID: entries[0].By}
	p, err := b.st.Item(ctx(), by)
	if err != nil {
		t.Fatal(err)
	}
	if by.ID == b.people[0] || p.Label != "Aldersay person 0" || !p.Retired || p.Value.(*record.Person).Role != record.Technician {
		t.Errorf("by %v: %+v", by, p)
	}
	secret, err := b.st.Secret(ctx(), by.ID)
	if err != nil || secret.PIN != "" {
		t.Errorf("the stranger has a PIN: %v %v", secret, err)
	}
	if c, err := b.st.CustomerByName(ctx(), "ferry YARD"); err != nil || c == nil || c.Subject.ID != job1(t, b, n).Customer {
		t.Errorf("the customer: %+v %v", c, err)
	}
	// a second job of the same people makes them no second time
	before := count(t, b, record.OfPerson)
	job2 := a.book("u2", a.usual("Ferry yard", "ALD-1", ""))
	b.mustTake(a.export(job2))
	if after := count(t, b, record.OfPerson); after != before {
		t.Errorf("%d people, then %d", before, after)
	}
	if p, err := b.st.PumpBySerial(ctx(), "ALD-1"); err != nil || p == nil {
		t.Error(err)
	} else if jobs, err := b.st.OfPump(ctx(), p.Subject.ID, 0, 10); err != nil || len(jobs) != 2 {
		t.Errorf("the history of the pump has %d jobs: %v", len(jobs), err)
	}
	renamed(t, a, b, entries[0].By)
	// the same job again in the shop that lost it: its own people are not spoken for
	c := newWorkshop(t, "sqlite", "Aldersay", 0)
	back := c.mustTake(b.export(n))
	es, err := c.st.Entries(ctx(), record.JobSubject(back.Number), 0, 1)
	if err != nil || es[0].By == c.people[0] {
		t.Errorf("by %d, who works here: %v", es[0].By, err)
	}
	b.sound()
	c.sound()
}

// renamed: whoever has another name since is shown by it, and what was written before keeps the old one.
func renamed(t *testing.T, a, b *workshop, was int64) {
	t.Helper()
	body, err := record.Keep(&record.Person{Name: "Aldersay person with another name", Initials: "P", Role: record.Trainer})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.st.Keep(ctx(), store.AnySeq, record.Draft{Subject: record.Subject{Kind: record.OfPerson, ID: a.people[0]}, At: a.now, Key: a.key(), Body: body}); err != nil {
		t.Fatal(err)
	}
	n := b.mustTake(a.export(a.book("u3", a.usual("Ferry yard", "ALD-1", "")))).Number
	entries, err := b.st.Entries(ctx(), record.JobSubject(n), 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if now := b.label(record.Subject{Kind: record.OfPerson, ID: entries[0].By}); now != "Aldersay person with another name" || b.label(record.Subject{Kind: record.OfPerson, ID: was}) != "Aldersay person 0" {
		t.Errorf("after a change of name: %q", now)
	}
}

func job1(t *testing.T, w *workshop, n int64) *record.Summary {
	t.Helper()
	sum, err := w.st.Summary(ctx(), n)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

func count(t *testing.T, w *workshop, k record.SubjectKind) int {
	t.Helper()
	n := 0
	for _, retired := range []bool{false, true} {
		items, err := w.st.Items(ctx(), k, store.Page{Limit: 1000, Retired: retired})
		if err != nil {
			t.Fatal(err)
		}
		n += len(items)
	}
	return n
}

// TestWentOnDifferently: both shops wrote in a job.
func TestWentOnDifferently(t *testing.T) {
	a, b := newWorkshop(t, "sqlite", "Aldersay", 1), newWorkshop(t, "sqlite", "Tarn", 0)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	n := b.mustTake(a.export(job)).Number
	a.write(job, 0, &record.Noted{Text: "here"})
	b.write(n, 0, &record.Noted{Text: "there"})
	for _, c := range []struct {
		w    *workshop
		data []byte
	}{{a, b.export(n)}, {b, a.export(job)}} {
		last, err := c.w.st.Last(ctx())
		if err != nil {
			t.Fatal(err)
		}
		_, err = c.w.take(c.data)
		if record.CodeOf(err) != record.Conflict || !strings.Contains(err.Error(), "entry 2") {
			t.Errorf("got %v", err)
		}
		if now, err := c.w.st.Last(ctx()); err != nil || now != last {
			t.Errorf("something was written: %d, then %d (%v)", last, now, err)
		}
	}
}

// TestTimes: entries of another shop keep their times.
func TestTimes(t *testing.T) {
	a, b := newWorkshop(t, "sqlite", "Aldersay", 0), newWorkshop(t, "sqlite", "Tarn", 0)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	b.now = b.now.Add(-48 * time.Hour)
	if _, err := b.take(a.export(job)); record.CodeOf(err) != record.Invalid {
		t.Errorf("an entry of the day after tomorrow: %v", err)
	}
	b.now = b.now.Add(72 * time.Hour)
	n := b.mustTake(a.export(job)).Number
	if x, y := job1(t, a, job), job1(t, b, n); !x.Opened.Equal(y.Opened) || !x.Changed.Equal(y.Changed) || x.Hash != y.Hash {
		t.Errorf("%+v %+v", x, y)
	}
}
