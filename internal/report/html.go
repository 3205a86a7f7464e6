package report

import (
	_ "embed" // the template and its style sheet
	"html/template"
	"io"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

//go:embed report.html
var page string

//go:embed report.css
var style string

//go:embed customer.html
var customerPage string

// HTML writes the report. Errors: *DocumentError for a document without a pump, with a hold without a result, or with a language,
// paper, photo, signature or code that cannot be written; those of package draw for a picture that cannot be drawn; those of w.
func HTML(w io.Writer, doc Document) error {
	v, err := newView(doc)
	if err != nil {
		return err
	}
	return fill(w, page, doc.Words, v)
}

// fill fills in a page whose fixed words are looked up by {{t "key"}}.
func fill(w io.Writer, page string, words Words, v any) error {
	t, err := template.New("report").Funcs(template.FuncMap{"t": words.t}).Parse(page)
	if err != nil {
		return err
	}
	return t.Execute(w, v)
}

// view is the document in words and pictures.
type view struct {
	Style                           template.CSS
	Lang                            string
	Title, Shop, Made, Generated    string
	Leave                           string
	ShopLines                       []string
	Pump, Note, Running             string
	Draft                           bool
	Invented                        bool
	Facts                           []Fact
	Summary                         []summary
	Overrides                       []string
	Holds                           []holdView
	Stacks                          []pictures
	Cautions                        []string
	Steps                           []stepView
	Audited                         bool
	Departures                      []departureView
	Torques                         []torqueView
	AnyRead, AnySet, AnyClamp, Tool bool // columns of the torque table
	SignOffs                        []SignOff
	Plots                           []pictures
	Photos                          []photoView
	Price                           priceView
	Unknown                         []string
	Signature                       *signatureView
	RecordMark                      string
	Code                            *codeView
}

// priceView is what the work costs.
type priceView struct {
	Lines    []PriceLine
	Quantity bool // any line has one
	Amount   string
	Total    string
}

func newPrice(lines []PriceLine, total, currency string, w Words) priceView {
	v := priceView{Lines: lines, Amount: w.t("prices.amount"), Total: total}
	if currency != "" {
		v.Amount = w.t("prices.amountIn", "currency", currency)
	}
	for _, l := range lines {
		v.Quantity = v.Quantity || l.Quantity != ""
	}
	return v
}

// Any says whether there is a price to write.
func (v priceView) Any() bool { return len(v.Lines) > 0 || v.Total != "" }

// pictures is one picture in its two forms.
type pictures struct {
	Heading      string
	Wide, Narrow template.HTML
	svg, slim    string // both with their colours, for paper
}

// summary is one verdict at the head of the report.
type summary struct{ Heading, Word, Class, Chance, Figure string }

func newView(doc Document) (*view, error) {
	if err := doc.settle(); err != nil {
		return nil, err
	}
	w := doc.Words
	v := &view{
		Leave: doc.Leave,
		Style: template.CSS(style + draw.StyleSheet()), Lang: doc.Lang, Title: doc.Title, Shop: doc.Shop, ShopLines: doc.ShopLines, Made: doc.Made,
		Generated: generated(doc.Version, w), Pump: doc.Pump.Name, Note: doc.Pump.Note, Invented: doc.Pump.Invented, Running: doc.Running, Draft: doc.Draft, Facts: facts(doc),
		Overrides: doc.Overrides, Audited: doc.Audited || len(doc.Departures) > 0, Price: newPrice(doc.Prices, doc.Total, doc.Currency, w),
		RecordMark: doc.RecordMark,
	}
	for _, h := range doc.Holds {
		hv, err := newHold(doc, h)
		if err != nil {
			return nil, err
		}
		v.Holds = append(v.Holds, hv)
		v.Summary = append(v.Summary, summary{hv.Heading, hv.Word, hv.Class, w.t("chance", "chance", hv.Chance), hv.Chance})
	}
	if err := v.stacks(doc); err != nil {
		return nil, err
	}
	v.work(doc)
	v.torques(doc)
	for _, q := range doc.Plots {
		p, err := plot(q, doc.Units, doc.Say)
		if err != nil {
			return nil, err
		}
		v.Plots = append(v.Plots, p)
	}
	v.Unknown = unknown(doc)
	return v, v.papers(doc)
}

// papers reads photos, signature and code.
func (v *view) papers(doc Document) (err error) {
	if v.Photos, err = newPhotos(doc.Photos, doc.Words); err != nil {
		return err
	}
	if v.Signature, err = newSignature(doc.Signature, doc.Words); err != nil {
		return err
	}
	v.Code, err = newCode(doc.QR, doc.Words)
	return err
}

func generated(version string, w Words) string {
	if version == "" {
		return w.t("generatedPlain")
	}
	return w.t("generated", "version", version)
}

// facts are those of the job and then those of the pump.
func facts(doc Document) []Fact {
	p, sys, w := doc.Pump, doc.Units, doc.Words
	out := append([]Fact(nil), doc.Job...)
	drive := map[pump.DriveKind]string{pump.ForceHeld: w.t("fact.forceHeld"), pump.Crank: w.t("fact.crank")}[p.Drive.Kind]
	for _, f := range []Fact{
		{w.t("fact.pump"), p.Name}, {w.t("fact.drive"), joinPresent(", ", doc.Drive, drive)},
		{w.t("fact.size"), sys.Show(p.Bore, unit.Length) + ", " + sys.Show(p.Rod, unit.Length) + ", " + sys.Show(p.Stroke, unit.Length)},
		{w.t("fact.rated"), sys.Show(p.Limits.Rated, unit.Pressure)},
		{w.t("fact.limit"), limitFact(doc)},
	} {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

// limitFact is the limit of the pump in what its owner sees: the time of a stroke, or what a crank may lose while its motor stands.
func limitFact(doc Document) string {
	t, sys := doc.Pump.Limits.StrokeTime, doc.Units
	for _, h := range doc.Holds {
		if l := h.Result.Verdict.Lost; l != nil {
			return doc.Words.t("fact.limitLost", "fall", draw.Short(l.Limit*1e5, unit.Pressure, sys))
		}
	}
	return doc.Words.t("fact.limitText", "time", unit.Format(t, unit.Time, sys.UnitFor(t, unit.Time), 2))
}

func verdictClass(word string) string {
	switch word {
	case hold.Holds:
		return "holds"
	case hold.DoesNotHold:
		return "fails"
	case hold.NotProven:
		return "open"
	}
	return "neutral"
}

// inline makes a picture of package draw, which escapes its texts, part of the page.
func inline(svg string) template.HTML { return template.HTML(draw.Inline(svg)) }

func plot(q draw.Plot, sys unit.System, say Say) (pictures, error) {
	wide, err := q.SVG(sys, draw.In(say))
	if err != nil {
		return pictures{}, err
	}
	narrow, err := q.Narrow(sys, draw.In(say))
	return pictures{say.t(q.Title), inline(wide), inline(narrow), wide, narrow}, err
}

func (v *view) stacks(doc Document) error {
	for _, s := range doc.Stacks {
		wide, err := draw.Stack(doc.Pump, s.Name, s.Analysis, doc.Units, draw.In(doc.Say))
		if err != nil {
			return err
		}
		narrow, err := draw.StackNarrow(doc.Pump, s.Name, s.Analysis, doc.Units, draw.In(doc.Say))
		if err != nil {
			return err
		}
		v.Stacks = append(v.Stacks, pictures{s.Name, inline(wide), inline(narrow), wide, narrow})
	}
	return nil
}
