package record

import (
	"fmt"
	"slices"
	"time"
)

// Watch is a watch of a hold, as its presses tell: it belongs to the device on which it was started.
type Watch struct {
	Name   string
	Hold   HoldStage
	Device int64
	Start  Line[*Pressed]
	Over   bool // it was ended, taken over, or left for another watch of its device
}

// Watches lists the watches of a hold in the order in which they were started. Presses without a start make none.
func (j *Job) Watches(h HoldStage) []Watch {
	var out []Watch
	over := func(is func(Watch) bool) {
		for i := range out {
			out[i].Over = out[i].Over || is(out[i])
		}
	}
	for _, l := range j.Presses {
		b, device := l.Body, l.First.Device
		if b.Hold != h {
			continue
		}
		switch b.Press {
		case PressStart:
			over(func(w Watch) bool { return w.Device == device || w.Name == b.TakesOver })
			out = append(out, Watch{Name: b.Watch, Hold: h, Device: device, Start: l})
		case PressEnd:
			over(func(w Watch) bool { return w.Device == device && w.Name == b.Watch })
		}
	}
	return out
}

// Running is the watch of a hold that runs, nil when none does.
func (j *Job) Running(h HoldStage) *Watch {
	all := j.Watches(h)
	for i := len(all) - 1; i >= 0; i-- {
		if !all[i].Over {
			return &all[i]
		}
	}
	return nil
}

// TakesPress says whether the job takes a press of a device at a time. It keeps two devices from watching one hold at once, whose presses
// would tell of two strokes of one rod: a device starts a watch when none of another runs, or takes over the one that does by its name;
// one that was taken over takes no press that was made after that.
//
// Errors: *Fault of code Conflict, with the number of the entry that is in the way.
func (j *Job) TakesPress(device int64, at time.Time, b *Pressed) error {
	if b.Press == PressStart {
		return j.free(b.Hold, device, b.TakesOver)
	}
	for _, l := range j.Presses {
		if o := l.Body; o.Press == PressStart && o.Hold == b.Hold && o.TakesOver == b.Watch && l.First.Device != device && !at.Before(l.First.At) {
			return &Fault{Code: Conflict, Where: "watch", Found: "a watch that another device took over", Want: "a press of the watch that runs", Mend: "press on the device that has it", Seq: l.Entry.Seq}
		}
	}
	return nil
}

// free says whether a device may start a watch, or let one go on, that takes over another.
func (j *Job) free(h HoldStage, device int64, over string) error {
	w := j.Running(h)
	if w == nil || w.Device == device || w.Name == over {
		return nil
	}
	return &Fault{Code: Conflict, Where: "watch", Found: fmt.Sprintf("a watch that runs since entry %d on another device", w.Start.First.Seq), Want: "one watch of a hold at a time",
		Mend: "end it there, or take it over", Seq: w.Start.First.Seq}
}

// goesOn says whether the end of a watch may be struck, so that it runs again: not while one of another device does.
func (j *Job) goesOn(st *Struck) error {
	i := slices.IndexFunc(j.Presses, func(l Line[*Pressed]) bool {
		return (l.Entry.Seq == st.Seq || l.First.Seq == st.Seq) && l.Body.Press == PressEnd
	})
	if i < 0 {
		return nil
	}
	return j.free(j.Presses[i].Body.Hold, j.Presses[i].First.Device, "")
}
