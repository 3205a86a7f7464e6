package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/pump"
)

// held keeps the readings of a hold and gives the verdict.
func (b *bench) held(t testing.TB, h record.HoldStage, readings ...string) {
	t.Helper()
	b.add(t, &record.Benched{Hold: h, Fluid: json.RawMessage(`{"kind":"water","temperature":"19 °C"}`), Gauge: json.RawMessage(`{"range":"400 bar","class":"1.6 %","resolution":"5 bar"}`)})
	for _, q := range readings {
		b.add(t, &record.Read{Hold: h, Reading: json.RawMessage(q)})
	}
	if _, _, err := b.shop.Judge(context.Background(), shop.By{Who: b.owner}, b.job, h); err != nil {
		t.Fatal(err)
	}
}

// nextCheck of the wrench is far off, and the same on both sides of midnight.
const nextCheck = "2090-05-01"

// found takes the job of the bench from its readings to the choice of parts.
func (b *bench) found(t testing.TB) {
	t.Helper()
	ctx := context.Background()
	job, err := b.shop.Job(ctx, b.job)
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.shop.Keep(ctx, shop.By{Who: b.owner}, record.Subject{Kind: record.OfTool}, &record.Tool{Name: "torque wrench 2", Sort: "wrench", Serial: "TW-2", Class: "II A", Range: "200 N·m", Length: "400 mm", Due: nextCheck})
	if err != nil {
		t.Fatal(err)
	}
	b.wrench = r.Entry.Subject.ID
	b.held(t, record.AsFound, `{"creep":"up","pressure":"160 bar","travel":"60 mm","time":"14.2 s"}`, `{"still":"down","pressure":"160 bar","time":"30 s","seen":"0.5 mm"}`)
	b.add(t, &record.Found{Part: "rod", Text: "Bright, no scores."})
	b.add(t, &record.Found{Part: "rod", Size: "diameter", Value: "21.18 mm"})
	parts := map[string]string{"inlet valve seat": "turn over"}
	for _, q := range job.Model.Parts {
		if q.Kit != "" {
			parts[q.Name] = "replace"
		}
	}
	b.add(t, &record.Chose{Parts: parts})
}

// built signs every step of the work, proves the pump and hands it over.
func (b *bench) built(t testing.TB) {
	t.Helper()
	b.signAll(t)
	b.held(t, record.AsLeft, `{"still":"up","pressure":"160 bar","time":"120 s","seen":"0.5 mm"}`, `{"still":"down","pressure":"160 bar","time":"120 s","seen":"0.5 mm"}`)
	b.add(t, &record.Did{Step: "relieve"})
	b.add(t, &record.Priced{Text: "orrin-30 packing kit", Quantity: 1000, Each: 11850, Currency: "EUR"})
	b.add(t, &record.Priced{Text: "work at the bench", Quantity: 3250, Each: 6400, Currency: "EUR"})
	b.add(t, &record.Handed{To: "A. Customer", Signature: "M10 150L200 20L300 280L500 100L800 200"})
}

// signAll signs every step of the order of work up to the hold: torques as asked, soaks as long as asked.
func (b *bench) signAll(t testing.TB) {
	t.Helper()
	ctx := context.Background()
	for range 200 {
		j, err := b.shop.Job(ctx, b.job)
		if err != nil {
			t.Fatal(err)
		}
		w, err := b.shop.Work(j)
		if err != nil {
			t.Fatal(err)
		}
		if w.Next == nil || w.Next.Kind == pump.StepHold {
			return
		}
		did := &record.Did{Step: w.Next.ID}
		if q := w.Next.Wrench; q != nil {
			did.Wrench, did.Torque, did.Tool = "400 mm", fmt.Sprintf("%.3f N·m", q.Asked*0.4/(0.4+q.Adapter)), b.wrench
			if q.Adapter > 0 {
				did.Adapter, did.Angle = assess.Exactly(q.Adapter), "0°"
			}
		}
		if soak, ok := w.Next.Quantities["soak"]; ok && w.Next.Kind == pump.StepSoak {
			did.Soaked = fmt.Sprintf("%.0f s", soak.SI)
		}
		b.add(t, did)
	}
	t.Fatal("the order of work did not end in 200 steps")
}

// paper fetches one paper of the job; EVENSTROKE_PAPERS is a folder in which all of them are kept, to be looked at.
func (b *bench) paper(t testing.TB, name string) string {
	t.Helper()
	code, body := b.get(b.client, fmt.Sprintf("/jobs/%d/%s", b.job, name))
	if code != http.StatusOK {
		t.Fatalf("%s answered %d", name, code)
	}
	if dir := os.Getenv("EVENSTROKE_PAPERS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, strings.NewReplacer("?as=", ".", "?place=", "-", "/", "-").Replace(name)), []byte(body), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return body
}

// What the papers of a job say, from its readings to the day after: on the way they are drafts and speak of what is going to be done.
func TestPapersOfAWholeJob(t *testing.T) {
	b := newBench(t)
	if _, err := b.shop.Keep(context.Background(), shop.By{Who: b.owner}, record.Subject{Kind: record.OfCustomer, ID: 1}, &record.Customer{Name: "Harbour painters", Address: "Old Net Loft\nQuay 3"}); err != nil {
		t.Fatal(err)
	}
	b.found(t)
	text := b.paper(t, "customer")
	for _, w := range []string{"Draft", "What we are going to do", "Whether it holds has not been tested yet", "<p class=\"made\">Old Net Loft</p>", "<p class=\"made\">Quay 3</p>",
		"New: orrin-30 packing kit, complete", "Turned over: inlet valve seat", "piston valve", "piston packing", "One measurement does not show which of these it is: piston packing, piston valve"} {
		if !strings.Contains(text, w) {
			t.Errorf("the customer's page of an open job does not say %q", w)
		}
	}
	for _, w := range []string{"What we did", "today", "class=\"summary\""} {
		if strings.Contains(text, w) {
			t.Errorf("the customer's page of an open job says %q", w)
		}
	}
	b.built(t)
	text = b.paper(t, "customer")
	for _, w := range []string{"What we did", "Yes, it holds.", "Handed over"} {
		if !strings.Contains(text, w) {
			t.Errorf("the customer's page of a finished job does not say %q", w)
		}
	}
	text = b.paper(t, "report?as=html")
	for _, w := range []string{"torque wrench 2, TW-2, next check " + nextCheck, "Strip: ", "Build: ", "orrin-30 · serial ALD-0417 · job 1", "force-held"} {
		if !strings.Contains(text, w) {
			t.Errorf("the report does not say %q", w)
		}
	}
	if n := strings.Count(text, "Take out the"); n != 0 {
		t.Errorf("the report lists %d single steps as signed off, want a line for each phase", n)
	}
	if strings.Contains(text, "today") {
		t.Error("the report says today: it is read on another day")
	}
	for _, p := range []string{"report.pdf", "customer.pdf", "tag.pdf", "tag.pdf?place=3"} {
		b.paper(t, p)
	}
	if code, _ := b.get(b.client, "/jobs/1/tag.pdf?place=9"); code != http.StatusUnprocessableEntity && code != http.StatusBadRequest {
		t.Errorf("place 9 of a sheet of eight answered %d", code)
	}
}
