package sheet

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/unit"
)

// Map is one `key: value` block of a document. Each reading method returns a usable zero and notes an error in the
// document when the value is missing or wrong; the caller asks Doc.Err once at the end.
type Map struct {
	doc  *Doc
	node *yaml.Node
	path string                // where it stands, as valves[1]
	form string                // the same without numbers, as valves[]
	keys map[string]*yaml.Node // value by key
	line map[string]int
	used map[string]bool
}

func newMap(d *Doc, n *yaml.Node, path, form string) *Map {
	m := &Map{doc: d, node: n, path: path, form: form, keys: map[string]*yaml.Node{}, line: map[string]int{}, used: map[string]bool{}}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if _, dup := m.keys[k.Value]; dup {
			d.add(k.Line, m.at(k.Value), "the key a second time", "each key once", "remove one of the two")
		}
		m.keys[k.Value], m.line[k.Value] = n.Content[i+1], k.Line
	}
	return m
}

func (m *Map) at(key string) string { return join(m.path, key) }

func join(path, key string) string {
	if path == "" || key == "" {
		return path + key
	}
	return path + "." + key
}

// Has says whether the key stands in the map.
func (m *Map) Has(key string) bool { _, ok := m.keys[key]; return ok }

// Line returns the line of a key, or of the map itself when the key is not there.
func (m *Map) Line(key string) int {
	if l, ok := m.line[key]; ok {
		return l
	}
	return m.node.Line
}

// Fail notes that the value of a key is wrong.
func (m *Map) Fail(key, found, want, fix string) {
	m.doc.add(m.Line(key), m.at(key), found, want, fix)
}

// ask notes that the reader knows the key.
func (m *Map) ask(key string) {
	m.used[key] = true
	m.doc.asked[join(m.form, key)] = true
}

func (m *Map) get(key string, kind yaml.Kind, want string) (*yaml.Node, bool) {
	m.ask(key)
	n, ok := m.keys[key]
	if !ok {
		m.Fail(key, "nothing", want, fmt.Sprintf("add a line `%s: …`", key))
		return nil, false
	}
	if n.Kind != kind || n.Tag == "!!null" {
		m.Fail(key, describe(n), want, "")
		return nil, false
	}
	return n, true
}

func describe(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "a block of keys"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Tag == "!!null":
		return "nothing"
	default:
		return quote(n.Value)
	}
}

func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:57]) + "…"
	}
	return strconv.Quote(s)
}

// Text returns the text of a key that must stand there and not be empty.
func (m *Map) Text(key, what string) string {
	n, ok := m.get(key, yaml.ScalarNode, what)
	if !ok {
		return ""
	}
	if strings.TrimSpace(n.Value) == "" {
		m.Fail(key, "an empty text", what, "")
	}
	if len(n.Value) > maxText {
		m.Fail(key, fmt.Sprintf("a text of %d bytes", len(n.Value)), fmt.Sprintf("%s of at most %d", what, maxText), "shorten it")
		return ""
	}
	if strings.ContainsFunc(n.Value, hidden) {
		m.Fail(key, "control or invisible characters in "+quote(n.Value), what+" in plain characters", "type it anew")
		return ""
	}
	return n.Value
}

// maxText is the longest text of one value, in bytes.
const maxText = 4000

// hidden reports characters that would not show, or would play tricks on a screen or a page.
func hidden(r rune) bool {
	return r != '\n' && r != '\t' && unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp)
}

// maxName is the longest name, in characters.
const maxName = 60

// Name returns the text of a key that must stand there and is used to point at things: one line, at most 60 characters, no
// space at either end.
func (m *Map) Name(key, what string) string {
	s := m.Text(key, what)
	switch {
	case s == "":
		return ""
	case strings.TrimSpace(s) != s || strings.ContainsAny(s, "\n\t"):
		m.Fail(key, quote(s), what+" in one line without spaces around it", "")
		return ""
	case utf8.RuneCountInString(s) > maxName:
		m.Fail(key, quote(s), fmt.Sprintf("%s of at most %d characters", what, maxName), "shorten it")
		return ""
	}
	return s
}

// OptText returns the text of a key, or def when the key is absent.
func (m *Map) OptText(key, what, def string) string {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	return m.Text(key, what)
}

