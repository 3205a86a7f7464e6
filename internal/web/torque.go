package web

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/unit"
)

// square is the value of a spanner that sits square to the wrench.
const square = "square"

// turns are the ways in which a spanner sits on a wrench, with the angle [rad] between them.
var turns = []struct {
	value string
	angle float64
}{{"line", 0}, {square, math.Pi / 2}}

// turnView is one way in which the spanner may sit, with what to set then.
type turnView struct {
	Value, Word, Set string
	Picked           bool
}

// wrenchView is one wrench of the register.
type wrenchView struct {
	ID              string
	Name            string
	Class, Arm, Due string
	Overdue, Picked bool
	wrench          assess.Wrench
}

// torqueView is what to set on the wrench that is taken, and what a joint got.
type torqueView struct {
	Joint, Ask, Band, Unit string
	Spanner, Adapter       string
	AdapterIs, AdapterUnit string
	Wrenches               []wrenchView
	Other                  bool // another wrench than those of the register
	Tool                   *wrenchView
	Arm, ArmUnit           string // as typed, for a wrench whose arm the register does not know
	AskArm                 bool
	Turns                  []turnView // none for a spanner that adds nothing
	Turn                   string
	Set, SetUnit           string // what to set on this wrench; "" while something is not known
	OffScale               string // the setting is not on the scale of the wrench
	Typed                  string // the reading, as typed
	Said                   *saidView
	Again                  bool // it was done, and is outside
}

// torqueAsk is what is known of how a joint is tightened: from the address while it is asked, from the record when it was done.
type torqueAsk struct {
	tool int64
	turn string
	arm  float64 // m, typed; 0 when not
}

// torque fills the view of a torque step. picked are the values of the form, or of the address.
func (s *Server) torque(r *http.Request, v *JobView, st *assess.Step, picked *Form) (*torqueView, error) {
	u, t := v.F.Units, st.Wrench
	out := &torqueView{Joint: t.Joint, Ask: u.Show(t.Asked, unit.Torque), Unit: u.Unit(unit.Torque), Again: st.State == assess.Off,
		AdapterUnit: u.Unit(unit.Length), ArmUnit: u.Unit(unit.Length), Arm: picked.Get("wrench"), Typed: picked.Get("torque")}
	ends := u.Apart(unit.Torque, t.Least, t.Most)
	out.Band = v.F.T("torque.band", ends[0], ends[1])
	if t.Spanner != "" {
		out.Spanner = v.F.Told(t.Spanner)
	}
	ask, err := v.asked(st, picked)
	if err != nil {
		return nil, err
	}
	if err := s.wrenches(r, v, out, ask, picked); err != nil {
		return nil, err
	}
	arm := ask.arm
	if out.Tool != nil && out.Tool.wrench.Arm > 0 {
		arm = out.Tool.wrench.Arm
	}
	out.AskArm = t.Adapter > 0 && ask.turn != square && (out.Tool == nil || out.Tool.wrench.Arm == 0)
	if t.Adapter > 0 {
		out.Adapter, out.AdapterIs = u.Show(t.Adapter, unit.Length), picked.Value("adapter", number(u, t.Adapter, unit.Length))
		out.Turn = ask.turn
	}
	v.settings(out, t, arm, ask)
	if st.Did != nil && t.Read > 0 {
		said := v.F.saidTorque(t, t.Read, t.Got)
		out.Said = &said
	}
	return out, nil
}

// asked reads how the joint is tightened: what was picked, else what was done before, else the wrench used last.
func (v *JobView) asked(st *assess.Step, picked *Form) (torqueAsk, error) {
	ask := torqueAsk{turn: picked.Get("turn")}
	var err error
	if ask.tool, err = picked.Number("tool"); err != nil {
		return ask, err
	}
	if x, err := unit.Parse(picked.Quantity("wrench"), unit.Length); err == nil {
		ask.arm = x.SI
	}
	did := st.Did
	if did != nil && ask.turn == "" {
		ask.turn = turnOf(did.Angle)
	}
	if _, said := picked.Values["tool"]; !said {
		ask.tool = v.lastTool(did)
	}
	return ask, nil
}

