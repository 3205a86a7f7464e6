package record

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// words that people type, and what they do not
var (
	aText  = rapid.StringMatching(`[a-zA-Z0-9äöüß日本 .,'"<>&%_\\/-]{1,40}`).Filter(func(s string) bool { return strings.TrimSpace(s) != "" })
	anyTxt = rapid.OneOf(rapid.Just(""), aText)
	anID   = rapid.Int64Range(0, 1<<40)
	aHold  = rapid.SampledFrom([]HoldStage{AsFound, AsLeft})
	anObj  = rapid.Custom(func(t *rapid.T) json.RawMessage {
		b, err := json.Marshal(rapid.MapOfN(aText, aText, 0, 4).Draw(t, "object"))
		if err != nil {
			t.Fatal(err)
		}
		return b
	})
	aTime = rapid.Custom(func(t *rapid.T) time.Time {
		return noon.Add(time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "µs")) * 1000)
	})
)

// drawBody draws a body of a kind that passes its check.
func drawBody(t *rapid.T, k Kind) Body {
	s := func(name string) string { return aText.Draw(t, name) }
	o := func(name string) string { return anyTxt.Draw(t, name) }
	switch k {
	case KindBooked:
		return &Booked{anID.Draw(t, "c"), s("name"), anID.Draw(t, "p"), s("serial"), s("model"), anID.Draw(t, "s"), s("complaint"), o("fluid"), o("hours"), o("litres"), o("drive"), o("with")}
	case KindNoted:
		return &Noted{s("text")}
	case KindPictured:
		return &Pictured{Digest{byte(rapid.IntRange(1, 255).Draw(t, "d"))}, o("caption"), rapid.SampledFrom(append(Stages(), "")).Draw(t, "stage"), o("part")}
	case KindBenched:
		return &Benched{aHold.Draw(t, "hold"), anObj.Draw(t, "fluid"), anObj.Draw(t, "gauge"), o("stopwatch"), o("ruler"), anID.Draw(t, "tool")}
	case KindPressed:
		return &Pressed{aHold.Draw(t, "hold"), s("watch"), rapid.SampledFrom([]Press{PressStart, PressTop, PressBottom, PressMark, PressEnd}).Draw(t, "press"), rapid.Int64Range(0, 86400_000).Draw(t, "ms"),
			rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "stroke"), rapid.Bool().Draw(t, "locked"), o("pressure"), o("rod"), o("over")}
	case KindRead:
		return &Read{aHold.Draw(t, "hold"), anObj.Draw(t, "reading")}
	case KindJudged:
		return &Judged{aHold.Draw(t, "hold"), rapid.SampledFrom([]string{Holds, "does not hold", "not proven yet"}).Draw(t, "word"), rapid.Float64Range(0, 1).Draw(t, "meets"), s("engine"), s("model"), rapid.Uint64().Draw(t, "seed"),
			anObj.Draw(t, "sheet"), Digest{2}, anObj.Draw(t, "result"), rapid.SliceOfN(anID, 1, 5).Draw(t, "seqs")}
	case KindFound:
		return &Found{s("part"), s("text"), o("size"), o("value"), anID.Draw(t, "tool")}
	case KindChose:
		return &Chose{rapid.MapOfN(aText, aText, 1, 5).Draw(t, "parts")}
	case KindMinded:
		return &Minded{s("caution")}
	case KindSoaking:
		return &Soaking{s("step"), aTime.Draw(t, "ready")}
	}
	return drawWork(t, k, s, o)
}

