package assess

import (
	"fmt"
	"slices"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// A size is held against the limits of the sheet, whatever unit it was typed in: 0.8325 in are 21.1455 mm (1 in = 25.4 mm).
func TestCheckSize(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	rod, _ := SizeOf(p, "rod", "diameter")
	bore, _ := SizeOf(p, "cylinder", "bore")
	mm := func(m float64) string { return fmt.Sprintf("%.6f mm", 1e3*m) }
	inch := func(m float64) string { return fmt.Sprintf("%.7f in", m/0.0254) }
	for _, c := range []struct {
		part, size, value string
		want              Side
	}{
		{"rod", "diameter", mm(rod.New), Inside}, {"rod", "diameter", mm(rod.Min), Inside}, {"rod", "diameter", mm(rod.Min - 4.5e-6), Below},
		{"rod", "diameter", inch(rod.Min - 4.5e-6), Below}, {"rod", "diameter", inch(rod.Min + 1e-6), Inside}, {"rod", "diameter", mm(rod.New + 1e-4), Inside},
		{"cylinder", "bore", mm(bore.Max), Inside}, {"cylinder", "bore", mm(bore.Max + 1e-6), Above}, {"cylinder", "bore", inch(bore.Max + 1e-5), Above}, {"cylinder", "bore", mm(bore.New), Inside},
	} {
		m, err := CheckSize(p, c.part, c.size, c.value)
		if err != nil || m.Side != c.want {
			t.Errorf("%s %s: %s, %v; want %s", c.part, c.value, m.Side, err, c.want)
		}
	}
	if _, err := CheckSize(p, "rod", "diameter", "0.8325"); whereOf(t, err) != "value" {
		t.Errorf("a value without its unit: %v", err)
	}
}

// A part that was measured past its limit is proposed to be replaced, whatever the verdict suspects, and the choice that leaves it is unheeding.
func TestProposeWhatIsWorn(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	rod, _ := SizeOf(p, "rod", "diameter")
	s := &scene{newBook(t, p), p, text}
	propose := func(want map[string]pump.Action, unheeded ...string) {
		t.Helper()
		got, err := Propose(s.job(), p)
		if err != nil {
			t.Fatal(err)
		}
		for part, a := range want {
			if got.Parts[part] != a {
				t.Errorf("%s: %q, want %q", part, got.Parts[part], a)
			}
		}
		if u := Unheeded(s.job(), p); !slices.Equal(u, unheeded) {
			t.Errorf("not heeded: %v, want %v", u, unheeded)
		}
	}
	size := func(m float64) string { return fmt.Sprintf("%.5f in", m/0.0254) }
	propose(map[string]pump.Action{"rod": ""})
	good := s.write(&record.Found{Part: "rod", Size: "diameter", Value: size(rod.New)})
	propose(map[string]pump.Action{"rod": ""})
	bad := s.write(&record.Found{Part: "rod", Size: "diameter", Value: size(rod.Min - 5e-6)})
	propose(map[string]pump.Action{"rod": pump.Replace}, "rod")
	s.write(&record.Found{Part: "rod", Size: "diameter", Value: size(rod.New)}) // a better reading at another place does not mend it
	propose(map[string]pump.Action{"rod": pump.Replace}, "rod")
	s.read(record.AsFound, fmt.Sprintf(`{"still": "up", "pressure": "%g bar", "time": "60 s"}`, p.Limits.Hold/1e5))
	s.judged(record.AsFound, hold.NotProven)
	propose(map[string]pump.Action{"rod": pump.Replace}, "rod")
	s.write(&record.Chose{Parts: map[string]string{"rod": "keep"}})
	propose(map[string]pump.Action{"rod": pump.Replace}, "rod")
	s.write(&record.Chose{Parts: map[string]string{"rod": "replace"}})
	propose(map[string]pump.Action{"rod": pump.Replace})
	// what is left is what the verdict suspects: the rod comes out with its packing
	s.correct(bad, &record.Found{Part: "rod", Size: "diameter", Value: size(rod.New)})
	propose(map[string]pump.Action{"rod": pump.Keep})
	s.stage(record.StageProve)
	s.correct(good, &record.Found{Part: "rod", Size: "diameter", Value: size(rod.Min - 5e-6)})
	s.stage(record.StageStrip) // another round: that rod was replaced, or left by somebody's word
	propose(map[string]pump.Action{"rod": pump.Keep})
}
