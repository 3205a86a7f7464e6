package assess

import (
	"fmt"
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// stretch is a part of a stalled watch between two changeovers, its start and its end.
type stretch struct {
	from, to *press // to is nil at the end of a watch that has no press there
	a, b     float64
	dir      pump.Dir // 0 when not known
	marks    []*press // with a rod reading, that of to with them
	bad      string   // why its presses contradict each other, "" when they do not
	mend     string
}

func turn(k record.Press) (after pump.Dir, ok bool) {
	switch k {
	case record.PressTop:
		return pump.Down, true
	case record.PressBottom:
		return pump.Up, true
	}
	return 0, false
}

func dirOf(stroke string) pump.Dir {
	switch stroke {
	case "up":
		return pump.Up
	case "down":
		return pump.Down
	}
	return 0
}

// stretches cuts a watch at its changeovers.
func (w *watch) stretches() []*stretch {
	s := &stretch{from: w.start(), dir: dirOf(w.start().Stroke)}
	if s.from.hasRod {
		s.marks = append(s.marks, s.from)
	}
	var out []*stretch
	for _, q := range w.presses[1:] {
		if q.hasRod {
			s.marks = append(s.marks, q)
		}
		if after, ok := turn(q.Press); ok {
			s.to, s.b = q, q.t
			s.meet(after)
			out = append(out, s)
			s = &stretch{from: q, a: q.t, dir: after}
		}
	}
	if last := w.presses[len(w.presses)-1]; last != s.from && !w.running {
		s.to = last
	}
	s.b = w.end
	return append(out, s)
}

// meet ends a stretch with a changeover after which the rod goes the way of after.
func (s *stretch) meet(after pump.Dir) {
	switch {
	case s.dir == -after:
	case s.dir == 0:
		s.dir = -after
	case s.from.Press == record.PressStart:
		s.bad = fmt.Sprintf("the watch started on the %sstroke, yet the next changeover is at the %s", s.dir, s.to.Press)
		s.mend = "correct the stroke of the start or the key of the changeover"
	default:
		s.bad = fmt.Sprintf("two changeovers at the %s in a row: the one between them was not pressed, or one was pressed twice", s.to.Press)
		s.mend = "strike the press that is wrong; if one was not pressed, leave both"
	}
}

// stall makes the readings of a watch at a force-held stall.
func (m *maker) stall(w *watch) {
	all := w.stretches()
	for _, s := range all {
		if s.bad != "" {
			m.note(s.to.seq, s.bad, s.mend)
			s.to.told = true
			continue
		}
		m.settleDir(s)
	}
	for i, s := range all {
		_, begun := turn(s.from.Press)
		switch {
		case s.bad != "" || s.b <= s.a:
		case begun && i < len(all)-1:
			m.whole(w, all, s)
		default:
			m.part(w, all, s, i == len(all)-1)
		}
	}
	m.leftOver(w, all)
}

// settleDir finds the stroke of a stretch without changeovers from the way the rod went, and refuses one in which it went the
// other way or too far.
func (m *maker) settleDir(s *stretch) {
	if len(s.marks) < 2 {
		return
	}
	first, last := s.marks[0], s.marks[len(s.marks)-1]
	moved, u := last.rod.SI-first.rod.SI, m.between(first, last)
	switch sure := math.Abs(moved) > 3*u; {
	case !sure:
	case math.Abs(moved) > m.p.Stroke+3*u:
		s.bad = "the rod went farther than its stroke without a changeover"
		m.note(last.seq, s.bad, "correct the rod readings, or press what was not pressed")
		last.told = true
	case s.dir == 0 && moved > 0:
		s.dir = pump.Up
	case s.dir == 0:
		s.dir = pump.Down
	case moved*float64(s.dir) < 0:
		s.bad = fmt.Sprintf("the ruler says that the rod went the other way on a %sstroke", s.dir)
		m.note(last.seq, s.bad, "see that the ruler grows upward, and correct the stroke or the rod readings")
		last.told = true
	}
}

// between is the standard uncertainty [m] of the difference of two rod readings.
func (m *maker) between(a, b *press) float64 {
	of := func(q *press) float64 {
		if q.rod.HasU {
			return q.rod.U
		}
		return m.bench.Ruler
	}
	return math.Hypot(of(a), of(b))
}

// whole makes the reading of a stroke between two changeovers.
func (m *maker) whole(w *watch, all []*stretch, s *stretch) {
	m.emit(w, all, s, s.a, s.b, reading{Changeover: s.dir.String(), Time: seconds(s.b - s.a)}, s.from, s.to)
	for _, q := range s.marks {
		if q != s.to {
			m.ignore(q, "its rod reading is not counted beside the time of the whole stroke", "")
		}
	}
}

// part makes the reading of a stretch that is no whole stroke; open is the last one, which no changeover ended.
func (m *maker) part(w *watch, all []*stretch, s *stretch, open bool) {
	if s.dir == 0 {
		m.ignore(s.from, "on which stroke the pump stood is not known", "correct the start: choose the stroke")
		return
	}
	var first, last *press
	if len(s.marks) > 1 {
		first, last = s.marks[0], s.marks[len(s.marks)-1]
	}
	marked := first != nil && last.t > first.t
	a := s.a
	if _, begun := turn(s.from.Press); begun {
		a = (s.a + s.b) / 2
	}
	var u float64
	if marked {
		u = m.between(first, last)
		// what the marks leave open of the speed against what a stroke that did not end leaves open
		if open && m.p.Stroke/(s.b-a) < u/(last.t-first.t) {
			marked = false
		}
	}
	switch {
	case marked:
		m.crept(w, all, s, first, last, u)
	case open && ms(s.b-a) == 0: // the half of a millisecond is no time of a reading; leftOver tells of the presses
	case open:
		m.emit(w, all, s, a, s.b, reading{NoChangeover: s.dir.String(), Time: seconds(s.b - a)}, s.from, s.to)
	case m.p.Stroke/(s.b-s.a) > m.p.Drive.FreeSpeed:
		m.ignore(s.from, "the first changeover came so soon after the start that it tells nothing", "")
	default: // it went between nothing and a whole stroke
		travel := metres(m.p.Stroke/2) + " ± " + metres(m.p.Stroke/math.Sqrt(12))
		m.emit(w, all, s, s.a, s.b, reading{Creep: s.dir.String(), Travel: travel, Time: seconds(s.b - s.a)}, s.from, s.to)
	}
}

// crept makes the reading of two rod readings: creep, or still when they are the same within the error of the ruler. What would
// have been seen then is one standard uncertainty of their difference.
func (m *maker) crept(w *watch, all []*stretch, s *stretch, first, last *press, u float64) {
	r := reading{Time: seconds(last.t - first.t)}
	if moved := (last.rod.SI - first.rod.SI) * float64(s.dir); moved > u/math.Sqrt2*(1+1e-9) {
		r.Creep, r.Travel = s.dir.String(), metres(math.Min(moved, m.p.Stroke))+" ± "+metres(u)
	} else {
		r.Still, r.Seen = s.dir.String(), metres(math.Min(math.Max(u, leastSeen), mostSeen))
	}
	m.emit(w, all, s, first.t, last.t, r, first, last)
}

// leastSeen and mostSeen bound what a still reading may say that it would have seen [m].
const (
	leastSeen = 1e-6
	mostSeen  = 0.1
)

// lonely says of a press that its rod reading is the only one of its stretch.
func lonely(all []*stretch, q *press) bool {
	return slices.ContainsFunc(all, func(s *stretch) bool { return len(s.marks) == 1 && s.marks[0] == q })
}

// leftOver tells of the presses of a watch that serve no reading.
func (m *maker) leftOver(w *watch, all []*stretch) {
	for _, q := range w.presses {
		if q.used || q.told {
			continue
		}
		switch _, turned := turn(q.Press); {
		case q.Press == record.PressMark && !q.hasRod && !q.hasP:
			m.ignore(q, "nothing was typed with the mark", "correct it: type the rod reading or the pressure")
		case q.Press == record.PressMark && q.hasRod && lonely(all, q):
			m.ignore(q, "one rod reading alone tells no travel", "mark again when the rod has gone on")
		case q.Press == record.PressMark && q.hasRod:
			m.ignore(q, "the first and the last rod reading of the stroke are counted, not those between", "")
		case q.Press == record.PressMark:
			m.ignore(q, "no reading falls on its time", "")
		case turned:
			m.ignore(q, "one changeover alone gives no time of a stroke", "")
		case q.Press == record.PressEnd:
			m.ignore(q, "nothing can be told from the stretch that it ends", "")
		default:
			m.ignore(q, "its watch gives no reading", "")
		}
	}
}
