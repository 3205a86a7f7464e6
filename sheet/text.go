package sheet

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

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
	m.Fail(key, quote(n.Value), want, Nearest(n.Value, options))
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
