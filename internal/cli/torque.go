package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

type torqueFlags struct {
	class, length, adapter, angle, step string
	thread, torque, outer, inner, mu    string
	proof                               string
}

// torques and longestFace are what is taken for a joint of a pump, as in its sheet [N·m, m].
var torques = sheet.Positive(10000)

const longestFace = 2

// torqueDoc is the JSON of one joint.
type torqueDoc struct {
	Joint      string  `json:"joint"`
	Thread     string  `json:"thread"`
	TorqueNM   float64 `json:"torque_n_m"`
	TolNM      float64 `json:"tolerance_n_m"`
	SetNM      float64 `json:"set_on_wrench_n_m"`
	AdapterM   float64 `json:"adapter_m"`
	ToolShare  float64 `json:"tool_deviation"`
	Within     bool    `json:"within_tolerance"`
	ClampN     float64 `json:"clamp_mean_n"`
	ClampStdN  float64 `json:"clamp_std_n"`
	Clamp05N   float64 `json:"clamp_q05_n"`
	Clamp95N   float64 `json:"clamp_q95_n"`
	Through    string  `json:"through,omitempty"`
	SealsPa    float64 `json:"stack_seals_pa,omitempty"`
	Rating     bool    `json:"stack_seals_is_rating,omitempty"` // the rings are rated for it; their preload seals that or more
	ThreadUse  float64 `json:"thread_utilisation,omitempty"`    // share of the proof strength while it is tightened
	ThreadLoad float64 `json:"thread_utilisation_under_pressure,omitempty"`
	Most90N    float64 `json:"clamp_at_90_percent_of_proof_n,omitempty"`
	BreakNM    float64 `json:"breakaway_n_m"`
	FrictionOf string  `json:"friction"`

	Doubts  []doubtDoc `json:"doubts,omitempty"` // what it would not stand
	RestsOn []string   `json:"rests_on"`
}

func (a *app) torqueCmd() *cobra.Command {
	var f torqueFlags
	c := &cobra.Command{
		Use:   "torque [PUMP [JOINT]]",
		Short: "What to set on the wrench, and which clamp it gives with which scatter",
		Long: `For each joint of a pump: the torque in the wrench's own unit, corrected for the adapter, the clamp with its scatter from
friction, tool and tolerance, and what it does for the packing set it goes through. Without a pump: for any thread.`,
		Example: `  evenstroke torque orrin-30 --length "380 mm"
  evenstroke torque orrin-30 "throat nut" --length "380 mm" --unit torque=lbf·ft
  evenstroke torque --thread M24x2 --torque "45 N·m ± 4 N·m" --face-outer "38 mm" --face-inner "25 mm" --json`,
		Args: cobra.MaximumNArgs(2),
		RunE: func(_ *cobra.Command, args []string) error { return a.runTorque(f, args) },
	}
	fl := c.Flags()
	fl.StringVar(&f.class, "class", "II A", "type and class of the wrench by ISO 6789-1")
	fl.StringVar(&f.length, "length", "", "length of the wrench from hand to drive (needed with an adapter)")
	fl.StringVar(&f.adapter, "adapter", "", "length that an adapter adds (default: what the sheet says)")
	fl.StringVar(&f.angle, "angle", "0 °", "angle of the adapter to the wrench; 90 ° needs no correction")
	fl.StringVar(&f.step, "step", "", "step of the wrench's scale")
	fl.StringVar(&f.thread, "thread", "", "thread, e.g. M24x2 or 3/4-16 UNF (without a pump)")
	fl.StringVar(&f.torque, "torque", "", "torque at the fastener (without a pump)")
	fl.StringVar(&f.outer, "face-outer", "", "outer diameter of the bearing face (without a pump)")
	fl.StringVar(&f.inner, "face-inner", "", "inner diameter of the bearing face (without a pump)")
	fl.StringVar(&f.mu, "friction", "B", "friction class A to E of VDI 2230 (without a pump)")
	fl.StringVar(&f.proof, "proof-strength", "", "proof strength of the weaker part, e.g. 450 MPa (without a pump)")
	fl.BoolVar(&a.strict, "strict", false, "exit with 5 when a joint or its packing set would not stand the torque")
	return c
}

