package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// sheetDoc is the JSON of one pump of `evenstroke sheet`.
type sheetDoc struct {
	Name      string            `json:"name"`
	File      string            `json:"file"`
	Drive     string            `json:"drive"`
	BoreM     float64           `json:"bore_m"`
	RodM      float64           `json:"rod_m"`
	StrokeM   float64           `json:"stroke_m"`
	RatedPa   float64           `json:"rated_pa"`
	CycleM3   float64           `json:"volume_per_cycle_m3"`
	UpAreaM2  float64           `json:"creep_area_up_m2"`
	DownArea  float64           `json:"creep_area_down_m2"`
	Paths     []pathDoc         `json:"paths"`
	Lips      map[string]string `json:"lips"` // by stack
	Parts     int               `json:"parts"`
	LimitM3S  float64           `json:"leak_limit_m3_s"` // the stricter of the two strokes
	StrokeMin float64           `json:"least_stroke_time_s"`
	Doubts    []doubtDoc        `json:"doubts,omitempty"` // what can hardly be, or would not stand
}

type pathDoc struct {
	Name   string `json:"name"`
	Kind   string `json:"kind"`
	From   string `json:"from"`
	To     string `json:"to"`
	OnUp   bool   `json:"leaks_on_upstroke"`
	OnDown bool   `json:"leaks_on_downstroke"`
	Seen   bool   `json:"can_be_seen"`
}

func (a *app) sheetCmd() *cobra.Command {
	c := &cobra.Command{
		Use:   "sheet PUMP...",
		Short: "Check pump sheets and show what follows from them",
		Long: `Checks each pump sheet and shows its pressure map: which leak shows on which stroke, and which way each packing set must face.
PUMP is a file or the name of a demo pump. Exit code 2 when a sheet is wrong; every error names file and line. What can hardly be, and
what a joint or a packing set would not stand, is doubted, with --strict exit code 5.`,
		Example: `  evenstroke sheet orrin-30
  evenstroke sheet evenstroke-demo/varn-40.yaml --units imperial
  evenstroke sheet tolsk-18 --json`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			var pumps []*pump.Pump
			doubted := false
			for _, name := range args {
				p, err := loadPump(name, "")
				if err != nil {
					return err
				}
				pumps, doubted = append(pumps, p), doubted || len(p.Doubts) > 0
			}
			if a.json {
				var docs []sheetDoc
				for _, p := range pumps {
					docs = append(docs, a.describePump(p))
				}
				return errors.Join(a.printJSON(docs), a.strictly(doubted))
			}
			for i, p := range pumps {
				if i > 0 {
					fmt.Fprintln(a.out)
				}
				a.printPump(p, a.describePump(p))
			}
			return a.strictly(doubted)
		},
	}
	c.Flags().BoolVar(&a.strict, "strict", false, "exit with 5 when something on a sheet is doubted")
	return c
}

func (a *app) describePump(p *pump.Pump) sheetDoc {
	m := p.Map()
	doc := sheetDoc{
		Name: p.Name, File: p.File, Drive: string(p.Drive.Kind), BoreM: p.Bore, RodM: p.Rod, StrokeM: p.Stroke, RatedPa: p.Limits.Rated,
		CycleM3: p.Displacement(), UpAreaM2: m.Creep[pump.Up], DownArea: m.Creep[pump.Down], Lips: map[string]string{}, Parts: len(p.Parts),
		StrokeMin: p.Limits.StrokeTime, Paths: []pathDoc{}, Doubts: describeDoubts(p.Doubts, a.sys),
	}
	for i, d := range pump.Dirs {
		if q := p.Stroke * m.Creep[d] / p.Limits.StrokeTime; i == 0 || q < doc.LimitM3S {
			doc.LimitM3S = q
		}
	}
	for _, q := range m.Paths {
		doc.Paths = append(doc.Paths, pathDoc{q.Name, string(q.Kind), q.From, q.To, q.Shows[pump.Up] != 0, q.Shows[pump.Down] != 0, q.Visible})
	}
	for _, st := range p.Stacks {
		if f, ok := p.FacingOf(m, st); ok {
			doc.Lips[st.Name] = f.Lips + ", toward " + f.Node
		}
	}
	return doc
}

func (a *app) printPump(p *pump.Pump, doc sheetDoc) {
	fmt.Fprintln(a.out, a.hang(fmt.Sprintf("%s, bore %s, rod %s, stroke %s, rated %s", doc.Drive,
		a.show(p.Bore, unit.Length), a.show(p.Rod, unit.Length), a.show(p.Stroke, unit.Length), a.show(p.Limits.Rated, unit.Pressure)), a.bold(p.Name)+"  ", "  "))
	if p.Note != "" {
		fmt.Fprintln(a.out, a.wrap(p.Note, "  "))
	}
	fmt.Fprintln(a.out)
	a.para("  ", "delivers %s a cycle", a.show(doc.CycleM3, unit.Volume))
	a.para("  ", "limit: at %s a stroke takes %s or more, which a leak of %s just meets", a.show(p.Limits.Rated, unit.Pressure), draw.Short(doc.StrokeMin, unit.Time, a.sys),
		a.show(doc.LimitM3S, unit.Flow))
	fmt.Fprintln(a.out)
	t := table{head: []string{"leak path", "from", "to", "upstroke", "downstroke", "can be seen"}}
	for _, q := range doc.Paths {
		t.add(q.Name, q.From, q.To, mark(q.OnUp, "leaks"), mark(q.OnDown, "leaks"), mark(q.Seen, "yes"))
	}
	t.print(a.out, a.width())
	if len(doc.Lips) > 0 {
		fmt.Fprintln(a.out)
		t := table{head: []string{"packing set", "lips open"}}
		for _, st := range p.Stacks {
			if l, ok := doc.Lips[st.Name]; ok {
				t.add(st.Name, l)
			}
		}
		t.print(a.out, a.width())
	}
	if len(doc.Doubts) > 0 {
		fmt.Fprintf(a.out, "\n  %s can be read, and is doubted:\n", strings.TrimSpace(doc.File))
		a.printDoubts(doc.Doubts, "  ")
		return
	}
	fmt.Fprintf(a.out, "\n%s\n", a.wrap(fmt.Sprintf("%s is sound: %s, %s, %s", strings.TrimSpace(doc.File), count(len(p.Parts), "part"), count(len(p.Joints), "joint"), count(len(p.Stacks), "packing set")), "  "))
}

func mark(b bool, yes string) string {
	if b {
		return yes
	}
	return "–"
}
