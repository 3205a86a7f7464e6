package assess

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

func TestSuggest(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	share := func(shares map[string]float64, word string) *hold.Result {
		r := &hold.Result{Verdict: hold.Verdict{Word: word}}
		for _, q := range p.Map().Paths {
			r.Paths = append(r.Paths, hold.PathShare{Path: q.Name, P: shares[q.Name]})
		}
		return r
	}
	got := Suggest(share(map[string]float64{"inlet valve": 0.7, "inlet seat seal": 0.25, "throat packing": 0.1}, hold.DoesNotHold), p)
	want := pump.Chosen{"inlet housing": pump.Keep, "inlet valve cage": pump.Keep, "inlet valve seat": pump.Replace, "inlet valve ball": pump.Replace, "inlet O-ring": pump.Replace}
	for part, a := range want {
		if got[part] != a {
			t.Errorf("%s: %q, want %q", part, got[part], a)
		}
	}
	if len(got) != len(want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if _, err := p.Work(got); err != nil {
		t.Errorf("the order of work refuses what is suggested: %v", err)
	}
	if got = Suggest(share(map[string]float64{"drain valve": 0.15, "outside": 0.05}, hold.DoesNotHold), p); len(got) != 1 || got["drain valve cartridge"] != pump.Replace {
		t.Errorf("no path stands out: %v", got)
	}
	if got = Suggest(share(map[string]float64{"drain valve": 0.15}, hold.Holds), p); len(got) != 0 {
		t.Errorf("a pump that holds: %v", got)
	}
	if got = Suggest(share(map[string]float64{"piston packing": 0.5}, hold.NotProven), p); got["cylinder"] != pump.Keep || got["piston leather ring"] != pump.Replace || got["piston male gland"] != pump.Replace || got["rod"] != "" {
		t.Errorf("a piston packing: %v", got)
	}
	if err := CheckChose(p, chose(got)); err != nil {
		t.Error(err)
	}
}

func TestCheckChose(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	for _, c := range []struct {
		parts map[string]string
		where string
	}{
		{nil, "-"}, {map[string]string{"rod": "keep"}, "-"}, {map[string]string{"inlet valve seat": "turn over"}, "-"},
		{map[string]string{"rod": "lap"}, "rod"}, {map[string]string{"rod": "paint"}, "rod"}, {map[string]string{"rudder": "replace"}, "rudder"},
	} {
		if got := whereOf(t, CheckChose(p, &record.Chose{Parts: c.parts})); got != c.where {
			t.Errorf("%v: %q, want %q", c.parts, got, c.where)
		}
	}
	b := newBook(t, p)
	b.write(&record.Chose{Parts: map[string]string{"rudder": "replace"}})
	if _, err := WorkOf(b.job(), p, p.Rebuild, b.at); whereOf(t, err) != "rudder" {
		t.Errorf("the work of a part that the pump has not: %v", err)
	}
}

func TestCheckFound(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	for _, c := range []struct {
		f     record.Found
		where string
	}{
		{record.Found{Part: "rod", Text: "scored"}, "-"},
		{record.Found{Part: "rod", Size: "diameter", Value: "21.16 mm"}, "-"},
		{record.Found{Part: "rod", Size: "diameter", Value: "0.833 in"}, "-"},
		{record.Found{Part: "rod", Size: "diameter", Value: "21.16"}, "value"},
		{record.Found{Part: "rod", Size: "diameter", Value: "21.16 in"}, "value"},
		{record.Found{Part: "rod", Size: "diameter", Value: "2.116 mm"}, "value"},
		{record.Found{Part: "rod", Size: "diameter", Value: "21 bar"}, "value"},
		{record.Found{Part: "rod", Size: "diameter", Value: "-21 mm"}, "value"},
		{record.Found{Part: "rod", Size: "girth", Value: "21.16 mm"}, "size"},
		{record.Found{Part: "rod", Value: "21.16 mm"}, "size"},
		{record.Found{Part: "inlet housing", Size: "diameter", Text: "worn"}, "size"},
		{record.Found{Part: "rudder", Text: "gone"}, "part"},
	} {
		if got := whereOf(t, CheckFound(p, &c.f)); got != c.where {
			t.Errorf("%+v: %q, want %q", c.f, got, c.where)
		}
	}
	s, ok := SizeOf(p, "rod", "diameter")
	if !ok || math.Abs(s.New-21.2e-3) > 1e-12 || math.Abs(s.Min-21.15e-3) > 1e-12 || !math.IsNaN(s.Max) {
		t.Errorf("%+v", s)
	}
	if _, ok = SizeOf(p, "rod", "girth"); ok {
		t.Error("a size that the sheet does not have")
	}
}
