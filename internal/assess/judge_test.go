package assess

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
)

// pressed makes a person's presses of a simulated stall: the changeovers, a fifth of a second early or late; and five seconds into
// each stroke and at the end of the watch, and once more on the first stroke, the gauge to a bar and the ruler to half a millimetre.
func pressed(tr *stroke.Trace, first pump.Dir, end float64, rng *rand.Rand) []key {
	late := func(t float64) float64 { return t + 0.2*(2*rng.Float64()-1) }
	look := func(at float64, press record.Press) key {
		i := int(at / (tr.T[1] - tr.T[0]))
		return key{at: tr.T[i], press: press, pressure: fmt.Sprintf("%.0f bar", tr.P[pump.Line][i]/1e5), rod: fmt.Sprintf("%.1f mm", math.Round(2e3*tr.X[i])/2)}
	}
	ks := []key{{press: record.PressStart, stroke: first.String(), pressure: look(2, "").pressure}, look(2, record.PressMark)}
	for i, c := range tr.Changeovers {
		if i == 0 {
			ks = append(ks, look(c.T-1, record.PressMark))
		}
		k := key{at: late(c.T), press: record.PressTop}
		if c.Dir == pump.Up {
			k.press = record.PressBottom
		}
		ks = append(ks, k)
		if c.T+5 < end {
			ks = append(ks, look(c.T+5, record.PressMark))
		}
	}
	return append(ks, look(end-1, record.PressEnd))
}

// The full model of package stroke, which shares no code with the analysis, makes a stall with one leak. From the presses of a person
// beside it Judge must suspect the paths that leak on the same strokes as the one that was put in, and find its flow. The rod runs
// without friction: the smooth friction of that model lets a rod sink for minutes that in a pump would stick.
func TestJudgeNamesThePathOfASimulatedStall(t *testing.T) {
	for _, c := range []struct {
		pump, path string
		share      float64 // of the law that is laminar
		times      float64 // leak over the limit
	}{
		{"orrin-30", "inlet valve", 0, 2}, {"orrin-30", "piston packing", 1, 2}, {"orrin-30", "throat packing", 1, 1.5}, {"orrin-30", "piston valve", 0, 4},
		{"varn-40", "head-side inlet valve", 0, 2},
	} {
		t.Run(c.pump+", "+c.path, func(t *testing.T) {
			p, text := demoPump(t, c.pump)
			path := pathOf(t, p, c.path)
			dir := pump.Up
			if path.Shows[dir] == 0 {
				dir = pump.Down
			}
			q := c.times * hold.LeakLimit(p, dir)
			law, err := leak.FromRated(q, p.Limits.Rated, leak.Liquid{Viscosity: 1e-3, Density: 1003}, c.share)
			if err != nil {
				t.Fatal(err)
			}
			const end = 130
			tr, err := stroke.Simulate(stroke.Setup{Pump: p, Fluid: stroke.Fluid{Density: 1003, Viscosity: 1e-3, Bulk: 2.23e9}, Faults: []stroke.Fault{{Path: c.path, Leak: law}},
				Mode: stroke.Stall, Start: dir, X0: p.Stroke / 2, Duration: end, Sample: 0.5, RelTol: 1e-5, WholeLine: true,
				Friction: &stroke.Friction{}})
			if err != nil {
				t.Fatal(err)
			}
			b := newBook(t, p)
			b.write(bench(record.AsFound))
			b.presses(record.AsFound, "1", pressed(tr, dir, end, rand.New(rand.NewPCG(1, 2)))...)
			out, err := Judge(b.job(), record.AsFound, p, text, nil, nil, "test", hold.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if out.Result.Verdict.Word != hold.DoesNotHold {
				t.Errorf("%d changeovers, verdict %q with %.3f", len(tr.Changeovers), out.Result.Verdict.Word, out.Result.Verdict.Meets)
			}
			for i, r := range out.Sheet.Readings {
				t.Logf("%s: %s", out.Origins[i], words(r))
			}
			suspected := 0.0
			for i, s := range out.Result.Sets { // the sets with a path that shows as this one does
				for _, name := range s.Paths {
					if x := pathOf(t, p, name); (x.Shows[pump.Up] != 0) == (path.Shows[pump.Up] != 0) && (x.Shows[pump.Down] != 0) == (path.Shows[pump.Down] != 0) {
						suspected += out.Result.Sets[i].P
						break
					}
				}
			}
			if suspected < 0.9 {
				t.Errorf("paths that show like the %s: %.2f, sets %v", c.path, suspected, out.Result.Sets[:4])
			}
			for _, s := range out.Result.Paths {
				if s.Path == c.path && (s.Flow.Q05 > 1.1*q*60e6 || s.Flow.Q95 < 0.9*q*60e6) {
					t.Errorf("flow %+v mL/min, put in %.4g", s.Flow, q*60e6)
				}
			}
		})
	}
}

func pathOf(t *testing.T, p *pump.Pump, name string) pump.Path {
	t.Helper()
	for _, q := range p.Map().Paths {
		if q.Name == name {
			return q
		}
	}
	t.Fatalf("no path %s", name)
	return pump.Path{}
}

func TestJudgeRefusesWhatItCannotWeigh(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	b := newBook(t, p)
	judge := func() error {
		_, err := Judge(b.job(), record.AsFound, p, text, nil, nil, "test", hold.Quick())
		return err
	}
	if err := judge(); record.CodeOf(err) != record.NotAllowed {
		t.Errorf("no reading: %v", err)
	}
	first := b.write(&record.Read{Hold: record.AsFound, Reading: json.RawMessage(`{"creep": "up", "pressure": "155 bar", "travel": "60 mm", "time": "14 s"}`)})
	if err := judge(); err != nil {
		t.Fatal(err)
	}
	seqs := b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "160 bar"}, key{at: 5, press: record.PressTop}, key{at: 5.1, press: record.PressBottom})
	err := judge()
	var refused *Refused
	var f *record.Fault
	var refusal *hold.Refusal
	if !errors.As(err, &refused) || !errors.As(err, &f) || !errors.As(err, &refusal) {
		t.Fatalf("a stroke of a tenth of a second: %v", err)
	}
	if got := refused.Items[0]; got.Reading != 3 || fmt.Sprint(got.Origin.Seqs) != fmt.Sprint(seqs) || got.Fix == "" || f.Code != record.Invalid || f.Where != "watch 1, top to bottom" {
		t.Errorf("refused %+v, fault %+v, want entries %v", got, f, seqs)
	}
	for _, seq := range seqs {
		b.write(&record.Struck{Seq: seq, Reason: "slipped"})
	}
	bad := b.correct(first, &record.Read{Hold: record.AsFound, Reading: json.RawMessage(`{"creep": "up", "pressure": "200", "travel": "60 mm", "time": "14 s"}`)})
	err = judge()
	if !errors.As(err, &f) || f.Where != fmt.Sprintf("entry %d", bad) || !strings.Contains(f.Found, "pressure") {
		t.Errorf("a reading without a unit: %v", err)
	}
}

