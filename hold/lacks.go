package hold

import "math"

// lacks names what a reading needs and has not, or "". A reading made by a program may lack anything; those of a sheet have it all.
func lacks(r Reading) string {
	switch r.Kind {
	case Creep, Changeover, Still, NoChangeover:
		return first(need("stroke", r.Stroke != 0), need("pressure", positive(r.Pressure)), need("time", positive(r.Time)),
			need("travel", r.Kind == Changeover || r.Kind == NoChangeover || r.Travel > 0 || r.Kind == Creep && r.Travel == 0))
	case Locked:
		return pointsLack(r.Points)
	case Restart:
		return need("time", positive(r.Time))
	case Run:
		caught := r.Volume >= 0 && positive(r.Time)
		timed := positive(r.UpTime) && positive(r.DownTime)
		return first(need("count of cycles", r.Count > 0), need("pressure", positive(r.Pressure)), need("volume and time, or stroke times", caught || timed))
	case Drips:
		return first(need("pressure", positive(r.Pressure)), need("time", positive(r.Time)), need("size of a drop", positive(r.Drop)))
	case Caught:
		return first(need("pressure", positive(r.Pressure)), need("time", positive(r.Time)), need("volume", r.Volume >= 0))
	case Sign:
		return need("sign", r.Sign != "")
	}
	return "kind"
}

// pointsLack wants two pressures or more, the first above 0, at times that grow.
func pointsLack(points []Point) string {
	if len(points) < 2 || !positive(points[0].Pressure) {
		return "pressures"
	}
	for i, p := range points {
		if !(p.Pressure >= 0) || math.IsInf(p.Pressure, 0) || i > 0 && !(p.Time > points[i-1].Time) || math.IsInf(p.Time, 0) {
			return "pressures"
		}
	}
	return ""
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 0) }

func need(what string, there bool) string {
	if there {
		return ""
	}
	return what
}

func first(words ...string) string {
	for _, w := range words {
		if w != "" {
			return w
		}
	}
	return ""
}
