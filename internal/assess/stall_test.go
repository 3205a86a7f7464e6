package assess

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// words writes a reading as a person would check it.
func words(r hold.Reading) string {
	switch r.Kind {
	case hold.Creep:
		return fmt.Sprintf("creep %s %.4g mm ± %.3g in %.6g s at %.6g bar", r.Stroke, 1e3*r.Travel, 1e3*r.UTravel, r.Time, r.Pressure/1e5)
	case hold.Still:
		return fmt.Sprintf("still %s %.3g mm in %.6g s at %.6g bar", r.Stroke, 1e3*r.Travel, r.Time, r.Pressure/1e5)
	case hold.Locked:
		s := fmt.Sprintf("locked %d", r.Stroke)
		for _, p := range r.Points {
			s += fmt.Sprintf(" %g s %.6g bar", p.Time, p.Pressure/1e5)
		}
		return s
	}
	return fmt.Sprintf("%s %s %.6g s at %.6g bar", r.Kind, r.Stroke, r.Time, r.Pressure/1e5)
}

// The rules of the package comment, one by one. Times are differences of the presses; √2 · 0.5 mm is the error of the difference of
// two ruler readings.
func TestPressesMakeReadings(t *testing.T) {
	start := func(stroke string, more ...string) key {
		k := key{press: record.PressStart, stroke: stroke, pressure: "160 bar"}
		if len(more) > 0 {
			k.rod = more[0]
		}
		return k
	}
	top := func(at float64) key { return key{at: at, press: record.PressTop} }
	bottom := func(at float64) key { return key{at: at, press: record.PressBottom} }
	end := func(at float64) key { return key{at: at, press: record.PressEnd} }
	mark := func(at float64, rod string) key { return key{at: at, press: record.PressMark, rod: rod} }
	for _, c := range []struct {
		name    string
		keys    []key
		want    []string
		ignored []string // beginnings of the reasons
	}{
		{"two whole strokes", []key{start("up"), top(5), bottom(35), top(50), end(90)},
			[]string{"creep up 50 mm ± 28.9 in 5 s at 160 bar", "changeover down 30 s at 160 bar", "changeover up 15 s at 160 bar", "no_changeover down 20 s at 160 bar"}, nil},
		{"the stroke of the start follows from the first changeover", []key{start(""), bottom(5), top(25), end(25)},
			[]string{"creep down 50 mm ± 28.9 in 5 s at 160 bar", "changeover up 20 s at 160 bar"}, []string{"nothing can be told"}},
		{"marks before the first changeover", []key{start("up", "10 mm"), mark(4, "30 mm"), mark(8, "50 mm"), top(12), end(12)},
			[]string{"creep up 40 mm ± 0.707 in 8 s at 160 bar"}, []string{"the first and the last", "one changeover alone", "nothing can be told"}},
		{"a rod reading at the changeover ends the stroke before it only", []key{start("down", "90 mm"), {at: 20, press: record.PressBottom, rod: "2 mm"}, mark(30, "22 mm"), end(31)},
			[]string{"creep down 88 mm ± 0.707 in 20 s at 160 bar", "no_changeover up 5.5 s at 160 bar"}, []string{"one rod reading alone"}},
		{"one mark", []key{start("up"), mark(15, "14 mm"), end(60)}, []string{"no_changeover up 60 s at 160 bar"}, []string{"one rod reading alone"}},
		{"marks inside a whole stroke", []key{start("up"), top(5), mark(10, "80 mm"), mark(20, "40 mm"), bottom(30), end(30)},
			[]string{"creep up 50 mm ± 28.9 in 5 s at 160 bar", "changeover down 25 s at 160 bar"}, []string{"its rod reading is not counted", "its rod reading is not counted", "nothing can be told"}},
		{"marks after the last changeover", []key{start("up"), top(5), mark(10, "80 mm"), mark(30, "60 mm"), end(31)},
			[]string{"creep up 50 mm ± 28.9 in 5 s at 160 bar", "creep down 20 mm ± 0.707 in 20 s at 160 bar"}, []string{"nothing can be told"}},
		{"nothing moved", []key{start("down", "42 mm"), {at: 60, press: record.PressEnd, rod: "42 mm"}},
			[]string{"still down 0.707 mm in 60 s at 160 bar"}, nil},
		{"moved by less than the ruler tells", []key{start("up", "42 mm"), {at: 60, press: record.PressEnd, rod: "42.5 mm"}},
			[]string{"still up 0.707 mm in 60 s at 160 bar"}, nil},
		{"no marks at all", []key{start("down"), end(75)}, []string{"no_changeover down 75 s at 160 bar"}, nil},
		{"marks of one second say less than the hour after them", []key{start("down", "42 mm"), mark(1, "42 mm"), end(3600)},
			[]string{"no_changeover down 3600 s at 160 bar"}, []string{"the first and the last"}},
		{"the stroke from the way the rod went", []key{start("", "90 mm"), mark(20, "60 mm"), end(20)},
			[]string{"creep down 30 mm ± 0.707 in 20 s at 160 bar"}, []string{"nothing can be told"}},
		{"stroke not known", []key{start(""), end(60)}, nil, []string{"on which stroke", "nothing can be told"}},
		{"the rod went the other way", []key{start("up", "90 mm"), mark(20, "60 mm"), end(20)}, nil, []string{"its watch gives no reading", "the ruler says", "nothing can be told"}},
		{"farther than a stroke", []key{start("up", "10 mm"), mark(20, "130 mm"), end(20)}, nil, []string{"its watch gives no reading", "the rod went farther", "nothing can be told"}},
		{"a whole stroke by a ruler that errs", []key{start("up", "10 mm"), mark(20, "111 mm"), end(20)}, []string{"creep up 100 mm ± 0.707 in 20 s at 160 bar"}, []string{"nothing can be told"}},
		{"a changeover at the wrong end", []key{start("up"), bottom(5), top(25), end(25)},
			[]string{"changeover up 20 s at 160 bar"}, []string{"the watch started on the upstroke", "nothing can be told"}},
		{"a changeover was not pressed", []key{start("up"), top(5), top(45), bottom(75), end(75)},
			[]string{"creep up 50 mm ± 28.9 in 5 s at 160 bar", "changeover down 30 s at 160 bar"}, []string{"two changeovers at the top", "nothing can be told"}},
		{"a watch that nobody ended", []key{start("up"), top(5), bottom(35)}, []string{"creep up 50 mm ± 28.9 in 5 s at 160 bar", "changeover down 30 s at 160 bar"}, nil},
		{"after the end", []key{start("up"), end(60), top(70)}, []string{"no_changeover up 60 s at 160 bar"}, []string{"it lies after the end"}},
		{"two starts", []key{start("up"), {at: 10, press: record.PressStart, stroke: "up"}, end(60)}, []string{"no_changeover up 60 s at 160 bar"}, []string{"a second start"}},
		{"no start", []key{top(5), bottom(35), end(40)}, nil, []string{"its watch has no start", "its watch has no start", "its watch has no start"}},
		{"too soon to tell", []key{start("up"), top(0.2), bottom(30), end(30)}, []string{"changeover down 29.8 s at 160 bar"}, []string{"the first changeover came so soon", "nothing can be told"}},
		{"no pressure", []key{{press: record.PressStart, stroke: "up"}, end(60)}, nil, []string{"no pressure was typed", "nothing can be told"}},
		{"an empty mark", []key{start("up"), {at: 30, press: record.PressMark}, end(60)}, []string{"no_changeover up 60 s at 160 bar"}, []string{"nothing was typed with the mark"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, _ := demoPump(t, "orrin-30")
			b := newBook(t, p)
			b.write(bench(record.AsFound))
			b.presses(record.AsFound, "w", c.keys...)
			d := draftOf(t, b.job(), record.AsFound, p, nil)
			var got []string
			for _, r := range d.Sheet.Readings {
				got = append(got, words(r))
			}
			if fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
			if len(d.Ignored) != len(c.ignored) {
				t.Fatalf("ignored %+v\nwant %q", d.Ignored, c.ignored)
			}
			for i, ig := range d.Ignored {
				if !strings.HasPrefix(ig.Reason, c.ignored[i]) {
					t.Errorf("ignored %d: %q, want %q", ig.Seq, ig.Reason, c.ignored[i])
				}
			}
		})
	}
}

