package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Joint is a joint tightened by torque, with the tool used and the load it must stand. Fields that are 0 are left out of
// the analysis where that is said; the rest must be positive.
type Joint struct {
	Thread       Thread
	Bore         float64 // m, bore through the bolt or stem; 0 for a solid one
	Proof        float64 // Pa, Rp0.2 of the weaker thread, see ProofStress; 0: strength not checked
	BearingOuter float64 // m, turned face
	BearingInner float64 // m
	BearingLimit float64 // Pa, surface pressure that the softer face stands; 0: not checked

	MuThread  Range
	MuBearing Range
	Shared    bool // one lubricant on thread and bearing: MuThread holds for both

	Torque    float64 // N·m, specified at the fastener
	Tolerance float64 // N·m, ± allowed on it
	Tool      Tool
	Adapter   float64 // m, drive to fastener; 0 without adapter
	Angle     float64 // rad, adapter from the wrench's line

	Pressure       float64 // Pa, gauge; 0: no pressure
	SealDiameter   float64 // m, diameter on which the joint seals; needed with Pressure
	BoltStiffness  float64 // N/m; both stiffnesses 0: not known
	JointStiffness float64 // N/m
}

// Wrench is what the tool has to be set to, and what the fastener then gets.
type Wrench struct {
	Exact     float64 // N·m, setting for the specified torque
	Set       float64 // N·m, nearest mark of the scale
	Torque    float64 // N·m at the fastener with Set
	Deviation float64 // permissible deviation ± of the tool at Set, as a share
	Within    bool    // Torque lies within the specified tolerance
}

// Pressed is the joint under pressure.
type Pressed struct {
	Separating  float64 // N, pressure times sealed area
	LoadFactor  float64 // share that the bolt takes; 0 when Known is false
	Known       bool    // stiffnesses were given
	Residual    float64 // N, clamp left at the mean clamp
	ResidualLow float64 // N, clamp left at the 5 % clamp
	Safety      float64 // 5 % clamp over the clamp at which the joint gapes; 0 without load
	BoltForce   float64 // N, at the 95 % clamp
	Holds       bool    // ResidualLow > 0
}

// Analysis is everything that Joint.Analyse finds.
type Analysis struct {
	Wrench    Wrench
	Nominal   float64      // N, clamp at the middle of the friction ranges
	NutFactor float64      // K at the middle of the friction ranges
	Clamp     Distribution // N, clamp with all scatter
	Breakaway float64      // N·m, to unscrew the mean clamp at the middle of the friction ranges
	TurnAngle float64      // rad from snug to the mean clamp; 0 when the stiffnesses are not known
	Pressed   Pressed

	Preload90   float64 // N, clamp at 90 % of the proof stress, at the lowest thread friction, where a torque brings the most (VDI's F_Mzul)
	Stress      float64 // Pa, von Mises in the thread while tightening, 95 % clamp
	Utilisation float64 // Stress over Proof
	Working     float64 // Pa, von Mises in the thread under pressure: BoltForce with half the torsion of the 95 % clamp
	Loaded      float64 // Working over Proof
	Yields      bool    // Utilisation or Loaded above 1
	Bearing     float64 // Pa, under the turned face at BoltForce
	Crushes     bool    // Bearing above BearingLimit
}

// Analyse works out the joint: what to set on the wrench, the clamp with its scatter, what is left of it under pressure,
// yield of the thread and crushing of the face.
//
// The specified torque is first taken to the nearest mark of the scale; the clamp follows from the torque that the fastener
// then gets. Standard uncertainty of the setting: step/√12. Yield is judged at the 95 % clamp with the friction of the
// middle of the range, which is on the safe side (a high clamp comes with low friction, hence little torsion). When the
// stiffnesses are not known, the residual clamp is worked out with φ = 0 and the bolt force with φ = 1: both on the safe side.
//
// Errors: *num.RangeError for a value that cannot be, among them a wrench setting outside the tool's scale.
// Sources: see Torque, Scatter, EquivalentStress, WorkingStress, ResidualClamp, WrenchSetting.
func (j Joint) Analyse() (Analysis, error) {
	var a Analysis
	if err := j.check(); err != nil {
		return a, err
	}
	bearing, err := MeanBearing(j.BearingOuter, j.BearingInner)
	if err != nil {
		return a, err
	}
	if a.Wrench, err = j.wrench(); err != nil {
		return a, err
	}
	s := Scatter{
		Thread: j.Thread, Bearing: bearing, Torque: a.Wrench.Torque, Tolerance: j.Tolerance, Tool: a.Wrench.Deviation,
		Reading:  j.Tool.Step / math.Sqrt(12) * a.Wrench.Torque / a.Wrench.Set,
		MuThread: j.MuThread, MuBearing: j.MuBearing, Shared: j.Shared,
	}
	if a.Clamp, err = s.Clamp(); err != nil {
		return a, err
	}
	if err := j.nominal(&a, s.contact(j.MuThread.Mid(), j.MuBearing.Mid())); err != nil {
		return a, err
	}
	if err := j.press(&a); err != nil {
		return a, err
	}
	return a, j.strength(&a)
}

