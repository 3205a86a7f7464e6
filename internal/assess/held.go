package assess

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Kept is how the hold as left was held, by its readings.
type Kept struct {
	Pressure float64 // Pa: the hold pressure when all of it was held there, else the highest that was reached
	Time     float64 // s; of a pump that creeps on both strokes, that of the stroke held for less
	Seq      int64   // the last entry that it was made of
	Courses  []hold.Course
}

// KeptOf says how the hold as left was held since the job was last opened; false when it was not.
func KeptOf(j *record.Job, p *pump.Pump) (Kept, bool) {
	if !readAt(j, record.AsLeft) {
		return Kept{}, false
	}
	d, err := SheetOf(j, record.AsLeft, p, nil)
	if err != nil || len(d.Sheet.Readings) == 0 {
		return Kept{}, false
	}
	out := Kept{Pressure: p.Limits.Hold, Time: math.Inf(1), Seq: d.Seqs[len(d.Seqs)-1]}
	out.Courses = hold.Courses(p, d.Sheet)
	for _, c := range out.Courses {
		out.Time = math.Min(out.Time, c.Seconds)
		if !c.Seen {
			out.Pressure = math.Min(out.Pressure, highest(d.Sheet.Readings))
		}
	}
	return out, true
}

// highest is the highest pressure [Pa] of some readings.
func highest(readings []hold.Reading) float64 {
	top := 0.0
	for _, r := range readings {
		top = math.Max(top, r.Pressure)
		for _, q := range r.Points {
			top = math.Max(top, q.Pressure)
		}
	}
	return top
}

// readAt says whether anything was pressed or typed at a hold.
func readAt(j *record.Job, h record.HoldStage) bool {
	return slices.ContainsFunc(j.Readings, func(l record.Line[*record.Read]) bool { return l.Body.Hold == h && l.First.Seq > j.From(h) }) ||
		slices.ContainsFunc(j.Presses, func(l record.Line[*record.Pressed]) bool { return l.Body.Hold == h && l.First.Seq > j.From(h) })
}

// done is the hold as a step of the build.
func (k Kept) done() pump.Done { return pump.Done{Step: holdStep, Pressure: k.Pressure, Held: k.Time} }

// holdStep is the ID of the hold in every order of work.
const holdStep = "hold"

// CheckHeld refuses the signature of a hold that was not made, and of what comes after it. The error is a *record.Fault.
func CheckHeld(j *record.Job, p *pump.Pump, w *Work, b *record.Did) error {
	s := w.Step(b.Step)
	if s == nil || b.Skipped {
		return nil
	}
	_, held := KeptOf(j, p)
	h := w.Step(holdStep)
	switch {
	case s.Kind == pump.StepHold && !held, Relieves(s.Step) && !held && (h == nil || h.State != Skipped):
		return record.Faultf(record.NotAllowed, "step", "no hold as left", "a hold before it is signed", "hold the pump under pressure first, or leave the step out and say why")
	}
	return nil
}