// No press is lost: each serves a reading or stands in Ignored.
func accounted(t tester, j *record.Job, h record.HoldStage, d Draft) {
	seen := map[int64]bool{}
	for _, s := range d.Seqs {
		seen[s] = true
	}
	for _, ig := range d.Ignored {
		seen[ig.Seq] = true
		if ig.Reason == "" {
			t.Errorf("entry %d is ignored without a reason", ig.Seq)
		}
	}
	for _, q := range j.Presses {
		if q.Body.Hold == h && !seen[q.Entry.Seq] {
			t.Errorf("press %d (%s at %d ms) is neither used nor ignored", q.Entry.Seq, q.Body.Press, q.Body.Elapsed)
		}
	}
}

// A watch counts from its start, wherever its clock stood then.
func TestWatchThatBeginsLate(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.presses(record.AsFound, "1", key{at: 100, press: record.PressStart, stroke: "up", pressure: "160 bar"})
	d := draftOf(t, b.job(), record.AsFound, p, &Running{Watch: "1", Elapsed: 130e9})
	if r := d.Sheet.Readings[0]; words(r) != "no_changeover up 30 s at 160 bar" {
		t.Error(words(r))
	}
	b.presses(record.AsFound, "1", key{at: 130, press: record.PressEnd})
	d = draftOf(t, b.job(), record.AsFound, p, nil)
	if r := d.Sheet.Readings[0]; words(r) != "no_changeover up 30 s at 160 bar" {
		t.Error(words(r))
	}
}

