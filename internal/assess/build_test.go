package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

func TestStacksAsBuilt(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	st, _ := p.Stack("throat")
	built := &record.Stacked{Stack: "throat"}
	for _, r := range st.Rings {
		built.Rings = append(built.Rings, record.Ring{Part: r.Part, Lips: r.Lips})
	}
	if err := CheckStacked(p, built); err != nil {
		t.Fatal(err)
	}
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"throat leather ring": pump.Replace}))
	first := b.write(built)
	w := workOf(t, b, p)
	if s := w.Step("stack throat 3"); s.State != Done || s.Signed.Seq != first {
		t.Errorf("a ring of a stack on record: %+v", s)
	}
	wrong := &record.Stacked{Stack: "throat", Rings: append([]record.Ring{}, built.Rings...)}
	for i, r := range wrong.Rings {
		if r.Lips != "" {
			wrong.Rings[i].Lips = "up"
		}
	}
	b.write(wrong)
	w = workOf(t, b, p)
	if !strings.Contains(kinds(w), "lips reversed throat") {
		t.Errorf("lips the wrong way round: %s", kinds(w))
	}
	for _, c := range []struct {
		b     record.Stacked
		where string
	}{
		{record.Stacked{Stack: "throat"}, "rings"}, {record.Stacked{Stack: "chimney", Rings: built.Rings}, "stack"},
		{record.Stacked{Stack: "throat", Rings: []record.Ring{{Part: "throat male gland"}, {Part: "sock"}}}, "rings[2].part"},
		{record.Stacked{Stack: "throat", Rings: built.Rings, Shim: "0.4"}, "shim"}, {record.Stacked{Stack: "throat", Rings: built.Rings, Shim: "0.4 mm"}, "-"},
	} {
		if got := whereOf(t, CheckStacked(p, &c.b)); got != c.where {
			t.Errorf("%+v: %q, want %q", c.b, got, c.where)
		}
	}
}

func TestCheckDid(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	steps, err := p.Work(p.All(pump.Replace))
	if err != nil {
		t.Fatal(err)
	}
	step := map[string]pump.Step{}
	for _, s := range steps {
		step[s.ID] = s
	}
	for _, c := range []struct {
		did   record.Did
		where string
	}{
		{record.Did{Step: "torque throat nut", Torque: "22 N·m"}, "-"},
		{record.Did{Step: "torque throat nut"}, "-"},
		{record.Did{Step: "torque throat nut", Torque: "22"}, "torque"},
		{record.Did{Step: "torque throat nut", Torque: "22 mm"}, "torque"},
		{record.Did{Step: "torque throat nut", Torque: "22 kN·m"}, "torque"},
		{record.Did{Step: "torque throat nut", Torque: "220 N·m"}, "torque"},
		{record.Did{Step: "torque throat nut", Torque: "22 lbf·in"}, "-"},
		{record.Did{Step: "torque throat nut", Torque: "2 lbf·in"}, "torque"},
		{record.Did{Step: "torque throat nut", Torque: "22 N·m", Adapter: "60 mm"}, "adapter"},
		{record.Did{Step: "torque throat nut", Torque: "22 N·m", Wrench: "40 mm", Adapter: "60 mm", Angle: "180°"}, "wrench"},
		{record.Did{Step: "torque throat nut", Wrench: "400 mm"}, "wrench"},
		{record.Did{Step: "torque throat nut", Torque: "22 N·m", Angle: "90°"}, "angle"},
		{record.Did{Step: "earth", Torque: "22 N·m"}, "torque"},
		{record.Did{Step: "hold", Pressure: "2330 psi", Held: "2 min"}, "-"},
		{record.Did{Step: "hold", Pressure: "5300 psi", Held: "2 min"}, "pressure"},
		{record.Did{Step: "hold", Pressure: "2330 psi", Held: "2"}, "held"},
		{record.Did{Step: "soak throat leather ring", Soaked: "75 min"}, "-"},
		{record.Did{Step: "soak throat leather ring", Soaked: "a while"}, "soaked"},
		{record.Did{Step: "earth"}, "-"},
	} {
		if got := whereOf(t, CheckDid(p, step[c.did.Step], &c.did)); got != c.where {
			t.Errorf("%+v: %q, want %q", c.did, got, c.where)
		}
	}
	if got := whereOf(t, CheckDid(p, step["earth"], &record.Did{Step: "hold"})); got != "step" {
		t.Errorf("another step: %q", got)
	}
}

func TestUnreadableQuantitiesAreTold(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"drain valve cartridge": pump.Keep}))
	seq := b.write(&record.Did{Step: "torque drain cartridge", Torque: "tight"})
	if _, err := BuildOf(b.job(), p); whereOf(t, err) != fmt.Sprintf("entry %d", seq) {
		t.Errorf("%v", err)
	}
	w := workOf(t, b, p)
	if len(w.Unread) != 1 || w.Unread[0].Seq != seq || !strings.Contains(kinds(w), "torque not recorded") {
		t.Errorf("unread %+v, departures %s", w.Unread, kinds(w))
	}
	b.write(&record.Stacked{Stack: "chimney", Rings: []record.Ring{{Part: "soot"}}})
	if w = workOf(t, b, p); len(w.Unread) != 2 {
		t.Errorf("unread %+v", w.Unread)
	}
}

// Quantities in SI by hand; of two records of a stack the last counts; what was left out on purpose is not built.
func TestBuildOfIsTheRecord(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.write(chose(pump.Chosen{"drain valve cartridge": pump.Keep}))
	b.write(&record.Did{Step: "earth"})
	b.write(&record.Did{Step: "flush", Skipped: true, Note: "came flushed"})
	b.write(&record.Did{Step: "torque drain cartridge", Torque: "23 N·m", Wrench: "400 mm", Adapter: "20 mm", Angle: "90°"})
	b.write(&record.Stacked{Stack: "piston", Shim: "0.3 mm", Rings: []record.Ring{{Part: "piston male gland", Lips: ""}}})
	b.write(&record.Stacked{Stack: "piston", Shim: "0.4 mm", Rings: []record.Ring{{Part: "piston male gland", Lips: ""}}})
	got, err := BuildOf(b.job(), p)
	if err != nil {
		t.Fatal(err)
	}
	if got.Pump != p.Name || len(got.Done) != 2 || got.Done[0].Step != "earth" || len(got.Stacks) != 1 {
		t.Fatalf("%+v", got)
	}
	d := got.Done[1]
	if d.Torque != 23 || math.Abs(d.Wrench-0.4) > 1e-12 || math.Abs(d.Adapter-0.02) > 1e-12 || math.Abs(d.Angle-math.Pi/2) > 1e-12 || !d.Turned {
		t.Errorf("%+v", d)
	}
	if s := got.Stacks[0]; s.Shim == nil || math.Abs(*s.Shim-0.4e-3) > 1e-12 || s.Rings[0].Part != "piston male gland" {
		t.Errorf("%+v", got.Stacks[0])
	}
}