func drawWork(t *rapid.T, k Kind, s, o func(string) string) Body {
	switch k {
	case KindDid:
		return &Did{s("step"), o("torque"), o("wrench"), o("adapter"), o("angle"), anID.Draw(t, "tool"), o("despite"), o("soaked"), o("pressure"), o("held"), s("note"), rapid.Bool().Draw(t, "skipped")}
	case KindStacked:
		return &Stacked{s("stack"), rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Ring {
			return Ring{aText.Draw(t, "part"), rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "lips")}
		}), 1, 6).Draw(t, "rings"), o("shim")}
	case KindMoved:
		return &Moved{rapid.SampledFrom(OpenStages()).Draw(t, "to"), o("reason")}
	case KindOverrode:
		return &Overrode{o("verdict"), s("reason"), rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string { return aText.Draw(t, "point") }), 1, 3).Draw(t, "points")}
	case KindPriced:
		return &Priced{anID.Draw(t, "item"), s("text"), rapid.Int64Range(-100_000, 100_000).Draw(t, "q"), rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "each"), "EUR"}
	case KindHanded:
		return &Handed{s("to"), rapid.StringMatching(`(M[0-9]{1,3} [0-9]{1,3}L-?[0-9.]{1,4},1){0,5}`).Draw(t, "signature"), o("note")}
	case KindClosed:
		return &Closed{rapid.Bool().Draw(t, "good"), s("reason")}
	case KindStruck:
		return &Struck{rapid.Int64Range(1, 12).Draw(t, "seq"), s("reason")}
	case KindKept:
		return &Kept{anObj.Draw(t, "value")}
	case KindRetired:
		return &Retired{o("reason")}
	}
	t.Fatalf("kind %s has no generator", k)
	return nil
}

// Every body comes back from JSON as it went, and its JSON is the same again.
func TestBodiesRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(Kinds()).Draw(t, "kind")
		b := drawBody(t, k)
		if err := b.Check(); err != nil {
			t.Fatal(err)
		}
		e, err := (Draft{Subject: JobSubject(1), At: noon, Key: "k", Body: b}).Entry()
		if err != nil {
			t.Fatal(err)
		}
		got, err := e.Open()
		if err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(got)
		if err != nil || !sameBytes(again, e.Body) || got.Kind() != k {
			t.Fatalf("%s came back as %s, %v", e.Body, again, err)
		}
		sameJSON := cmp.Transformer("json", func(r json.RawMessage) (v any) {
			if len(r) > 0 && json.Unmarshal(r, &v) != nil {
				v = string(r)
			}
			return v
		})
		if d := cmp.Diff(b, got, sameJSON); d != "" {
			t.Fatal(d)
		}
	})
}

// drawJob draws entries that a job takes one after another, as a store would take them.
func drawJob(t *rapid.T) []Entry {
	jobKinds := Kinds()[:len(Kinds())-2]
	first, err := (Draft{Subject: JobSubject(7), At: noon, Key: "k", Body: drawBody(t, KindBooked)}).Entry()
	if err != nil {
		t.Fatal(err)
	}
	first.Seq, first.Stored = 1, noon
	first.Seal(Digest{})
	entries := []Entry{first}
	for range rapid.IntRange(0, 25).Draw(t, "n") {
		job, err := Fold(entries)
		if err != nil {
			t.Fatal(err)
		}
		k := rapid.SampledFrom(jobKinds).Draw(t, "kind")
		b := drawBody(t, k)
		d := Draft{Subject: JobSubject(7), At: noon, Key: "k", Body: b}
		if rapid.Bool().Draw(t, "corrects") {
			d.Corrects = rapid.Int64Range(1, int64(len(entries))).Draw(t, "which")
		}
		e, err := d.Entry()
		if err != nil {
			t.Fatal(err)
		}
		last := entries[len(entries)-1]
		e.Seq, e.Stored = last.Seq+1, last.Stored.Add(time.Duration(rapid.IntRange(0, 1000).Draw(t, "later"))*time.Second)
		if job.Takes(&e, b) != nil {
			continue
		}
		e.Seal(last.Hash)
		entries = append(entries, e)
	}
	return entries
}

