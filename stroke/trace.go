package stroke

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/pump"
)

// Trace is what happened. Volumes are measured at zero gauge pressure, as a beaker shows them.
type Trace struct {
	T    []float64            // s, times of the samples
	X, V []float64            // m, m/s, rod
	P    map[string][]float64 // Pa by node: "line" (at the pump), "hose 1" … (segments toward the gun), closed chambers
	Lift map[string][]float64 // m by valve

	Changeovers []Changeover
	Strokes     []StrokeTime
	Delivered   float64            // m³ through the tip
	Intake      float64            // m³ net from the suction
	Leaked      map[string]float64 // m³ by path of a fault, from its From to its To
	Lowest      map[string]float64 // Pa by node, lowest pressure; near −1 atmosphere the fluid has parted (cavitation)
	MassError   float64            // |content gained − net flow in| over what moved and what is stored under pressure
	Stats       ode.Stats          // work of the integration; Events counts changes of mode
}

// Changeover is the moment at which a rod reached the end of a stroke and turned.
type Changeover struct {
	T    float64  // s
	Dir  pump.Dir // of the stroke that begins
	Line float64  // Pa
}

// StrokeTime is one stroke, from the changeover before it (or the start) to the one that ends it.
type StrokeTime struct {
	Dir        pump.Dir
	Start, Dur float64 // s
	Travel     float64 // m
	Swept      float64 // m³, creep area × travel: what a tight pump would deliver of an incompressible fluid
	Delivered  float64 // m³ that left by the tip plus what the line stored
	Lost       float64 // m³, Swept − Delivered: leaks, late balls, compression
	Line       float64 // Pa at its end
}

// recorder collects the trace.
type recorder struct {
	tr      Trace
	names   []string
	every   float64
	next    int // index of the next sample
	buf     []float64
	lowest  []float64
	initial float64 // content of everything at the start
	from    mark    // start of the present stroke
	creep   map[pump.Dir]float64
}

// mark is what is noted at the start of a stroke.
type mark struct {
	t, x, stored, tip float64
}

// most samples of one trace.
const mostSamples = 20_000_000

func (r *recorder) begin(s *sim) {
	r.names = append([]string(nil), s.names...)
	for i := 1; i < s.line; i++ {
		r.names[i] = fmt.Sprintf("hose %d", i)
	}
	r.creep = s.s.Pump.Map().Creep
	r.every = s.s.Sample
	r.lowest = make([]float64, len(r.names))
	for i := range r.lowest {
		r.lowest[i] = math.Inf(1)
	}
	r.tr.P, r.tr.Lift = map[string][]float64{}, map[string][]float64{}
	r.initial = s.stored(len(s.content))
	r.from = s.mark()
	if r.every > 0 {
		n := int(s.end/r.every) + 2
		r.tr.T, r.tr.X, r.tr.V = make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
		for _, name := range r.names {
			r.tr.P[name] = make([]float64, 0, n)
		}
		for _, v := range s.s.Pump.Valves {
			r.tr.Lift[v.Name] = make([]float64, 0, n)
		}
	}
}

// checkSamples refuses a trace that would not fit.
func (s *Setup) checkSamples() error {
	if s.Sample > 0 && s.Duration/s.Sample > mostSamples {
		return &num.RangeError{Func: fnSimulate, Name: "Sample", Value: s.Sample, Unit: "s",
			Want: fmt.Sprintf(">= Duration/%d", mostSamples)}
	}
	return nil
}

// stored returns the content of the first n nodes, less a constant.
func (s *sim) stored(n int) float64 {
	var sum float64
	for j := range n {
		sum += s.content[j]
	}
	if n == len(s.content) {
		for j := range n {
			sum += s.k.nodes[j].area * s.x
		}
	}
	return sum
}

func (s *sim) tipTotal() float64 {
	if len(s.slots) > slotTip && s.slots[slotTip].fault < 0 {
		return s.sums[slotTip]
	}
	return 0
}

func (s *sim) mark() mark { return mark{s.t, s.x, s.stored(s.line), s.tipTotal()} }

// record is called for each step of the solver.
func (s *sim) record(st *ode.Step) error {
	r, k := &s.rec, s.k
	for j := range r.lowest {
		r.lowest[j] = min(r.lowest[j], k.p[j])
	}
	if r.every == 0 {
		return nil
	}
	for {
		t := float64(r.next) * r.every
		if t > st.T1 {
			return nil
		}
		r.buf = append(r.buf[:0], st.Y...)
		if err := st.Interp(max(t, st.T0), r.buf); err != nil {
			return err
		}
		s.sample(t)
		r.next++
	}
}

// sample adds the state in buf to the trace.
func (s *sim) sample(t float64) {
	r, k := &s.rec, s.k
	x, v := k.position(t, r.buf)
	k.pressures(r.buf, x)
	r.tr.T, r.tr.X, r.tr.V = append(r.tr.T, t), append(r.tr.X, x), append(r.tr.V, v)
	for j, name := range r.names {
		r.tr.P[name] = append(r.tr.P[name], k.p[j])
	}
	for i, v := range s.s.Pump.Valves {
		z := 0.0
		switch b := &k.balls[i]; b.mode {
		case free:
			z = r.buf[b.at]
		case stopped, stuck:
			z = b.lift
		}
		r.tr.Lift[v.Name] = append(r.tr.Lift[v.Name], z)
	}
}

// endStroke notes a stroke that has come to its end.
func (r *recorder) endStroke(s *sim) {
	s.k.pressures(s.content, s.x)
	dir, now := s.drive.dir, s.mark()
	st := StrokeTime{Dir: dir, Start: r.from.t, Dur: now.t - r.from.t, Travel: math.Abs(now.x - r.from.x), Line: s.k.p[0]}
	st.Swept = r.creep[dir] * st.Travel
	st.Delivered = now.tip - r.from.tip + now.stored - r.from.stored
	st.Lost = st.Swept - st.Delivered
	r.tr.Strokes = append(r.tr.Strokes, st)
	r.tr.Changeovers = append(r.tr.Changeovers, Changeover{T: now.t, Dir: -dir, Line: s.k.p[0]})
	r.from = now
}

// add adds the work of one run of the solver.
func (r *recorder) add(st ode.Stats) {
	t := &r.tr.Stats
	t.T = st.T
	t.Steps += st.Steps
	t.Rejected += st.Rejected
	t.Derivs += st.Derivs
	t.Jacs += st.Jacs
	t.LUs += st.LUs
	t.Events++
}

// finish sums up.
func (r *recorder) finish(s *sim) *Trace {
	t := &r.tr
	t.Intake, t.Delivered = s.sums[slotIntake], s.tipTotal()
	t.Leaked, t.Lowest = map[string]float64{}, map[string]float64{}
	net, moved := t.Intake, math.Abs(t.Intake)
	for i, sl := range s.slots {
		moved += math.Abs(s.sums[i])
		if sl.outside {
			net -= s.sums[i]
		}
		if sl.fault >= 0 {
			t.Leaked[s.s.Faults[sl.fault].Path] += s.sums[i]
		}
	}
	for j, name := range r.names {
		t.Lowest[name] = r.lowest[j]
	}
	gained := s.stored(len(s.content)) - r.initial
	t.MassError = math.Abs(gained - net)
	for _, n := range s.content {
		moved += math.Abs(n)
	}
	if moved > 0 {
		t.MassError /= moved
	}
	return t
}
