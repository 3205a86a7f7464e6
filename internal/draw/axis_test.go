package draw

import (
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/unit"
)

// A small loss fills a good part of the height of its picture and the label says that the axis does not begin at zero; a large one is drawn
// from zero, where the eye judges it by.
func TestSmallLossIsSeen(t *testing.T) {
	for _, c := range []struct {
		from, to float64 // bar
		zero     bool
	}{{200, 198, false}, {200, 151, false}, {200, 149, true}, {200, 20, true}, {200, 200, true}} {
		s := &hold.Sheet{Readings: []hold.Reading{{Kind: hold.Locked, Points: []hold.Point{{Time: 0, Pressure: c.from * 1e5}, {Time: 60, Pressure: c.to * 1e5}}}}}
		q, ok := lockedCurves(nil, s)
		if !ok {
			t.Fatal("no curve")
		}
		if q.Y.From0 != c.zero || (q.Y.Label == "pressure") != c.zero {
			t.Errorf("from %g to %g bar: the axis begins at zero is %v under the label %q, want %v", c.from, c.to, q.Y.From0, q.Y.Label, c.zero)
		}
		axis := newScale(q.Y, unit.Metric(), 5, [2]float64{c.to * 1e5, c.from * 1e5})
		if share := (c.from - c.to) * 1e5 / (axis.hi - axis.lo); c.from > c.to && share < 0.15 {
			t.Errorf("from %g to %g bar: the loss fills %.0f %% of the height, want 15 at least", c.from, c.to, 100*share)
		}
		if c.zero && axis.lo > 0 {
			t.Errorf("from %g to %g bar: the axis begins at %g", c.from, c.to, axis.lo)
		}
	}
}
