package assess

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// FuzzSheetOf makes presses of bytes, four a press, and looks at what comes of them.
func FuzzSheetOf(f *testing.F) {
	f.Add(byte(0), byte(0), []byte{0, 0, 0, 1, 1, 20, 0, 0, 2, 80, 0, 0, 4, 90, 0, 0})
	f.Add(byte(0), byte(3), []byte{0, 0, 1, 0x11, 3, 20, 2, 0x20, 3, 60, 2, 0x30, 4, 90, 0, 0x30})
	f.Add(byte(1), byte(9), []byte{0, 0, 0, 0x81, 3, 20, 2, 2, 3, 60, 2, 3})
	var pumps []*pump.Pump
	for _, name := range pump.Demo() {
		p, _ := demoPump(f, name)
		pumps = append(pumps, p)
	}
	f.Fuzz(func(t *testing.T, which, running byte, data []byte) {
		p := pumps[int(which)%len(pumps)]
		if len(data) > 800 {
			return
		}
		b := newBook(t, p)
		keys := []record.Press{record.PressStart, record.PressTop, record.PressBottom, record.PressMark, record.PressEnd}
		pressures := []string{"", "200 bar", "150 bar ± 2 bar", "0 bar", "1 Pa", "12", "3,000 psi", "190 bar"}
		rods := []string{"", "10 mm", "10.3 mm", "40 mm ± 0.2 mm", "90 mm", "-3 in", "x", "10 m"}
		for len(data) >= 4 {
			q := data[:4]
			data = data[4:]
			b.write(&record.Pressed{Hold: record.AsFound, Watch: fmt.Sprint(q[0] >> 6), Press: keys[int(q[0]&63)%len(keys)], Elapsed: int64(q[1])*int64(q[1])*100 + int64(q[2]>>4),
				Stroke: []string{"up", "down", "", ""}[q[2]&3], Locked: q[3]&0x80 != 0, Pressure: pressures[q[3]&7], Rod: rods[q[3]>>4&7]})
		}
		var r *Running
		if running != 0 {
			r = &Running{Watch: fmt.Sprint(running >> 6), Elapsed: time.Duration(running&63) * 10 * time.Second}
		}
		j := b.job()
		d, err := SheetOf(j, record.AsFound, p, r)
		if err != nil {
			t.Fatalf("a sheet that cannot be read: %v", err)
		}
		accounted(t, j, record.AsFound, d)
		checkDraft(t, d)
	})
}

func checkDraft(t tester, d Draft) {
	s, err := hold.ReadSheet("made", d.JSON, nil)
	if err != nil {
		t.Errorf("%s\n%v", d.JSON, err)
		return
	}
	if len(s.Readings) != len(d.Origins) || len(s.Readings) > maxReadings {
		t.Errorf("%d readings, %d origins", len(s.Readings), len(d.Origins))
	}
	for i, r := range s.Readings {
		if r.Kind != hold.Locked && !(r.Time > 0 && r.Pressure > 0 && r.UPress > 0 && r.Travel >= 0 && r.Stroke != 0) {
			t.Errorf("%s: %+v", d.Origins[i], r)
		}
		for k := 1; k < len(r.Points); k++ {
			if !(r.Points[k].Time > r.Points[k-1].Time) {
				t.Errorf("%s: %+v", d.Origins[i], r.Points)
			}
		}
	}
}

// FuzzCheckReading hands any text as a reading: it is taken or refused with a fault, and what is taken makes a sheet.
func FuzzCheckReading(f *testing.F) {
	for _, s := range []string{
		`{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`, `{"still": "down", "pressure": "160 bar", "time": "1 min", "seen": "0.5 mm", "note": "\ud83d\ude00 \u2028"}`,
		`{"run": 20, "pressure": "140 bar", "time": "24 s", "volume": "1.3 L"}`, `{"locked": "down", "pressures": [{"at": "0 s", "pressure": "200 bar"}, {"at": 5, "pressure": null}]}`,
		`{"drips": "throat packing", "pressure": "2330 psi", "time": "60 s", "drops": 4e2}`, `{"sign": "surges"}`, `{"a": {"a": [[[[{}]]]]}}`, `{"creep": "up", "creep": "up"}`, `{`, `[]`, `null`, `{} {}`,
	} {
		f.Add([]byte(s))
	}
	p, _ := demoPump(f, "orrin-30")
	f.Fuzz(func(t *testing.T, data []byte) {
		err := CheckReading(p, nil, json.RawMessage(data))
		if err != nil {
			if record.CodeOf(err) == "" {
				t.Fatalf("no fault: %v", err)
			}
			return
		}
		b := newBook(t, p)
		b.write(&record.Read{Hold: record.AsFound, Reading: json.RawMessage(data)})
		d, err := SheetOf(b.job(), record.AsFound, p, nil)
		if err != nil || len(d.Sheet.Readings) != 1 {
			t.Fatalf("taken by itself, but in a sheet: %v, %+v", err, d.Ignored)
		}
	})
}

// Whatever is written about the work, it can be read: no panic, every step has a state, and what is next can be done.
func TestAnyRecordOfWorkIsRead(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	rapid.Check(t, func(t *rapid.T) {
		b := newBook(t, p)
		parts := map[string]string{}
		for range rapid.IntRange(0, 5).Draw(t, "parts") {
			q := rapid.SampledFrom(p.Parts).Draw(t, "part")
			parts[q.Name] = string(rapid.SampledFrom([]pump.Action{pump.Keep, pump.Replace}).Draw(t, "action"))
		}
		b.write(&record.Chose{Parts: parts})
		steps := workOf(t, b, p).Steps
		for range rapid.IntRange(0, 30).Draw(t, "done") {
			s := rapid.SampledFrom(steps).Draw(t, "step")
			switch rapid.IntRange(0, 3).Draw(t, "what") {
			case 0:
				b.write(&record.Did{Step: s.ID, Skipped: true, Note: "no time"})
			case 1:
				b.write(&record.Soaking{Step: s.ID, Ready: b.at.Add(3e12)})
			default:
				b.write(properly(p, s.Step))
			}
		}
		w := workOf(t, b, p)
		total := 0
		for _, c := range w.Progress {
			total += c.Of
			if c.Done > c.Of {
				t.Errorf("progress %+v", w.Progress)
			}
		}
		if total != len(w.Steps) {
			t.Errorf("%d steps in the phases, %d in the order", total, len(w.Steps))
		}
		if w.Next == nil {
			for _, s := range w.Steps {
				if !s.State.Settled() {
					t.Errorf("nothing is next, but %s is %s", s.ID, s.State)
				}
			}
			return
		}
		if w.Next.State.Settled() || len(w.Next.Blocked) > 0 {
			t.Errorf("next is %s, %s, blocked by %v", w.Next.ID, w.Next.State, w.Next.Blocked)
		}
	})
}
