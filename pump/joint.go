package pump

import (
	"math"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/unit"
)

// looseWrench is the wrench of a check that knows of none: a setting tool of the better class.
const looseWrench = "II A"

// Bolt returns a joint as package bolt takes it, for a setting wrench of ISO 6789-1 that reads freely and needs no correction, without
// pressure on it.
func (j Joint) Bolt() (bolt.Joint, error) {
	t, err := bolt.ParseThread(j.Thread)
	if err != nil {
		return bolt.Joint{}, err
	}
	f, err := bolt.Friction(j.Friction)
	if err != nil {
		return bolt.Joint{}, err
	}
	tool, err := bolt.NewTool(looseWrench)
	return bolt.Joint{Thread: t, Proof: j.Yield, BearingInner: j.Bearing[0], BearingOuter: j.Bearing[1], MuThread: f.Mu, MuBearing: f.Mu, Shared: true,
		Torque: j.Torque, Tolerance: j.Tol, Tool: tool}, err
}

// Bolt is Joint.Bolt with the rated pressure on what the joint holds down, see Pressed.
func (p *Pump) Bolt(j Joint) (bolt.Joint, error) {
	b, err := j.Bolt()
	if area, _ := p.Pressed(j); area > 0 {
		b.Pressure, b.SealDiameter = p.Limits.Rated, math.Sqrt(4/math.Pi*area)
	}
	return b, err
}

// Pressed returns the area [m²] on which the pressure pulls at a joint, and whether the joint has to stay shut against it: that within
// the static seals that it holds down, which it must, and the section of the packing set that the pressure pushes against its nut.
func (p *Pump) Pressed(j Joint) (area float64, shut bool) {
	for _, h := range j.Holds {
		q, _ := p.Part(h)
		for _, path := range q.Serves {
			if s, ok := p.Seal(path); ok && q.Kind == KindStaticSeal && s.Kind == Static {
				area, shut = area+math.Pi/4*s.Size*s.Size, true
			}
		}
	}
	if st, ok := p.Stack(j.Through); ok {
		f, known := p.FacingOf(p.Map(), st)
		if known && (f.Lips == "down") == (st.FilledFrom == Top) {
			area += math.Pi / 4 * (st.Outer - st.Inner) * (st.Outer + st.Inner)
		}
	}
	return area, shut
}

// JointDoubts says what a joint would not stand at a torque [N·m] (0 is that of the sheet with its tolerance), and the packing sets that
// it keeps in place: yield of the thread while it is tightened and under the rated pressure, a seal that opens, rings that are
// crushed or do not seal. Clamps are those that 5 % of such joints exceed, or stay below, whichever is the worse. The thread is judged
// when the sheet gives its proof strength.
func (p *Pump) JointDoubts(j Joint, torque float64, c Conditions) []Doubt {
	var out []Doubt
	b, err := p.Bolt(j)
	if err == nil {
		if torque > 0 {
			b.Torque, b.Tolerance = torque, 0
		}
		out = p.threadDoubts(j, b)
	}
	for _, st := range p.Stacks {
		if !j.holds(st.Name) {
			continue
		}
		for _, d := range p.StackDoubts(st, torque, c) {
			d.Joint = j.Name
			out = append(out, d)
		}
	}
	return out
}

func (p *Pump) threadDoubts(j Joint, b bolt.Joint) []Doubt {
	a, err := b.Analyse()
	if err != nil {
		return nil // the torque is beyond what can be computed: the sheet has been refused for it
	}
	_, shut := p.Pressed(j)
	assumes := "friction spread evenly over class " + j.Friction
	d := Doubt{Joint: j.Name, Quantities: map[string]Quantity{"torque": {SI: b.Torque, Dim: unit.Torque}, "rated": {SI: b.Pressure, Dim: unit.Pressure}}}
	switch {
	case weak(b, a, shut):
		d.Kind, d.Found = DoubtWeak, "a thread "+j.Thread+" that yields under the rated pressure of {rated} at any torque that keeps the joint shut"
		d.Figures = []Figure{{What: "share of the proof strength of the thread at rated pressure", SI: a.Loaded, Dim: unit.Ratio, Assumes: assumes}}
		d.Want, d.Fix = "a thread that stands the pressure", "look at thread, proof_strength and the size of the seal"
	case a.Utilisation > 1:
		d.Kind, d.Found = DoubtOverload, "{torque} on a thread "+j.Thread+", which takes it to {use} of its proof strength while it is tightened"
		d.Quantities["use"] = rough(a.Utilisation, unit.Ratio)
		d.Figures = []Figure{{What: "share of the proof strength of the thread while it is tightened", SI: a.Utilisation, Dim: unit.Ratio, Assumes: assumes}}
	case a.Loaded > 1:
		d.Kind, d.Found = DoubtYield, "{torque} on a thread "+j.Thread+", which the rated pressure of {rated} then takes to {use} of its proof strength"
		d.Quantities["use"] = rough(a.Loaded, unit.Ratio)
		d.Figures = []Figure{{What: "share of the proof strength of the thread at rated pressure", SI: a.Loaded, Dim: unit.Ratio, Assumes: assumes}}
	case shut && !a.Pressed.Holds:
		d.Kind, d.Found = DoubtGape, "{torque}, which may bring no more than {clamp} of clamp, and a push of {push} on the seal at the rated {rated}"
		d.Quantities["clamp"], d.Quantities["push"] = rough(a.Clamp.Q05, unit.Force), rough(a.Pressed.Separating, unit.Force)
		d.Figures = []Figure{{What: "clamp that 5 % of such joints stay below", SI: a.Clamp.Q05, Dim: unit.Force, Assumes: assumes},
			{What: "force of the rated pressure on the seals", SI: a.Pressed.Separating, Dim: unit.Force}}
		d.Want, d.Fix = "a clamp above the push", "look at torque, friction and the size of the seal"
	default:
		return nil
	}
	if d.Want == "" {
		d.Want, d.Fix = "at most about {most}", "look at the decimal point and the unit of the torque, then at thread and proof_strength"
		d.Quantities["most"] = rough(floor2(mostTorque(b)), unit.Torque)
	}
	return []Doubt{d}
}

// scaled is a joint at a share of its torque.
func scaled(b bolt.Joint, share float64) bolt.Joint {
	b.Torque, b.Tolerance = b.Torque*share, b.Tolerance*share
	return b
}

// weak says whether the thread yields at the least torque that keeps the joint shut, or at hardly any when it need not.
func weak(b bolt.Joint, a bolt.Analysis, shut bool) bool {
	if b.Proof == 0 || a.Pressed.Separating == 0 {
		return false
	}
	least := 1e-6
	if shut {
		least = a.Pressed.Separating / a.Clamp.Q05
	}
	at, err := scaled(b, least).Analyse()
	return err == nil && at.Yields
}

// mostTorque is the greatest torque [N·m] at which the thread does not yield, to a thousandth.
func mostTorque(b bolt.Joint) float64 {
	lo, hi := 0.0, 1.0
	for range 10 {
		mid := (lo + hi) / 2
		if a, err := scaled(b, mid).Analyse(); err != nil || a.Yields {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo * b.Torque
}

// floor2 cuts a positive value to two digits.
func floor2(x float64) float64 {
	if x <= 0 {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Floor(x/step) * step
}
