package assess

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// buildDocument is a record of a build as JSON, in the format of schema/build.schema.json.
type buildDocument struct {
	Build  int             `json:"build"`
	Pump   string          `json:"pump"`
	Done   []doneDocument  `json:"done"`
	Stacks []stackDocument `json:"stacks,omitempty"`
}

type doneDocument struct {
	Step     string `json:"step"`
	Torque   string `json:"torque,omitempty"`
	Wrench   string `json:"wrench,omitempty"`
	Adapter  string `json:"adapter,omitempty"`
	Angle    string `json:"angle,omitempty"`
	Soaked   string `json:"soaked,omitempty"`
	Pressure string `json:"pressure,omitempty"`
	Held     string `json:"held,omitempty"`
}

type stackDocument struct {
	Name  string         `json:"name"`
	Shim  string         `json:"shim,omitempty"`
	Rings []ringDocument `json:"rings"`
}

type ringDocument struct {
	Part string `json:"part"`
	Lips string `json:"lips,omitempty"`
}

func (d buildDocument) read() (pump.Build, error) {
	if d.Done == nil {
		d.Done = []doneDocument{}
	}
	data, err := encode(d)
	if err != nil {
		return pump.Build{}, err
	}
	return pump.ReadBuild("build", data)
}

// readDid reads the quantities of one step.
func readDid(name string, b *record.Did) (pump.Done, error) {
	doc := doneDocument{b.Step, b.Torque, b.Wrench, b.Adapter, b.Angle, b.Soaked, b.Pressure, b.Held}
	if doc == (doneDocument{Step: b.Step}) {
		return pump.Done{Step: b.Step}, nil
	}
	build, err := buildDocument{Build: 1, Pump: name, Done: []doneDocument{doc}}.read()
	if err != nil {
		return pump.Done{Step: b.Step}, fault(err, func(key string) string { return strings.TrimPrefix(strings.TrimPrefix(key, "done[1]"), ".") })
	}
	return build.Done[0], nil
}

// readStacked reads the record of one stack.
func readStacked(name string, b *record.Stacked) (pump.Built, error) {
	s := stackDocument{Name: b.Stack, Shim: b.Shim, Rings: []ringDocument{}}
	for _, r := range b.Rings {
		s.Rings = append(s.Rings, ringDocument{r.Part, r.Lips})
	}
	build, err := buildDocument{Build: 1, Pump: name, Stacks: []stackDocument{s}}.read()
	if err != nil {
		return pump.Built{}, fault(err, func(key string) string {
			return strings.TrimPrefix(strings.TrimPrefix(key, "stacks[1]"), ".")
		})
	}
	return build.Stacks[0], nil
}

// BuildOf is the build as it was recorded since the pump was last taken back to be opened: steps in the order in which they were signed,
// stacks as they were built last, the hold as its readings have it. A step that was left out on purpose is not in it. A soak without its
// time has the time from its start to its signature.
//
// Errors: *record.Fault of code Invalid for a quantity that cannot be read.
func BuildOf(j *record.Job, p *pump.Pump) (pump.Build, error) {
	b, unread := buildOf(j, p)
	if len(unread) > 0 {
		return b, record.Faultf(record.Invalid, fmt.Sprintf("entry %d", unread[0].Seq), unread[0].Reason, "an entry that can be read", unread[0].Mend)
	}
	return b, nil
}