func TestVerdictIsStoredRecalledAndMadeAgain(t *testing.T) {
	for _, name := range pump.Demo() {
		p, text := demoPump(t, name)
		b := newBook(t, p)
		b.write(bench(record.AsFound))
		b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "150 bar"}, key{at: 10, press: record.PressMark, pressure: "148 bar"},
			key{at: 60, press: record.PressEnd, pressure: "140 bar"})
		out, err := Judge(b.job(), record.AsFound, p, text, nil, nil, "1.2.3", hold.Options{Draws: 1500, StdErr: 0.03, Next: true})
		if err != nil {
			t.Fatal(err)
		}
		b.write(out.Body)
		j := b.job()
		if !Current(j, record.AsFound, p) || Current(j, record.AsLeft, p) {
			t.Errorf("%s: the verdict just made is not current", name)
		}
		v := j.Verdict(record.AsFound).Body
		r, s, err := Recall(v)
		if err != nil {
			t.Fatal(err)
		}
		if r.Verdict.Word != out.Result.Verdict.Word || len(s.Readings) != len(out.Sheet.Readings) || v.Seed != DefaultSeed {
			t.Errorf("%s: recalled %+v, %+v", name, r.Verdict, s)
		}
		// the terminal reads the same sheet and gives the same numbers
		sheet, err := hold.ReadSheet("stored", v.Sheet, nil)
		if err != nil {
			t.Fatal(err)
		}
		by, err := hold.Analyse(p, sheet, hold.DefaultPrior(), hold.Options{Draws: 1500, StdErr: 0.03, Seed: 1})
		if err != nil || by.Verdict.Meets != v.Meets {
			t.Errorf("%s: by the terminal %v with %v, stored %v", name, by, err, v.Meets)
		}
		c, err := Again(v, p, text, nil, "1.2.3", hold.Options{Draws: 1500, StdErr: 0.03})
		if err != nil || !c.Same || !c.Close || c.OtherEngine || c.OtherModel || c.OtherPump {
			t.Errorf("%s: again %+v, %v", name, c, err)
		}
		c, err = Again(v, p, append(text, '\n'), nil, "1.3.0", hold.Options{})
		if err != nil || c.Same || !c.Close || !c.OtherEngine || !c.OtherPump {
			t.Errorf("%s: again with more draws: %+v, %v", name, c, err)
		}
		b.read(record.AsFound, `{"sign": "surges"}`)
		if Current(b.job(), record.AsFound, p) {
			t.Errorf("%s: current in spite of a new reading", name)
		}
	}
}

func TestStruckPressMakesAVerdictOld(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.read(record.AsLeft, `{"still": "up", "pressure": "2330 psi", "time": "60 s"}`, `{"still": "down", "pressure": "2330 psi", "time": "60 s"}`)
	out, err := Judge(b.job(), record.AsLeft, p, text, nil, nil, "test", hold.Quick())
	if err != nil {
		t.Fatal(err)
	}
	b.write(out.Body)
	if !Current(b.job(), record.AsLeft, p) {
		t.Fatal("not current")
	}
	b.write(&record.Struck{Seq: 2, Reason: "the gun was open"})
	if Current(b.job(), record.AsLeft, p) {
		t.Error("current although one of its readings was struck")
	}
	b = newBook(t, p)
	b.read(record.AsLeft, `{"still": "up", "pressure": "2330 psi", "time": "60 s"}`, `{"still": "down", "pressure": "2330 psi", "time": "60 s"}`)
	b.write(out.Body)
	b.write(&record.Benched{Hold: record.AsLeft, Ruler: "2 mm"})
	if Current(b.job(), record.AsLeft, p) {
		t.Error("current although the bench changed")
	}
}

