package web

import (
	"encoding/json"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// numbered are the fields of a record that hold the number of another one, whose name is shown.
var numbered = map[string]record.SubjectKind{"customer": record.OfCustomer, "pump": record.OfPump, "sheet": record.OfSheet, "tool": record.OfTool, "item": record.OfPrice}

// value writes a value of a record for a person: names for numbers, words for what has a word.
func (f *Frame) value(k string, v any) string {
	switch v := v.(type) {
	case float64:
		if kind, ok := numbered[k]; ok && v == math.Trunc(v) {
			if v == 0 { // none
				return ""
			}
			return f.names.of(kind, int64(v))
		}
	case bool:
		if v {
			return f.T("word.yes")
		}
		return f.T("word.no")
	case string:
		return f.textValue(k, v)
	case map[string]any:
		switch k {
		case "parts":
			return f.actions(v)
		case "reading":
			return f.reading(v)
		}
		return f.fields(v)
	case []any:
		if k == "rings" {
			return f.rings(v)
		}
	}
	return plain(v)
}

// textValue writes a text of a record: a word of the program in the language of the page, all else as it is.
func (f *Frame) textValue(k, v string) string {
	word := func(key string) string {
		if f.Has(key) {
			return f.T(key)
		}
		return v
	}
	switch k {
	case "hold":
		return word("hold." + holdKey(record.HoldStage(v)))
	case "stage", "to":
		return word("stage." + strings.ReplaceAll(v, " ", "-"))
	case "word", "verdict":
		if c := f.verdictChip(v); c.Word != "" {
			return c.Word
		}
	case "press", "role":
		return word(k + "." + v)
	case "sort":
		return word("tool.sort." + v)
	case "stroke", "lips", "caution", "kind":
		return f.Told(v)
	case "step":
		if f.Job != 0 {
			return f.telling().StepName(v)
		}
	}
	return v
}

// fields writes a record within a record, each part with its name.
func (f *Frame) fields(m map[string]any) string {
	var list []string
	for k, v := range m {
		list = append(list, f.fieldWord(k)+": "+f.value(k, v))
	}
	slices.Sort(list)
	return strings.Join(list, ", ")
}

// actions says what becomes of the parts.
func (f *Frame) actions(parts map[string]any) string {
	var list []string
	for part, a := range parts {
		list = append(list, part+": "+f.action(pump.Action(plain(a))))
	}
	slices.Sort(list)
	return strings.Join(list, "; ")
}

func (f *Frame) rings(rings []any) string {
	var list []string
	for _, r := range rings {
		m, ok := r.(map[string]any)
		if !ok {
			return plain(rings)
		}
		s := plain(m["part"])
		if lips := plain(m["lips"]); lips != "" {
			s += ", " + f.T("lips."+lips)
		}
		list = append(list, s)
	}
	return strings.Join(list, "; ")
}

// reading writes a reading as it was typed, its kind first: "creep: up, pressure: 2330 psi, …".
func (f *Frame) reading(m map[string]any) string {
	var kind, rest []string
	for k, v := range m {
		switch {
		case slices.Contains(readingKinds, k):
			kind = append(kind, f.T("reading.kind."+k)+": "+f.Told(plain(v)))
		case k == "pressures":
			rest = append(rest, f.fieldWord(k)+": "+f.points(v))
		default:
			rest = append(rest, f.fieldWord(k)+": "+f.value(k, v))
		}
	}
	slices.Sort(kind)
	slices.Sort(rest)
	return strings.Join(append(kind, rest...), ", ")
}

// points writes the pressures of a locked hold: "0 s 200 bar; 30 s 180 bar".
func (f *Frame) points(v any) string {
	list, ok := v.([]any)
	if !ok {
		return plain(v)
	}
	var out []string
	for _, p := range list {
		m, ok := p.(map[string]any)
		if !ok {
			return plain(v)
		}
		out = append(out, plain(m["at"])+" "+plain(m["pressure"]))
	}
	return strings.Join(out, "; ")
}

// plainReading writes a reading as it was typed.
func (f *Frame) plainReading(raw json.RawMessage) string {
	m := map[string]any{}
	if err := json.Unmarshal(raw, &m); err != nil {
		return string(raw)
	}
	return f.reading(m)
}