// What a job takes can be folded, and a summary that is brought up to date entry by entry is that of the fold of all.
func TestFoldIsApply(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := drawJob(t)
		all, err := Fold(entries)
		if err != nil {
			t.Fatal(err)
		}
		cut := rapid.IntRange(1, len(entries)).Draw(t, "cut")
		begin, err := Fold(entries[:cut])
		if err != nil {
			t.Fatal(err)
		}
		sum := begin.Summary
		for i := range entries[cut:] {
			e := &entries[cut+i]
			b, err := e.Open()
			if err != nil {
				t.Fatal(err)
			}
			sum.Apply(e, b)
		}
		if d := cmp.Diff(all.Summary, sum); d != "" {
			t.Fatal(d)
		}
		again, err := Fold(entries)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(all, again, cmpopts.IgnoreUnexported(Job{})); d != "" {
			t.Fatalf("two folds of the same entries differ: %s", d)
		}
		before := len(begin.entries)
		on, err := begin.And(entries[cut:])
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(all, on, cmp.AllowUnexported(Job{})); d != "" {
			t.Fatalf("a job after more entries is not the fold of all: %s", d)
		}
		if same, err := Fold(entries[:cut]); err != nil || len(begin.entries) != before || cmp.Diff(same, begin, cmp.AllowUnexported(Job{})) != "" {
			t.Fatalf("the job before was changed: %v", err)
		}
		seen := map[string]string{}
		for _, v := range all.Verdicts {
			seen[string(v.Body.Hold)] = v.Body.Word
		}
		if all.Summary.Found != seen[string(AsFound)] || all.Left != seen[string(AsLeft)] {
			t.Fatalf("the summary says %q and %q, the verdicts that stand %v", all.Summary.Found, all.Left, seen)
		}
		if (all.Closed == nil) != all.Open() {
			t.Fatalf("open %v, closed %v", all.Open(), all.Closed)
		}
	})
}

func FuzzDecode(f *testing.F) {
	for i, k := range Kinds() {
		for _, b := range checks[k].good {
			text, err := json.Marshal(b)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(i, text)
		}
	}
	f.Add(5, []byte(`{"hold":"as left","reading":{"a":"\u0000"}}`))
	f.Add(8, []byte(`{"parts":null}`))
	f.Fuzz(func(t *testing.T, i int, data []byte) {
		k := Kinds()[((i%len(Kinds()))+len(Kinds()))%len(Kinds())]
		b, err := Decode(k, data)
		if err != nil {
			if c := CodeOf(err); c != Invalid && c != TooLarge {
				t.Fatalf("%v has code %q", err, c)
			}
			return
		}
		e, err := (Draft{Subject: JobSubject(1), At: noon, Key: "k", Body: b}).Entry()
		if CodeOf(err) == TooLarge {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		again, err := e.Open()
		if err != nil {
			t.Fatalf("%s: %v", e.Body, err)
		}
		text, err := json.Marshal(again)
		if err != nil || !sameBytes(text, e.Body) {
			t.Fatalf("%s came back as %s, %v", e.Body, text, err)
		}
	})
}

// FuzzFold folds entries with any kinds, bodies and references: an error of code Damaged, or a job that folds again the same.
func FuzzFold(f *testing.F) {
	f.Add([]byte{0, 1, 1, 18, 1}, []byte(`{"seq":2,"reason":"r"}`))
	f.Add([]byte{0, 5, 6, 5, 17, 13}, []byte(`{"hold":"as left","reading":{}}`))
	f.Fuzz(func(t *testing.T, steps, body []byte) {
		entries := chain(t, booked())
		for i, s := range steps[:min(len(steps), 40)] {
			k := Kinds()[int(s)%len(Kinds())]
			e := Entry{Subject: JobSubject(7), Seq: int64(i) + 2, Kind: k, At: noon, Stored: noon, Key: "k", Body: body}
			if good := checks[k].good; s >= 64 {
				e.Body, _ = json.Marshal(good[int(s)%len(good)])
			}
			if s >= 128 {
				e.Corrects = int64(s)%int64(i+3) - 1
			}
			e.Seal(entries[i].Hash)
			entries = append(entries, e)
		}
		j, err := Fold(entries)
		if err != nil {
			wantCode(t, err, Damaged)
			return
		}
		_ = j.MayClose()
		_ = j.Total()
		if j.Seq != int64(len(entries)) || j.Booked == nil {
			t.Fatalf("summary %+v of %d entries", j.Summary, len(entries))
		}
	})
}
