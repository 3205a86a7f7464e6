package shop

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

func (b *bench) stageOf(t *testing.T, n int64) record.Stage {
	t.Helper()
	j, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	return j.Stage
}

func (b *bench) workOf(t *testing.T, n int64) *assess.Work {
	t.Helper()
	j, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	w, err := b.Work(j)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// sign signs a step as it should be done.
func (b *bench) sign(t *testing.T, n int64, s *assess.Step) {
	t.Helper()
	d := &record.Did{Step: s.ID}
	switch s.Kind {
	case pump.StepTorque:
		d.Torque, d.Wrench, d.Adapter, d.Angle = fmt.Sprintf("%g N·m", s.Torque), "400 mm", "0 mm", "0°"
		if a := s.Wrench.Adapter; a > 0 {
			d.Adapter, d.Angle = assess.Exactly(a), "90°"
		}
	case pump.StepSoak:
		d.Soaked = fmt.Sprintf("%g s", s.Quantities["soak"].SI)
	}
	b.add(t, b.tech, n, d)
}

// signTo signs what is next until the phase is another one than those given.
func (b *bench) signTo(t *testing.T, n int64, phases ...assess.Phase) {
	t.Helper()
	for range 200 {
		w := b.workOf(t, n)
		if w.Next == nil || w.Next.Kind == pump.StepHold || w.Next.Kind != pump.StepSoak && !slices.Contains(phases, w.Next.Phase) {
			return
		}
		b.sign(t, n, w.Next)
	}
	t.Fatal("the work does not end")
}

// The work takes a job from stage to stage: the strip is over when nothing of it is left, not when something is chosen.
func TestTheWorkTakesAJobOn(t *testing.T) {
	b := newBench(t)
	n := b.book(t, "k1")
	b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	want := func(at record.Stage) {
		t.Helper()
		if got := b.stageOf(t, n); got != at {
			t.Errorf("the stage is %q, want %q", got, at)
		}
	}
	want(record.StageStrip)
	b.signTo(t, n, assess.PhaseSafe)
	want(record.StageStrip)
	b.signTo(t, n, assess.PhaseStrip)
	want(record.StageStrip)
	b.signTo(t, n, assess.PhaseMeasure)
	want(record.StageBuild)
	b.signTo(t, n, assess.PhaseBuild)
	want(record.StageProve)
}

// A pump that is opened before anything is chosen: what came out goes in again, whatever is chosen.
func TestWhatCameOutGoesInAgain(t *testing.T) {
	b := newBench(t)
	n := b.book(t, "k1")
	p := b.workOf(t, n)
	if len(p.Steps) != 0 || !p.Early {
		t.Fatalf("nothing is suspected, and there are %d steps", len(p.Steps))
	}
	j, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	limit := fmt.Sprintf("%g bar", j.Model.Limits.Hold/1e5)
	b.add(t, b.tech, n, reading(record.AsFound, `{"creep":"up","pressure":"`+limit+`","travel":"60 mm","time":"8 s"}`))
	b.add(t, b.tech, n, reading(record.AsFound, `{"drips":"throat packing","pressure":"`+limit+`","time":"60 s","drops":200}`))
	if _, _, err := b.Judge(context.Background(), By{Who: b.tech}, n, record.AsFound); err != nil {
		t.Fatal(err)
	}
	b.signTo(t, n, assess.PhaseSafe, assess.PhaseStrip, assess.PhaseMeasure)
	if got := b.stageOf(t, n); got != record.StageChoose {
		t.Errorf("stripped and measured, the stage is %q", got)
	}
	out := map[string]bool{}
	for _, s := range b.workOf(t, n).Steps {
		for _, part := range j.Model.TakenOut(s.ID) {
			out[part] = true
		}
	}
	b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	w := b.workOf(t, n)
	for part := range out {
		if w.Chosen[part] == "" {
			t.Errorf("%s came out and does not go in again", part)
		}
	}
	if len(out) < 5 || len(w.Departures) > 0 {
		t.Errorf("%d parts came out; departures: %v", len(out), w.Departures)
	}
}

// The hold and the relief after it are not signed without a hold; one that was left out has a reason.
func TestNoHoldIsSignedThatWasNotMade(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	for _, id := range []string{"hold", "relieve"} {
		n := b.book(t, "k-"+id)
		b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
		_, err := b.Add(ctx, By{Who: b.tech}, n, &record.Did{Step: id, Pressure: map[string]string{"hold": "160 bar"}[id]})
		code(t, err, record.NotAllowed)
		b.add(t, b.tech, n, &record.Did{Step: id, Skipped: true, Note: "the bench is down"})
		b.add(t, b.tech, n, &record.Read{Hold: record.AsLeft, Reading: json.RawMessage(leftReadings[0])})
		b.add(t, b.tech, n, &record.Did{Step: id})
	}
}

// A tool whose calibration was due is not taken in silence: whoever signs says why.
func TestAnOverdueWrenchNeedsAWord(t *testing.T) {
	b := newBench(t)
	today := time.Now().AddDate(0, 0, 1) // one day, however late it is when the test runs
	b.Shop = New(b.Store(), "test", func() time.Time { return today })
	ctx := context.Background()
	keep := func(due string) int64 {
		r, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfTool}, &record.Tool{Name: "torque wrench, due " + due, Sort: "wrench", Serial: "TW-" + due, Length: "400 mm", Range: "200 N·m", Due: due})
		if err != nil {
			t.Fatal(err)
		}
		return r.Entry.Subject.ID
	}
	n := b.book(t, "k1")
	b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	did := func(tool int64, despite string) error {
		_, err := b.Add(ctx, By{Who: b.tech}, n, &record.Did{Step: "torque inlet housing", Torque: "135 N·m", Wrench: "400 mm", Adapter: "75 mm", Angle: "90°", Tool: tool, Despite: despite})
		return err
	}
	late := keep(today.AddDate(0, 0, -1).Format(time.DateOnly))
	code(t, did(late, ""), record.NotAllowed)
	for _, due := range []string{"", today.Format(time.DateOnly), today.AddDate(0, 0, 1).Format(time.DateOnly)} {
		if err := did(keep(due), ""); err != nil {
			t.Errorf("due %q: %v", due, err)
		}
	}
	if err := did(late, "the other one is at the laboratory"); err != nil {
		t.Error(err)
	}
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	points, err := b.Points(j)
	if err != nil {
		t.Fatal(err)
	}
	if i := slices.IndexFunc(points, func(q assess.Point) bool { return q.Code == assess.PointOverdue }); i < 0 || points[i].Open() {
		t.Error("the word for it does not stand among what was answered")
	}
	if _, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfTool}, &record.Tool{Name: "w", Sort: "wrench", Length: "long"}); record.CodeOf(err) != record.Invalid {
		t.Errorf("a wrench of a length that cannot be read: %v", err)
	}
}

