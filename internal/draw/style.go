package draw

import "strings"

// shade is one colour of a picture, for light and for dark surroundings.
type shade struct{ light, dark string }

// palette holds every colour. A test checks its contrast against WCAG 2.2: 4.5 to 1 for text, 3 to 1 for what carries meaning.
var palette = struct {
	paper, card, ink, quiet, edge, grid       shade
	steel, bright, ball, glint, cut           shade
	full, partial, slack                      shade // fluid under pressure on both strokes, on one, on none
	drop, leather, plastic, gland             shade
	holds, fails, open, neutral, white, arrow shade
	series                                    [4]shade
}{
	paper: shade{"#f7f5f0", "#14191c"}, card: shade{"#ffffff", "#1f272b"}, ink: shade{"#17232a", "#eef2f2"},
	quiet: shade{"#48565e", "#b3c0c5"}, edge: shade{"#34444d", "#9fb0b8"}, grid: shade{"#d9d6cd", "#333d42"},
	steel: shade{"#c5ced3", "#3d4a51"}, bright: shade{"#e6eaec", "#5a6a73"}, ball: shade{"#7f8d95", "#a9b8bf"},
	glint: shade{"#f4f7f8", "#eef2f2"}, cut: shade{"#34444d", "#161c20"},
	full: shade{"#5aa5bb", "#1f7590"}, partial: shade{"#c0dfe7", "#1b4553"}, slack: shade{"#eaf1f2", "#1c2b31"},
	drop: shade{"#c2410c", "#ff9057"}, leather: shade{"#b07a48", "#a9764a"}, plastic: shade{"#f3ecd2", "#dcd3b0"},
	gland: shade{"#d0b25c", "#a68b3c"},
	holds: shade{"#1d6b42", "#1f7a4b"}, fails: shade{"#a3281c", "#b3382b"}, open: shade{"#7a5900", "#806000"},
	neutral: shade{"#48565e", "#48565e"}, white: shade{"#ffffff", "#ffffff"}, arrow: shade{"#0f6a80", "#6cc6dc"},
	series: [4]shade{{"#0f6a80", "#6cc6dc"}, {"#a3400f", "#ffa274"}, {"#5b3f96", "#c4aef5"}, {"#3d6b1f", "#a5d683"}},
}

// rule gives one class its paint.
type rule struct {
	class        string
	fill, stroke *shade
	rest         string // what does not depend on the surroundings
}

