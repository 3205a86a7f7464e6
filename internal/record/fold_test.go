package record

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestFoldPlaces(t *testing.T) {
	j := fold(t, booked(), &Noted{"n"}, &Pictured{Photo: Digest{1}}, &Benched{Hold: AsFound, Ruler: "1 mm"}, &Pressed{Hold: AsFound, Watch: "w", Press: PressStart}, aRead(AsFound), verdict(AsFound, "leaks"),
		&Found{Part: "ball", Text: "pitted"}, &Chose{map[string]string{"ball": "replace"}}, &Minded{"relieve"}, &Soaking{"soak", noon}, &Did{Step: "s"}, &Stacked{Stack: "throat"}, &Moved{To: StageProve},
		&Overrode{Reason: "r"}, &Priced{Text: "kit", Quantity: 1500, Each: 3, Currency: "EUR"}, &Priced{Text: "work", Quantity: 1000, Each: 100, Currency: "EUR"}, &Handed{To: "mate"}, &Closed{Good: true})
	got := []int{len(j.Notes), len(j.Pictures), len(j.Bench), len(j.Presses), len(j.Readings), len(j.Verdicts), len(j.Findings), len(j.Minded), len(j.Soaks), len(j.Done), len(j.Stacks), len(j.Moves), len(j.Overrides), len(j.Prices)}
	if d := cmp.Diff([]int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2}, got); d != "" {
		t.Error(d)
	}
	if j.Booked.Serial != "ALD-0417" || j.Chosen.Body.Parts["ball"] != "replace" || j.Handed.Body.To != "mate" || !j.Closed.Body.Good || j.Bench[AsFound].Ruler != "1 mm" || j.Minded["relieve"].Seq != 10 {
		t.Errorf("job %+v", j)
	}
	if j.Total() != 105 || j.Number != 7 || j.Stage != StageClosed || !j.Good || j.Summary.Found != "leaks" || j.Seq != 19 {
		t.Errorf("total %d, summary %+v", j.Total(), j.Summary)
	}
}

func TestFoldCorrections(t *testing.T) {
	j := fold(t, booked(), &Noted{"one"}, &Noted{"two"}, correct(2, &Noted{"won"}), correct(4, &Noted{"1"}), correct(1, edited(func(b *Booked) { b.Serial = "ALD-0418" })))
	if len(j.Notes) != 2 || j.Notes[0].Body.Text != "1" || j.Notes[0].Entry.Seq != 5 || j.Notes[0].First.Seq != 2 || j.Notes[1].Body.Text != "two" || j.Notes[1].Entry != j.Notes[1].First {
		t.Errorf("notes %+v", j.Notes)
	}
	if j.Booked.Serial != "ALD-0418" || j.Summary.Serial != "ALD-0418" || !j.Opened.Equal(noon) {
		t.Errorf("booking %+v, summary %+v", j.Booked, j.Summary)
	}
	// any form of an entry is struck with the whole
	for _, seq := range []int64{2, 4, 5} {
		j := fold(t, booked(), &Noted{"one"}, &Noted{"two"}, correct(2, &Noted{"won"}), correct(4, &Noted{"1"}), &Struck{seq, "r"})
		if len(j.Notes) != 1 || j.Notes[0].Body.Text != "two" {
			t.Errorf("struck %d: notes %+v", seq, j.Notes)
		}
		for _, s := range []int64{2, 4, 5} {
			if j.Struck[s] == nil || j.Struck[s].Seq != 6 {
				t.Errorf("struck %d: the form %d is not marked", seq, s)
			}
		}
	}
}

