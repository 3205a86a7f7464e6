package sheet

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

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
	cut  map[string]string // by key: what a comma without quotes cut its value into
}

func newMap(d *Doc, n *yaml.Node, path, form string) *Map {
	m := &Map{doc: d, node: n, path: path, form: form, keys: map[string]*yaml.Node{}, line: map[string]int{}, used: map[string]bool{}, cut: map[string]string{}}
	before := ""
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if n.Style&yaml.FlowStyle != 0 && m.cutOff(before, k, n.Content[i+1]) {
			m.cut[before] = m.keys[before].Value + "," + k.Value
			continue
		}
		before = k.Value
		if _, dup := m.keys[k.Value]; dup {
			d.add(k.Line, m.at(k.Value), "the key a second time", "each key once", "remove one of the two")
		}
		m.keys[k.Value], m.line[k.Value] = n.Content[i+1], k.Line
	}
	return m
}

// restOfNumber is what stands after the comma of a number: "900 psi" of 2,900 psi.
var restOfNumber = regexp.MustCompile(`^\d+(\D.*)?$`)

// cutOff says whether a key without a value is the rest of the value before it, which a comma has cut in two: between { } a comma ends
// a value, so that `{pressure: 2,900 psi}` says `pressure: 2` and `900 psi:`.
func (m *Map) cutOff(before string, key, value *yaml.Node) bool {
	n, ok := m.keys[before]
	return ok && n.Kind == yaml.ScalarNode && n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) == 0 && value.Tag == "!!null" && value.Value == "" &&
		digitAtEnd(n.Value) && restOfNumber.MatchString(key.Value)
}

func digitAtEnd(s string) bool { return s != "" && s[len(s)-1] >= '0' && s[len(s)-1] <= '9' }

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

// Where returns where a key stands in the document, as joints[1].torque.
func (m *Map) Where(key string) string { return m.at(key) }

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
	if whole, ok := m.cut[key]; ok {
		first, rest, _ := strings.Cut(whole, ",")
		m.Fail(key, fmt.Sprintf("a comma that ends the value: %s, then %s", quote(first), quote(rest)), want, fmt.Sprintf("write it in quotes, %s: %s, or without the comma", key, quote(whole)))
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
	if doubt := unit.Doubt(n.Value, d); doubt != nil && !m.doc.json {
		m.unitError(key, doubt)
		return unit.Value{Dim: d, SI: math.NaN()}
	}
	if !r.Holds(v.SI) {
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
		_, there := m.keys[k]
		switch {
		case m.used[k] || !there: // the second is the rest of a value that a comma cut in two
		case len(m.doc.errs) >= maxErrors: // count it without looking for the nearest
			m.doc.more++
		default:
			m.Fail(k, "an unknown key", "one of "+strings.Join(known, ", "), Nearest(k, known))
		}
	}
}
