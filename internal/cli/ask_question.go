package cli

import (
	"fmt"
	"slices"
	"strings"
)

// question is one question and what may answer it.
type question struct {
	name    string
	about   string   // said once, before it is asked
	words   []string // the answers there are
	free    bool     // any other text is an answer too
	example string
	have    string // what an empty answer means
	check   func(string) []string
}

// put asks until there is an answer that can be; a mistyped one is told what was probably meant.
func (q *asker) put(ask question) (string, error) {
	if ask.about != "" {
		q.say(ask.about)
	}
	prompt := ask.prompt(ask.ways())
	if length(prompt) > q.app.width()-20 { // leave room for the answer
		q.say(ask.name + ": " + ask.ways())
		prompt = ask.prompt("")
	}
	for {
		s, err := q.lines.line(prompt, append([]string{back}, ask.words...))
		if err != nil {
			return "", err
		}
		if s == back {
			return "", errBack
		}
		if s == "" {
			s = ask.have
		}
		s, wrong := ask.known(s)
		if wrong == "" && !q.complain(ask.judge(s)) {
			return s, nil
		}
		if wrong != "" {
			q.say(wrong)
		}
	}
}

func (ask question) judge(s string) []string {
	if ask.check == nil {
		return nil
	}
	return ask.check(s)
}

// ways are what answers it: "up, down, back".
func (ask question) ways() string {
	var example []string
	if ask.example != "" {
		example = []string{"such as " + ask.example}
	}
	return strings.Join(slices.Concat(example, ask.words, []string{back}), ", ")
}

// prompt is the line on which it is answered: "stroke (up, down, back) [up]: ".
func (ask question) prompt(ways string) string {
	s := "  " + ask.name
	if ways != "" {
		s += " (" + ways + ")"
	}
	if ask.have != "" {
		s += " [" + ask.have + "]"
	}
	return s + ": "
}

// known finds the word that was meant; what is wrong when there is none.
func (ask question) known(s string) (word, wrong string) {
	plain := strings.ToLower(strings.Join(strings.Fields(s), " "))
	for _, w := range ask.words {
		if plain == strings.ToLower(strings.ReplaceAll(w, "_", " ")) || strings.EqualFold(s, w) {
			return w, ""
		}
	}
	if ask.free {
		if s == "" {
			return "", "found nothing; expected an answer"
		}
		return s, ""
	}
	if hits := beginning(plain, ask.words); len(hits) == 1 {
		return hits[0], ""
	}
	found := "nothing"
	if s != "" {
		found = fmt.Sprintf("%q", s)
	}
	return "", fmt.Sprintf("found %s; expected one of %s%s", found, strings.Join(slices.Concat(ask.words, []string{back}), ", "), meant(s, slices.Concat(ask.words, []string{back})))
}

// complain says what is wrong, and whether anything is.
func (q *asker) complain(wrong []string) bool {
	for _, w := range wrong {
		q.say(w)
	}
	return len(wrong) > 0
}

// say prints a line beside the questions.
func (q *asker) say(s string) { fmt.Fprintln(q.app.err, q.app.wrap(s, "  ")) }