func TestFoldDamaged(t *testing.T) {
	good := func() []Entry {
		return chain(t, booked(), &Noted{"a"}, correct(2, &Noted{"b"}), verdict(AsLeft, Holds), &Struck{2, "r"})
	}
	if _, err := Fold(good()); err != nil {
		t.Fatal(err)
	}
	for name, edit := range map[string]func([]Entry) []Entry{
		"nothing": func(e []Entry) []Entry { return nil }, "no booking": func(e []Entry) []Entry { e = e[1:]; e[0].Seq = 1; return e },
		"a gap": func(e []Entry) []Entry { return append(e[:1], e[2:]...) }, "swapped": func(e []Entry) []Entry { e[1], e[2] = e[2], e[1]; return e },
		"unreadable": func(e []Entry) []Entry { e[1].Body = json.RawMessage(`{`); return e }, "unknown key": func(e []Entry) []Entry { e[1].Body = json.RawMessage(`{"text":"x","y":1}`); return e },
		"unknown kind": func(e []Entry) []Entry { e[1].Kind = "x"; return e }, "second booking": func(e []Entry) []Entry { e[1].Kind, e[1].Body = KindBooked, e[0].Body; return e },
		"a value of the catalogue": func(e []Entry) []Entry { e[1].Kind, e[1].Body = KindRetired, json.RawMessage(`{}`); return e },
		"corrects itself":          func(e []Entry) []Entry { e[2].Corrects = 3; return e }, "corrects a later one": func(e []Entry) []Entry { e[2].Corrects = 4; return e }, "corrects minus one": func(e []Entry) []Entry { e[2].Corrects = -1; return e },
		"corrects another kind": func(e []Entry) []Entry { e[2].Corrects = 1; return e }, "strikes nothing": func(e []Entry) []Entry { e[4].Body = json.RawMessage(`{"seq":9,"reason":"r"}`); return e },
		"strikes the booking": func(e []Entry) []Entry { e[4].Body = json.RawMessage(`{"seq":1,"reason":"r"}`); return e }, "strikes a verdict": func(e []Entry) []Entry { e[4].Body = json.RawMessage(`{"seq":4,"reason":"r"}`); return e },
		"corrects a strike": func(e []Entry) []Entry { e[4].Corrects = 2; return e },
	} {
		if j, err := Fold(edit(good())); CodeOf(err) != Damaged || j != nil {
			t.Errorf("%s: %v, %v", name, j, err)
		}
	}
}

