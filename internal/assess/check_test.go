package assess

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// whereOf is the field that an error is about, "-" for no error.
func whereOf(t *testing.T, err error) string {
	t.Helper()
	if err == nil {
		return "-"
	}
	var f *record.Fault
	if !errors.As(err, &f) {
		t.Fatalf("no *record.Fault but %T: %v", err, err)
	}
	if f.Found == "" || f.Want == "" && f.Mend == "" {
		t.Errorf("a fault that does not say what was found and what is expected: %+v", f)
	}
	return f.Where
}

func TestCheckReading(t *testing.T) {
	for _, c := range []struct{ pump, reading, where string }{
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`, "-"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s", "note": "🙂 \ud83d\ude00"}`, "-"},
		{"orrin-30", `{"creep": "sideways", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`, "creep"},
		{"orrin-30", `{"creep": "up", "pressure": "2330", "travel": "60 mm", "time": "14.2 s"}`, "pressure"},
		{"orrin-30", `{"creep": "up", "pressure": "60 mm", "travel": "60 mm", "time": "14.2 s"}`, "pressure"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "time": "14.2 s"}`, "travel"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s", "colour": "red"}`, "colour"},
		{"orrin-30", `{"creep": "up", "creep": "down", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s"}`, "creep"},
		{"orrin-30", `{"pressure": "2330 psi"}`, ""},
		{"orrin-30", `["creep"]`, ""},
		{"orrin-30", `{"trace": "log.csv", "drive": "locked"}`, "trace"},
		// what package hold refuses
		{"orrin-30", `{"creep": "up", "pressure": "5000 psi", "travel": "60 mm", "time": "14.2 s"}`, "pressure"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "160 mm", "time": "14.2 s"}`, "travel"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "0.1 s"}`, "time"},
		{"orrin-30", `{"creep": "up", "pressure": "2330 psi", "travel": "60 mm", "time": "14.2 s", "at": "140 mm"}`, "at"},
		{"orrin-30", `{"restart": "up", "time": "7 s"}`, "restart"},
		{"orrin-30", `{"drips": "the ceiling", "pressure": "2330 psi", "time": "60 s", "drops": 3}`, "drips"},
		{"orrin-30", `{"run": 20, "pressure": "140 bar", "time": "24 s", "volume": "9 L"}`, "volume"},
		{"orrin-30", `{"run": 200, "pressure": "140 bar", "time": "2 s", "volume": "0.1 L"}`, "time"},
		{"tolsk-18", `{"creep": "up", "pressure": "200 bar", "travel": "20 mm", "time": "14.2 s"}`, "creep"},
		{"tolsk-18", `{"locked": "down", "pressures": [{"at": "0 s", "pressure": "200 bar"}, {"at": "5 s", "pressure": "175 bar"}]}`, "-"},
		{"tolsk-18", `{"locked": "down", "pressures": [{"at": "5 s", "pressure": "200 bar"}, {"at": "0 s", "pressure": "175 bar"}]}`, "pressures[2].at"},
		{"tolsk-18", `{"locked": "down", "pressures": [{"at": "0 s", "pressure": "100 bar"}, {"at": "5 s", "pressure": "175 bar"}]}`, "pressures"},
		{"tolsk-18", `{"locked": "down", "pressures": [{"at": "0 s", "pressure": "400 bar"}, {"at": "5 s", "pressure": "175 bar"}]}`, "pressures"},
		{"tolsk-18", `{"restart": "unknown", "time": "6.5 s"}`, "-"},
	} {
		p, _ := demoPump(t, c.pump)
		if got := whereOf(t, CheckReading(p, bench(record.AsFound), json.RawMessage(c.reading))); got != c.where {
			t.Errorf("%s: %s: where %q, want %q", c.pump, c.reading, got, c.where)
		}
	}
}

func TestCheckBench(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	for _, c := range []struct {
		b     record.Benched
		where string
	}{
		{record.Benched{}, "-"},
		{*bench(record.AsFound), "-"},
		{record.Benched{Fluid: json.RawMessage(`{"kind": "tea"}`)}, "fluid.kind"},
		{record.Benched{Fluid: json.RawMessage(`{"kind": "water", "temperature": "20"}`)}, "fluid.temperature"},
		{record.Benched{Gauge: json.RawMessage(`{"class": "1.6 %"}`)}, "gauge.range"},
		{record.Benched{Stopwatch: "soon"}, "stopwatch"},
		{record.Benched{Ruler: "0.5"}, "ruler"},
		{record.Benched{Gauge: json.RawMessage(`{"range": "400 bar", "range": "40 bar"}`)}, "range"},
	} {
		if got := whereOf(t, CheckBench(&c.b)); got != c.where {
			t.Errorf("%+v: where %q, want %q", c.b, got, c.where)
		}
		if c.where == "-" {
			continue
		}
		b := newBook(t, p)
		c.b.Hold = record.AsFound
		b.write(&c.b)
		if _, err := SheetOf(b.job(), record.AsFound, p, nil); whereOf(t, err) != c.where {
			t.Errorf("a sheet with the bench %+v: %v", c.b, err)
		}
	}
}

func TestCheckPress(t *testing.T) {
	for _, c := range []struct {
		pump  string
		press record.Pressed
		where string
	}{
		{"orrin-30", record.Pressed{Press: record.PressStart, Stroke: "up", Pressure: "2330 psi"}, "-"},
		{"orrin-30", record.Pressed{Press: record.PressStart, Stroke: "up"}, "pressure"},
		{"orrin-30", record.Pressed{Press: record.PressStart, Pressure: "0 psi"}, "pressure"},
		{"orrin-30", record.Pressed{Press: record.PressStart, Pressure: "5000 psi"}, "pressure"},
		{"orrin-30", record.Pressed{Press: record.PressMark, Locked: true, Pressure: "0 bar"}, "-"},
		{"orrin-30", record.Pressed{Press: record.PressMark, Pressure: "-3 bar"}, "pressure"},
		{"orrin-30", record.Pressed{Press: record.PressMark, Rod: "42"}, "rod"},
		{"orrin-30", record.Pressed{Press: record.PressMark, Rod: "42 mm"}, "-"},
		{"orrin-30", record.Pressed{Press: record.PressMark, Rod: "42 km"}, "rod"},
		{"orrin-30", record.Pressed{Press: record.PressTop}, "-"},
		{"tolsk-18", record.Pressed{Press: record.PressStart, Pressure: "200 bar"}, "-"},
		{"tolsk-18", record.Pressed{Press: record.PressStart, Pressure: "400 bar"}, "pressure"},
		{"varn-40", record.Pressed{Press: record.PressStart, Stroke: "down", Pressure: "160 bar"}, "-"},
	} {
		p, _ := demoPump(t, c.pump)
		if got := whereOf(t, CheckPress(p, &c.press)); got != c.where {
			t.Errorf("%s: %+v: where %q, want %q", c.pump, c.press, got, c.where)
		}
	}
}