// A run of plain steps is signed as one, once, in its order, and no other.
func TestSignRun(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.book(t, "k1")
	b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	b.signTo(t, n, assess.PhaseSafe)
	var run []*assess.Step
	for range 50 {
		w := b.workOf(t, n)
		if run = w.Run(w.Next.ID); len(run) > 2 {
			break
		}
		b.sign(t, n, w.Next)
	}
	if len(run) < 3 {
		t.Fatal("no run of three steps")
	}
	ids := make([]string, len(run))
	for i, s := range run {
		ids[i] = s.ID
		if len(s.Cautions) > 0 || s.Kind == pump.StepTorque || s.Kind == pump.StepSoak || s.Kind == pump.StepMeasure || s.Kind == pump.StepHold || s.Kind == pump.StepSafe {
			t.Errorf("%s is not plain", s.ID)
		}
	}
	by := By{Who: b.tech, Key: "run-1"}
	code(t, b.SignRun(ctx, by, n, nil), record.Invalid)
	code(t, b.SignRun(ctx, by, n, []string{ids[1], ids[0]}), record.Conflict)
	code(t, b.SignRun(ctx, by, n, []string{ids[0], ids[2]}), record.Conflict)
	code(t, b.SignRun(ctx, by, n, append(slices.Clone(ids), "torque throat nut")), record.Conflict)
	code(t, b.SignRun(ctx, By{}, n, ids), record.NotAllowed)
	for range 2 { // sent twice
		if err := b.SignRun(ctx, by, n, ids); err != nil {
			t.Fatal(err)
		}
	}
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, l := range j.Done {
		seen[l.Body.Step]++
	}
	for _, id := range ids {
		if seen[id] != 1 {
			t.Errorf("%s was signed %d times", id, seen[id])
		}
	}
	code(t, b.SignRun(ctx, By{Who: b.tech, Key: "run-2"}, n, ids), record.Conflict)
}

func TestWhoMay(t *testing.T) {
	b := newBench(t)
	for what, want := range map[gate.Action][]string{gate.Override: {"Mara Kell", "Tomas Lund"}, gate.WriteJob: {"Ilse Varga", "Mara Kell", "Tomas Lund"}, gate.KeepOwner: {"Mara Kell"}} {
		got, err := b.WhoMay(context.Background(), what)
		slices.Sort(got)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: %v, %v; want %v", what, got, err, want)
		}
	}
}