func (j Joint) check() error {
	fn := "bolt.Joint"
	err := first(
		num.CheckPositive(fn, "torque", j.Torque, "N·m"),
		num.CheckRange(fn, "Rp", j.Proof, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "bearing limit", j.BearingLimit, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "p", j.Pressure, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "adapter", j.Adapter, 0, math.Inf(1), "m"),
		num.CheckRange(fn, "cb", j.BoltStiffness, 0, math.Inf(1), "N/m"),
		num.CheckRange(fn, "cj", j.JointStiffness, 0, math.Inf(1), "N/m"),
		checkSection(fn, j.Thread, j.Bore, j.MuThread.Mid()),
	)
	if err == nil && (j.BoltStiffness == 0) != (j.JointStiffness == 0) {
		err = &num.RangeError{Func: fn, Name: "stiffness", Value: 0, Unit: "N/m", Want: "both of bolt and joint, or neither"}
	}
	return err
}

func (j Joint) wrench() (Wrench, error) {
	w := Wrench{Exact: j.Torque}
	var err error
	if j.Adapter > 0 {
		if w.Exact, err = WrenchSetting(j.Torque, j.Tool.Length, j.Adapter, j.Angle); err != nil {
			return w, err
		}
	}
	if w.Set, err = OnScale(w.Exact, j.Tool.Step); err != nil {
		return w, err
	}
	if w.Deviation, err = j.Tool.Deviation(w.Set); err != nil {
		return w, err
	}
	w.Torque = w.Set
	if j.Adapter > 0 {
		if w.Torque, err = TorqueThrough(w.Set, j.Tool.Length, j.Adapter, j.Angle); err != nil {
			return w, err
		}
	}
	w.Within = math.Abs(w.Torque-j.Torque) <= max(j.Tolerance, 1e-9*j.Torque)
	return w, nil
}

func (j Joint) nominal(a *Analysis, c Contact) error {
	var err error
	if a.Nominal, err = Clamp(a.Wrench.Torque, c); err != nil {
		return err
	}
	if a.NutFactor, err = NutFactor(c); err != nil {
		return err
	}
	if a.Breakaway, err = Breakaway(a.Clamp.Mean, c); err != nil {
		return err
	}
	if j.BoltStiffness == 0 {
		return nil
	}
	a.TurnAngle, err = TurnAngle(a.Clamp.Mean, 1/j.BoltStiffness+1/j.JointStiffness, j.Thread.P)
	return err
}

func (j Joint) press(a *Analysis) error {
	p := &a.Pressed
	var err error
	if j.Pressure > 0 {
		if p.Separating, err = SeparatingForce(j.Pressure, j.SealDiameter); err != nil {
			return err
		}
	}
	forBolt := 1.0
	if p.Known = j.BoltStiffness > 0; p.Known {
		if p.LoadFactor, err = LoadFactor(j.BoltStiffness, j.JointStiffness); err != nil {
			return err
		}
		forBolt = p.LoadFactor
	}
	if p.Residual, err = ResidualClamp(a.Clamp.Mean, p.Separating, p.LoadFactor); err != nil {
		return err
	}
	if p.ResidualLow, err = ResidualClamp(a.Clamp.Q05, p.Separating, p.LoadFactor); err != nil {
		return err
	}
	if gapes := (1 - p.LoadFactor) * p.Separating; gapes > 0 {
		p.Safety = a.Clamp.Q05 / gapes
	}
	p.Holds = p.ResidualLow > 0
	p.BoltForce, err = BoltForce(a.Clamp.Q95, p.Separating, forBolt)
	return err
}

func (j Joint) strength(a *Analysis) error {
	var err error
	if a.Stress, err = EquivalentStress(a.Clamp.Q95, j.Thread, j.Bore, j.MuThread.Mid()); err != nil {
		return err
	}
	if a.Working, err = WorkingStress(a.Clamp.Q95, a.Pressed.BoltForce, j.Thread, j.Bore, j.MuThread.Mid()); err != nil {
		return err
	}
	if j.Proof > 0 {
		if a.Preload90, err = YieldPreload(j.Thread, j.Bore, j.Proof, j.MuThread.Lo, 0.9); err != nil {
			return err
		}
		a.Utilisation, a.Loaded = a.Stress/j.Proof, a.Working/j.Proof
		a.Yields = a.Utilisation > 1 || a.Loaded > 1
	}
	if a.Bearing, err = BearingStress(a.Pressed.BoltForce, j.BearingOuter, j.BearingInner); err != nil {
		return err
	}
	a.Crushes = j.BearingLimit > 0 && a.Bearing > j.BearingLimit
	return nil
}
