package web

import (
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/unit"
)

// A hold that was shorter than the sheet asks for says for each stroke what is missing and by what it may prove all the same; of a locked rod
// there is no mark that could have moved.
func TestAShortHoldSaysWhatIsMissing(t *testing.T) {
	up := hold.Course{Stroke: "up", Seen: true, Seconds: 30, Asked: 120, AtLimit: 0.05}
	locked := hold.Course{Seen: true, Seconds: 60, Asked: 90}
	for _, c := range []struct {
		lang   string
		course hold.Course
		want   []string
		not    string
	}{
		{"en", up, []string{"Upstroke: held for 0:30 min of 2:00 min, 1:30 min are missing.", "would have moved the mark by 50 mm"}, "Rod locked"},
		{"en", locked, []string{"Rod locked: held for 1:00 min of 1:30 min, 0:30 min are missing."}, "mark"},
		{"es", up, []string{"Carrera de subida: se sostuvo 0:30 min de 2:00 min, faltan 1:30 min.", "habría movido la marca 50 mm"}, "missing"},
	} {
		v := &JobView{F: &Frame{Voice: catalogue(t).In(c.lang), Units: unit.Metric()}}
		out := pointView{}
		v.short(&out, assess.Point{Code: assess.PointHold, Short: []hold.Course{c.course}})
		if len(out.Figures) != 1 {
			t.Fatalf("%s: %d lines", c.lang, len(out.Figures))
		}
		said := strings.ReplaceAll(string(out.Figures[0]), "\u00a0", " ")
		for _, w := range c.want {
			if !strings.Contains(said, w) {
				t.Errorf("%s: %q does not say %q", c.lang, said, w)
			}
		}
		if strings.Contains(said, c.not) {
			t.Errorf("%s: %q says %q", c.lang, said, c.not)
		}
	}
}