// Choice returns the text of a key that must be one of the options.
func (m *Map) Choice(key string, options ...string) string {
	want := "one of " + strings.Join(options, ", ")
	n, ok := m.get(key, yaml.ScalarNode, want)
	if !ok {
		return ""
	}
	for _, o := range options {
		if n.Value == o {
			return o
		}
	}
	m.Fail(key, quote(n.Value), want, nearest(n.Value, options))
	return ""
}

// OptChoice is Choice for a key that may be absent; then it returns def.
func (m *Map) OptChoice(key, def string, options ...string) string {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	return m.Choice(key, options...)
}

// Quantity returns the value of a key in SI, with its uncertainty. It must be there, carry a unit of dimension d and lie in r.
func (m *Map) Quantity(key string, d unit.Dim, r Range) unit.Value {
	n, ok := m.get(key, yaml.ScalarNode, "a "+d.String()+" such as "+example(d))
	if !ok {
		return unit.Value{Dim: d, SI: math.NaN()}
	}
	v, err := unit.Parse(n.Value, d)
	if err != nil {
		m.unitError(key, err)
		return unit.Value{Dim: d, SI: math.NaN()}
	}
	if !r.holds(v.SI) {
		m.Fail(key, quote(n.Value), "a "+d.String()+" "+r.text(d), "")
		return unit.Value{Dim: d, SI: math.NaN()}
	}
	return v
}

func (m *Map) unitError(key string, err error) {
	var ue *unit.Error
	if errors.As(err, &ue) {
		m.Fail(key, ue.Found, strings.TrimSuffix(ue.Want, " is needed"), ue.Fix)
		return
	}
	m.Fail(key, err.Error(), "a quantity with its unit", "")
}

// SI is Quantity without the uncertainty.
func (m *Map) SI(key string, d unit.Dim, r Range) float64 { return m.Quantity(key, d, r).SI }

// OptSI is SI for a key that may be absent; then it returns def.
func (m *Map) OptSI(key string, d unit.Dim, r Range, def float64) float64 {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	return m.SI(key, d, r)
}

// OptQuantity is Quantity for a key that may be absent; then ok is false.
func (m *Map) OptQuantity(key string, d unit.Dim, r Range) (v unit.Value, ok bool) {
	m.ask(key)
	if !m.Has(key) {
		return unit.Value{Dim: d}, false
	}
	v = m.Quantity(key, d, r)
	return v, !math.IsNaN(v.SI)
}

// grouped matches a number with one comma before exactly three digits: 1,234 is 1234 to one reader and 1.234 to another.
var grouped = regexp.MustCompile(`^[+-]?[1-9]\d{0,2},\d{3}$`)

// Number returns a plain number (no unit) in r.
func (m *Map) Number(key, what string, r Range) float64 {
	n, ok := m.get(key, yaml.ScalarNode, what)
	if !ok {
		return math.NaN()
	}
	text := strings.TrimSpace(n.Value)
	if grouped.MatchString(text) {
		m.Fail(key, quote(n.Value)+", whose comma may part thousands or decimals", what+" (a plain number)", "write the decimal mark as a point and leave thousands ungrouped")
		return math.NaN()
	}
	x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		m.Fail(key, quote(n.Value), what+" (a plain number)", "")
		return math.NaN()
	}
	if !r.holds(x) {
		m.Fail(key, quote(n.Value), what+" "+r.plain(), "")
		return math.NaN()
	}
	return x
}

// OptNumber is Number for a key that may be absent; then it returns def.
func (m *Map) OptNumber(key, what string, r Range, def float64) float64 {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	return m.Number(key, what, r)
}

// Count returns a whole number from lo to hi.
func (m *Map) Count(key, what string, lo, hi int) int {
	n, ok := m.get(key, yaml.ScalarNode, what)
	if !ok {
		return lo
	}
	x, err := strconv.Atoi(strings.TrimSpace(n.Value))
	if err != nil || x < lo || x > hi {
		want := fmt.Sprintf("%s: a whole number from %d to %d", what, lo, hi)
		if lo == hi {
			want = fmt.Sprintf("%s: %d", what, lo)
		}
		m.Fail(key, quote(n.Value), want, "")
		return lo
	}
	return x
}

