package num

import (
	"errors"
	"math"
	"testing"
)

func TestChecks(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		err  error
		want string
	}{
		{CheckPositive("leak.Annulus", "h", 5e-6, "m"), ""},
		{CheckPositive("leak.Annulus", "h", -5e-6, "m"), "leak.Annulus: h = -5e-06 m, want > 0 and finite"},
		{CheckPositive("leak.Annulus", "h", 0, "m"), "leak.Annulus: h = 0 m, want > 0 and finite"},
		{CheckPositive("f", "x", nan, "1"), "f: x = NaN, want > 0 and finite"},
		{CheckPositive("f", "x", inf, ""), "f: x = +Inf, want > 0 and finite"},
		{CheckPositive("f", "x", math.SmallestNonzeroFloat64, ""), ""},
		{CheckPositive("f", "x", math.MaxFloat64, ""), ""},
		{CheckRange("f", "eps", 1, 0, 1, "1"), ""},
		{CheckRange("f", "eps", 0, 0, 1, "1"), ""},
		{CheckRange("f", "eps", 1.5, 0, 1, "1"), "f: eps = 1.5, want 0..1"},
		{CheckRange("f", "eps", -1, 0, inf, "m"), "f: eps = -1 m, want >= 0 and finite"},
		{CheckRange("f", "eps", inf, 0, inf, "m"), "f: eps = +Inf m, want >= 0 and finite"},
		{CheckRange("f", "eps", 3, -inf, 2, "m"), "f: eps = 3 m, want <= 2 and finite"},
		{CheckRange("f", "eps", nan, -inf, inf, "m"), "f: eps = NaN m, want finite"},
		{CheckRange("f", "x", 1, 1.25, 2.0625, "m"), "f: x = 1 m, want 1.25..2.0625"},
		{CheckFinite("f", "x", -1e308, "m"), ""},
		{CheckFinite("f", "x", nan, "m"), "f: x = NaN m, want finite"},
		{CheckFinite("f", "x", -inf, "m"), "f: x = -Inf m, want finite"},
	} {
		var re *RangeError
		switch {
		case c.want == "":
			if c.err != nil {
				t.Errorf("refused: %v", c.err)
			}
		case !errors.As(c.err, &re) || c.err.Error() != c.want:
			t.Errorf("%v, want %s", c.err, c.want)
		}
	}
}
