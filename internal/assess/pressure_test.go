package assess

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Means by hand: 160 bar at the start of a reading of 20 s and 140 bar at its end, straight between, is 150 bar on average; a
// rectangle 20 bar wide has the standard deviation 20/√12 (JCGM 100:2008, 4.3.7), to which that of the gauge adds: 1.6 % of 400 bar
// over √3, with 5 bar over √12 for its step.
func TestPressureOfAReading(t *testing.T) {
	gauge := math.Hypot(0.016*400/math.Sqrt(3), 5/math.Sqrt(12))
	p, _ := demoPump(t, "orrin-30")
	for _, c := range []struct {
		name   string
		keys   []key
		p, u   float64 // bar
		number int     // which reading
	}{
		{"one value", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar"}, {at: 20, press: record.PressEnd}}, 160, gauge, 0},
		{"the same twice", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar"}, {at: 20, press: record.PressEnd, pressure: "16 MPa"}}, 160, gauge, 0},
		{"falling", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar"}, {at: 20, press: record.PressEnd, pressure: "140 bar"}}, 150, math.Hypot(gauge, 20/math.Sqrt(12)), 0},
		{"half way constant", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar"}, {at: 10, press: record.PressMark, pressure: "140 bar"}, {at: 20, press: record.PressEnd}}, 145, math.Hypot(gauge, 20/math.Sqrt(12)), 0},
		{"said with its error", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar ± 1 bar"}, {at: 20, press: record.PressEnd}}, 160, 1, 0},
		{"both said with errors", []key{{press: record.PressStart, stroke: "down", pressure: "160 bar ± 1 bar"}, {at: 20, press: record.PressEnd, pressure: "140 bar ± 3 bar"}}, 150, math.Hypot(3, 20/math.Sqrt(12)), 0},
		{"only the value of its own stroke", []key{{press: record.PressStart, stroke: "up", pressure: "100 bar"}, {at: 5, press: record.PressTop, pressure: "160 bar"}, {at: 25, press: record.PressBottom}}, 160, gauge, 1},
		{"the other stroke, when that has the same stall", []key{{press: record.PressStart, stroke: "up", pressure: "160 bar"}, {at: 5, press: record.PressTop}, {at: 25, press: record.PressBottom}}, 160, gauge, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBook(t, p)
			b.write(bench(record.AsFound))
			b.presses(record.AsFound, "w", c.keys...)
			r := draftOf(t, b.job(), record.AsFound, p, nil).Sheet.Readings[c.number]
			if math.Abs(r.Pressure/1e5-c.p) > 1e-3 || math.Abs(r.UPress/1e5-c.u) > 1e-3 {
				t.Errorf("%.4f ± %.4f bar, want %.4f ± %.4f", r.Pressure/1e5, r.UPress/1e5, c.p, c.u)
			}
		})
	}
}

// A drive that pushes twice as hard downward on the same area stalls at twice the pressure: p = F/A.
func TestPressureCarriedToTheOtherStroke(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	m := p.Map()
	p.Drive.ForceUp, p.Drive.ForceDown = 4000, 8000*m.Creep[-1]/m.Creep[1]
	b := newBook(t, p)
	b.write(bench(record.AsFound))
	b.presses(record.AsFound, "w", key{press: record.PressStart, stroke: "up", pressure: "100 bar ± 1 bar"}, key{at: 5, press: record.PressTop}, key{at: 25, press: record.PressBottom})
	r := draftOf(t, b.job(), record.AsFound, p, nil).Sheet.Readings[1]
	if u := math.Hypot(1, 100/math.Sqrt(12)); math.Abs(r.Pressure/1e5-200) > 1e-3 || math.Abs(r.UPress/1e5-u) > 1e-3 {
		t.Errorf("%.4f ± %.4f bar, want 200 ± %.4f", r.Pressure/1e5, r.UPress/1e5, u)
	}
}

func TestLockedWatch(t *testing.T) {
	p, _ := demoPump(t, "tolsk-18")
	orrin, _ := demoPump(t, "orrin-30")
	start := key{at: 2, press: record.PressStart, stroke: "down", pressure: "200 bar"}
	free := start
	start.locked = true
	mark := func(at float64, pressure string) key { return key{at: at, press: record.PressMark, pressure: pressure} }
	many := []key{start}
	for i := range 50 {
		many = append(many, mark(3+float64(i), "190 bar"))
	}
	for _, c := range []struct {
		name    string
		keys    []key
		points  int
		want    string
		ignored int
	}{
		{"pressures of marks", []key{start, mark(7, "175 bar"), mark(17.25, "130 bar"), {at: 20, press: record.PressEnd}}, 3, "locked -1 0 s 200 bar 5 s 175 bar 15.25 s 130 bar", 1},
		{"the rod of a crank stands still", []key{free, mark(7, "175 bar")}, 2, "locked -1 0 s 200 bar 5 s 175 bar", 0},
		{"a pressure at the end", []key{start, {at: 12, press: record.PressEnd, pressure: "1500 psi"}}, 2, "locked -1 0 s 200 bar 10 s 103.421 bar", 0},
		{"no pressure at the start", []key{{press: record.PressStart, locked: true}, mark(1, "180 bar"), mark(11, "170 bar")}, 2, "locked 0 0 s 180 bar 10 s 170 bar", 0},
		{"one pressure", []key{start, {at: 12, press: record.PressEnd}}, 0, "", 2},
		{"twice at a moment", []key{start, mark(7, "175 bar"), mark(7, "174 bar")}, 2, "locked -1 0 s 200 bar 5 s 175 bar", 1},
		{"a changeover", []key{start, {at: 5, press: record.PressTop}, mark(7, "175 bar")}, 2, "locked -1 0 s 200 bar 5 s 175 bar", 1},
		{"fallen to nothing", []key{start, mark(7, "0 bar")}, 2, "locked -1 0 s 200 bar 5 s 0 bar", 0},
		{"more than a sheet takes", many, 40, "", 11},
	} {
		t.Run(c.name, func(t *testing.T) {
			pp := p
			if c.name == "a pressure at the end" { // a locked rod on a force-held drive is one too
				pp = orrin
			}
			b := newBook(t, pp)
			b.presses(record.AsFound, "w", c.keys...)
			j := b.job()
			d := draftOf(t, j, record.AsFound, pp, nil)
			accounted(t, j, record.AsFound, d)
			if len(d.Ignored) != c.ignored {
				t.Errorf("ignored %+v, want %d", d.Ignored, c.ignored)
			}
			if c.points == 0 {
				if len(d.Sheet.Readings) != 0 {
					t.Errorf("readings %+v, want none", d.Sheet.Readings)
				}
				return
			}
			r := d.Sheet.Readings[0]
			if len(r.Points) != c.points || c.want != "" && words(r) != c.want {
				t.Errorf("got %q with %d points, want %q with %d", words(r), len(r.Points), c.want, c.points)
			}
			if c.name == "more than a sheet takes" && (r.Points[0].Time != 0 || r.Points[39].Time != 50) {
				t.Errorf("the first or the last point is gone: %+v", r.Points)
			}
		})
	}
}