// buildOf is BuildOf that takes what cannot be read as not recorded, and says so.
func buildOf(j *record.Job, p *pump.Pump) (pump.Build, []Ignored) {
	m := &maker{}
	b := pump.Build{File: fmt.Sprintf("job %d", j.Number), Pump: p.Name}
	kept, held := KeptOf(j, p)
	for _, l := range j.Done {
		if l.Body.Skipped || l.First.Seq < j.Round {
			continue
		}
		if held && l.First.Seq > kept.Seq {
			b.Done, held = append(b.Done, kept.done()), false
		}
		d, err := readDid(p.Name, l.Body)
		if err != nil {
			m.broken(l.Entry.Seq, err)
		}
		if d.Soaked == 0 && err == nil {
			d.Soaked = soaked(j, l)
		}
		b.Done = append(b.Done, d)
	}
	if held {
		b.Done = append(b.Done, kept.done())
	}
	for _, l := range j.Stacks {
		if l.First.Seq < j.Round {
			continue
		}
		s, err := readStacked(p.Name, l.Body)
		if _, known := p.Stack(l.Body.Stack); err == nil && !known {
			err = record.Faultf(record.Invalid, "stack", fmt.Sprintf("%.60q", l.Body.Stack), "a stack of this pump", "")
		}
		if err != nil {
			m.broken(l.Entry.Seq, err)
			continue
		}
		b.Stacks = slices.DeleteFunc(b.Stacks, func(x pump.Built) bool { return x.Stack == s.Stack })
		b.Stacks = append(b.Stacks, s)
	}
	return b, m.ignored
}

// soaked is the time [s] from the start of a soak to its signature, 0 when it was not started before.
func soaked(j *record.Job, did record.Line[*record.Did]) float64 {
	for i := len(j.Soaks) - 1; i >= 0; i-- {
		if l := j.Soaks[i]; l.Body.Step == did.Body.Step && l.First.Seq < did.First.Seq {
			return max(0, did.First.At.Sub(l.First.At).Seconds())
		}
	}
	return 0
}

// A torque beyond these shares of what a joint asks for is taken for a slip of the pen, or of the unit.
const (
	leastShare = 0.1
	mostShare  = 3
)

// CheckDid checks what is written down of a step. The error is a *record.Fault whose Where is the field.
func CheckDid(p *pump.Pump, step pump.Step, b *record.Did) error {
	if b.Step != step.ID {
		return record.Faultf(record.Invalid, "step", fmt.Sprintf("%.60q", b.Step), fmt.Sprintf("%q", step.ID), "")
	}
	for _, f := range []struct {
		field, text string
		kind        pump.StepKind
	}{
		{"torque", b.Torque, pump.StepTorque}, {"wrench", b.Wrench, pump.StepTorque}, {"adapter", b.Adapter, pump.StepTorque}, {"angle", b.Angle, pump.StepTorque},
		{"soaked", b.Soaked, pump.StepSoak}, {"pressure", b.Pressure, pump.StepHold}, {"held", b.Held, pump.StepHold},
	} {
		if f.text != "" && f.kind != step.Kind {
			return record.Faultf(record.Invalid, f.field, fmt.Sprintf("%.60q", f.text), "nothing: this step has no "+f.field, "leave it empty")
		}
	}
	d, err := readDid(p.Name, b)
	if err != nil {
		return err
	}
	if d.Torque != 0 && step.Torque > 0 && !(d.Torque >= leastShare*step.Torque && d.Torque <= mostShare*step.Torque) {
		return record.Faultf(record.Invalid, "torque", fmt.Sprintf("%.60q", b.Torque), "a torque near the "+unit.Metric().Show(step.Torque, unit.Torque)+" that the joint asks for",
			"look at the unit; if it was so, say it in the note")
	}
	if b.Pressure != "" {
		return pressureAlone(p, p.Drive.Kind != pump.ForceHeld, 0, b.Pressure)
	}
	return nil
}

// CheckStacked checks the record of a stack. The error is a *record.Fault whose Where is the field, as "rings[2].part".
func CheckStacked(p *pump.Pump, b *record.Stacked) error {
	if _, ok := p.Stack(b.Stack); !ok {
		return record.Faultf(record.Invalid, "stack", fmt.Sprintf("%.60q", b.Stack), "a stack of this pump", "")
	}
	if len(b.Rings) == 0 {
		return record.Faultf(record.Invalid, "rings", "no ring", "the rings from the lowest to the highest", "")
	}
	for i, r := range b.Rings {
		if _, ok := p.Part(r.Part); !ok {
			return record.Faultf(record.Invalid, fmt.Sprintf("rings[%d].part", i+1), fmt.Sprintf("%.60q", r.Part), "a part of this pump", "")
		}
	}
	_, err := readStacked(p.Name, b)
	var f *record.Fault
	if errors.As(err, &f) && f.Where == "name" {
		f.Where = "stack"
	}
	return err
}
