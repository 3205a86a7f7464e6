package hold

import "math"

// Lost is a crank pump in what its owner sees: how much pressure it loses in a minute while the motor stands at its stop pressure, and how
// many seconds pass before it starts again. A leak Q drains the line with
//
//	dp/dt = Q/C ,   t = (p_stop − p_restart)·C/Q
//
// with the compliance C of the line at the stop pressure, known to a quarter (one standard deviation), which is not in these intervals.
type Lost struct {
	Limit   float64   `json:"limit_bar_min"`   // at most, for the limit of the stroke time
	Fall    Quantiles `json:"fall_bar_min"`    // by the readings
	Between Quantiles `json:"restart_s"`       // seconds between two starts, by the readings
	Least   float64   `json:"restart_limit_s"` // at least, for the limit
}

// lost turns the times of the strokes into pressure lost and seconds between starts; the quicker stroke counts.
func (b *bench) lost(v *Verdict) *Lost {
	c := b.net.compliance(0, b.p.Drive.Stop)
	perMin := func(flow float64) float64 { return 60 * flow / c / 1e5 }
	band := b.p.Drive.Stop - b.p.Drive.Restart
	up, down := v.Stroke["up"], v.Stroke["down"]
	worst := func(tUp, tDown float64) float64 { return math.Max(b.made[0]/tUp, b.made[1]/tDown) }
	slow, mid, quick := worst(up.Q95, down.Q95), worst(up.Q50, down.Q50), worst(up.Q05, down.Q05)
	return &Lost{
		Limit: perMin(b.limit), Least: band * c / b.limit,
		Fall:    Quantiles{perMin(slow), perMin(mid), perMin(quick)},
		Between: Quantiles{band * c / quick, band * c / mid, band * c / slow},
	}
}
