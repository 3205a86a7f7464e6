package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/stroke"
)

// What a run gives of what its strokes displace, with the error of what was caught. Displacement and efficiency are those of package stroke, which are
// compared with worked examples of courses and handbooks there (docs/validation/stroke.md): the demo pump delivers π/4·D²·s a cycle.
func TestRunEfficiency(t *testing.T) {
	p := demoPump(t, "orrin-30")
	r := judged(t, p, "run: 20, pressure: 140 bar, volume: 1.2 L ± 10 mL, time: 24 s")
	if len(r.Runs) != 1 {
		t.Fatalf("%d runs", len(r.Runs))
	}
	perSecond, err := stroke.SingleActing(p.Bore, p.Stroke, 20) // 20 cycles in a second
	if err != nil {
		t.Fatal(err)
	}
	want, err := stroke.VolumetricEfficiency(perSecond, 1.2e-3)
	if err != nil {
		t.Fatal(err)
	}
	got := r.Runs[0]
	if math.Abs(got.Efficiency-want) > 0.002 || math.Abs(got.SD-want*10/1200) > 1e-4 || math.Abs(got.DisplacedML-perSecond*1e6) > 3 {
		t.Errorf("%+v, want an efficiency of %.4f ± %.4f", got, want, want*10/1200)
	}
}