// turnOf is the way of the spanner that an angle of the record stands for.
func turnOf(angle string) string {
	a, err := unit.Parse(angle, unit.Angle)
	if err != nil {
		return ""
	}
	for _, q := range turns {
		if math.Abs(a.SI-q.angle) < 1e-6 {
			return q.value
		}
	}
	return ""
}

// lastTool is the tool of a step that was done, else the one with which a joint of this job was torqued last.
func (v *JobView) lastTool(did *record.Did) int64 {
	if did != nil {
		return did.Tool
	}
	for i := len(v.J.Done) - 1; i >= 0; i-- {
		if b := v.J.Done[i].Body; b.Torque != "" && b.Tool != 0 {
			return b.Tool
		}
	}
	return 0
}

// wrenches lists the torque wrenches of the register; the only one that is in calibration is taken when none was picked.
func (s *Server) wrenches(r *http.Request, v *JobView, out *torqueView, ask torqueAsk, picked *Form) error {
	items, err := s.Shop.All(r.Context(), record.OfTool)
	if err != nil {
		return err
	}
	good := 0
	for _, i := range items {
		t := i.Value.(*record.Tool)
		if t.Sort != "wrench" {
			continue
		}
		w := wrenchView{ID: strconv.FormatInt(i.Subject.ID, 10), Name: t.Name, Class: t.Class, Due: t.Due, Overdue: s.Shop.Overdue(t), Picked: i.Subject.ID == ask.tool, wrench: assess.WrenchOf(t)}
		if w.wrench.Arm > 0 {
			w.Arm = v.F.Units.Show(w.wrench.Arm, unit.Length)
		}
		if !w.Overdue {
			good++
		}
		out.Wrenches = append(out.Wrenches, w)
	}
	_, said := picked.Values["tool"]
	for i := range out.Wrenches {
		w := &out.Wrenches[i]
		if w.Picked = w.Picked || !said && ask.tool == 0 && good == 1 && !w.Overdue; w.Picked {
			out.Tool = w
		}
	}
	out.Other = out.Tool == nil && (said || len(out.Wrenches) == 0)
	return nil
}

// settings fills in what to set: for each way of the spanner, and for the one that was picked.
func (v *JobView) settings(out *torqueView, t *assess.Torque, arm float64, ask torqueAsk) {
	u := v.F.Units
	set := t.Asked
	known := t.Adapter == 0
	for _, q := range turns {
		if t.Adapter == 0 {
			break
		}
		w := turnView{Value: q.value, Word: v.F.T("turn." + q.value), Picked: q.value == ask.turn}
		at, err := t.Setting(arm, q.angle)
		if err == nil {
			w.Set = u.Show(at, unit.Torque)
		}
		if w.Picked && err == nil {
			set, known = at, true
		}
		out.Turns = append(out.Turns, w)
	}
	if !known || out.Tool == nil && !out.Other {
		return
	}
	out.Set, out.SetUnit = number(u, set, unit.Torque), u.Unit(unit.Torque)
	if out.Tool != nil && !out.Tool.wrench.Reads(set) {
		out.OffScale = v.F.T("torque.offscale", u.Show(set, unit.Torque), out.Tool.Name)
	}
}

// saidTorque says how a reading stands to the tolerance at the joint, and what to do when it is outside.
func (f *Frame) saidTorque(t *assess.Torque, read, at float64) saidView {
	told := f.Units.Apart(unit.Torque, t.Least, t.Most, at)
	out := saidView{F: f}
	out.say(f.T("torque.at", f.Units.Show(read, unit.Torque), told[2]))
	remedy := t.Remedy(at)
	switch {
	case remedy == assess.RemedyNone:
		out.say(f.T("torque.inside", told[0], told[1]))
	case remedy == assess.RemedyTighten:
		out.Bad = true
		out.say(f.T("torque.below", told[0]))
	default:
		out.Bad = true
		out.say(f.T("torque.above", told[1]))
	}
	if out.Bad {
		out.say(f.T("remedy." + string(remedy)))
	}
	return out
}

