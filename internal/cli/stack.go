package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// stackDoc is the JSON of one packing set.
type stackDoc struct {
	Stack      string    `json:"stack"`
	LoadN      float64   `json:"axial_load_n"`
	PressurePa float64   `json:"pressure_pa"`
	CapacityPa float64   `json:"seals_up_to_pa"`
	Rating     bool      `json:"seals_up_to_is_rating"` // the rings are rated for it; their preload seals that or more
	Holds      bool      `json:"holds"`
	SealedBy   string    `json:"sealed_by"` // ring, or ""
	State      string    `json:"state"`
	DragUpN    float64   `json:"drag_up_n"`
	DragDownN  float64   `json:"drag_down_n"`
	Rings      []ringDoc `json:"rings"` // from the top

	Doubts  []doubtDoc `json:"doubts,omitempty"` // what it would not stand
	RestsOn []basisDoc `json:"rests_on"`
	Cold    bool       `json:"temperature_changes_nothing"`         // only what is known of PTFE follows the temperature
	Fixed   []string   `json:"unaffected_by_temperature,omitempty"` // the materials of which nothing is known that does
}

// basisDoc is the JSON of one constant that a result rests on.
type basisDoc struct {
	Material string  `json:"material"`
	Constant string  `json:"constant"`
	SI       float64 `json:"si"`
	Source   string  `json:"source"`
	Assumed  bool    `json:"assumed"` // no published value was found
}

type ringDoc struct {
	Part      string  `json:"part"`
	Kind      string  `json:"kind"`
	Lips      string  `json:"lips,omitempty"`
	AxialPa   float64 `json:"axial_stress_pa"`
	ContactPa float64 `json:"contact_stress_pa"` // the lesser of the two walls, without the fluid
	NetPa     float64 `json:"contact_less_pressure_pa"`
	Seals     bool    `json:"seals"`
}

func (a *app) stackCmd() *cobra.Command {
	var torque, svg, temperature string
	c := &cobra.Command{
		Use:   "stack PUMP [STACK]",
		Short: "What a packing set does: stress along it, the ring that seals, drag, capacity",
		Long: `Works out a packing set ring by ring under the torque of the sheet (or another one): axial stress falling with depth by wall
friction, contact stress with the fluid's pressure on the lips that face it, the ring that seals, the drag on the rod.`,
		Example: `  evenstroke stack orrin-30
  evenstroke stack orrin-30 throat --torque "20 N·m"
  evenstroke stack varn-40 --json`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(_ *cobra.Command, args []string) error { return a.runStack(args, torque, temperature, svg) },
	}
	c.Flags().StringVar(&torque, "torque", "", "torque on the nut (default: that of the sheet)")
	c.Flags().StringVar(&temperature, "temperature", "20 °C", "temperature of the packing; only what is known of PTFE follows it")
	c.Flags().BoolVar(&a.strict, "strict", false, "exit with 5 when a set would not stand its load or does not hold the rated pressure")
	c.Flags().StringVar(&svg, "svg", "", "also draw the set into this SVG file (- for the standard output; needs STACK)")
	return c
}

func (a *app) runStack(args []string, torque, temperature, svg string) error {
	p, err := loadPump(args[0], "")
	if err != nil {
		return err
	}
	stacks := p.Stacks
	if len(args) == 2 {
		st, ok := p.Stack(args[1])
		if !ok {
			var names []string
			for _, s := range p.Stacks {
				names = append(names, s.Name)
			}
			return notFound("packing set", args[1], p.Name, names)
		}
		stacks = []pump.Stack{st}
	}
	m := unit.Value{}
	if torque != "" {
		if m, err = quantity("--torque", torque, unit.Torque, torques); err != nil {
			return err
		}
	}
	t, err := quantity("--temperature", temperature, unit.Temperature, sheet.Any())
	if err != nil {
		return err
	}
	if svg != "" && len(args) < 2 {
		return badInput("--svg: found no packing set; expected its name after the pump")
	}
	quiet, err := a.takesStdout(written{"--svg", svg})
	if err != nil {
		return err
	}
	var docs []stackDoc
	doubts := false
	for _, st := range stacks {
		cond := pump.Conditions{Temperature: t.SI}
		load, err := p.Load(st, m.SI, cond)
		if err != nil {
			return stackError(p, st, torque, err)
		}
		an, err := p.StackUnder(st, m.SI, cond)
		if err != nil {
			return stackError(p, st, torque, err)
		}
		d := describeStack(st, load, an)
		if err := a.judgeStack(&d, p, st, m.SI, cond); err != nil {
			return err
		}
		docs, doubts = append(docs, d), doubts || len(d.Doubts) > 0
		if svg != "" {
			pic, err := draw.Stack(p, st.Name, &an, a.sys)
			if err != nil {
				return err
			}
			if err := a.writeFile(svg, []byte(pic)); err != nil {
				return err
			}
		}
	}
	if a.json {
		return errors.Join(a.printJSON(docs), a.strictly(doubts))
	}
	for _, d := range docs {
		if !quiet {
			a.printStack(d)
		}
	}
	return a.strictly(doubts)
}

