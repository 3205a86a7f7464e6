package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// press is one press of a key with what was typed at it.
type press struct {
	*record.Pressed
	seq      int64
	order    int64   // of the first form
	t        float64 // s since the start of its watch
	pressure unit.Value
	hasP     bool
	rod      unit.Value
	hasRod   bool
	used     bool
	told     bool // it stands in Ignored
}

// watch is the presses of one stopwatch from its start to its end, in the order of time.
type watch struct {
	n       int // 1 for the first of the hold
	presses []*press
	end     float64 // s, up to which it is known to have run
	running bool
}

func (w *watch) start() *press { return w.presses[0] }

// stalled says that the rod was free to creep.
func (w *watch) stalled(p *pump.Pump) bool {
	return !w.start().Locked && p.Drive.Kind == pump.ForceHeld
}

// watchKey names a watch: devices number theirs by themselves.
type watchKey struct {
	device int64
	name   string
}

// watches sorts the presses of a hold into watches.
func (m *maker) watches(j *record.Job, h record.HoldStage, running *Running) []*watch {
	var keys []watchKey
	group := map[watchKey][]*press{}
	for _, l := range j.Presses {
		if l.Body.Hold != h || l.First.Seq < j.From(h) {
			continue
		}
		k := watchKey{l.First.Device, l.Body.Watch}
		if _, known := group[k]; !known {
			keys = append(keys, k)
		}
		group[k] = append(group[k], &press{Pressed: l.Body, seq: l.Entry.Seq, order: l.First.Seq})
	}
	var out []*watch
	for i, k := range keys {
		if w := m.watch(i+1, group[k]); w != nil {
			if running != nil && running.Watch == k.name && (running.Device == 0 || running.Device == k.device) {
				m.goOn(w, running)
			}
			out = append(out, w)
		}
	}
	return out
}

// watch puts the presses of one watch in order and reads what was typed; nil when it has no start.
func (m *maker) watch(n int, ps []*press) *watch {
	slices.SortStableFunc(ps, func(a, b *press) int {
		switch {
		case a.Elapsed != b.Elapsed:
			return int(a.Elapsed - b.Elapsed) // at most a day in ms
		case (a.Press == record.PressStart) != (b.Press == record.PressStart):
			if a.Press == record.PressStart {
				return -1
			}
			return 1
		}
		return int(a.order - b.order)
	})
	m.all = append(m.all, ps...)
	begin := slices.IndexFunc(ps, func(q *press) bool { return q.Press == record.PressStart })
	if begin < 0 {
		for _, q := range ps {
			m.ignore(q, "its watch has no start", "start a new watch, or correct the press that was the start")
		}
		return nil
	}
	w := &watch{n: n}
	ended := false
	for i, q := range ps {
		switch {
		case i < begin:
			m.ignore(q, "it lies before the start of its watch", "correct its time or the start")
		case i > begin && q.Press == record.PressStart:
			m.ignore(q, "a second start of the same watch", "strike the start that is wrong")
		case ended:
			m.ignore(q, "it lies after the end of its watch", "strike the end that is wrong")
		default:
			q.t = float64(q.Elapsed-ps[begin].Elapsed) / 1000
			m.typed(q)
			w.presses = append(w.presses, q)
			ended = q.Press == record.PressEnd
		}
	}
	last := w.presses[len(w.presses)-1]
	w.end = last.t
	return w
}

// goOn lets a watch without an end run up to now, in whole milliseconds like its presses: less than one is no time that a reading can have.
func (m *maker) goOn(w *watch, r *Running) {
	if last := w.presses[len(w.presses)-1]; last.Press == record.PressEnd {
		return
	}
	w.running = true
	w.end = math.Min(math.Max(w.end, float64(r.Elapsed.Milliseconds()-w.start().Elapsed)/1000), longest)
}

// longest is the longest time of a reading [s].
const longest = 86400

// mostPressure and mostRod bound what can be typed [Pa, m]: the first is that of a hold sheet.
const (
	mostPressure = 2e8
	mostRod      = 10
)

// typed reads the quantities typed with a press. What cannot be read is Broken.
func (m *maker) typed(q *press) {
	var err error
	if q.pressure, q.hasP, err = quantity("pressure", q.Pressed.Pressure, unit.Pressure, 0, mostPressure); err != nil {
		m.broken(q.seq, err)
	}
	if q.rod, q.hasRod, err = quantity("rod", q.Pressed.Rod, unit.Length, -mostRod, mostRod); err != nil {
		m.broken(q.seq, err)
	}
}

// quantity reads a typed quantity between two bounds, both allowed; ok is false when nothing was typed or it cannot be read.
func quantity(where, text string, d unit.Dim, lo, hi float64) (v unit.Value, ok bool, err error) {
	if strings.TrimSpace(text) == "" {
		return unit.Value{}, false, nil
	}
	v, perr := unit.Parse(text, d)
	if perr != nil {
		f := &record.Fault{Code: record.Invalid, Where: where, Found: fmt.Sprintf("%.60q", text), Want: "a " + d.String() + " with its unit", Err: perr}
		if ue, isUnit := perr.(*unit.Error); isUnit {
			f.Found, f.Want, f.Mend = ue.Found, strings.TrimSuffix(ue.Want, " is needed"), ue.Fix
		}
		return v, false, f
	}
	if !(v.SI >= lo && v.SI <= hi) {
		m := unit.Metric()
		return v, false, record.Faultf(record.Invalid, where, fmt.Sprintf("%.60q", text), fmt.Sprintf("a %s from %s to %s", d, m.Show(lo, d), m.Show(hi, d)), "type it again")
	}
	return v, true, nil
}