func TestProvisionalVerdictIsNotStored(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.presses(record.AsLeft, "1", key{press: record.PressStart, stroke: "up", pressure: "160 bar"})
	out, err := Judge(b.job(), record.AsLeft, p, text, nil, &Running{Watch: "1", Elapsed: 50e9}, "test", hold.Quick())
	if err != nil || out.Body != nil || !out.Provisional || out.Result == nil {
		t.Errorf("%+v, %v", out, err)
	}
}

func TestRecallOfDamagedAndOlderVerdicts(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.read(record.AsLeft, `{"still": "up", "pressure": "2330 psi", "time": "60 s"}`)
	out, err := Judge(b.job(), record.AsLeft, p, text, nil, nil, "test", hold.Quick())
	if err != nil {
		t.Fatal(err)
	}
	with := func(f func(*record.Judged)) *record.Judged { c := *out.Body; f(&c); return &c }
	extra := json.RawMessage(strings.Replace(string(out.Body.Result), `"model":"`+hold.Version+`"`, `"model":"0","older":1`, 1))
	for name, c := range map[string]struct {
		b  *record.Judged
		ok bool
	}{
		"as stored":                 {out.Body, true},
		"a field of an older model": {with(func(b *record.Judged) { b.Model, b.Result = "0", extra }), true},
		"an unknown field": {with(func(b *record.Judged) {
			b.Result = json.RawMessage(strings.Replace(string(b.Result), `"model"`, `"older":1,"model"`, 1))
		}), false},
		"another word":                {with(func(b *record.Judged) { b.Word = "holds for ever" }), false},
		"another probability":         {with(func(b *record.Judged) { b.Meets /= 2 }), false},
		"another model in the result": {with(func(b *record.Judged) { b.Model = "0" }), false},
		"no sheet":                    {with(func(b *record.Judged) { b.Sheet = json.RawMessage(`{}`) }), false},
		"no result":                   {with(func(b *record.Judged) { b.Result = json.RawMessage(`[]`) }), false},
	} {
		_, _, err := Recall(c.b)
		if (err == nil) != c.ok || err != nil && record.CodeOf(err) != record.Damaged {
			t.Errorf("%s: %v", name, err)
		}
	}
	own := hold.DefaultPrior()
	own.Default = false
	if out, err = Judge(b.job(), record.AsLeft, p, text, own, nil, "test", hold.Quick()); err != nil {
		t.Fatal(err)
	}
	if _, err := Again(out.Body, p, text, nil, "test", hold.Quick()); record.CodeOf(err) != record.NotFound {
		t.Errorf("again without the shop's prior: %v", err)
	}
	if c, err := Again(out.Body, p, text, own, "test", hold.Quick()); err != nil || !c.Same {
		t.Errorf("again with the shop's prior: %+v, %v", c, err)
	}
}

// After a changeover the rod stands at the end of its stroke: the whole truth is that it went less than a stroke since (said here by
// a still reading that would have seen a whole stroke). The half time that SheetOf counts must claim about as much; the whole time,
// which package hold weighs for a rod that may stand anywhere, claims more.
func TestHalfTheTimeAfterAChangeover(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	meets := func(reading string) float64 {
		s, err := hold.ReadSheet("x", []byte(`{"hold": 1, "pump": "orrin-30", "readings": [{"still": "up", "pressure": "2330 psi", "time": "60 s"}, `+reading+`]}`), nil)
		if err != nil {
			t.Fatal(err)
		}
		r, err := hold.Analyse(p, s, hold.DefaultPrior(), hold.Options{Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		return r.Verdict.Meets
	}
	for _, T := range []float64{20, 30, 45} {
		b := newBook(t, p)
		b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "2330 psi"}, key{at: 0.2, press: record.PressTop}, key{at: 0.2 + T, press: record.PressEnd})
		made := draftOf(t, b.job(), record.AsFound, p, nil).Sheet.Readings[0]
		half := meets(fmt.Sprintf(`{"no_changeover": "down", "pressure": "2330 psi", "time": "%g s"}`, made.Time))
		whole := meets(fmt.Sprintf(`{"no_changeover": "down", "pressure": "2330 psi", "time": "%g s"}`, T))
		exact := meets(fmt.Sprintf(`{"still": "down", "pressure": "2330 psi", "time": "%g s", "seen": "100 mm"}`, T))
		if math.Abs(half-exact) > 0.025 || whole-exact < 0.025 {
			t.Errorf("%g s: meets its limit with %.3f, by the half time %.3f, by the whole %.3f", T, exact, half, whole)
		}
	}
}
