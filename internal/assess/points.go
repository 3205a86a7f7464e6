package assess

import (
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// PointCode says what kind of thing is open before a job is closed as good.
type PointCode string

// The codes, in the order in which they are listed. What answers a point is to do it, or somebody who may and gives a reason
// (record.Overrode.Points).
const (
	PointProof    PointCode = record.PointProof // no verdict that holds and still counts; see Point.Proof
	PointHold     PointCode = "hold"            // held for less than the pump sheet asks for, though what was held may prove; see Point.Short
	PointDepart   PointCode = "departure"       // the build departs from the order of work: a torque, a soak, a ring, the hold
	PointLook     PointCode = "look"            // a path out of the pump at which nobody looked, though the verdict holds
	PointUnsigned PointCode = "unsigned"        // steps that nobody signed
	PointUnread   PointCode = "unread"          // an entry with a quantity that cannot be read
	PointWorn     PointCode = "worn"            // a part past its limit that is not replaced
	PointOverdue  PointCode = "overdue"         // a tool whose calibration was due; who used it said why
	PointHanded   PointCode = "handed"          // not handed over
	PointBill     PointCode = "bill"            // nothing on the bill
)

// PointCodes lists the codes.
func PointCodes() []PointCode {
	return []PointCode{PointProof, PointLook, PointHold, PointDepart, PointUnsigned, PointUnread, PointWorn, PointOverdue, PointHanded, PointBill}
}

// ProofWorked is the state of a proof that was given before the pump was worked on again.
const ProofWorked record.Proof = "worked"

// Point is one thing that has to be answered before a job is closed as good.
type Point struct {
	Code   PointCode
	ID     string                         // by which an override names it; the same as long as the thing is the same
	Seq    int64                          // the entry that raised it; 0 for what is missing
	Proof  record.Proof                   // of PointProof
	Depart *Departure                     // of PointDepart and PointHold
	Short  []hold.Course                  // of PointHold: what was held for less, by stroke, with what is missing (Course.Short)
	Steps  []*Step                        // what it is about: those that are not signed; the step of a departure
	Part   string                         // of PointWorn
	Path   string                         // of PointLook
	Unread Ignored                        // of PointUnread
	By     *record.Entry                  // who answered for it; nil while it is open
	Named  *record.Line[*record.Overrode] // the same, when it was answered by an override
}

// Open says whether nobody has answered for a point.
func (p Point) Open() bool { return p.By == nil }

// departureID is the ID of the point that a departure of a kind makes.
func departureID(kind pump.DepartureKind, about string) string {
	return string(PointDepart) + " " + string(kind) + " " + about
}

// about is what a departure is about, as a word in an ID.
func about(d pump.Departure) string {
	for _, s := range []string{d.Step, d.Stack, d.Joint, d.Part} {
		if s != "" {
			return s
		}
	}
	return ""
}

// PointsOf lists what has to be answered before a job is closed as good, each with the answer that was given.
func PointsOf(j *record.Job, p *pump.Pump, w *Work) []Point {
	c := &closing{j: j, p: p, w: w}
	c.proof()
	c.departures()
	c.torquesBefore()
	c.unread()
	c.worn()
	c.overdue()
	c.office()
	return c.out
}

// OpenPoints are the points that nobody has answered for.
func OpenPoints(points []Point) []Point {
	var out []Point
	for _, q := range points {
		if q.Open() {
			out = append(out, q)
		}
	}
	return out
}

// closing collects the points of a job.
type closing struct {
	j   *record.Job
	p   *pump.Pump
	w   *Work
	out []Point
}

// add lists a point with its answer: an override of after the entry that raised it.
func (c *closing) add(q Point) {
	if q.ID == "" {
		q.ID = string(q.Code)
	}
	if o := c.j.Answered(q.ID, q.Seq); o != nil {
		q.Named, q.By = o, o.Entry
	}
	c.out = append(c.out, q)
}

// proof is the verdict as left: it holds, of the readings as they are, of the pump as it is.
func (c *closing) proof() {
	state := c.j.Proof()
	q := Point{Code: PointProof}
	if v := c.j.Verdict(record.AsLeft); v != nil {
		q.Seq = v.Entry.Seq
	}
	if state == record.ProofStanding {
		switch worked := c.worked(q.Seq); {
		case worked > 0:
			state, q.Seq = ProofWorked, worked
		case !Current(c.j, record.AsLeft, c.p):
			state = record.ProofTouched
		}
	}
	if state != record.ProofStanding {
		q.Proof = state
		c.add(q)
		return
	}
	c.looks(q.Seq)
}

// looks are the paths out of the pump at which nobody looked: a verdict may hold without, and says so.
func (c *closing) looks(verdict int64) {
	r, _, err := Recall(c.j.Verdict(record.AsLeft).Body)
	if err != nil { // a verdict that cannot be read is said where it is shown
		return
	}
	for _, o := range r.Verdict.Open {
		if o.Code == hold.Unlooked {
			c.add(Point{Code: PointLook, ID: string(PointLook) + " " + o.Path, Seq: verdict, Path: o.Path})
		}
	}
}

// Unlooked names the paths at which nobody had looked by the last verdict of a hold, and nobody has since.
func Unlooked(j *record.Job, h record.HoldStage, p *pump.Pump) []string {
	v := j.Verdict(h)
	if v == nil {
		return nil
	}
	r, _, err := Recall(v.Body)
	d, unread := SheetOf(j, h, p, nil)
	if err != nil || unread != nil { // said where the verdict and the readings are shown
		return nil
	}
	var out []string
	for _, o := range r.Verdict.Open {
		looked := func(q hold.Reading) bool { return q.Path == o.Path }
		if o.Code == hold.Unlooked && !slices.ContainsFunc(d.Sheet.Readings, looked) {
			out = append(out, o.Path)
		}
	}
	return out
}

// worked is the last signature of work on the pump after an entry, 0 when there is none.
func (c *closing) worked(seq int64) int64 {
	last := int64(0)
	for i := range c.w.Steps {
		if s := &c.w.Steps[i]; s.Signed != nil && s.Signed.Seq > seq && s.Phase != PhaseProve {
			last = max(last, s.Signed.Seq)
		}
	}
	return last
}

// departures are the ways in which the build departs from the order of work. A step that was left out on purpose has its name and its reason
// already; the steps that nobody signed are one point, but for a joint that was never torqued.
func (c *closing) departures() {
	unsigned := Point{Code: PointUnsigned}
	for i := range c.w.open {
		d := &c.w.open[i]
		s := c.w.Step(d.Step)
		switch {
		case d.Kind == pump.HoldNotDone && c.proofless():
			continue // said by the proof
		case d.Kind == pump.NotDone && s != nil && s.Kind != pump.StepTorque && s.State != Skipped:
			unsigned.Steps = append(unsigned.Steps, s)
			continue
		case d.Kind == pump.HoldShort:
			c.short(d)
			continue
		}
		q := Point{Code: PointDepart, ID: departureID(d.Kind, about(d.Departure)), Depart: d}
		if s != nil {
			q.Steps = []*Step{s}
		}
		if d.Entry != nil && d.Kind != pump.JointUnsound { // that one is answered for before the joint is torqued
			q.Seq = d.Entry.Seq
		}
		if s != nil && s.State == Skipped {
			q.By = s.Signed
		}
		c.add(q)
	}
	if len(unsigned.Steps) > 0 {
		c.add(unsigned)
	}
}

// short is a hold that was shorter than the sheet asks for: a fact of its own, whatever it proves. It is answered by holding on, or by a name
// given after the last reading of it.
func (c *closing) short(d *Departure) {
	q := Point{Code: PointHold, Depart: d}
	if s := c.w.Step(d.Step); s != nil {
		q.Steps = []*Step{s}
	}
	if k, ok := KeptOf(c.j, c.p); ok {
		q.Seq = k.Seq
		for _, x := range k.Courses {
			if x.Short() > 0 {
				q.Short = append(q.Short, x)
			}
		}
	}
	c.add(q)
}

// proofless says whether the point of the proof is listed.
func (c *closing) proofless() bool { return len(c.out) > 0 && c.out[0].Code == PointProof }

// torquesBefore are the joints that were torqued outside in a round before this one and are not touched in this one.
func (c *closing) torquesBefore() {
	last := map[string]record.Line[*record.Did]{}
	for _, l := range c.j.Done {
		if l.First.Seq < c.j.Round && !l.Body.Skipped {
			last[l.Body.Step] = l
		}
	}
	for _, joint := range c.p.Joints {
		id := pump.TorqueID(joint)
		l, ok := last[id]
		if !ok || c.w.Step(id) != nil {
			continue
		}
		d, err := readDid(c.p.Name, l.Body)
		if t := torqueOf(joint, d, 0); err == nil && t.Got > 0 && !t.Within {
			step := &Step{Step: pump.Step{ID: id, Kind: pump.StepTorque, Title: pump.TorqueTitle(joint), Joint: joint.Name}, State: Off, Did: l.Body, Signed: l.Entry, Wrench: t}
			c.add(Point{Code: PointDepart, ID: departureID(pump.TorqueOff, id), Seq: l.Entry.Seq, Steps: []*Step{step}})
		}
	}
}

func (c *closing) unread() {
	for _, u := range c.w.Unread {
		c.add(Point{Code: PointUnread, ID: string(PointUnread), Seq: u.Seq, Unread: u})
	}
}

// worn are the parts past their limit that were not replaced.
func (c *closing) worn() {
	last := worn(c.j, c.p)
	for _, part := range Unheeded(c.j, c.p) {
		c.add(Point{Code: PointWorn, ID: string(PointWorn) + " " + part, Seq: last[part], Part: part})
	}
}

// overdue are the steps that were done with a tool whose calibration was due: signed by name, with the reason.
func (c *closing) overdue() {
	for i := range c.w.Steps {
		if s := &c.w.Steps[i]; s.Did != nil && s.Did.Despite != "" && s.Signed != nil {
			c.out = append(c.out, Point{Code: PointOverdue, ID: string(PointOverdue) + " " + s.ID, Seq: s.Signed.Seq, Steps: []*Step{s}, By: s.Signed})
		}
	}
}

// office is what is left when the pump is done: its hand-over and its bill.
func (c *closing) office() {
	if c.j.Handed == nil {
		c.add(Point{Code: PointHanded})
	}
	if len(c.j.Prices) == 0 {
		c.add(Point{Code: PointBill})
	}
}
