package pump

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/unit"
)

// looseTolerance is the share of the torque that is allowed when the sheet gives no tolerance (common practice).
const looseTolerance = 0.1

// readings checks the torques and the soaks that were recorded. Of a step that was done again the last reading counts.
func (a *audit) readings() {
	for n, d := range a.b.Done {
		i, ok := a.pl.index[d.Step]
		if !ok || a.last[i] != n {
			continue
		}
		switch s := a.pl.steps[i]; s.Kind {
		case StepTorque:
			if j, ok := a.p.Joint(s.Joint); ok {
				a.torque(s, j, d)
			}
		case StepSoak:
			if q, _ := a.p.Part(s.Part); d.Soaked < q.Soak {
				a.add(a.soak(s, d.Soaked))
			}
		}
	}
}

// AtJoint returns the torque [N·m] that reached the joint: what the wrench showed, through the adapter.
func (d Done) AtJoint() (float64, error) {
	if d.Adapter == 0 {
		return d.Torque, nil
	}
	return bolt.TorqueThrough(d.Torque, d.Wrench, d.Adapter, d.Angle)
}

func (j Joint) tolerance() float64 {
	if j.Tol > 0 {
		return j.Tol
	}
	return looseTolerance * j.Torque
}

// Within says whether a torque at the joint [N·m] is within the tolerance of the sheet, or within a tenth of the torque when the sheet gives
// none (common practice, no published source).
func (j Joint) Within(at float64) bool { return math.Abs(at-j.Torque) <= j.tolerance()*(1+1e-9) }

// Band returns the least and the most torque at the joint [N·m] that Within allows.
func (j Joint) Band() (least, most float64) {
	return j.Torque - j.tolerance(), j.Torque + j.tolerance()
}

func (a *audit) torque(s Step, j Joint, d Done) {
	dep := Departure{Step: s.ID, Joint: j.Name, Want: "{torque} ± {tolerance} at the joint", Why: s.Why,
		Quantities: map[string]Quantity{"torque": {SI: j.Torque, Dim: unit.Torque}, "tolerance": {SI: j.tolerance(), Dim: unit.Torque}, "read": {SI: d.Torque, Dim: unit.Torque}}}
	if d.Torque == 0 {
		dep.Kind, dep.Found = TorqueNotRecorded, "no torque in the record"
		dep.NoFigure = "without the reading the clamp is not known"
		a.add(dep)
		return
	}
	at, err := d.AtJoint()
	if err != nil {
		dep.Kind, dep.Found, dep.NoFigure = TorqueNotRecorded, "a reading that cannot be right", noFigure(err)
		a.add(dep)
		return
	}
	a.unsound(s, j, at)
	if !j.Within(at) {
		dep.Kind, dep.Found = TorqueOff, "{read} on the wrench"
		if math.Abs(at-d.Torque) > 1e-3*at {
			dep.Found = "{read} on the wrench, which is {at} at the joint"
			dep.Quantities["at"] = Quantity{SI: at, Dim: unit.Torque}
		}
		dep.Figures, dep.NoFigure = a.torqueFigures(j, at, d.Tool)
		a.add(dep)
		return
	}
	if j.Adapter > 0 && !d.Turned {
		a.add(a.unclear(dep, j, d))
	}
}

// unsound names what a joint, or a packing set that it keeps in place, does not stand at the torque that it got.
func (a *audit) unsound(s Step, j Joint, at float64) {
	for _, d := range a.p.JointDoubts(j, at, a.c) {
		a.add(Departure{Kind: JointUnsound, Step: s.ID, Joint: j.Name, Stack: d.Stack, Found: d.Found, Want: d.Want, Quantities: d.Quantities, Figures: d.Figures,
			Why: "What yields, crushes or gapes fails under pressure, whatever the wrench showed."})
	}
}

// unclear is the departure of a reading whose spanner may have added to it. With the length of the wrench the worst case has a
// number.
func (a *audit) unclear(dep Departure, j Joint, d Done) Departure {
	dep.Kind = SpannerUnclear
	dep.Found = "{read} on the wrench, and no word on how the spanner sat on it"
	dep.Want = "the spanner square to the wrench, or its angle and both lengths in the record"
	dep.Why = "A spanner in line with the wrench adds its length to the lever: the joint gets more than the wrench shows."
	if d.Wrench == 0 {
		dep.NoFigure = "the length of the wrench is not recorded"
		return dep
	}
	inLine, err := bolt.TorqueThrough(d.Torque, d.Wrench, j.Adapter, 0)
	if err != nil {
		dep.NoFigure = noFigure(err)
		return dep
	}
	dep.Figures = []Figure{{What: "torque at the joint if the spanner was in line", SI: inLine, Dim: unit.Torque}}
	return dep
}