func TestWatchesOfTwoDevicesAreTwo(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "160 bar"}, key{at: 30, press: record.PressEnd})
	b.device = 2
	b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "down", pressure: "160 bar"}, key{at: 40, press: record.PressEnd})
	b.presses(record.AsLeft, "2", key{press: record.PressStart, stroke: "down", pressure: "160 bar"}, key{at: 50, press: record.PressEnd})
	d := draftOf(t, b.job(), record.AsFound, p, nil)
	if len(d.Sheet.Readings) != 2 || d.Sheet.Readings[0].Time != 30 || d.Sheet.Readings[1].Time != 40 || d.Origins[1].Watch != 2 {
		t.Errorf("readings %+v, origins %v", d.Sheet.Readings, d.Origins)
	}
}

func TestCorrectedAndStruckPresses(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	seqs := b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "2200 bar"}, key{at: 5, press: record.PressTop},
		key{at: 5.2, press: record.PressTop}, key{at: 35, press: record.PressBottom})
	last := b.correct(seqs[0], &record.Pressed{Hold: record.AsFound, Watch: "1", Press: record.PressStart, Stroke: "up", Pressure: "160 bar"})
	b.write(&record.Struck{Seq: seqs[2], Reason: "pressed twice"})
	d := draftOf(t, b.job(), record.AsFound, p, nil)
	if len(d.Sheet.Readings) != 2 || words(d.Sheet.Readings[1]) != "changeover down 30 s at 160 bar" {
		t.Fatalf("readings %+v", d.Sheet.Readings)
	}
	if want := fmt.Sprint([]int64{seqs[1], seqs[3], last}); fmt.Sprint(d.Seqs) != want {
		t.Errorf("made of %v, want %s", d.Seqs, want)
	}
}

func TestRunningWatch(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	b := newBook(t, p)
	b.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "160 bar"}, key{at: 5, press: record.PressTop})
	const first = "creep up 50 mm ± 28.9 in 5 s at 160 bar"
	for _, c := range []struct {
		r    *Running
		want string
		prov bool
	}{
		{nil, first, false}, {&Running{Watch: "1", Elapsed: 45e9}, "no_changeover down 20 s at 160 bar", true}, {&Running{Watch: "2", Elapsed: 45e9}, first, false},
		{&Running{Watch: "1", Device: 9, Elapsed: 45e9}, first, false}, {&Running{Watch: "1", Device: 1, Elapsed: 3e9}, first, true},
	} {
		d := draftOf(t, b.job(), record.AsFound, p, c.r)
		got := ""
		if len(d.Sheet.Readings) > 0 {
			got = words(d.Sheet.Readings[len(d.Sheet.Readings)-1])
		}
		if got != c.want || d.Provisional != c.prov {
			t.Errorf("%+v: %q, provisional %v, want %q", c.r, got, d.Provisional, c.want)
		}
	}
	b.presses(record.AsFound, "1", key{at: 30, press: record.PressEnd})
	if d := draftOf(t, b.job(), record.AsFound, p, &Running{Watch: "1", Elapsed: 45e9}); d.Provisional || d.Sheet.Readings[1].Time != 12.5 {
		t.Errorf("a watch that has ended goes on running: %+v", d)
	}
}

