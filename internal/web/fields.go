package web

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/unit"
)

// Field is one field of a form as the template "field" shows it.
type Field struct {
	F          *Frame
	Form       *Form
	Name, Word string
	Value      string // what was there before
	Hint, Unit string
	Type, Mode string
	Auto, List string
	Need, Code bool
	Rows       int
	Options    []option
	Tight      bool
	Say        string // address that says at once how what is typed stands to its limits
}

// Describe lists the elements that describe the field.
func (f Field) Describe(id, err string) string {
	s := ""
	if f.Hint != "" {
		s = id + "-hint"
	}
	if err != "" {
		s += " " + id + "-error"
	}
	return s
}

// field makes a field; more are pairs of a name and a value: hint, unit, type, mode, auto, list, need, code, rows, options, tight, say.
func field(f *Frame, form *Form, name, word, value string, more ...any) (Field, error) {
	q := Field{F: f, Form: form, Name: name, Word: word, Value: value}
	for i := 0; i+1 < len(more); i += 2 {
		ok := true
		switch more[i] {
		case "hint":
			q.Hint, ok = more[i+1].(string)
		case "unit":
			q.Unit, ok = more[i+1].(string)
		case "type":
			q.Type, ok = more[i+1].(string)
		case "mode":
			q.Mode, ok = more[i+1].(string)
		case "auto":
			q.Auto, ok = more[i+1].(string)
		case "list":
			q.List, ok = more[i+1].(string)
		case "say":
			q.Say, ok = more[i+1].(string)
		case "need":
			q.Need, ok = more[i+1].(bool)
		case "code":
			q.Code, ok = more[i+1].(bool)
		case "tight":
			q.Tight, ok = more[i+1].(bool)
		case "rows":
			q.Rows, ok = more[i+1].(int)
		case "options":
			q.Options, ok = more[i+1].([]option)
		default:
			ok = false
		}
		if !ok {
			return q, fmt.Errorf("field %s: found %v of type %T", name, more[i], more[i+1])
		}
	}
	return q, nil
}

// Field makes a field of a page of a job.
func (v *JobView) Field(name, word, value string, more ...any) (Field, error) {
	return field(v.F, v.Form, name, word, value, more...)
}

// The kinds of quantities that pages name units for.

// PressureDim is the kind of a pressure.
func (v *JobView) PressureDim() unit.Dim { return unit.Pressure }

// LengthDim is the kind of a length.
func (v *JobView) LengthDim() unit.Dim { return unit.Length }

// TemperatureDim is the kind of a temperature.
func (v *JobView) TemperatureDim() unit.Dim { return unit.Temperature }

// pathView is one leak path of a verdict.
type pathView struct{ Name, Chance, Flow string }

// Paths lists the leak paths of a verdict, the likeliest first.
func (d *verdictPage) Paths() []pathView {
	paths := slices.Clone(d.V.Result.Paths)
	slices.SortStableFunc(paths, func(a, b hold.PathShare) int { return cmp.Compare(b.P, a.P) })
	var out []pathView
	for _, p := range paths {
		out = append(out, pathView{p.Path, d.F.Told(draw.Chance(p.P)), d.F.Told(draw.FlowRange(p.Flow, d.F.Units))})
	}
	return out
}

// HoldPath is where the hold of the page is live.
func (d *readingsPage) HoldPath() string { return holdPath(d.Stage) }

// KindWord names the kind of reading that is typed.
func (d *readingsPage) KindWord() string { return d.F.T("reading.kind." + d.Kind) }

// Rows numbers the rows of a locked hold.
func (d *readingsPage) Rows() []string { return []string{"0", "1", "2", "3", "4", "5", "6", "7"} }

// Papers lists the sizes of paper.
func (d *setUpPage) Papers() []option { return options("A4", "Letter") }

// Systems lists the systems of units.
func (d *setUpPage) Systems() []option { return keyed("units.", "metric", "imperial")(d.F) }

// Langs lists the languages.
func (d *setUpPage) Langs() []option {
	var out []option
	for _, l := range d.F.langs {
		out = append(out, option{l, d.F.LanguageName(l), ""})
	}
	return out
}

// Scopes lists what a token may be for.
func (d *tokensPage) Scopes() []option { return keyed("token.scope.", "read", "write")(d.F) }
