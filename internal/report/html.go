package report

import (
	_ "embed" // the template and its style sheet
	"html/template"
	"io"
	"strings"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

//go:embed report.html
var page string

//go:embed report.css
var style string

// HTML writes the report. Errors: *DocumentError for a document without a pump or with a hold without a result, those of package
// draw for a picture that cannot be drawn, and those of w.
func HTML(w io.Writer, doc Document) error {
	v, err := newView(doc)
	if err != nil {
		return err
	}
	t, err := template.New("report").Parse(page)
	if err != nil {
		return err
	}
	return t.Execute(w, v)
}

// view is the document in words and pictures.
type view struct {
	Style                           template.CSS
	Title, Shop, Made, Version      string
	Pump, Note                      string
	Invented                        bool
	Facts                           []Fact
	Summary                         []summary
	Holds                           []holdView
	Stacks                          []pictures
	Cautions                        []string
	Steps                           []stepView
	Audited                         bool
	Departures                      []departureView
	Torques                         []torqueView
	AnyRead, AnySet, AnyClamp, Tool bool // columns of the torque table
	Plots                           []pictures
	Unknown                         []string
}

// pictures is one picture in its two forms.
type pictures struct {
	Heading      string
	Wide, Narrow template.HTML
}

// summary is one verdict at the head of the report.
type summary struct{ Heading, Word, Class, Chance string }

func newView(doc Document) (*view, error) {
	switch {
	case doc.Pump == nil:
		return nil, &DocumentError{"Pump", "found none; expected the pump that the report is about"}
	case doc.Units == unit.System{}:
		doc.Units = unit.Metric()
	}
	v := &view{
		Style: template.CSS(style + draw.StyleSheet()), Title: doc.Title, Shop: doc.Shop, Made: doc.Made, Version: doc.Version,
		Pump: doc.Pump.Name, Note: doc.Pump.Note, Invented: invented(doc.Pump), Facts: facts(doc), Audited: doc.Audited || len(doc.Departures) > 0,
	}
	if v.Title == "" {
		v.Title = "Pump report"
	}
	for _, h := range doc.Holds {
		if h.Result == nil {
			return nil, &DocumentError{"Holds", "found a hold without a result; expected what the readings say"}
		}
		hv, err := newHold(doc, h)
		if err != nil {
			return nil, err
		}
		v.Holds = append(v.Holds, hv)
		v.Summary = append(v.Summary, summary{hv.Heading, h.Result.Verdict.Word, verdictClass(h.Result.Verdict.Word), draw.Chance(h.Result.Verdict.Meets)})
	}
	if err := v.stacks(doc); err != nil {
		return nil, err
	}
	v.work(doc)
	v.torques(doc)
	for _, q := range doc.Plots {
		p, err := plot(q, doc.Units)
		if err != nil {
			return nil, err
		}
		v.Plots = append(v.Plots, p)
	}
	v.Unknown = unknown(doc)
	return v, nil
}

// invented says whether the sheet calls its pump invented.
func invented(p *pump.Pump) bool { return strings.Contains(strings.ToLower(p.Note), "invented") }

// facts are those of the job and then those of the pump.
func facts(doc Document) []Fact {
	p, sys := doc.Pump, doc.Units
	out := append([]Fact(nil), doc.Job...)
	drive := map[pump.DriveKind]string{pump.ForceHeld: "force-held: creeps at a stall", pump.Crank: "crank: stops with its rod locked"}[p.Drive.Kind]
	for _, f := range []Fact{
		{"Pump", p.Name}, {"Drive", drive},
		{"Bore, rod, stroke", sys.Show(p.Bore, unit.Length) + ", " + sys.Show(p.Rod, unit.Length) + ", " + sys.Show(p.Stroke, unit.Length)},
		{"Rated pressure", sys.Show(p.Limits.Rated, unit.Pressure)},
		{"Limit", "a stroke at rated pressure takes " + unit.Format(p.Limits.StrokeTime, unit.Time, sys.UnitFor(p.Limits.StrokeTime, unit.Time), 2) + " or more"},
	} {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

func verdictClass(word string) string {
	switch word {
	case "holds":
		return "holds"
	case "does not hold":
		return "fails"
	case "not proven yet":
		return "open"
	}
	return "neutral"
}

// inline makes a picture of package draw, which escapes its texts, part of the page.
func inline(svg string) template.HTML { return template.HTML(draw.Inline(svg)) }

func plot(q draw.Plot, sys unit.System) (pictures, error) {
	wide, err := q.SVG(sys)
	if err != nil {
		return pictures{}, err
	}
	narrow, err := q.Narrow(sys)
	return pictures{q.Title, inline(wide), inline(narrow)}, err
}

func (v *view) stacks(doc Document) error {
	for _, s := range doc.Stacks {
		wide, err := draw.Stack(doc.Pump, s.Name, s.Analysis, doc.Units)
		if err != nil {
			return err
		}
		narrow, err := draw.StackNarrow(doc.Pump, s.Name, s.Analysis, doc.Units)
		if err != nil {
			return err
		}
		v.Stacks = append(v.Stacks, pictures{s.Name, inline(wide), inline(narrow)})
	}
	return nil
}
