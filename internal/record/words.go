package record

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Bounds of the index: a long complaint must not fill it, and a long word is found by its beginning.
const (
	maxWords = 60
	maxWord  = 64 // bytes
)

// Words splits texts into distinct words of letters and digits, in small letters and without accents, so that "Muller" finds
// "Müller" however the ü was typed (Unicode Standard Annex 15, form NFD, without the marks). A serial as ALD-0417 gives ald-0417,
// ald and 0417.
func Words(texts ...string) []string { return words(true, texts...) }

// Terms splits what somebody looks for into words as Words does, but ALD-0417 only into ald-0417.
func Terms(query string) []string { return words(false, query) }

func words(parts bool, texts ...string) []string {
	seen := map[string]bool{}
	var out []string
	add := func(w string) {
		w = cut(w)
		if w != "" && !seen[w] && len(out) < maxWords {
			seen[w] = true
			out = append(out, w)
		}
	}
	for _, t := range texts {
		for _, w := range strings.FieldsFunc(plain(t), func(r rune) bool {
			return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-'
		}) {
			w = strings.Trim(w, "-")
			add(w)
			if parts && strings.Contains(w, "-") {
				for _, part := range strings.Split(w, "-") {
					add(part)
				}
			}
		}
	}
	return out
}

// plain is a text in small letters without accents.
func plain(s string) string {
	s = strings.ToLower(s)
	if isASCII(s) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFD.String(s))
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// cut keeps the beginning of a long word, whole characters of it.
func cut(w string) string {
	if len(w) <= maxWord {
		return w
	}
	n := maxWord
	for !utf8.RuneStart(w[n]) {
		n--
	}
	return w[:n]
}

// SortKey is a text by which labels are listed: small letters, no accents.
func SortKey(s string) string { return firstRunes(strings.TrimSpace(plain(s)), 2*short) }

// NameKey is a text by which a name or a serial is looked up: its capitals and how its accents were typed do not matter.
func NameKey(s string) string {
	return firstRunes(strings.ToLower(norm.NFC.String(strings.TrimSpace(s))), 2*short)
}

func firstRunes(s string, most int) string {
	if len(s) <= most {
		return s
	}
	r := []rune(s)
	return string(r[:min(most, len(r))])
}

// Plain says whether a text can be stored: valid UTF-8 without control characters, at most that many characters.
func Plain(where, s string, most int) error { return text(where, s, most, false) }
