package text

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"
)

func loaded(t testing.TB) *Catalogue {
	t.Helper()
	c, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// places lists the places of a text, each once, with the mark of a number.
func places(s string) []string {
	found := place.FindAllString(s, -1)
	slices.Sort(found)
	return slices.Compact(found)
}

// named lists what is filled in by name, as {torque}.
func named(s string) []string {
	var found []string
	for rest := s; ; {
		from := strings.IndexByte(rest, '{')
		if from < 0 {
			break
		}
		rest = rest[from:]
		to := strings.IndexByte(rest, '}')
		if to < 0 {
			break
		}
		if name := rest[:to+1]; !place.MatchString(name) {
			found = append(found, name)
		}
		rest = rest[to+1:]
	}
	slices.Sort(found)
	return slices.Compact(found)
}

func TestEverySentenceHasItsPlacesInEveryLanguage(t *testing.T) {
	c := loaded(t)
	for _, lang := range c.Languages()[1:] {
		e := c.engines[lang]
		if e == nil {
			t.Errorf("%s: no engine/%s.json: every language but English has one", lang, lang)
			continue
		}
		all := map[string]string{}
		for key, said := range e.exact {
			all[key] = said
		}
		for _, p := range e.patterns {
			all[p.key] = p.said
		}
		for key, said := range all {
			if a, b := places(key), places(said); !slices.Equal(a, b) {
				t.Errorf("%s: %q has the places %v, its translation %v", lang, key, a, b)
			}
			if a, b := named(key), named(said); !slices.Equal(a, b) {
				t.Errorf("%s: %q fills in %v by name, its translation %v", lang, key, a, b)
			}
			if said == "" || strings.TrimSpace(said) != said || strings.TrimSpace(key) != key {
				t.Errorf("%s: %q → %q: empty, or with spaces round it", lang, key, said)
			}
			if strings.HasSuffix(key, ".") != strings.HasSuffix(said, ".") && !strings.HasSuffix(said, "}.") {
				t.Errorf("%s: %q → %q: only one of them ends with a full stop", lang, key, said)
			}
		}
	}
}

// sample fills a pattern with a word that is in no catalogue, or with a number.
func sample(p *pattern) string {
	var b strings.Builder
	for i, text := range p.before {
		b.WriteString(text)
		if p.digits[i] {
			b.WriteString(strconv.Itoa(70 + i))
		} else {
			b.WriteString("alfa" + strconv.Itoa(i))
		}
	}
	return b.String() + p.end
}

// Of all patterns that fit the sample of one, that one has the most text of its own, and no other as much: no sample has two meanings.
func TestNoTwoPatternsSpeakForOneSample(t *testing.T) {
	c := loaded(t)
	for _, lang := range c.Languages()[1:] {
		e := c.engines[lang]
		for i := range e.patterns {
			p := &e.patterns[i]
			s := sample(p)
			for k := range e.patterns {
				q := &e.patterns[k]
				if _, fits := q.fit(s); fits && k != i && q.weight >= p.weight {
					t.Errorf("%s: %q is the sample of %q and fits %q too", lang, s, p.key, q.key)
				}
			}
			if _, exact := e.exact[s]; exact {
				t.Errorf("%s: %q, the sample of %q, is there as a whole", lang, s, p.key)
			}
		}
	}
}

// JSON lets a key stand twice, and the last one wins in silence.
func TestNoSentenceStandsTwice(t *testing.T) {
	c := loaded(t)
	for _, lang := range c.Languages()[1:] {
		data, err := files.ReadFile("engine/" + lang + ".json")
		if err != nil {
			t.Fatal(err)
		}
		d, seen, key := json.NewDecoder(bytes.NewReader(data)), map[string]bool{}, true
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			s, ok := tok.(string)
			if !ok {
				continue
			}
			if key && seen[s] {
				t.Errorf("%s: %q stands twice", lang, s)
			}
			seen[s], key = seen[s] || key, !key
		}
	}
}

const polish = `{"Open the {1}": "Otwórz: {1}", "Open the {1} ({#2} pieces)": "Otwórz {#2} sztuki: {1}", "worn": "zużyty", "It leaks.": "Przecieka.",
	"Tighten to {torque}.": "Dokręć do {torque}.", "It takes a {1}.": "Narzędzie: {1}.", "{1} before {2}": "{1} przed {2}", "{2} instead of {1}": "nie {1}, ale {2}", "\"fit {1}\"": "\"włóż {1}\"", "at most {#1}": "najwyżej {#1}", "why: {1}": "dlaczego: {1}"}`