var rules = []rule{
	{"es-paper", &palette.paper, nil, ""},
	{"es-card", &palette.card, &palette.grid, "stroke-width:1.5"},
	{"es-ink", &palette.ink, nil, ""},
	{"es-quiet", &palette.quiet, nil, ""},
	{"es-white", &palette.white, nil, ""},
	{"es-steel", &palette.steel, &palette.edge, "stroke-width:1.6;stroke-linejoin:round"},
	{"es-bright", &palette.bright, &palette.edge, "stroke-width:1.6;stroke-linejoin:round"},
	{"es-ball", &palette.ball, &palette.edge, "stroke-width:1.6"},
	{"es-glint", &palette.glint, nil, "opacity:.75"},
	{"es-shine", &palette.glint, nil, "opacity:.35"},
	{"es-full", &palette.full, nil, ""},
	{"es-partial", &palette.partial, nil, ""},
	{"es-slack", &palette.slack, nil, ""},
	{"es-stripe", nil, &palette.full, "stroke-width:3"},
	{"es-edge", nil, &palette.edge, "stroke-width:1.6;stroke-linecap:round;stroke-linejoin:round"},
	{"es-wall", nil, &palette.edge, "stroke-width:21;stroke-linejoin:round"},
	{"es-metal", nil, &palette.steel, "stroke-width:18;stroke-linejoin:round"},
	{"es-lane-full", nil, &palette.full, "stroke-width:10;stroke-linejoin:round"},
	{"es-lane-partial", nil, &palette.partial, "stroke-width:10;stroke-linejoin:round"},
	{"es-lane-slack", nil, &palette.slack, "stroke-width:10;stroke-linejoin:round"},
	{"es-leather", &palette.leather, &palette.cut, "stroke-width:1.3;stroke-linejoin:round"},
	{"es-plastic", &palette.plastic, &palette.cut, "stroke-width:1.3;stroke-linejoin:round"},
	{"es-gland", &palette.gland, &palette.cut, "stroke-width:1.3;stroke-linejoin:round"},
	{"es-drop", &palette.drop, &palette.paper, "stroke-width:2.5;stroke-linejoin:round"},
	{"es-drop-slight", &palette.paper, &palette.drop, "stroke-width:2;stroke-linejoin:round"},
	{"es-lead", nil, &palette.ink, "stroke-width:1.5;stroke-linejoin:round"},
	{"es-lead-halo", nil, &palette.paper, "stroke-width:5;stroke-linejoin:round"},
	{"es-lead-slight", nil, &palette.quiet, "stroke-width:1.3;stroke-dasharray:2 4;stroke-linejoin:round"},
	{"es-bracket", nil, &palette.drop, "stroke-width:4;stroke-linejoin:round;stroke-linecap:round"},
	{"es-badge-ink", &palette.paper, nil, ""},
	{"es-drop-ink", &palette.drop, nil, ""},
	{"es-holds", &palette.holds, nil, ""},
	{"es-fails", &palette.fails, nil, ""},
	{"es-open", &palette.open, nil, ""},
	{"es-neutral", &palette.neutral, nil, ""},
	{"es-sign", nil, &palette.white, "stroke-width:6;stroke-linecap:round;stroke-linejoin:round"},
	{"es-grid", nil, &palette.grid, "stroke-width:1"},
	{"es-mark", nil, &palette.quiet, "stroke-width:1.5;stroke-dasharray:6 5"},
	{"es-s0", nil, &palette.series[0], "stroke-width:3;stroke-linejoin:round"},
	{"es-s1", nil, &palette.series[1], "stroke-width:3;stroke-linejoin:round;stroke-dasharray:10 6"},
	{"es-s2", nil, &palette.series[2], "stroke-width:3;stroke-linejoin:round;stroke-dasharray:3 5"},
	{"es-s3", nil, &palette.series[3], "stroke-width:3;stroke-linejoin:round;stroke-dasharray:14 5 3 5"},
	{"es-p0", &palette.series[0], &palette.paper, "stroke-width:1.5"},
	{"es-p1", &palette.series[1], &palette.paper, "stroke-width:1.5"},
	{"es-p2", &palette.series[2], &palette.paper, "stroke-width:1.5"},
	{"es-p3", &palette.series[3], &palette.paper, "stroke-width:1.5"},
	{"es-band", &palette.partial, nil, "opacity:.6"},
	{"es-bar", &palette.full, &palette.edge, "stroke-width:1.3"},
	{"es-arrow", &palette.arrow, nil, ""},
}

// Classes that force one appearance: on the picture's root or on the root element of the page. Without them a picture follows
// the reader's setting. On paper it is always light.
const (
	Light = "es-light"
	Dark  = "es-dark"
)

// StyleSheet is the CSS of all pictures, for a page that holds several of them (see Inline).
func StyleSheet() string {
	all := map[string]bool{}
	for _, r := range rules {
		all[r.class] = true
	}
	return style(all)
}

// style writes the rules of the classes used.
func style(used map[string]bool) string {
	var b strings.Builder
	b.WriteString(".es{max-width:100%;height:auto}.es text{font-family:system-ui,sans-serif}")
	all := func(prefix string, dark bool) {
		for _, r := range rules {
			if !used[r.class] {
				continue
			}
			b.WriteString(prefix + "." + r.class + "{" + r.paint(dark))
			if !dark {
				b.WriteString(r.rest)
			}
			b.WriteString("}")
		}
	}
	all("", false)
	b.WriteString("@media screen{")
	all("."+Dark+" ", true)
	b.WriteString("}@media screen and (prefers-color-scheme:dark){")
	all(":root:not(."+Light+") .es:not(."+Light+") ", true)
	all(":root.es:not(."+Light+") ", true)
	b.WriteString("}")
	return b.String()
}

func (r rule) paint(dark bool) string {
	paint := func(s *shade) string {
		switch {
		case s == nil:
			return "none"
		case dark:
			return s.dark
		}
		return s.light
	}
	out := "fill:" + paint(r.fill) + ";"
	if r.stroke != nil {
		out += "stroke:" + paint(r.stroke) + ";"
	}
	return out
}

// Inline takes the style sheet out of a picture, for a page that carries StyleSheet once.
func Inline(svg string) string {
	before, rest, ok := strings.Cut(svg, "<style>")
	if !ok {
		return svg
	}
	_, after, _ := strings.Cut(rest, "</style>\n")
	return before + after
}
