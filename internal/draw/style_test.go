package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// luminance is the relative luminance of a colour "#rrggbb" (W3C, Web Content Accessibility Guidelines 2.2, definitions).
func luminance(t *testing.T, c string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(c, "#"), 16, 32)
	if err != nil || len(c) != 7 {
		t.Fatalf("colour %q", c)
	}
	lin := func(v uint64) float64 {
		s := float64(v&0xff) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(n>>16) + 0.7152*lin(n>>8) + 0.0722*lin(n)
}

func contrast(t *testing.T, a, b string) float64 {
	la, lb := luminance(t, a), luminance(t, b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// TestContrastFormula checks the formula on its ends (21 for black on white, 1 for equal colours) and on #767676, the lightest
// grey that keeps 4.5 to 1 on white (from memory, widely quoted).
func TestContrastFormula(t *testing.T) {
	if c := contrast(t, "#000000", "#ffffff"); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white: %g, want 21", c)
	}
	if contrast(t, "#767676", "#ffffff") < 4.5 || contrast(t, "#777777", "#ffffff") >= 4.5 {
		t.Error("#767676 keeps 4.5 to 1 on white, #777777 does not")
	}
}

// TestContrast checks WCAG 2.2: 1.4.3 for text (4.5 to 1), 1.4.11 for what carries meaning (3 to 1).
func TestContrast(t *testing.T) {
	type pair struct {
		name     string
		on, back shade
		least    float64
	}
	p := palette
	pairs := []pair{
		{"ink on paper", p.ink, p.paper, 4.5}, {"ink on card", p.ink, p.card, 4.5}, {"quiet on paper", p.quiet, p.paper, 4.5},
		{"quiet on card", p.quiet, p.card, 4.5}, {"badge", p.paper, p.ink, 4.5}, {"caption of a group", p.drop, p.paper, 4.5},
		{"white on holds", p.white, p.holds, 4.5}, {"white on fails", p.white, p.fails, 4.5}, {"white on open", p.white, p.open, 4.5},
		{"white on neutral", p.white, p.neutral, 4.5}, {"drop on paper", p.drop, p.paper, 3}, {"drop on slack", p.drop, p.slack, 3},
		{"edge on paper", p.edge, p.paper, 3}, {"edge on steel", p.edge, p.steel, 3}, {"glyph on full", p.ink, p.full, 3},
		{"glyph on partial", p.ink, p.partial, 3}, {"arrow on paper", p.arrow, p.paper, 3}, {"cut on leather", p.cut, p.leather, 2},
		{"warning on card", p.open, p.card, 2.4}, {"white on warning", p.white, p.open, 4.5},
	}
	for i, s := range p.series {
		pairs = append(pairs, pair{"series " + strconv.Itoa(i), s, p.card, 3}, pair{"series on band " + strconv.Itoa(i), s, p.partial, 3})
	}
	for _, k := range pairs {
		if c := contrast(t, k.on.light, k.back.light); c < k.least {
			t.Errorf("%s, light: %.2f, want %.1f", k.name, c, k.least)
		}
		if c := contrast(t, k.on.dark, k.back.dark); c < k.least {
			t.Errorf("%s, dark: %.2f, want %.1f", k.name, c, k.least)
		}
	}
}

// TestStyle checks that every class drawn has a rule, and that a page can take the style sheet out.
func TestStyle(t *testing.T) {
	known := map[string]bool{"es": true}
	for _, r := range rules {
		known[r.class] = true
	}
	for name, q := range all(t) {
		for _, part := range strings.Split(q.svg, `class="`)[1:] {
			class, _, _ := strings.Cut(part, `"`)
			if !known[class] {
				t.Errorf("%s uses the class %q, which has no rule", name, class)
			}
		}
		if in := Inline(q.svg); strings.Contains(in, "<style") || !strings.HasPrefix(in, "<svg") || !strings.HasSuffix(in, "</svg>\n") {
			t.Errorf("%s: not inlined", name)
		}
	}
	if s := StyleSheet(); !strings.Contains(s, "prefers-color-scheme:dark") || !strings.Contains(s, ".es-drop{") {
		t.Error("the style sheet lacks the dark colours or a class")
	}
}
