package hold

import (
	"errors"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// A gauge cannot show more than its scale: 160 bar on a gauge of 100 bar is refused, each reading and each point of a locked hold, and the
// end of the scale itself is not.
func TestGaugeBelowItsReading(t *testing.T) {
	for _, c := range []struct {
		pump, gauge, reading string
		refused              bool
	}{
		{"orrin-30", "100 bar", "{still: up, pressure: 160 bar, time: 60 s}", true},
		{"orrin-30", "160 bar", "{still: up, pressure: 160 bar, time: 60 s}", false},
		{"orrin-30", "100 bar", "{drips: throat packing, pressure: 160 bar, time: 60 s, drops: 2}", true},
		{"tolsk-18", "180 bar", "{locked: down, pressures: [{at: 0 s, pressure: 150 bar}, {at: 5 s, pressure: 185 bar}]}", true},
		{"tolsk-18", "400 bar", "{locked: down, pressures: [{at: 0 s, pressure: 200 bar}, {at: 5 s, pressure: 175 bar}]}", false},
	} {
		s, err := ReadSheet("x.yaml", []byte("hold: 1\npump: "+c.pump+"\ngauge: {range: "+c.gauge+"}\nreadings:\n  - "+c.reading+"\n"), nil)
		if err != nil {
			t.Fatal(err)
		}
		p, err := pump.DemoPump(c.pump)
		if err != nil {
			t.Fatal(err)
		}
		var r *Refusal
		err = Refuse(p, s)
		if got := errors.As(err, &r) && strings.Contains(r.Items[0].Found, "on a gauge that ends at"); got != c.refused {
			t.Errorf("%s on %s: %v", c.reading, c.gauge, err)
		}
		if c.refused && r != nil && (r.Items[0].Line != 5 || r.Items[0].Fix == "") {
			t.Errorf("it says too little: %+v", r.Items[0])
		}
	}
}