// judgeStack fills in what a set would not stand and what its figures rest on.
func (a *app) judgeStack(d *stackDoc, p *pump.Pump, st pump.Stack, torque float64, cond pump.Conditions) error {
	d.Doubts = describeDoubts(p.StackDoubts(st, torque, cond), a.sys)
	rests, err := p.RestsOn(st, cond)
	if err != nil {
		return stackError(p, st, "", err)
	}
	d.Cold = true
	for _, b := range rests {
		warms := seal.Warms(b.Material)
		d.Cold = d.Cold && !warms
		if !warms && !slices.Contains(d.Fixed, b.Material) {
			d.Fixed = append(d.Fixed, b.Material)
		}
		d.RestsOn = append(d.RestsOn, basisDoc{b.Material, string(b.Constant), b.Value, b.Source, b.Assumed})
	}
	return nil
}

// stackError says which set could not be worked out, and where what was wrong came from.
func stackError(p *pump.Pump, st pump.Stack, torque string, err error) error {
	places := map[string]string{"temperature": "--temperature"}
	if torque != "" {
		places["torque"] = "--torque"
	}
	return asInput(from(fmt.Errorf("%s: packing set %q: %w", p.File, st.Name, err), places))
}

// describeStack pairs the rings of the sheet, which go from bottom to top, with those of the analysis, from the top.
func describeStack(st pump.Stack, load float64, an seal.Analysis) stackDoc {
	d := stackDoc{Stack: st.Name, LoadN: load, PressurePa: an.Pressure, CapacityPa: an.Capacity, Rating: an.Rated, Holds: an.Holds, State: string(an.State),
		DragUpN: an.Drag.Up, DragDownN: an.Drag.Down}
	n := len(st.Rings)
	for i, r := range an.Rings {
		ring := st.Rings[n-1-i]
		d.Rings = append(d.Rings, ringDoc{ring.Part, ring.Kind, ring.Lips, r.Mean, min(r.Inner, r.Outer), min(r.NetInner, r.NetOuter), r.Seals})
	}
	if an.SealedBy >= 0 {
		d.SealedBy = st.Rings[n-1-an.SealedBy].Part
	}
	return d
}

func (a *app) printStack(d stackDoc) {
	show := func(x float64) string { return a.rough(x, unit.Pressure) }
	says := "holds %s, seals %s (%s)"
	if !d.Holds {
		says = "does not hold %s, seals only %s (%s)"
	}
	fmt.Fprintln(a.out, a.hang(fmt.Sprintf("under %s: "+says, a.rough(d.LoadN, unit.Force), a.show(d.PressurePa, unit.Pressure), a.capacity(d.CapacityPa, d.Rating), d.State), a.bold(d.Stack+" set")+"  ", "  "))
	t := table{head: []string{"ring, from the top", "kind", "lips", "axial", "contact", "less pressure", ""}}
	for _, r := range d.Rings {
		seals := ""
		if r.Seals {
			seals = "seals"
		}
		t.add(r.Part, r.Kind, lips(r.Lips), show(r.AxialPa), show(r.ContactPa), show(r.NetPa), seals)
	}
	t.print(a.out, a.width())
	a.para("  ", "drag: upstroke %s, downstroke %s", a.rough(d.DragUpN, unit.Force), a.rough(d.DragDownN, unit.Force))
	a.printDoubts(d.Doubts, "  ")
	a.printBasis(d)
	fmt.Fprintln(a.out)
}

// constants are the words of the constants of a material.
var constants = map[seal.Constant]string{seal.LateralConstant: "radial over axial stress", seal.FrictionConstant: "friction", seal.RatingConstant: "rating"}

// printBasis says what the figures of a set rest on: each constant with its source.
func (a *app) printBasis(d stackDoc) {
	last := ""
	var line []string
	flush := func() {
		if len(line) > 0 {
			fmt.Fprintln(a.out, a.wrap("rests on: "+last+", "+strings.Join(line, "; "), "  "))
		}
		line = nil
	}
	for _, b := range d.RestsOn {
		if b.Material != last {
			flush()
			last = b.Material
		}
		value := fmt.Sprintf("%.2g", b.SI)
		if seal.Constant(b.Constant) == seal.RatingConstant {
			value = a.rough(b.SI, unit.Pressure)
		}
		line = append(line, fmt.Sprintf("%s %s (%s)", constants[seal.Constant(b.Constant)], value, b.Source))
	}
	flush()
	switch {
	case d.Cold:
		a.para("  ", "the temperature changes nothing here: only what is known of PTFE follows it")
	case len(d.Fixed) > 0:
		a.para("  ", "the temperature changes only what is known of PTFE; taken as at 23 °C: %s", strings.Join(d.Fixed, ", "))
	}
}

// capacity says which pressure a set seals: up to a result, or a rating that its preload reaches.
func (a *app) capacity(si float64, rating bool) string {
	if rating {
		return a.rough(si, unit.Pressure) + " or more (rating of the ring, from memory)"
	}
	return "up to " + a.rough(si, unit.Pressure)
}

// rough prints a value whose constants are guesses: two digits.
func (a *app) rough(si float64, d unit.Dim) string {
	return draw.Short(si, d, a.sys)
}