func (a *app) runTorque(f torqueFlags, args []string) error {
	joints, p, err := a.jointsFor(f, args)
	if err != nil {
		return err
	}
	tool, adapter, angle, err := f.tool()
	if err != nil {
		return err
	}
	var docs []torqueDoc
	doubts := false
	for _, j := range joints {
		d, err := a.analyseJoint(p, j, tool, adapter, angle)
		if err != nil {
			return asInput(from(fmt.Errorf("joint %q: %w", j.Name, err), f.places(p)))
		}
		docs = append(docs, d)
		doubts = doubts || len(d.Doubts) > 0
	}
	if a.json {
		return errors.Join(a.printJSON(docs), a.strictly(doubts))
	}
	for _, d := range docs {
		a.printTorque(d)
	}
	fmt.Fprintln(a.out, a.wrap("The maker's manual decides; clean and lubricate as it says, for friction decides the clamp.", "  "))
	return a.strictly(doubts)
}

// places are the flags, and the keys of the sheet, from which a torque is worked out.
func (f torqueFlags) places(p *pump.Pump) map[string]string {
	places := map[string]string{"length of the wrench": "--length", "length of the adapter": "--adapter", "angle of the adapter": "--angle", "step of the wrench's scale": "--step",
		"reach of wrench and adapter together": "--adapter"}
	if p == nil {
		for what, flag := range map[string]string{"torque": "--torque", "tolerance of the torque": "--torque", "thread": "--thread", "friction class": "--friction",
			"inner diameter of the bearing face": "--face-inner", "outer diameter of the bearing face": "--face-outer"} {
			places[what] = flag
		}
	}
	return places
}

// jointsFor returns the joints of the pump, or the one that the flags describe.
func (a *app) jointsFor(f torqueFlags, args []string) ([]pump.Joint, *pump.Pump, error) {
	if len(args) == 0 {
		if f.thread == "" || f.torque == "" || f.outer == "" || f.inner == "" {
			return nil, nil, badInput("torque: found no pump; expected a pump, or --thread, --torque, --face-outer and --face-inner")
		}
		m, err := quantity("--torque", f.torque, unit.Torque, torques)
		if err != nil {
			return nil, nil, err
		}
		j := pump.Joint{Name: f.thread, Thread: f.thread, Torque: m.SI, Tol: m.U, Friction: f.mu}
		for i, q := range []struct {
			flag, text string
			r          sheet.Range
		}{{"--face-inner", f.inner, sheet.NotNegative(longestFace)}, {"--face-outer", f.outer, sheet.Positive(longestFace)}} {
			d, err := quantity(q.flag, q.text, unit.Length, q.r)
			if err != nil {
				return nil, nil, err
			}
			j.Bearing[i] = d.SI
		}
		if f.proof != "" {
			v, err := quantity("--proof-strength", f.proof, unit.Pressure, sheet.Between(10e6, 3000e6))
			if err != nil {
				return nil, nil, err
			}
			j.Yield = v.SI
		}
		return []pump.Joint{j}, nil, nil
	}
	p, err := loadPump(args[0], "")
	if err != nil {
		return nil, nil, err
	}
	if len(args) == 1 {
		return p.Joints, p, nil
	}
	j, ok := p.Joint(args[1])
	if !ok {
		var names []string
		for _, j := range p.Joints {
			names = append(names, j.Name)
		}
		return nil, nil, notFound("joint", args[1], p.Name, names)
	}
	return []pump.Joint{j}, p, nil
}

func (f torqueFlags) tool() (tool bolt.Tool, adapter, angle float64, err error) {
	if tool, err = bolt.NewTool(f.class); err != nil {
		return tool, 0, 0, from(err, map[string]string{"tool class": "--class"})
	}
	adapter = math.NaN()
	for _, q := range []struct {
		flag, text string
		d          unit.Dim
		r          sheet.Range
		to         *float64
	}{{"--length", f.length, unit.Length, sheet.Positive(3), &tool.Length}, {"--adapter", f.adapter, unit.Length, sheet.NotNegative(1), &adapter},
		{"--angle", f.angle, unit.Angle, sheet.Between(-math.Pi, math.Pi), &angle}, {"--step", f.step, unit.Torque, torques, &tool.Step}} {
		if q.text == "" {
			continue
		}
		v, err := quantity(q.flag, q.text, q.d, q.r)
		if err != nil {
			return tool, 0, 0, err
		}
		*q.to = v.SI
	}
	return tool, adapter, angle, nil
}

