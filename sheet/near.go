package sheet

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Nearest returns `did you mean "…"?` for the option that the text was probably meant to be, or nothing: the one with the fewest letters
// inserted, left out, replaced or swapped with their neighbour, capitals aside, if those are few for its length; else the only one that
// begins so.
func Nearest(s string, options []string) string {
	best, least := "", 99
	for _, o := range options {
		if d := distance(strings.ToLower(s), strings.ToLower(o)); d <= slips(o) && d < least {
			best, least = o, d
		}
	}
	if best == "" {
		best = begins(s, options)
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("did you mean %q?", best)
}

// slips is how many letters of a word may be wrong for it to be known again.
func slips(word string) int {
	switch n := utf8.RuneCountInString(word); {
	case n <= 1:
		return 0
	case n <= 4:
		return 1
	case n <= 9:
		return 2
	}
	return 3
}

// begins returns the only option that begins with s.
func begins(s string, options []string) string {
	hit := ""
	for _, o := range options {
		if utf8.RuneCountInString(s) >= 3 && strings.HasPrefix(strings.ToLower(o), strings.ToLower(s)) {
			if hit != "" {
				return ""
			}
			hit = o
		}
	}
	return hit
}

// longestWord is the longest text for which a nearest option is looked for.
const longestWord = 60

// distance is the number of letters inserted, left out, replaced or swapped with their neighbour that turn a into b (optimal string
// alignment).
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	if len(s) > longestWord || len(t) > longestWord {
		return 99
	}
	before, prev := make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(s); i++ {
		cur := make([]int, len(t)+1)
		cur[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev = prev, cur
	}
	return prev[len(t)]
}
