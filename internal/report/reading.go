package report

import (
	"math"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// reading says in words what was read.
func (w Words) reading(r hold.Reading, p *pump.Pump, sys unit.System) string {
	s := w.readingWords(r, p, sys)
	if r.Stroke != 0 && r.Kind != hold.Locked && r.Kind != hold.Run && r.Kind != hold.Restart && r.Kind != hold.Sign {
		s = w.t("reading.on", "stroke", w.stroke(r.Stroke.String()), "what", s)
	}
	if r.Kind != hold.Locked && finite(r.Pressure) && r.Pressure > 0 {
		s = w.t("reading.at", "what", s, "pressure", sys.Show(r.Pressure, unit.Pressure))
	}
	if finite(r.Warmth) && r.Warmth > 0 {
		s = w.t("reading.warmth", "what", s, "temperature", sys.Show(r.Warmth, unit.Temperature))
	}
	if r.Derived != "" {
		s = w.t("reading.log", "what", s, "log", r.Derived)
	}
	return s
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func (w Words) readingWords(r hold.Reading, p *pump.Pump, sys unit.System) string {
	time := sys.ShowU(r.Time, r.UTime, unit.Time)
	switch r.Kind {
	case hold.Creep:
		return w.t("reading.creep", "travel", sys.ShowU(r.Travel, r.UTravel, unit.Length), "time", time)
	case hold.Changeover:
		return w.t("reading.changeover", "travel", sys.Show(p.Stroke, unit.Length), "time", time)
	case hold.Still:
		return w.t("reading.still", "time", time)
	case hold.NoChangeover:
		return w.t("reading.noChangeover", "time", time)
	case hold.Restart:
		return w.t("reading.restart", "time", time)
	case hold.Locked:
		return w.locked(r, sys)
	case hold.Drips:
		return w.t("reading.drips", "path", r.Path, "count", strconv.Itoa(r.Count), "time", time)
	case hold.Caught:
		return w.t("reading.caught", "path", r.Path, "volume", sys.ShowU(r.Volume, r.UVolume, unit.Volume), "time", time)
	case hold.Run:
		return w.run(r, sys)
	case hold.Sign:
		return w.t("reading.sign", "sign", r.Sign)
	}
	return string(r.Kind)
}

// locked says what the pressure did with the rod locked.
func (w Words) locked(r hold.Reading, sys unit.System) string {
	parts := make([]string, len(r.Points))
	for i, q := range r.Points {
		parts[i] = w.t("reading.point", "pressure", sys.Show(q.Pressure, unit.Pressure), "time", sys.Show(q.Time, unit.Time))
	}
	points := strings.Join(parts, ", ")
	s := w.t("reading.locked", "points", points)
	if r.Stroke != 0 {
		s = w.t("reading.lockedAfter", "stroke", w.stroke(r.Stroke.String()), "points", points)
	}
	if r.Vented {
		s = w.t("reading.vented", "what", s)
	}
	return s
}

// run says what a run gave.
func (w Words) run(r hold.Reading, sys unit.System) string {
	s := w.t("reading.run", "count", strconv.Itoa(r.Count))
	if finite(r.Time) && r.Time > 0 {
		s = w.t("reading.runIn", "what", s, "time", sys.ShowU(r.Time, r.UTime, unit.Time))
	}
	if finite(r.Volume) {
		s = w.t("reading.runCaught", "what", s, "volume", sys.ShowU(r.Volume, r.UVolume, unit.Volume))
	}
	if finite(r.UpTime) && finite(r.DownTime) && r.UpTime > 0 && r.DownTime > 0 {
		s = w.t("reading.runStrokes", "what", s, "up", sys.Show(r.UpTime, unit.Time), "down", sys.Show(r.DownTime, unit.Time))
	}
	return s
}
