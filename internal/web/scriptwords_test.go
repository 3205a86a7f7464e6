package web

import (
	"encoding/json"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/text"
)

// served reads the table of words out of the module as it is served: what stands between the equals sign and the semicolon is JSON.
func served(t *testing.T, c *text.Catalogue) map[string]map[string]string {
	t.Helper()
	a, err := loadAssets(c)
	if err != nil {
		t.Fatal(err)
	}
	module, ok := a.by[wordTable]
	if !ok {
		t.Fatalf("%s is not served", wordTable)
	}
	if !strings.HasPrefix(module.kind, "text/javascript") {
		t.Errorf("served as %q", module.kind)
	}
	_, rest, found := strings.Cut(string(module.plain), "export const table = ")
	if !found {
		t.Fatalf("no table in %.200q", module.plain)
	}
	table := map[string]map[string]string{}
	if err := json.Unmarshal([]byte(strings.TrimSuffix(rest, ";\n")), &table); err != nil {
		t.Fatal(err)
	}
	return table
}

func TestScriptsHaveTheirWordsInEveryLanguage(t *testing.T) {
	c := catalogue(t)
	table := served(t, c)
	for _, lang := range c.Languages() {
		if len(table[lang]) == 0 {
			t.Errorf("%s: no words for scripts", lang)
		}
		for key, en := range table["en"] {
			word := table[lang][key]
			if want := c.In(lang).Raw("script." + key); word != want {
				t.Errorf("%s: %s is served as %q, in the catalogue %q", lang, key, word, want)
			}
			if a, b := placeholders(en), placeholders(word); !slices.Equal(a, b) {
				t.Errorf("%s: %s fills in %v, in English %v", lang, key, b, a)
			}
		}
	}
}

// A word that a script says by a fixed key is in the table.
func TestEveryWordOfAScriptIsInTheTable(t *testing.T) {
	said, table, n := regexp.MustCompile(`\bsay\("(\w+)"`), served(t, catalogue(t)), 0
	names, err := fs.Glob(staticFiles, "static/js/*.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		script, err := staticFiles.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range said.FindAllSubmatch(script, -1) {
			n++
			if _, ok := table["en"][string(m[1])]; !ok {
				t.Errorf("%s says %s, which is not in the catalogue", name, m[1])
			}
		}
	}
	if n == 0 {
		t.Error("no script says anything: the pattern no longer fits the scripts")
	}
}

// Another wording is another version, so that no browser keeps old words under the same address.
func TestOtherWordsAreAnotherVersion(t *testing.T) {
	c := catalogue(t)
	one, err := loadAssets(c)
	if err != nil {
		t.Fatal(err)
	}
	again, err := loadAssets(c)
	if err != nil {
		t.Fatal(err)
	}
	none, err := loadAssets(&text.Catalogue{})
	if err != nil {
		t.Fatal(err)
	}
	if one.version != again.version {
		t.Errorf("the same words as %s and %s", one.version, again.version)
	}
	if one.version == none.version {
		t.Errorf("other words under the same version %s", one.version)
	}
}
