package ode

// At returns a function for Solver.Run that calls f with the state at each of
// the given times, which must be in ascending order. At the time of an event
// that is the state before the event is handled. The slice is reused. The
// returned function serves one run; it ends the run with a *num.RangeError
// if the first time lies before the start.
func At(times []float64, f func(t float64, y []float64) error) func(*Step) error {
	var y []float64
	return func(p *Step) error {
		if len(y) != len(p.Y) {
			y = make([]float64, len(p.Y))
		}
		for len(times) > 0 && times[0] <= p.T1 {
			t := times[0]
			if t == p.T1 {
				copy(y, p.Y)
			} else if err := p.Interp(t, y); err != nil {
				return err
			}
			times = times[1:]
			if err := f(t, y); err != nil {
				return err
			}
		}
		return nil
	}
}