// sayTorque answers how a reading that is being typed stands to the tolerance at the joint, as a piece of the page.
func (s *Server) sayTorque(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "work.step")
	if err != nil {
		return err
	}
	f := &Form{Values: r.URL.Query()}
	st := v.stepByID(f.Get("step"))
	if st == nil || st.Wrench == nil {
		return notFound(r.URL.Path)
	}
	said := saidView{F: v.F}
	if f.Get("torque") != "" {
		if said, err = s.judgeTorque(r, v, st, f); err != nil {
			return err
		}
	}
	v.F.Data = said
	return s.render(w, http.StatusOK, "step", "said", v.F)
}

func (s *Server) judgeTorque(r *http.Request, v *JobView, st *assess.Step, f *Form) (saidView, error) {
	bad := func(err error) (saidView, error) {
		var fault *record.Fault
		if !errors.As(err, &fault) || status(fault.Code) >= 500 {
			return saidView{}, err
		}
		out := saidView{F: v.F, Bad: true}
		out.Lines = append(out.Lines, v.F.Fault(fault))
		return out, nil
	}
	b, err := s.torqueOf(r, st, f)
	if err == nil {
		err = assess.CheckDid(v.J.Model.Pump, st.Step, b)
	}
	if err != nil {
		return bad(err)
	}
	got, err := assess.Got(v.J.Model.Pump, b)
	if err != nil {
		return bad(err)
	}
	return v.F.saidTorque(st.Wrench, got.Read, got.Got), nil
}

// torqueOf reads the torque of a form into the record of its step: the arm of a wrench of the register is that of the register.
func (s *Server) torqueOf(r *http.Request, st *assess.Step, f *Form) (*record.Did, error) {
	tool, err := f.Number("tool")
	if err != nil {
		return nil, err
	}
	b := &record.Did{Step: st.ID, Torque: f.Quantity("torque"), Tool: tool, Despite: f.Text("despite")}
	if b.Torque == "" {
		return nil, record.Faultf(record.Invalid, "torque", "no torque", "the torque read on the wrench", "")
	}
	if st.Wrench.Adapter == 0 {
		return b, nil
	}
	angle, ok := angleOf(f)
	if !ok {
		return nil, record.Faultf(record.Invalid, "turn", "nothing", "how the spanner sits on the wrench", "in line with it, or square to it")
	}
	b.Wrench, b.Adapter, b.Angle = f.Quantity("wrench"), f.Quantity("adapter"), angle
	if text := f.Get("adapter"); text == "" || text == f.Get("adapter.is") {
		b.Adapter = assess.Exactly(st.Wrench.Adapter)
	}
	if tool == 0 {
		return b, nil
	}
	i, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: record.OfTool, ID: tool})
	if err != nil {
		return nil, err
	}
	if t := i.Value.(*record.Tool); assess.WrenchOf(t).Arm > 0 {
		b.Wrench = t.Length
	}
	return b, nil
}

// angleOf is the angle of the spanner as a record holds it: what was picked, or typed.
func angleOf(f *Form) (string, bool) {
	if a := f.Quantity("angle"); a != "" {
		return a, true
	}
	for _, q := range turns {
		if q.value == f.Get("turn") {
			return strconv.FormatFloat(q.angle*180/math.Pi, 'f', -1, 64) + "°", true
		}
	}
	return "", false
}

// picking is what was picked on the page of a step: in its form, or in its address.
func picking(form *Form, query url.Values) *Form {
	if form.Values != nil {
		return form
	}
	return &Form{Values: query}
}
