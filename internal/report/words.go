package report

import (
	"maps"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
)

// Words looks up a fixed word of a report by its key, one of those of Texts. Where it gives an empty string, or is nil, the report
// takes the English. What the packages of the science say themselves (advice, steps) goes through Say; the captions in the
// pictures are not looked up.
type Words func(key string) string

// English is the words as they stand in Texts.
func English() Words { return func(key string) string { return texts[key] } }

// Texts returns all keys with their English words, for the catalogue of a translation. What stands in braces is filled in and must
// stay as it is: {name}.
func Texts() map[string]string { return maps.Clone(texts) }

// t looks up a word and fills it in with name, value pairs.
func (w Words) t(key string, fill ...string) string {
	s := ""
	if w != nil {
		s = w("report." + key)
	}
	if s == "" {
		s = texts["report."+key]
	}
	if len(fill) == 0 {
		return s
	}
	pairs := make([]string, 0, len(fill))
	for i := 0; i+1 < len(fill); i += 2 {
		pairs = append(pairs, "{"+fill[i]+"}", fill[i+1])
	}
	return strings.NewReplacer(pairs...).Replace(s)
}

// verdict says a verdict of package hold.
func (w Words) verdict(word string) string {
	switch word {
	case hold.Holds:
		return w.t("verdict.holds")
	case hold.DoesNotHold:
		return w.t("verdict.fails")
	case hold.NotProven:
		return w.t("verdict.open")
	}
	return word
}

// stroke names a stroke: up or down.
func (w Words) stroke(dir string) string {
	if s := w.t("stroke." + dir); s != "" {
		return s
	}
	return dir
}
