package text

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// engine is the second catalogue of a language: what the science packages, which say everything in English, say in that language. Its
// file is a JSON object from the English sentence to the translation. A place {1}, {2} … stands for what is filled in, {#1} for what
// begins with a digit. What is filled in is itself translated when it is in the catalogue; else it is a name or a number and kept.
// Quantities that stand by name, as {torque}, are text like any other: they are filled in after the translation.
type engine struct {
	exact    map[string]string
	patterns []pattern // the one with the most text of its own first
}

// pattern is a sentence with places.
type pattern struct {
	key    string
	before []string // the text before each place
	end    string   // the text after the last
	number []int    // by place
	digits []bool   // by place: it takes only what begins with a digit
	said   string
	weight int // bytes of text of its own
}

var place = regexp.MustCompile(`\{#?[1-9]\}`)

func newPattern(key, said string) (pattern, error) {
	p, from, seen := pattern{key: key, said: said}, 0, map[int]bool{}
	for _, at := range place.FindAllStringIndex(key, -1) {
		n := int(key[at[1]-2] - '0')
		if seen[n] {
			return p, fmt.Errorf("found the place {%d} twice; expected it once", n)
		}
		if at[0] == from && from > 0 {
			return p, errors.New("found two places side by side; expected text between them")
		}
		seen[n] = true
		p.before, p.number, p.digits = append(p.before, key[from:at[0]]), append(p.number, n), append(p.digits, key[at[0]+1] == '#')
		p.weight += at[0] - from
		from = at[1]
	}
	p.end = key[from:]
	p.weight += len(p.end)
	if p.weight == 0 {
		return p, errors.New("found places only; expected text between them")
	}
	return p, nil
}

// newEngine reads a catalogue of the sentences of the engine.
func newEngine(data []byte) (*engine, error) {
	texts := map[string]string{}
	if err := json.Unmarshal(data, &texts); err != nil {
		return nil, err
	}
	e := &engine{exact: map[string]string{}}
	for key, said := range texts {
		if !place.MatchString(key) {
			e.exact[key] = said
			continue
		}
		p, err := newPattern(key, said)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", key, err)
		}
		e.patterns = append(e.patterns, p)
	}
	slices.SortFunc(e.patterns, func(a, b pattern) int {
		if a.weight != b.weight {
			return b.weight - a.weight
		}
		return strings.Compare(a.key, b.key)
	})
	return e, nil
}

// loadEngine reads the second catalogue of a language; nil when there is none.
func loadEngine(from fs.FS, lang string) (*engine, error) {
	name := "engine/" + lang + ".json"
	data, err := fs.ReadFile(from, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("text: %w", err)
	}
	e, err := newEngine(data)
	if err != nil {
		return nil, fmt.Errorf("text: %s: %w", name, err)
	}
	return e, nil
}

// fit matches a sentence and returns what stands in the places.
func (p *pattern) fit(s string) ([]string, bool) {
	if len(s) < p.weight+len(p.before) || !strings.HasPrefix(s, p.before[0]) || !strings.HasSuffix(s, p.end) {
		return nil, false
	}
	rest := s[len(p.before[0]) : len(s)-len(p.end)]
	values := make([]string, 0, len(p.before))
	for _, text := range p.before[1:] {
		if rest == "" {
			return nil, false
		}
		i := strings.Index(rest[1:], text)
		if i < 0 {
			return nil, false
		}
		values, rest = append(values, rest[:i+1]), rest[i+1+len(text):]
	}
	if rest == "" {
		return nil, false
	}
	values = append(values, rest)
	for i, v := range values {
		if p.digits[i] && !startsWithDigit(v) {
			return nil, false
		}
	}
	return values, true
}

func startsWithDigit(s string) bool {
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, "−-"))
	return unicode.IsDigit(r)
}

// The longest text and the deepest nesting that are looked at: no sentence of the engine comes near them.
const (
	longest   = 4000
	deepest   = 4
	mostCuts  = 16
	mostLines = 100
	mostTurns = 300 // parts of one text that are looked up: so many take some milliseconds
)

// speech translates one sentence and remembers its parts.
type speech struct {
	*engine
	known map[string]told
	turns int // that are left
}

type told struct {
	text  string
	ok    bool
	depth int
}

// say translates a sentence: as it stands, by the pattern with the most text of its own, or piece by piece. ok is false when a part of
// it is not known.
func (s *speech) say(text string, depth int) (string, bool) {
	if said, ok := s.exact[text]; ok {
		return said, true
	}
	if depth == 0 || text == "" || len(text) > longest {
		return text, false
	}
	if t, ok := s.known[text]; ok && (t.ok || t.depth >= depth) {
		return t.text, t.ok
	}
	if s.turns--; s.turns < 0 {
		return text, false
	}
	said, ok := s.match(text, depth)
	if !ok {
		said, ok = s.pieces(text, depth)
	}
	if !ok {
		said, ok = s.quoted(text)
	}
	s.known[text] = told{said, ok, depth}
	return said, ok
}

