package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

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
	if !r.Holds(x) {
		m.Fail(key, quote(n.Value), what+" "+r.Plain(), "")
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
