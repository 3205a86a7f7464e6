package draw

import (
	"fmt"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/unit"
)

// A bare map says the same about every path, its title and description say the verdict, and nothing else does; it is lower by the band.
func TestBareLeakMap(t *testing.T) {
	for name, p := range pumps(t) {
		for _, word := range []string{hold.Holds, hold.DoesNotHold, hold.NotProven} {
			r := result(p, word)
			for form, draws := range map[string][2]string{
				"page":   {newLeakMap(p, r, unit.Metric(), pageForm).narrow(), LeakMapBare(p, r, unit.Metric())},
				"narrow": {LeakMapNarrow(p, r, unit.Metric()), LeakMapBareNarrow(p, r, unit.Metric())},
			} {
				full, bare := draws[0], draws[1]
				if strings.Contains(bare, `class="`+verdictClass(word)+`"`) || !strings.Contains(full, `class="`+verdictClass(word)+`"`) {
					t.Errorf("%s %s %s: the band of a verdict must stand in the full map only", name, form, word)
				}
				if headOf(full) != headOf(bare) {
					t.Errorf("%s %s %s: title and description differ: %s", name, form, word, headOf(bare))
				}
				for _, d := range newSection(p).drops {
					if a, b := strings.Count(full, d.path), strings.Count(bare, d.path); a != b {
						t.Errorf("%s %s %s: the path %s stands %d times, in the full map %d times", name, form, word, d.path, b, a)
					}
				}
				if h, g := docHeight(t, full), docHeight(t, bare); h-g < 40 {
					t.Errorf("%s %s %s: %g high without the band, %g with it", name, form, word, g, h)
				}
			}
		}
	}
}

func headOf(svg string) string {
	_, rest, _ := strings.Cut(svg, "<title>")
	head, _, _ := strings.Cut(rest, "</desc>")
	return head
}

func docHeight(t *testing.T, svg string) float64 {
	t.Helper()
	var w, h float64
	_, rest, _ := strings.Cut(svg, `viewBox="`)
	if n, err := fmt.Sscanf(rest, "0 0 %g %g", &w, &h); n != 2 {
		t.Fatal(err)
	}
	return h
}
