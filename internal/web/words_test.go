package web

import (
	"regexp"
	"slices"
	"testing"

	"github.com/evenstroke/evenstroke/internal/report"
	"github.com/evenstroke/evenstroke/internal/text"
)

var placeholder = regexp.MustCompile(`\{\w+\}`)

// placeholders lists what is filled in by name, in order, so that the order of words may differ from language to language.
func placeholders(s string) []string {
	found := placeholder.FindAllString(s, -1)
	slices.Sort(found)
	return found
}

func catalogue(t *testing.T) *text.Catalogue {
	t.Helper()
	c, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestReportsHaveTheirWordsInEveryLanguage(t *testing.T) {
	c, texts := catalogue(t), report.Texts()
	for key, want := range texts {
		if got := c.In("en").Raw(key); got != want {
			t.Errorf("en: %s is %q, the report says %q", key, got, want)
		}
		for _, lang := range c.Languages() {
			got := c.In(lang).Raw(key)
			if got == "" {
				t.Errorf("%s: no text for %s", lang, key)
				continue
			}
			if a, b := placeholders(want), placeholders(got); !slices.Equal(a, b) {
				t.Errorf("%s: %s fills in %v, in English %v", lang, key, b, a)
			}
		}
	}
	for _, key := range c.Keys("report.") {
		if _, ok := texts[key]; !ok {
			t.Errorf("%s is in the catalogue, but no report says it", key)
		}
	}
}
