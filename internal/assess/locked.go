package assess

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/internal/record"
)

// maxPoints is how many pressures a locked reading may have.
const maxPoints = 40

// locked makes the reading of a watch whose rod stands still: the pressures that were typed, from the first on.
func (m *maker) locked(w *watch) {
	var pts []*press
	for _, q := range w.presses {
		switch {
		case q.Press == record.PressTop || q.Press == record.PressBottom:
			m.ignore(q, "a rod that stands still does not change over", "strike it, or correct the start: the rod was not locked")
		case !q.hasP:
		case len(pts) > 0 && q.t <= pts[len(pts)-1].t:
			m.ignore(q, "another pressure was typed for the same moment", "")
		case len(pts) == 0 && q.pressure.SI <= 0:
			m.ignore(q, "a hold cannot start at no pressure", "correct the pressure")
		default:
			pts = append(pts, q)
		}
	}
	switch {
	case len(pts) >= 2:
		m.curve(w, pts)
	case w.running:
		m.ignore(w.start(), "a second pressure is still to be read", "")
	default:
		m.ignore(w.start(), fmt.Sprintf("%d pressures were typed; a locked hold needs two", len(pts)), "type the pressure at the start and once more later")
	}
	for _, q := range w.presses {
		if q.used || q.told || q == w.start() {
			continue
		}
		if q.Press == record.PressMark && !q.hasP {
			m.ignore(q, "no pressure was typed with the mark", "correct it: type the pressure")
		} else {
			m.ignore(q, "no pressure was typed with it", "")
		}
	}
}

func (m *maker) curve(w *watch, pts []*press) {
	stroke := w.start().Stroke
	if stroke == "" {
		stroke = "unknown"
	}
	r := reading{Locked: stroke}
	all := pts
	if len(pts) > maxPoints {
		pts = thinned(pts)
	}
	for _, q := range pts {
		r.Pressures = append(r.Pressures, point{At: seconds(q.t - pts[0].t), Pressure: q.Pressed.Pressure})
	}
	m.add(w, r, pts[0], pts[len(pts)-1], append([]*press{w.start()}, pts...))
	for _, q := range all {
		if !q.used {
			m.ignore(q, fmt.Sprintf("a locked reading holds %d pressures, spread evenly over those typed", maxPoints), "")
		}
	}
}

// thinned keeps maxPoints of the points, the first and the last with them.
func thinned(pts []*press) []*press {
	out := make([]*press, 0, maxPoints)
	for k := range maxPoints {
		out = append(out, pts[int(math.Round(float64(k)*float64(len(pts)-1)/(maxPoints-1)))])
	}
	return out
}