// A job goes on only with what follows its last entry.
func TestAnd(t *testing.T) {
	entries := chain(t, booked(), &Noted{"a"}, &Noted{"b"}, &Noted{"c"})
	other := chain(t, booked(), &Noted{"another"}, &Noted{"b"})
	j, err := Fold(entries[:2])
	if err != nil {
		t.Fatal(err)
	}
	for name, more := range map[string][]Entry{"a gap": entries[3:], "its last entry again": entries[1:2], "of another job": other[2:]} {
		_, err := j.And(more)
		wantCode(t, err, Damaged)
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	if on, err := j.And(nil); err != nil || on.Hash != j.Hash || on.Seq != 2 {
		t.Errorf("after nothing more: %v, %v", on, err)
	}
}

func TestMayClose(t *testing.T) {
	reading, holds, fails := aRead(AsLeft), verdict(AsLeft, Holds), verdict(AsLeft, "does not hold")
	for _, c := range []struct {
		name   string
		bodies []Body
		may    bool
		found  string
	}{
		{"nothing", nil, false, "no hold"}, {"holds", []Body{reading, holds}, true, ""}, {"does not hold", []Body{reading, fails}, false, "does not hold"},
		{"not proven", []Body{reading, verdict(AsLeft, "not proven yet")}, false, "not proven"},
		{"as found is no proof", []Body{aRead(AsFound), verdict(AsFound, Holds)}, false, "no hold"},
		{"the last verdict counts", []Body{reading, holds, fails}, false, "does not hold"}, {"the last verdict counts, again", []Body{reading, fails, holds}, true, ""},
		{"a reading after it", []Body{reading, holds, reading}, false, "after the verdict"}, {"a reading as found after it", []Body{reading, holds, aRead(AsFound)}, true, ""},
		{"a press after it", []Body{reading, holds, &Pressed{Hold: AsLeft, Watch: "w", Press: PressStart}}, false, "after the verdict"},
		{"another gauge after it", []Body{reading, holds, &Benched{Hold: AsLeft}}, false, "after the verdict"},
		{"a reading corrected after it", []Body{reading, holds, correct(2, reading)}, false, "after the verdict"},
		{"a reading moved away after it", []Body{reading, holds, correct(2, aRead(AsFound))}, false, "after the verdict"},
		{"a reading struck after it", []Body{reading, holds, &Struck{2, "r"}}, false, "after the verdict"},
		{"its correction struck after it", []Body{reading, correct(2, reading), holds, &Struck{3, "r"}}, false, "after the verdict"},
		{"a note struck after it", []Body{&Noted{"n"}, reading, holds, &Struck{2, "r"}}, true, ""},
		{"struck before it", []Body{reading, &Struck{2, "r"}, holds}, true, ""},
		{"override without a verdict", []Body{&Overrode{Reason: "r"}}, true, ""}, {"override after it", []Body{reading, fails, &Overrode{Reason: "r"}}, true, ""},
		{"override before it", []Body{&Overrode{Reason: "r"}, reading, fails}, false, "does not hold"},
		{"an old override corrected after it", []Body{&Overrode{Reason: "r"}, reading, fails, correct(2, &Overrode{Reason: "R"})}, false, "does not hold"},
		{"holds, but opened again since", []Body{reading, holds, &Closed{Reason: "r"}, &Moved{To: StageHand}}, false, "opened again"},
		{"held anew after it was opened again", []Body{reading, holds, &Closed{Reason: "r"}, &Moved{To: StageHand}, reading, holds}, true, ""},
		{"overridden before it was opened again", []Body{&Overrode{Reason: "r"}, &Closed{Good: true}, &Moved{To: StageHand}}, false, "no hold"},
		{"holds, but taken back to be opened", []Body{&Moved{To: StageHand}, reading, holds, &Moved{To: StageStrip}}, false, "opened again"},
		{"an override of something else", []Body{reading, fails, &Overrode{Reason: "r", Points: []string{"soak-short soak ring"}}}, false, "does not hold"},
		{"an override of the verdict among others", []Body{reading, fails, &Overrode{Reason: "r", Points: []string{"unbilled", PointProof}}}, true, ""},
		{"override struck", []Body{reading, fails, &Overrode{Reason: "r"}, &Struck{4, "r"}}, false, "does not hold"},
	} {
		err := fold(t, append([]Body{booked()}, c.bodies...)...).MayClose()
		if (err == nil) != c.may || err != nil && (CodeOf(err) != NotAllowed || !strings.Contains(err.Error(), c.found)) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestTakes(t *testing.T) {
	j := fold(t, booked(), &Noted{"a"}, correct(2, &Noted{"b"}), verdict(AsLeft, "x"), &Noted{"c"}, &Struck{5, "r"}, &Moved{To: StageStrip})
	for _, c := range []struct {
		corrects int64
		body     Body
		code     Code
	}{
		{0, &Noted{"x"}, ""}, {2, &Noted{"x"}, ""}, {3, &Noted{"x"}, ""}, {1, booked(), ""}, {0, booked(), NotAllowed}, {1, &Noted{"x"}, Invalid}, {8, &Noted{"x"}, NotFound}, {-2, &Noted{"x"}, NotFound},
		{4, verdict(AsLeft, "x"), NotAllowed}, {7, &Moved{To: StageBuild}, NotAllowed}, {5, &Noted{"x"}, Conflict}, {0, &Struck{5, "r"}, Conflict}, {0, &Struck{6, "r"}, NotAllowed}, {6, &Struck{2, "r"}, NotAllowed},
		{0, &Struck{1, "r"}, NotAllowed}, {0, &Struck{99, "r"}, NotFound}, {0, &Struck{2, "r"}, ""}, {0, &Closed{Good: true}, NotAllowed}, {0, &Closed{Reason: "r"}, ""}, {0, &Retired{}, Invalid},
	} {
		e := &Entry{Subject: JobSubject(7), Seq: 8, Kind: c.body.Kind(), Corrects: c.corrects}
		if code := CodeOf(j.Takes(e, c.body)); code != c.code {
			t.Errorf("corrects %d with %s %+v: code %q, want %q", c.corrects, c.body.Kind(), c.body, code, c.code)
		}
	}
	closed := fold(t, booked(), &Closed{Reason: "r"})
	for _, b := range []Body{&Noted{"x"}, &Pictured{Photo: Digest{1}}, &Moved{To: StageStrip}} {
		if err := closed.Takes(&Entry{Kind: b.Kind()}, b); err != nil {
			t.Errorf("closed: %v", err)
		}
	}
	for _, b := range []Body{aRead(AsLeft), &Did{Step: "s"}, &Closed{Good: true}, &Struck{1, "r"}} {
		wantCode(t, closed.Takes(&Entry{Kind: b.Kind()}, b), NotAllowed)
	}
	again := fold(t, booked(), &Overrode{Reason: "r"}, &Closed{Good: true}, &Moved{To: StageBuild})
	if again.Closed != nil || again.Good || !again.Open() {
		t.Errorf("reopened: %+v", again.Summary)
	}
}

// A hand-over counts as long as the pump is out of the shop: not after the job was opened again, nor after it was taken back. Back from the
// proof to where parts are taken out begins another round, in which nothing is chosen yet.
func TestMovesUndo(t *testing.T) {
	chose, handed, closed := &Chose{Parts: map[string]string{"rod": "keep"}}, &Handed{To: "mate"}, &Closed{Reason: "r"}
	to := func(s Stage) *Moved { return &Moved{To: s} }
	for _, c := range []struct {
		name            string
		bodies          []Body
		handed, chosen  bool
		round, reopened int64
	}{
		{"as it goes", []Body{chose, to(StageHand), handed}, true, true, 0, 0},
		{"opened again", []Body{chose, to(StageHand), handed, closed, to(StageHand)}, false, true, 0, 6},
		{"opened again and handed over again", []Body{chose, handed, closed, to(StageHand), handed}, true, true, 0, 5},
		{"the old hand-over corrected after it was opened again", []Body{handed, closed, to(StageHand), correct(2, handed)}, false, false, 0, 4},
		{"taken back to the proof", []Body{to(StageHand), handed, to(StageProve)}, false, false, 0, 0},
		{"another round", []Body{chose, to(StageProve), to(StageStrip)}, false, false, 4, 0},
		{"another round with its choice", []Body{chose, to(StageProve), to(StageStrip), chose}, false, true, 4, 0},
		{"back while it is being built", []Body{chose, to(StageBuild), to(StageStrip)}, false, true, 0, 0},
		{"on to the strip", []Body{to(StageFound), to(StageStrip)}, false, false, 0, 0},
		{"opened again as found", []Body{chose, closed, to(StageFound)}, false, false, 4, 4},
		{"two rounds", []Body{to(StageProve), to(StageStrip), to(StageProve), to(StageChoose)}, false, false, 5, 0},
	} {
		j := fold(t, append([]Body{booked()}, c.bodies...)...)
		if got := j.Handed != nil; got != c.handed {
			t.Errorf("%s: handed over is %v", c.name, got)
		}
		if got := j.Chosen != nil; got != c.chosen {
			t.Errorf("%s: chosen is %v", c.name, got)
		}
		if j.Round != c.round || j.Reopened != c.reopened {
			t.Errorf("%s: round %d, opened again %d; want %d, %d", c.name, j.Round, j.Reopened, c.round, c.reopened)
		}
	}
}

func TestStages(t *testing.T) {
	if n := len(OpenStages()); n != len(Stages())-1 || OpenStages()[n-1] != StageHand || Stages()[n] != StageClosed {
		t.Error("stages")
	}
}