func TestEngineSaysSentences(t *testing.T) {
	c, err := load(fstest.MapFS{
		"catalogue/en.json": {Data: []byte(`{"a": "a"}`)}, "catalogue/pl.json": {Data: []byte(`{"a": "a"}`)}, "catalogue/de.json": {Data: []byte(`{"a": "a"}`)},
		"engine/pl.json": {Data: []byte(polish)},
	})
	if err != nil {
		t.Fatal(err)
	}
	pl := c.In("pl")
	for english, want := range map[string]string{
		"worn": "zużyty", "Open the throat nut": "Otwórz: throat nut", "Open the ball (3 pieces)": "Otwórz 3 sztuki: ball",
		"Tighten to {torque}. It takes a hook spanner.": "Dokręć do {torque}. Narzędzie: hook spanner.", // sentence by sentence; {torque} is filled in later
		`"fit rod" before "fit worn"`:                   `"włóż rod" przed "włóż zużyty"`,               // what is filled in is translated
		"brass instead of steel":                        "nie steel, ale brass",
		" It leaks. ":                                   " Przecieka. ",
		"It leaks.\nIt leaks.; worn":                    "Przecieka.\nPrzecieka.; zużyty",
		"why: at most 30 bar":                           "dlaczego: najwyżej 30 bar",
		`why: "It leaks and nobody knows where. Or so it is said by all of them"`: `dlaczego: "It leaks and nobody knows where. Or so it is said by all of them"`,
	} {
		if got, ok := pl.Engine(english); got != want || !ok {
			t.Errorf("%q is %q (%v), want %q", english, got, ok, want)
		}
	}
	for _, english := range []string{"It drips.", "It leaks. It drips.", "at most some", "Open the ", "why: it has a reason of more words than any name can have",
		"why: nobody knows. Nor do we.", "why: this; that", strings.Repeat("It leaks. ", 1000)} {
		if got, ok := pl.Engine(english); got != english || ok {
			t.Errorf("%q is said as %q (%v)", english, got, ok)
		}
	}
	if got, ok := c.In("de").Engine("worn"); got != "worn" || ok {
		t.Errorf("a language without a second catalogue says %q, %v", got, ok)
	}
}

func TestABadEngineCatalogueIsRefused(t *testing.T) {
	for name, data := range map[string]string{"no JSON": `{`, "places only": `{"{1}": "x"}`, "a place twice": `{"a {1} b {1}": "x"}`, "side by side": `{"a {1}{2}": "x"}`} {
		_, err := load(fstest.MapFS{"catalogue/en.json": {Data: []byte(`{"a": "a"}`)}, "catalogue/pl.json": {Data: []byte(`{"a": "a"}`)}, "engine/pl.json": {Data: []byte(data)}})
		if err == nil || !strings.Contains(err.Error(), "engine/pl.json") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// FuzzEngine: whatever comes, nothing breaks; English says it unchanged; what is not known comes back as it was; what was text stays text.
func FuzzEngine(f *testing.F) {
	c, err := Load()
	if err != nil {
		f.Fatal(err)
	}
	for i, p := range c.engines["es"].patterns {
		if i%40 == 0 {
			f.Add(sample(&p))
		}
	}
	for _, s := range []string{"", " ", "{1}", "{#1}", "Open the {2}", "a; b. C\n\"", `"fit rod" done before "fit "`, "Take out the \xff", "−", strings.Repeat("a. ", 60), strings.Repeat("{1}: found ", 40)} {
		f.Add(s)
	}
	en, es := c.In("en"), c.In("es")
	f.Fuzz(func(t *testing.T, s string) {
		if got, ok := en.Engine(s); got != s || !ok {
			t.Errorf("English says %q as %q, %v", s, got, ok)
		}
		got, ok := es.Engine(s)
		if !ok && got != s {
			t.Errorf("not known, yet %q became %q", s, got)
		}
		if utf8.ValidString(s) && !utf8.ValidString(got) {
			t.Errorf("%q became %q, which is no UTF-8", s, got)
		}
		if again, ok2 := es.Engine(s); again != got || ok2 != ok {
			t.Errorf("%q is said once as %q, once as %q", s, got, again)
		}
	})
}

func BenchmarkEngine(b *testing.B) {
	es := loaded(b).In("es")
	b.Run("exact", func(b *testing.B) {
		for b.Loop() {
			es.Engine("Never feel for a leak by hand, and never stop one with a finger.")
		}
	})
	b.Run("pattern", func(b *testing.B) {
		for b.Loop() {
			es.Engine("Put in ring 2 of the throat stack: the throat leather ring, lips down, toward the upper chamber")
		}
	})
	b.Run("pieces", func(b *testing.B) {
		for b.Loop() {
			es.Engine("Tighten in one even pull to {torque} ± {tolerance}. It takes a hook spanner. The spanner adds {adapter} to the wrench: held square to it no correction is needed; in line with it, set torque × wrench length / (wrench length + {adapter}).")
		}
	})
	b.Run("unknown", func(b *testing.B) {
		for b.Loop() {
			es.Engine("a word of the shop; that nobody. Ever translated; and so it stays")
		}
	})
}
