package web

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// whole takes the job of the bench from its readings to the hand-over, every step signed.
func (b *bench) whole(t testing.TB) {
	t.Helper()
	ctx := context.Background()
	job, err := b.shop.Job(ctx, b.job)
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.shop.Keep(ctx, shop.By{Who: b.owner}, record.Subject{Kind: record.OfTool}, &record.Tool{Name: "torque wrench 2", Sort: "wrench", Serial: "TW-2", Class: "II A", Range: "200 N·m", Length: "400 mm", Due: b.shop.Now().AddDate(0, 5, 0).Format(time.DateOnly)})
	if err != nil {
		t.Fatal(err)
	}
	b.wrench = r.Entry.Subject.ID
	held := func(h record.HoldStage, readings ...string) {
		b.add(t, &record.Benched{Hold: h, Fluid: json.RawMessage(`{"kind":"water","temperature":"19 °C"}`), Gauge: json.RawMessage(`{"range":"400 bar","class":"1.6 %","resolution":"5 bar"}`)})
		for _, q := range readings {
			b.add(t, &record.Read{Hold: h, Reading: json.RawMessage(q)})
		}
		if _, _, err := b.shop.Judge(ctx, shop.By{Who: b.owner}, b.job, h); err != nil {
			t.Fatal(err)
		}
	}
	held(record.AsFound, `{"creep":"up","pressure":"160 bar","travel":"60 mm","time":"14.2 s"}`, `{"still":"down","pressure":"160 bar","time":"30 s","seen":"0.5 mm"}`)
	b.add(t, &record.Found{Part: "rod", Text: "Bright, no scores."})
	b.add(t, &record.Found{Part: "rod", Size: "diameter", Value: "21.18 mm"})
	parts := map[string]string{"inlet valve seat": "turn over"}
	for _, q := range job.Model.Parts {
		if q.Kit != "" {
			parts[q.Name] = "replace"
		}
	}
	b.add(t, &record.Chose{Parts: parts})
	b.signAll(t)
	held(record.AsLeft, `{"still":"up","pressure":"160 bar","time":"120 s","seen":"0.5 mm"}`, `{"still":"down","pressure":"160 bar","time":"120 s","seen":"0.5 mm"}`)
	b.add(t, &record.Priced{Text: "orrin-30 packing kit", Quantity: 1000, Each: 11850, Currency: "EUR"})
	b.add(t, &record.Priced{Text: "work at the bench", Quantity: 3250, Each: 6400, Currency: "EUR"})
	b.add(t, &record.Handed{To: "A. Customer", Signature: "M10 150L200 20L300 280L500 100L800 200"})
}

// signAll signs every step of the order of work: torques as asked, soaks as long as asked.
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
		if w.Next == nil {
			return
		}
		did := &record.Did{Step: w.Next.ID}
		if q := w.Next.Wrench; q != nil {
			did.Wrench, did.Torque, did.Tool = "400 mm", fmt.Sprintf("%.3f N·m", q.Asked*0.4/(0.4+q.Adapter)), b.wrench
		}
		if w.Next.Wait > 0 {
			did.Soaked = fmt.Sprintf("%.0f s", w.Next.Wait)
		}
		b.add(t, did)
	}
	t.Fatal("the order of work did not end in 200 steps")
}

// TestPapersOfAWholeJob prints the papers of a job from its readings to the hand-over.
func TestPapersOfAWholeJob(t *testing.T) {
	b := newBench(t)
	b.whole(t)
	for _, p := range []string{"report.pdf", "customer.pdf", "report?as=html", "customer", "tag"} {
		code, body := b.get(b.client, fmt.Sprintf("/jobs/%d/%s", b.job, p))
		if code != 200 {
			t.Fatalf("%s answered %d", p, code)
		}
		if dir := os.Getenv("EVENSTROKE_PAPERS"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, strings.NewReplacer("?as=", ".", "/", "-").Replace(p)), []byte(body), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
