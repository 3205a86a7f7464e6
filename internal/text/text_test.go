package text

import (
	"encoding/json"
	"regexp"
	"slices"
	"testing"
	"testing/fstest"
)

var verb = regexp.MustCompile(`%(\[\d+\])?[+#0-9.]*[a-zA-Z]`)

// verbs lists the verbs of a value with their places, so that word order may differ from language to language.
func verbs(t *testing.T, raw json.RawMessage) []string {
	t.Helper()
	var one string
	if json.Unmarshal(raw, &one) == nil {
		found := verb.FindAllString(one, -1)
		slices.Sort(found)
		return found
	}
	forms := map[string]string{}
	if err := json.Unmarshal(raw, &forms); err != nil {
		t.Fatal(err)
	}
	if forms["other"] == "" {
		t.Errorf("plural forms without other: %s", raw)
	}
	return []string{"plural"}
}

func TestEveryLanguageHasTheSameKeysAndVerbs(t *testing.T) {
	c, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Languages()) < 2 || c.Languages()[0] != "en" {
		t.Fatalf("languages %v: English first and at least one more", c.Languages())
	}
	for _, lang := range c.Languages()[1:] {
		for key, en := range c.raw["en"] {
			other, ok := c.raw[lang][key]
			if !ok {
				t.Errorf("%s: no text for %s", lang, key)
				continue
			}
			if a, b := verbs(t, en), verbs(t, other); !slices.Equal(a, b) {
				t.Errorf("%s: %s has verbs %v, in English %v", lang, key, b, a)
			}
		}
		for key := range c.raw[lang] {
			if _, ok := c.raw["en"][key]; !ok {
				t.Errorf("%s: %s is not in the English catalogue", lang, key)
			}
		}
	}
}

// Plural forms after Unicode CLDR: Polish has one, few and many; the published examples are 1 plik, 2 pliki, 5 plików.
func TestPluralsFollowCLDR(t *testing.T) {
	c, err := load(fstest.MapFS{
		"catalogue/en.json": {Data: []byte(`{"files": {"one": "%d file", "other": "%d files"}, "plain": "tag %s"}`)},
		"catalogue/pl.json": {Data: []byte(`{"files": {"one": "%d plik", "few": "%d pliki", "many": "%d plików", "other": "%d pliku"}, "plain": "znak %s"}`)},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []struct {
		lang string
		n    int
		want string
	}{{"en", 1, "1 file"}, {"en", 2, "2 files"}, {"pl", 1, "1 plik"}, {"pl", 2, "2 pliki"}, {"pl", 5, "5 plików"}, {"pl", 22, "22 pliki"}} {
		if got := c.In(k.lang).Say("files", k.n); got != k.want {
			t.Errorf("%s %d: %q, want %q", k.lang, k.n, got, k.want)
		}
	}
	if got := c.In("pl").Say("plain", "7"); got != "znak 7" {
		t.Errorf("got %q", got)
	}
	if got := c.In("pl").Say("nothing.here"); got != "[nothing.here]" {
		t.Errorf("a missing key must be seen, got %q", got)
	}
	if got := c.Match("pl-PL, en;q=0.5"); got != "pl" {
		t.Errorf("matched %q", got)
	}
}

// What is filled in by name is read as it stands in the file: a percent sign in it is no verb and must neither break the loading nor
// be changed.
func TestRawTextsKeepTheirPercentSigns(t *testing.T) {
	c, err := load(fstest.MapFS{
		"catalogue/en.json": {Data: []byte(`{"script.b": "{p} % of it", "script.a": "100 %d", "other": "x"}`)},
		"catalogue/es.json": {Data: []byte(`{"script.b": "{p} % de ello", "other": "y"}`)},
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Keys("script."); !slices.Equal(got, []string{"script.a", "script.b"}) {
		t.Errorf("keys %v, want script.a and script.b in order", got)
	}
	es := c.In("es")
	if got := es.Raw("script.b"); got != "{p} % de ello" {
		t.Errorf("got %q", got)
	}
	if got := c.In("en").Raw("script.a"); got != "100 %d" {
		t.Errorf("got %q", got)
	}
	if got := es.Raw("script.a"); got != "" {
		t.Errorf("a text that Spanish does not have came as %q, want nothing", got)
	}
}

func TestABadCatalogueIsRefused(t *testing.T) {
	for name, data := range map[string]string{"no JSON": `{`, "a number": `{"a": 3}`, "no form": `{"a": {"often": "x"}}`} {
		if _, err := load(fstest.MapFS{"catalogue/en.json": {Data: []byte(data)}}); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