// OptCount is Count for a key that may be absent; then it returns def.
func (m *Map) OptCount(key, what string, lo, hi, def int) int {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	return m.Count(key, what, lo, hi)
}

// OptBool returns true or false (yes or no), def when the key is absent.
func (m *Map) OptBool(key string, def bool) bool {
	m.ask(key)
	if !m.Has(key) {
		return def
	}
	switch m.Choice(key, "yes", "no", "true", "false") {
	case "yes", "true":
		return true
	case "no", "false":
		return false
	}
	return def
}

// Map returns the block of keys under a key that must be there.
func (m *Map) Map(key, what string) *Map {
	n, ok := m.get(key, yaml.MappingNode, what)
	if !ok {
		return nil
	}
	return newMap(m.doc, n, m.at(key), join(m.form, key))
}

// OptMap returns the block under a key, or nil when the key is absent.
func (m *Map) OptMap(key, what string) *Map {
	m.ask(key)
	if !m.Has(key) {
		return nil
	}
	return m.Map(key, what)
}

// List returns the blocks of a list under a key that must be there, with at least min and at most max items.
func (m *Map) List(key, what string, min, max int) []*Map {
	n, ok := m.get(key, yaml.SequenceNode, "a list of "+what)
	if !ok {
		return nil
	}
	if len(n.Content) < min || len(n.Content) > max {
		m.Fail(key, fmt.Sprintf("%d items", len(n.Content)), fmt.Sprintf("%d to %d %s", min, max, what), "")
		return nil
	}
	var out []*Map
	for i, c := range n.Content {
		path := fmt.Sprintf("%s[%d]", m.at(key), i+1)
		if c.Kind != yaml.MappingNode {
			m.doc.add(c.Line, path, describe(c), "a block of keys: "+what, "")
			continue
		}
		out = append(out, newMap(m.doc, c, path, join(m.form, key)+"[]"))
	}
	return out
}

// OptList is List for a key that may be absent; then it returns nil.
func (m *Map) OptList(key, what string, max int) []*Map {
	m.ask(key)
	if !m.Has(key) {
		return nil
	}
	return m.List(key, what, 0, max)
}

// Texts returns a list of plain texts under a key; nil when absent.
func (m *Map) Texts(key, what string) []string {
	m.ask(key)
	if !m.Has(key) {
		return nil
	}
	n, ok := m.get(key, yaml.SequenceNode, "a list, each item "+what)
	if !ok {
		return nil
	}
	if len(n.Content) > maxTexts {
		m.Fail(key, fmt.Sprintf("%d items", len(n.Content)), fmt.Sprintf("at most %d: %s", maxTexts, what), "")
		return nil
	}
	var out []string
	for i, c := range n.Content {
		path := fmt.Sprintf("%s[%d]", m.at(key), i+1)
		switch {
		case c.Kind != yaml.ScalarNode || strings.TrimSpace(c.Value) == "":
			m.doc.add(c.Line, path, describe(c), what, "")
		case len(c.Value) > maxText || strings.ContainsFunc(c.Value, hidden):
			m.doc.add(c.Line, path, quote(c.Value), what+" in plain characters, not too long", "type it anew")
		default:
			out = append(out, c.Value)
		}
	}
	return out
}

// maxTexts is the longest list of plain texts.
const maxTexts = 200

// Keys returns the keys of the map in the order of the file.
func (m *Map) Keys() []string {
	var out []string
	for i := 0; i+1 < len(m.node.Content); i += 2 {
		out = append(out, m.node.Content[i].Value)
	}
	return out
}

// Ignore takes a key as known without reading it, when its presence has been noted as an error already.
func (m *Map) Ignore(key string) { m.used[key] = true }

// Done notes every key that was not asked for as unknown.
func (m *Map) Done() {
	var known []string
	for k := range m.used {
		known = append(known, k)
	}
	sort.Strings(known)
	for _, k := range m.Keys() {
		switch {
		case m.used[k]:
		case len(m.doc.errs) >= maxErrors: // count it without looking for the nearest
			m.doc.more++
		default:
			m.Fail(k, "an unknown key", "one of "+strings.Join(known, ", "), nearest(k, known))
		}
	}
}
