// Package text holds the words of the pages: one catalogue file a language, English first, and for each other language a second one
// with the sentences of the science packages, see Voice.Engine. Another language is two more files.
//
// A catalogue is a JSON object of keys. A value is a text with fmt verbs, or an object of plural forms (Unicode CLDR: one, two,
// few, many, other) chosen by the first argument. Every catalogue has the same keys with the same verbs; a test sees to it.
package text

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
)

//go:embed catalogue/*.json engine/*.json
var files embed.FS

// Catalogue is the words of all languages.
type Catalogue struct {
	builder *catalog.Builder
	tags    []language.Tag // English first
	matcher language.Matcher
	raw     map[string]map[string]json.RawMessage // language → key → value
	engines map[string]*engine                    // by language; none for English
}

// Load reads the catalogues that come with the program.
func Load() (*Catalogue, error) { return load(files) }

func load(from fs.FS) (*Catalogue, error) {
	names, err := fs.Glob(from, "catalogue/*.json")
	if err != nil {
		return nil, fmt.Errorf("text: %w", err)
	}
	c := &Catalogue{builder: catalog.NewBuilder(catalog.Fallback(language.English)), raw: map[string]map[string]json.RawMessage{}, engines: map[string]*engine{}}
	for _, name := range names {
		tag, err := language.Parse(strings.TrimSuffix(path.Base(name), ".json"))
		if err != nil {
			return nil, fmt.Errorf("text: %s: %w", name, err)
		}
		data, err := fs.ReadFile(from, name)
		if err != nil {
			return nil, fmt.Errorf("text: %w", err)
		}
		if err := c.add(tag, data); err != nil {
			return nil, fmt.Errorf("text: %s: %w", name, err)
		}
		if c.engines[tag.String()], err = loadEngine(from, tag.String()); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(c.tags, func(a, b language.Tag) int {
		return strings.Compare(order(a), order(b))
	})
	c.matcher = language.NewMatcher(c.tags)
	return c, nil
}

func order(t language.Tag) string {
	if t == language.English {
		return ""
	}
	return t.String()
}

func (c *Catalogue) add(tag language.Tag, data []byte) error {
	texts := map[string]json.RawMessage{}
	if err := json.Unmarshal(data, &texts); err != nil {
		return err
	}
	for key, raw := range texts {
		var one string
		if json.Unmarshal(raw, &one) == nil {
			if err := c.builder.SetString(tag, key, one); err != nil {
				return fmt.Errorf("%s: %w", key, err)
			}
			continue
		}
		forms := map[string]string{}
		if err := json.Unmarshal(raw, &forms); err != nil {
			return fmt.Errorf("%s: found neither a text nor plural forms: %w", key, err)
		}
		if forms["other"] == "" {
			return fmt.Errorf("%s: plural forms without the form other", key)
		}
		var cases []any
		for _, f := range []string{"zero", "one", "two", "few", "many", "other"} {
			if s, ok := forms[f]; ok {
				cases = append(cases, f, s)
			}
		}
		if err := c.builder.Set(tag, key, plural.Selectf(1, "%d", cases...)); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	c.tags = append(c.tags, tag)
	c.raw[tag.String()] = texts
	return nil
}

// Languages lists the languages there are, English first, as BCP 47 tags.
func (c *Catalogue) Languages() []string {
	out := make([]string, len(c.tags))
	for i, t := range c.tags {
		out[i] = t.String()
	}
	return out
}

// Keys lists the keys of the English catalogue that begin with a prefix, in order.
func (c *Catalogue) Keys(prefix string) []string {
	var out []string
	for key := range c.raw["en"] {
		if strings.HasPrefix(key, prefix) {
			out = append(out, key)
		}
	}
	slices.Sort(out)
	return out
}

// Match picks a language for a wish: tags or an Accept-Language header, the dearest first.
func (c *Catalogue) Match(wishes ...string) string {
	_, i := language.MatchStrings(c.matcher, wishes...)
	return c.tags[i].String()
}

// Voice says texts in one language.
type Voice struct {
	Lang   string
	p      *message.Printer
	keys   map[string]json.RawMessage // of the English catalogue
	own    map[string]json.RawMessage
	engine *engine
}

// In gives the voice of a language; English for one that there is not.
func (c *Catalogue) In(lang string) *Voice {
	l := c.Match(lang)
	tag, err := language.Parse(l)
	if err != nil {
		tag = language.English
	}
	return &Voice{Lang: l, p: message.NewPrinter(tag, message.Catalog(c.builder)), keys: c.raw["en"], own: c.raw[l], engine: c.engines[l]}
}

// Say gives the text of a key with its arguments. A key that is not in the catalogue comes back in brackets, so that it is seen.
func (s *Voice) Say(key string, args ...any) string {
	if _, ok := s.keys[key]; !ok {
		return "[" + key + "]"
	}
	return s.p.Sprintf(message.Key(key, key), args...)
}

// Has says whether there is a text for a key.
func (s *Voice) Has(key string) bool {
	_, ok := s.keys[key]
	return ok
}

// Raw gives the text of a key as it stands in the file, for texts that are filled in by name; "" when there is none.
func (s *Voice) Raw(key string) string {
	var one string
	if err := json.Unmarshal(s.own[key], &one); err != nil {
		return ""
	}
	return one
}
