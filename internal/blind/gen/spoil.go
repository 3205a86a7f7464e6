package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// spoil makes a reading wrong, by more than a fifth: a misread digit, a factor, a clock left running, the wrong stroke timed.
func (t *technician) spoil(it item, rd *Reading) {
	before := *rd
	before.Points = append([][2]float64(nil), rd.Points...)
	for range 20 {
		*rd = before
		rd.Points = append([][2]float64(nil), before.Points...)
		t.spoilOnce(it, rd)
		if t.matters(&before, rd) {
			rd.Wrong = true
			return
		}
	}
	*rd = before // nothing in it can go wrong by much
}

func (t *technician) spoilOnce(it item, rd *Reading) {
	switch rd.Kind {
	case "creep", "changeover":
		if t.rng.Float64() < 0.25 {
			t.otherStroke(it, rd)
			return
		}
		if rd.Measured {
			rd.Travel = math.Min(t.s.r.p.Stroke, math.Max(t.s.ruler, round(t.amiss(rd.Travel), t.s.ruler)))
			return
		}
		rd.Time = math.Max(t.s.round, round(t.amiss(rd.Time), t.s.round))
	case "still", "no_changeover":
		rd.Time = math.Max(1, round(rd.Time*between(t.rng, 2, 10), 1))
	case "drips":
		rd.Count = int(math.Round(t.amiss(math.Max(1, float64(rd.Count)))))
	case "caught":
		rd.Volume = math.Max(jugStep(rd.Volume), round(t.amiss(rd.Volume), jugStep(rd.Volume)))
	case "restart":
		rd.Time = math.Max(t.s.round, round(t.amiss(rd.Time), t.s.round))
	case "run":
		t.spoilRun(rd)
	case "locked":
		t.spoilLocked(rd)
	}
}

// amiss is a number got wrong: one digit misread, a factor of 2 to 10, or a clock left running.
func (t *technician) amiss(x float64) float64 {
	switch u := t.rng.Float64(); {
	case u < 0.4:
		return t.digit(x)
	case u < 0.7:
		f := between(t.rng, math.Log(2), math.Log(10))
		if t.rng.Float64() < 0.5 {
			f = -f
		}
		return x * math.Exp(f)
	default:
		return x * between(t.rng, 1.3, 3)
	}
}

// digit changes the first or the second digit.
func (t *technician) digit(x float64) float64 {
	if x <= 0 {
		return x
	}
	unit := math.Pow(10, math.Floor(math.Log10(x)))
	if t.rng.Float64() < 0.4 {
		unit /= 10
	}
	old := math.Mod(math.Floor(x/unit), 10)
	return x + (float64(t.rng.IntN(10))-old)*unit
}

// otherStroke takes the reading on the other stroke and writes it down for this one.
func (t *technician) otherStroke(it item, rd *Reading) {
	other := it
	other.stroke = -rd.Stroke
	var got Reading
	if rd.Kind == "changeover" {
		got = t.changeover(other, other.stroke)
	} else {
		other.kind = doCreep
		if it.kind == doStill {
			other.kind = doStill
		} else if it.kind != doCreep {
			return
		}
		got = t.creep(other)
	}
	if got.Kind != rd.Kind || got.Measured != rd.Measured {
		return
	}
	got.Stroke = rd.Stroke
	*rd = got
}

func (t *technician) spoilRun(rd *Reading) {
	if rd.Volume > 0 {
		most := 1.04 * float64(rd.Count) * t.s.r.p.Stroke * (t.s.r.area[pump.Up] + t.s.r.area[pump.Down])
		if v := round(t.amiss(rd.Volume), jugStep(rd.Volume)); v > 0 && v < most {
			rd.Volume = v
		}
		return
	}
	if t.rng.Float64() < 0.5 {
		rd.Up = math.Max(0.5, round(t.amiss(rd.Up), 0.1))
	} else {
		rd.Down = math.Max(0.5, round(t.amiss(rd.Down), 0.1))
	}
}

// spoilLocked misreads one gauge reading after the first by a digit, or times all of them by a clock that ran wrong.
func (t *technician) spoilLocked(rd *Reading) {
	if t.rng.Float64() < 0.3 {
		f := between(t.rng, 1.5, 4)
		for i := range rd.Points {
			rd.Points[i][0] = round(rd.Points[i][0]*f, 1)
		}
		return
	}
	i := 1 + t.rng.IntN(len(rd.Points)-1)
	per := t.s.Gauge.per()
	rd.Points[i][1] = clamp(round(t.digit(rd.Points[i][1]/per)*per, t.s.Gauge.Resolution), 0, 1.1*rd.Points[0][1])
}

// matters says whether the two differ by more than a fifth (a pressure: by more than a twentieth of the first one).
func (t *technician) matters(a, b *Reading) bool {
	far := func(x, y float64) bool { return x > 0 && y > 0 && math.Abs(math.Log(x/y)) > 0.2 }
	for i := range b.Points {
		if math.Abs(a.Points[i][1]-b.Points[i][1]) > 0.05*a.Points[0][1] {
			return true
		}
	}
	if n := len(b.Points); n > 0 {
		fell := a.Points[n-1][1] < 0.9*a.Points[0][1] // else it does not matter how long
		return fell && far(a.Points[n-1][0], b.Points[n-1][0])
	}
	if a.Kind == "drips" {
		return math.Abs(float64(a.Count-b.Count)) > 2+0.2*float64(a.Count)
	}
	return far(a.Time, b.Time) || far(a.Travel, b.Travel) || far(a.Volume, b.Volume) || far(a.Up, b.Up) || far(a.Down, b.Down)
}