// analyseJoint works out one joint of a pump; the pump is nil when the flags describe the joint.
func (a *app) analyseJoint(p *pump.Pump, j pump.Joint, tool bolt.Tool, adapter, angle float64) (torqueDoc, error) {
	if p == nil {
		p = &pump.Pump{}
	}
	if math.IsNaN(adapter) {
		adapter = j.Adapter
	}
	if adapter > 0 && tool.Length == 0 && !bolt.Square(angle) {
		return torqueDoc{}, badInput("it is fitted with a spanner that adds %s to the wrench: give the wrench's own length with --length, or --angle 90° when it stands square to it, or --adapter \"0 mm\"", unit.Metric().Show(adapter, unit.Length))
	}
	b, err := p.Bolt(j)
	if err != nil {
		return torqueDoc{}, err
	}
	b.Tool, b.Adapter, b.Angle = tool, adapter, angle
	an, err := b.Analyse()
	if err != nil {
		return torqueDoc{}, err
	}
	d := torqueDoc{Joint: j.Name, Thread: j.Thread, TorqueNM: j.Torque, TolNM: j.Tol, SetNM: an.Wrench.Set, AdapterM: adapter, ToolShare: an.Wrench.Deviation,
		Within: an.Wrench.Within, ClampN: an.Clamp.Mean, ClampStdN: an.Clamp.Std, Clamp05N: an.Clamp.Q05, Clamp95N: an.Clamp.Q95, Through: j.Through,
		ThreadUse: an.Utilisation, ThreadLoad: an.Loaded, Most90N: an.Preload90, BreakNM: an.Breakaway, FrictionOf: j.Friction,
		Doubts: describeDoubts(p.JointDoubts(j, 0, pump.Conditions{}), a.sys), RestsOn: torqueRests(j, b)}
	if st, ok := p.Stack(j.Through); ok {
		s, err := p.StackUnder(st, j.Torque, pump.Conditions{})
		if err != nil {
			return torqueDoc{}, err
		}
		d.SealsPa, d.Rating = s.Capacity, s.Rated
	}
	return d, nil
}

// torqueRests says what a clamp rests on beside the sheet.
func torqueRests(j pump.Joint, b bolt.Joint) []string {
	out := []string{fmt.Sprintf("friction class %s: %.2g to %.2g in thread and under the head, even (VDI 2230-1)", j.Friction, b.MuThread.Lo, b.MuThread.Hi),
		fmt.Sprintf("a wrench of type and class %s (ISO 6789-1)", b.Tool.Class)}
	if j.Yield == 0 {
		out = append(out, "the strength of the thread was not checked: no proof_strength")
	}
	return out
}

func (a *app) printTorque(d torqueDoc) {
	tol := ""
	if d.TolNM > 0 {
		tol = " ± " + a.show(d.TolNM, unit.Torque)
	}
	line := func(what, text string) {
		fmt.Fprintln(a.out, a.hang(text, fmt.Sprintf("  %-20s ", what), strings.Repeat(" ", 23)))
	}
	fmt.Fprintf(a.out, "%s  %s\n", a.bold(d.Joint), d.Thread)
	line("torque at the joint", a.show(d.TorqueNM, unit.Torque)+tol)
	adapter := ""
	if d.AdapterM > 0 {
		adapter = " (adapter of " + a.show(d.AdapterM, unit.Length) + ")"
	}
	line("set on the wrench", a.bold(a.show(d.SetNM, unit.Torque))+adapter)
	line("clamp", fmt.Sprintf("%s (nine in ten within %s, friction class %s, tool ±%.0f\u00a0%%)", a.rough(d.ClampN, unit.Force),
		draw.Range(d.Clamp05N, d.Clamp95N, unit.Force, a.sys), d.FrictionOf, 100*d.ToolShare))
	if d.ThreadUse > 0 {
		line("thread", fmt.Sprintf("up to %.0f\u00a0%% of its proof strength, under rated pressure %.0f\u00a0%%", 100*d.ThreadUse, 100*d.ThreadLoad))
	}
	if d.Through != "" {
		line("goes through", fmt.Sprintf("the %s set, which then seals %s", d.Through, a.capacity(d.SealsPa, d.Rating)))
	}
	fmt.Fprintln(a.out, a.wrap("rests on: "+strings.Join(d.RestsOn, "; "), "  "))
	a.printDoubts(d.Doubts, "  ")
	fmt.Fprintln(a.out)
}

func notFound(what, name, in string, have []string) error {
	return badInput("%s %q: the pump %s has no such %s; expected one of %s%s", what, name, in, what, strings.Join(have, ", "), meant(name, have))
}