// torqueFigures returns the clamp that a torque brings beside the one of the sheet, and what follows from it.
func (a *audit) torqueFigures(j Joint, at float64, tool string) ([]Figure, string) {
	is, err := j.clamp(at)
	if err != nil {
		return nil, noFigure(err)
	}
	should, err := j.clamp(j.Torque)
	if err != nil {
		return nil, noFigure(err)
	}
	out := []Figure{
		{What: "clamp as built", SI: is, Dim: unit.Force, Assumes: assumesFriction},
		{What: "clamp that the sheet asks for", SI: should, Dim: unit.Force, Assumes: assumesFriction},
		{What: "clamp gained", SI: is - should, Dim: unit.Force, Assumes: assumesFriction},
	}
	if is < should {
		out[2].What, out[2].SI = "clamp lost", should-is
	}
	if band, ok := j.band(at, tool); ok {
		out = append(out, Figure{What: "clamp that 5 % of such joints stay below", SI: band.Q05, Dim: unit.Force, Assumes: "friction spread evenly over class " + j.Friction},
			Figure{What: "clamp that 5 % of such joints exceed", SI: band.Q95, Dim: unit.Force, Assumes: "friction spread evenly over class " + j.Friction})
	}
	yield, err := j.yield(is)
	if err != nil {
		return nil, noFigure(err)
	}
	out = append(out, yield...)
	out = append(out, a.p.separation(j, is)...)
	if st, ok := a.p.Stack(j.Through); ok {
		more, no := a.p.stackFigures(st, st, at, a.c)
		return append(out, more...), no
	}
	return out, ""
}

// band returns the scatter of the clamp for the tool, the better class of ISO 6789-1 when none is recorded.
func (j Joint) band(torque float64, tool string) (bolt.Distribution, bool) {
	c, err := j.contact()
	if err != nil {
		return bolt.Distribution{}, false
	}
	f, err := bolt.Friction(j.Friction)
	if err != nil {
		return bolt.Distribution{}, false
	}
	if tool == "" {
		tool = "II A"
	}
	t, err := bolt.NewTool(tool)
	if err != nil {
		return bolt.Distribution{}, false
	}
	dev, err := t.Deviation(torque)
	if err != nil {
		return bolt.Distribution{}, false
	}
	d, err := bolt.Scatter{Thread: c.Thread, Bearing: c.Bearing, Torque: torque, Tool: dev, MuThread: f.Mu, MuBearing: f.Mu, Shared: true}.Clamp()
	return d, err == nil
}

// yield compares a clamp with the one at which the thread yields, when the sheet gives the proof strength.
func (j Joint) yield(clamp float64) ([]Figure, error) {
	if j.Yield == 0 {
		return nil, nil
	}
	c, err := j.contact()
	if err != nil {
		return nil, err
	}
	most, err := bolt.YieldPreload(c.Thread, 0, j.Yield, c.MuThread, 0.9)
	if err != nil {
		return nil, err
	}
	return []Figure{{What: "share of the clamp at 90 % of the proof strength, solid bolt", SI: clamp / most, Dim: unit.Ratio, Assumes: assumesFriction}}, nil
}

// separation compares the clamp of a joint with the force of the rated pressure on the static seals that it holds down. The
// clamp left is that of a joint far stiffer than its bolt (load factor 0): the cautious end.
func (p *Pump) separation(j Joint, clamp float64) []Figure {
	var out []Figure
	for _, h := range j.Holds {
		q, _ := p.Part(h)
		for _, path := range q.Serves {
			s, ok := p.Seal(path)
			if q.Kind != KindStaticSeal || !ok || s.Kind != Static {
				continue
			}
			push, err := bolt.SeparatingForce(p.Limits.Rated, s.Size)
			if err != nil {
				continue // a static seal of a pump put together by hand without its size
			}
			left, err := bolt.ResidualClamp(clamp, push, 0)
			if err != nil {
				continue
			}
			out = append(out, Figure{What: fmt.Sprintf("force of the rated pressure on the %s", path), SI: push, Dim: unit.Force},
				Figure{What: "clamp left at rated pressure", SI: left, Dim: unit.Force, Assumes: "load factor 0, the cautious end; " + assumesFriction})
		}
	}
	return out
}

func (a *audit) soak(s Step, soaked float64) Departure {
	q, _ := a.p.Part(s.Part)
	d := Departure{Kind: SoakShort, Step: s.ID, Part: s.Part, Found: "{soaked}", Want: "at least {soak}", Why: s.Why,
		Quantities: map[string]Quantity{"soaked": {SI: soaked, Dim: unit.Time}, "soak": {SI: q.Soak, Dim: unit.Time}},
		Figures:    []Figure{{What: "share of the soak that is missing", SI: 1 - soaked/q.Soak, Dim: unit.Ratio}},
		NoFigure:   "what a shorter soak costs in leak or drag: no published value was found"}
	if soaked == 0 {
		d.Kind, d.Found = SoakNotRecorded, "no soak in the record"
	}
	return d
}
