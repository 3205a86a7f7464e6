package assess

import (
	"encoding/json"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

func stallBook(t tester) *book {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(bench(record.AsFound))
	b.presses(record.AsFound, "1", key{at: 0, press: record.PressStart, stroke: "up", pressure: "2330 psi"},
		key{at: 9, press: record.PressTop}, key{at: 69, press: record.PressBottom}, key{at: 93, press: record.PressTop}, key{at: 180, press: record.PressEnd})
	b.presses(record.AsFound, "2", key{at: 0, press: record.PressStart, stroke: "down", pressure: "2330 psi", rod: "80 mm"},
		key{at: 40, press: record.PressMark, rod: "40 mm"}, key{at: 42, press: record.PressEnd})
	b.read(record.AsFound, `{"drips": "throat packing", "pressure": "2330 psi", "time": "60 s", "drops": 4}`)
	return b
}

func BenchmarkSheetOf(b *testing.B) {
	p, _ := demoPump(b, "orrin-30")
	j := stallBook(b).job()
	for b.Loop() {
		if _, err := SheetOf(j, record.AsFound, p, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCheckReading(b *testing.B) {
	for _, c := range []struct{ pump, reading string }{
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`},
		{"tolsk-18", `{"locked": "down", "pressures": [{"at": "0 s", "pressure": "200 bar"}, {"at": "5 s", "pressure": "175 bar"}, {"at": "15 s", "pressure": "130 bar"}]}`},
	} {
		b.Run(c.pump, func(b *testing.B) {
			p, _ := demoPump(b, c.pump)
			for b.Loop() {
				if err := CheckReading(p, nil, json.RawMessage(c.reading)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkJudge(b *testing.B) {
	p, text := demoPump(b, "orrin-30")
	j := stallBook(b).job()
	for name, opt := range map[string]hold.Options{"screen": {Next: true}, "quick": hold.Quick()} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Judge(j, record.AsFound, p, text, nil, nil, "test", opt); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkWorkOf(b *testing.B) {
	for _, name := range []string{"orrin-30", "varn-40"} {
		b.Run(name, func(b *testing.B) {
			p, _ := demoPump(b, name)
			bk := newBook(b, p)
			bk.write(chose(p.All(pump.Replace)))
			steps := workOf(b, bk, p).Steps
			for _, s := range steps[:len(steps)/2] {
				bk.write(properly(p, s.Step))
			}
			j := bk.job()
			for b.Loop() {
				if _, err := WorkOf(j, p, p.Rebuild, bk.at); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