// A pump that creeps with two speeds, as kinematics make it: what the presses give is the speed that went in.
func TestPressesGiveTheSpeedBack(t *testing.T) {
	p, _ := demoPump(t, "orrin-30")
	rapid.Check(t, func(t *rapid.T) {
		v := map[pump.Dir]float64{}
		for _, d := range pump.Dirs {
			v[d] = math.Exp(rapid.Float64Range(math.Log(0.02e-3), math.Log(20e-3)).Draw(t, d.String()))
		}
		x := rapid.Float64Range(0.02, 0.98).Draw(t, "x") * p.Stroke
		dir := pump.Up
		if rapid.Bool().Draw(t, "down") {
			dir = pump.Down
		}
		zero := rapid.Float64Range(-0.2, 0.2).Draw(t, "ruler")
		stop := rapid.Float64Range(5, 400).Draw(t, "stop")
		nMarks := rapid.IntRange(0, 6).Draw(t, "marks")
		var marks []float64
		for range nMarks {
			marks = append(marks, rapid.Float64Range(0, stop).Draw(t, "mark"))
		}
		ks := walk(p, v, x, dir, zero, stop, marks)
		b := newBook(t, p)
		b.presses(record.AsFound, "w", ks...)
		j := b.job()
		d, err := SheetOf(j, record.AsFound, p, nil)
		if err != nil {
			t.Fatal(err)
		}
		accounted(t, j, record.AsFound, d)
		for i, r := range d.Sheet.Readings {
			checkSpeed(t, p, v[r.Stroke], r, d.Origins[i])
		}
	})
}

// walk is what a person presses beside a rod that starts at x.
func walk(p *pump.Pump, v map[pump.Dir]float64, x float64, dir pump.Dir, zero, stop float64, marks []float64) []key {
	at := func(x float64) string { return fmt.Sprintf("%.4f mm", 1e3*(x+zero)) }
	ks := []key{{press: record.PressStart, stroke: dir.String(), pressure: "160 bar", rod: at(x)}}
	t := 0.0
	for t < stop {
		left := x
		if dir == pump.Up {
			left = p.Stroke - x
		}
		next := t + left/v[dir]
		for _, m := range marks {
			if m > t && m < next && m < stop {
				ks = append(ks, key{at: m, press: record.PressMark, rod: at(x + float64(dir)*v[dir]*(m-t))})
			}
		}
		if next >= stop {
			break
		}
		k := key{at: next, press: record.PressTop}
		x = p.Stroke
		if dir == pump.Down {
			k.press, x = record.PressBottom, 0
		}
		ks = append(ks, k)
		t, dir = next, -dir
	}
	return append(ks, key{at: stop, press: record.PressEnd})
}

// checkSpeed compares a reading with the speed that the rod had: exactly but for the millisecond of the watch and the micrometre of
// the ruler text, or as a bound.
func checkSpeed(t *rapid.T, p *pump.Pump, v float64, r hold.Reading, o Origin) {
	const ms, um = 1e-3, 1e-6
	switch r.Kind {
	case hold.Changeover:
		if math.Abs(p.Stroke/v-r.Time) > 2*ms {
			t.Errorf("%s: a stroke of %g s, went in with %g s", o, r.Time, p.Stroke/v)
		}
	case hold.Creep:
		if o.From == record.PressStart && r.UTravel > p.Stroke/4 { // where it stood is not known
			if v*r.Time > p.Stroke+2*ms*v {
				t.Errorf("%s: %g m within a stroke", o, v*r.Time)
			}
			return
		}
		if math.Abs(r.Travel-v*r.Time) > 2*um+2*ms*v {
			t.Errorf("%s: %g m in %g s, went in with %g m/s", o, r.Travel, r.Time, v)
		}
	case hold.Still:
		if v*r.Time > r.Travel/math.Sqrt2+2*um+2*ms*v {
			t.Errorf("%s: still for %g s, though it moved %g m", o, r.Time, v*r.Time)
		}
	case hold.NoChangeover:
		if v*r.Time > p.Stroke+2*ms*v {
			t.Errorf("%s: no changeover for %g s, though a stroke takes %g s", o, r.Time, p.Stroke/v)
		}
	default:
		t.Errorf("%s: a %s", o, r.Kind)
	}
}
