package web

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/internal/text"
)

// wordTable is the module that js/words.js takes its texts from.
const wordTable = "js/table.js"

// scriptWords is the module that gives scripts their words: the texts script.* of every language, under the keys without script.
// A text that a language does not have is left out; the scripts then say it in English.
func scriptWords(c *text.Catalogue) ([]byte, error) {
	table := map[string]map[string]string{}
	for _, lang := range c.Languages() {
		said, words := c.In(lang), map[string]string{}
		for _, key := range c.Keys("script.") {
			word := said.Raw(key)
			if word == "" && lang == "en" {
				return nil, fmt.Errorf("web: %s: found no plain English text, which scripts need", key)
			}
			if word != "" {
				words[strings.TrimPrefix(key, "script.")] = word
			}
		}
		table[lang] = words
	}
	data, err := json.MarshalIndent(table, "", " ")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	return fmt.Appendf(nil, "// The words of the scripts, made from the catalogues of texts when the program starts.\nexport const table = %s;\n", data), nil
}