func (s *speech) match(text string, depth int) (string, bool) {
	for i := range s.patterns {
		if values, ok := s.patterns[i].fit(text); ok {
			if said, ok := s.fill(&s.patterns[i], values, depth); ok {
				return said, true
			}
		}
	}
	return text, false
}

// fill writes the translation of a pattern with its values.
func (s *speech) fill(p *pattern, values []string, depth int) (string, bool) {
	by := map[int]string{}
	for i, v := range values {
		said, ok := s.value(v, depth-1)
		if !ok {
			return "", false
		}
		by[p.number[i]] = said
	}
	return place.ReplaceAllStringFunc(p.said, func(at string) string { return by[int(at[len(at)-2]-'0')] }), true
}

// value translates what is filled in, and keeps it when it is a name, a number, or a list of such, save the words in it.
func (s *speech) value(v string, depth int) (string, bool) {
	if said, ok := s.say(v, depth); ok {
		return said, true
	}
	parts := strings.Split(v, ", ")
	for i, p := range parts {
		if said, ok := s.exact[p]; ok {
			parts[i] = said
		}
	}
	return strings.Join(parts, ", "), isName(v)
}

// quoted keeps what stands in quotes, which somebody wrote, unless it is a word of the catalogue.
func (s *speech) quoted(text string) (string, bool) {
	if text[0] != '"' {
		return text, false
	}
	inner, err := strconv.Unquote(text)
	if said, ok := s.exact[inner]; ok && err == nil {
		return `"` + said + `"`, true
	}
	return text, err == nil
}

// mostWords is how many words a name has at most; more are a sentence.
const mostWords = 8

// isName says whether a text that is not in the catalogue can be a name or a number, or several with commas between them, and no
// sentence that should be in it.
func isName(v string) bool {
	if strings.Contains(v, "; ") || strings.Contains(v, "\n") {
		return false
	}
	for i := range len(v) - 2 {
		if v[i] == '.' && v[i+1] == ' ' && unicode.IsUpper(firstRune(v[i+2:])) {
			return false
		}
	}
	for part := range strings.SplitSeq(strings.ReplaceAll(v, " → ", ", "), ", ") {
		if len(strings.Fields(part)) > mostWords {
			return false
		}
	}
	return true
}

func firstRune(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

// cut is a place between two pieces of a text: the first one ends at end, the next begins at next.
type cut struct{ end, next int }

// cuts finds where a text may be divided: after a full stop, at a semicolon.
func cuts(text string) []cut {
	var out []cut
	for i := 0; i < len(text)-1 && len(out) < mostCuts; i++ {
		switch {
		case text[i] == '.' && text[i+1] == ' ':
			out = append(out, cut{i + 1, i + 2})
		case text[i] == ';' && text[i+1] == ' ':
			out = append(out, cut{i, i + 2})
		}
	}
	return out
}

// pieces translates a text sentence by sentence, each as long as can be.
func (s *speech) pieces(text string, depth int) (string, bool) {
	all := cuts(text)
	for _, c := range slices.Backward(all) {
		first, ok := s.say(text[:c.end], depth)
		if !ok {
			continue
		}
		if rest, ok := s.say(text[c.next:], depth); ok {
			return first + text[c.end:c.next] + rest, true
		}
	}
	return text, false
}

// Engine says a sentence of the science packages, or of the records, in this language; ok is false when no translation is known, and
// then it comes back in English. Several lines are said one by one. Spaces round it are kept.
func (s *Voice) Engine(english string) (said string, ok bool) {
	if s.Lang == "en" || strings.TrimSpace(english) == "" {
		return english, true
	}
	if s.engine == nil {
		return english, false
	}
	lines := strings.Split(english, "\n")
	if len(lines) > mostLines {
		return english, false
	}
	for i, line := range lines {
		body := strings.TrimSpace(line)
		if body == "" {
			continue
		}
		sp := speech{s.engine, map[string]told{}, mostTurns}
		said, ok := sp.say(body, deepest)
		if !ok {
			return english, false
		}
		from := strings.Index(line, body)
		lines[i] = line[:from] + said + line[from+len(body):]
	}
	return strings.Join(lines, "\n"), true
}

// EngineKeys lists the English sentences of the second catalogue of a language, in order, with their places.
func (c *Catalogue) EngineKeys(lang string) []string {
	e := c.engines[lang]
	if e == nil {
		return nil
	}
	var out []string
	for key := range e.exact {
		out = append(out, key)
	}
	for i := range e.patterns {
		out = append(out, e.patterns[i].key)
	}
	slices.Sort(out)
	return out
}
