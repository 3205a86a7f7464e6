package draw

import (
	"strings"
	"unicode"
)

// advances holds the widths of the characters from space to tilde in hundredths of the font size, rounded up. They were measured
// in DejaVu Sans, one of the widest of the usual system fonts, so that a text is not wider than its box whatever font the
// reader's machine has.
var advances = [95]uint8{
	32, 41, 46, 84, 64, 95, 78, 28, 39, 39, 50, 84, 32, 37, 32, 34,
	64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84, 84, 84, 54,
	100, 69, 69, 70, 77, 64, 58, 78, 76, 30, 30, 66, 56, 87, 75, 79,
	61, 79, 70, 64, 62, 74, 69, 99, 69, 62, 69, 39, 34, 39, 84, 50,
	50, 62, 64, 55, 64, 62, 36, 64, 64, 28, 28, 58, 28, 98, 64, 62,
	64, 64, 42, 53, 40, 64, 60, 82, 60, 60, 53, 64, 34, 64, 84,
}

// Widths over the font size where there is no table.
const (
	wNarrow = 0.42 // no-break space, middle dot
	wLetter = 0.66 // small letters beyond ASCII
	wWide   = 0.88 // capitals and other scripts
	wWidest = 1.05 // signs and what is not known
	wBold   = 1.15 // bold over regular; narrow letters grow more
	wBoldI  = 1.25
	wSlack  = 1.02 // fonts that are wider still
)

func advance(r rune) float64 {
	switch {
	case r >= ' ' && r <= '~':
		return float64(advances[r-' ']) / 100
	case r == '\u00a0' || r == '\u2009' || r == '·':
		return wNarrow
	case r == '–' || r == '±' || r == '°' || r == '−':
		return wWide
	case unicode.Is(unicode.Mn, r):
		return 0
	case r < 0x250 && unicode.IsLower(r):
		return wLetter
	case r < 0x530:
		return wWide
	}
	return wWidest
}

// width returns the width of a line, never less than what a browser needs.
func (f font) width(s said) float64 {
	w := 0.0
	for _, r := range s {
		a := advance(r)
		switch {
		case f.bold && a < 0.45:
			a *= wBoldI
		case f.bold:
			a *= wBold
		}
		w += a
	}
	return w * wSlack * f.size
}

// wrap breaks a text into lines no wider than w, between words where it can. No word is left out: a sentence that is cut says something else.
func (f font) wrap(s said, w float64) []said {
	var out []said
	line := said("")
	for _, word := range strings.FieldsFunc(string(s), func(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' || unicode.IsControl(r) }) {
		for _, piece := range f.pieces(said(word), w) {
			joined := piece
			if line != "" {
				joined = line + " " + piece
			}
			if line != "" && f.width(joined) > w {
				out, joined = append(out, line), piece
			}
			line = joined
		}
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// pieces cuts a word that is wider than a line, after a hyphen where it has one.
func (f font) pieces(word said, w float64) []said {
	if f.width(word) <= w {
		return []said{word}
	}
	var out []said
	part := said("")
	for _, r := range word {
		if part != "" && f.width(part+said(r)) > w {
			rest := said("")
			if i := strings.LastIndexByte(string(part), '-'); i >= 0 {
				part, rest = part[:i+1], part[i+1:]
			}
			out, part = append(out, part), rest
		}
		part += said(r)
	}
	return append(out, part)
}
