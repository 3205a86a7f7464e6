//go:build !small

package report

import (
	_ "embed" // the fonts
	"math"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/carlos7ags/folio/font"
	"github.com/carlos7ags/folio/layout"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

//go:embed fonts/DejaVuSans.ttf
var regularFont []byte

//go:embed fonts/DejaVuSans-Bold.ttf
var boldFont []byte

// parsedFonts reads both fonts once; a parsed font may be shared.
var parsedFonts = sync.OnceValues(func() (fonts [2]font.Face, err error) {
	if fonts[0], err = font.ParseTTF(regularFont); err != nil {
		return fonts, err
	}
	fonts[1], err = font.ParseTTF(boldFont)
	return fonts, err
})

// face is one font in one file: it remembers which signs the file uses.
type face struct {
	font.Face
	embedded *font.EmbeddedFont
	name     string
	em       float64
	advances map[rune]float64
}

func newFaces() (regular, bold *face, err error) {
	fonts, err := parsedFonts()
	if err != nil {
		return nil, nil, err
	}
	one := func(f font.Face, name string) *face {
		return &face{Face: f, embedded: font.NewEmbeddedFont(thousandths{f}), name: name, em: float64(f.UnitsPerEm()), advances: map[rune]float64{}}
	}
	return one(fonts[0], "F1"), one(fonts[1], "F2"), nil
}

// thousandths gives the measures of a font that stand in its descriptor in thousandths of the font size, as ISO 32000-1, 9.8.1, wants
// them. The library (v0.11.0) writes them as the font has them, 2048 to the font size here, and a reader then marks text with boxes
// twice too high.
type thousandths struct{ font.Face }

func (f thousandths) scale(v int) int {
	return int(math.Round(float64(v) * 1000 / float64(f.UnitsPerEm())))
}
func (f thousandths) Ascent() int    { return f.scale(f.Face.Ascent()) }
func (f thousandths) Descent() int   { return f.scale(f.Face.Descent()) }
func (f thousandths) CapHeight() int { return f.scale(f.Face.CapHeight()) }

func (f thousandths) BBox() [4]int {
	b := f.Face.BBox()
	for i := range b {
		b[i] = f.scale(b[i])
	}
	return b
}

// width is the width of a cleaned text at a font size, kerning included.
func (f *face) width(s string, size float64) float64 {
	w, before := 0.0, rune(0)
	for _, r := range s {
		a, ok := f.advances[r]
		if !ok {
			a = float64(f.GlyphAdvance(f.GlyphIndex(drawn(r)))) / f.em
			f.advances[r] = a
		}
		w += a + f.kern(before, r)
		before = r
	}
	return w * size
}

// kern is what two letters move closer, over the font size; only Latin letters do.
func (f *face) kern(a, b rune) float64 {
	if a < 'A' || b < ' ' || a > 0x24F || b > 0x24F {
		return 0
	}
	return float64(f.Kern(f.GlyphIndex(a), f.GlyphIndex(b))) / f.em
}

// drawn is the sign that is drawn for a sign of the text: all spaces look alike, so that a copied text has plain ones.
func drawn(r rune) rune {
	if r == '\u00a0' || r == '\u202f' || r == '\u2009' {
		return ' '
	}
	return r
}

// clean makes a text fit for setting: letters and their marks joined, Arabic letters joined to each other, spaces for controls.
// Signs that cannot be seen are left out, and those that the font lacks become U+FFFD; missing says so.
func (f *face) clean(s string) (out string, missing bool) {
	s = norm.NFC.String(strings.ToValidUTF8(s, "\uFFFD"))
	if hasRightToLeft(s) {
		s = layout.ShapeArabicWithFont(s, f.Face)
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\n' || r == '\r' || r == '\t' || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Variation_Selector, r):
		case r != '\uFFFD' && f.GlyphIndex(drawn(r)) != 0:
			b.WriteRune(r)
		default:
			b.WriteRune('\uFFFD')
			missing = true
		}
	}
	return b.String(), missing
}

// hasRightToLeft says whether any letter is written from right to left.
func hasRightToLeft(s string) bool {
	for _, r := range s {
		if r >= 0x0590 && r <= 0x08FF || r >= 0xFB1D && r <= 0xFDFF || r >= 0xFE70 && r <= 0xFEFF || r >= 0x10800 && r <= 0x10FFF || r >= 0x1E800 && r <= 0x1EFFF {
			return true
		}
	}
	return false
}

// visual puts a line of text into the order in which it is drawn. Source: Unicode Standard Annex 9.
func visual(s string) string {
	if !hasRightToLeft(s) {
		return s
	}
	var p bidi.Paragraph
	if _, err := p.SetString(s); err != nil {
		return s
	}
	order, err := p.Order()
	if err != nil {
		return s
	}
	runs := make([]bidiRun, order.NumRuns())
	base := -1 // level of the line: that of its first letter
	for i := range runs {
		run := order.Run(i)
		r := bidiRun{text: run.String()}
		letter := strings.ContainsFunc(r.text, unicode.IsLetter)
		if run.Direction() == bidi.RightToLeft {
			r.level, r.text = 1, bidi.ReverseString(r.text)
		}
		if base < 0 && letter {
			base = r.level
		}
		if r.level == 0 && (base == 1 || !letter && i > 0 && runs[i-1].level > 0) {
			r.level = 2 // Latin words in a line from right to left, or a number after such words
		}
		runs[i] = r
	}
	turnRuns(runs, 2)
	turnRuns(runs, 1)
	var b strings.Builder
	for _, r := range runs {
		b.WriteString(r.text)
	}
	return b.String()
}

// bidiRun is a part of a line that runs in one direction, its signs already in the order in which they are drawn.
type bidiRun struct {
	text  string
	level int
}

// turnRuns turns every row of parts at a level or above round, rule L2. The library gives the parts in the order in which they are
// read.
func turnRuns(runs []bidiRun, level int) {
	for i := 0; i < len(runs); i++ {
		j := i
		for j < len(runs) && runs[j].level >= level {
			j++
		}
		if j > i {
			slices.Reverse(runs[i:j])
			i = j
		}
	}
}

// encode turns signs into the numbers of their glyphs. The file says that a joined form of an Arabic letter is the letter itself.
func (f *face) encode(s []rune) []byte {
	out := make([]byte, 0, 2*len(s))
	for _, r := range s {
		letter := string(drawn(r))
		if r >= 0xFB50 && r <= 0xFEFF {
			letter = norm.NFKC.String(letter)
		}
		if len([]rune(letter)) == 1 {
			out = append(out, f.embedded.EncodeGIDs([]uint16{f.GlyphIndex(drawn(r))}, letter)...)
		} else {
			out = append(out, f.embedded.EncodeString(string(r))...)
		}
	}
	return out
}
