package web

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// A reading that comes after a verdict makes it old: the page of the hold and that of the verdict say so, until a new one is given.
func TestAnOldVerdictIsMarked(t *testing.T) {
	b := newBench(t)
	const mark = "data-old-verdict"
	creep := `{"creep":"up","pressure":"150 bar","travel":"60 mm","time":"14.2 s"}`
	b.held(t, record.AsFound, creep)
	job, err := b.shop.Job(t.Context(), b.job)
	if err != nil {
		t.Fatal(err)
	}
	first := fmt.Sprintf("/jobs/1/verdict/%d", job.Verdict(record.AsFound).Entry.Seq)
	for _, page := range []string{"/jobs/1/found", first} {
		if strings.Contains(b.page(page), mark) {
			t.Errorf("%s calls a verdict old that was just given", page)
		}
	}
	b.add(t, &record.Read{Hold: record.AsFound, Reading: []byte(`{"drips":"throat packing","pressure":"150 bar","time":"60 s","drops":2}`)})
	for _, page := range []string{"/jobs/1/found", first} {
		if !strings.Contains(b.page(page), mark) {
			t.Errorf("%s does not say that a reading came after the verdict", page)
		}
	}
	b.held(t, record.AsFound, creep)
	if strings.Contains(b.page("/jobs/1/found"), mark) {
		t.Error("the page of the hold calls the new verdict old")
	}
}

// What no time settles is asked for without one: a reading that stands refuted is taken again, not held for 0 s more.
func TestNothingIsAskedForNoTime(t *testing.T) {
	b := newBench(t)
	for _, q := range []string{`{"still":"up","pressure":"160 bar","time":"120 s"}`, `{"still":"down","pressure":"160 bar","time":"120 s"}`,
		`{"caught":"throat packing","pressure":"160 bar","time":"60 s","volume":"60 mL"}`} {
		b.add(t, &record.Read{Hold: record.AsLeft, Reading: []byte(q)})
	}
	body := b.page("/jobs/1/look?hold=as+left")
	if !strings.Contains(body, "take reading 3 again") {
		t.Errorf("the page does not ask for the refuted reading: %s", firstLines(body))
	}
	if strings.Contains(body, `data-need-seconds="0"`) {
		t.Error("the page asks for 0 s more")
	}
}

// A watch brings only the stroke nearer that it runs on, and no look at a place: nothing else counts down. A press that is not counted is
// named as on the watch.
func TestWhatCountsDown(t *testing.T) {
	b := newBench(t)
	for _, p := range []*record.Pressed{{Press: record.PressStart, Stroke: "up", Pressure: "160 bar"}, {Press: record.PressMark, Elapsed: 15400, Rod: "14 mm"}} {
		p.Hold, p.Watch = record.AsFound, "w1"
		b.add(t, p)
	}
	body := b.page("/jobs/1/look?hold=as+found&watch=w1&elapsed_ms=32000")
	counts := regexp.MustCompile(`data-need-seconds="\d+" data-need-stroke="(\w*)"`).FindAllStringSubmatch(body, -1)
	if len(counts) != 1 || counts[0][1] != "down" {
		t.Errorf("what counts down: %q, want the downstroke alone", counts)
	}
	for _, want := range []string{"Mark at 0:15.4: one rod reading alone tells no travel", "held for 0:32\u00a0min of the 2:00\u00a0min", "look at the throat packing for 60 s"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q: %s", want, firstLines(body))
		}
	}
}

// What an address says was done is said as long as it is so: a job that was opened again and is closed again is not called open, nor the
// other way round.
func TestANoticeIsDroppedWhenTheJobSaysOtherwise(t *testing.T) {
	b := newBench(t)
	const opened, closed = "The job is open again.", "The job is closed."
	says := func(state string, want, not string) {
		t.Helper()
		for _, done := range []string{"reopened", "closed"} {
			body := b.page("/jobs/1?done=" + done)
			if strings.Contains(body, not) {
				t.Errorf("%s, the page of ?done=%s says %q", state, done, not)
			}
			if said := strings.Contains(body, want); said != (done == "reopened" == (want == opened)) {
				t.Errorf("%s, the page of ?done=%s says %q: %v", state, done, want, said)
			}
		}
	}
	b.add(t, &record.Closed{Reason: "taken back as it is"})
	says("closed", closed, opened)
	b.add(t, &record.Moved{To: record.StageHand, Reason: "brought back"})
	says("opened again", opened, closed)
	b.add(t, &record.Closed{Reason: "taken back once more"})
	says("closed again", closed, opened)
}

// From one place at which nobody looked the way leads to the next, while the pump stands under pressure, and after the last to the hold.
func TestLooksFollowEachOther(t *testing.T) {
	b := newBench(t)
	b.held(t, record.AsLeft, `{"still":"up","pressure":"160 bar","time":"120 s"}`, `{"still":"down","pressure":"160 bar","time":"120 s"}`)
	back := regexp.MustCompile(`name="kind" value="drips"><input type="hidden" name="back" value="([^"]*)"`)
	places := []string{"throat packing", "drain valve", "outside"}
	for i, path := range places {
		body := b.page("/jobs/1" + lookPath(record.AsLeft, path))
		want := "/jobs/1/prove?done=kept"
		if i+1 < len(places) {
			want = "/jobs/1" + lookPath(record.AsLeft, places[i+1]) + "&done=kept"
		}
		if m := back.FindStringSubmatch(body); m == nil || html.UnescapeString(m[1]) != want {
			t.Errorf("%s leads to %q, want %q", path, m, want)
		}
		b.add(t, &record.Read{Hold: record.AsLeft, Reading: []byte(`{"drips":"` + path + `","pressure":"160 bar","time":"60 s","drops":0}`)})
	}
}
