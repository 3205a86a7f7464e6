package draw

import (
	"html"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/text"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

var (
	sheetOfStyle = regexp.MustCompile(`(?s)<style>.*?</style>`)
	tag          = regexp.MustCompile(`<[^>]*>`)
	token        = regexp.MustCompile(`[^ ]+`)
	marked       = regexp.MustCompile("\u20d0[^\u20d1…]*[\u20d1…]")
	word         = regexp.MustCompile(`\pL+`)
)

// units are the words that a figure may carry.
var units = strings.Fields("bar psi mm in s min h mL L fl oz gal N m lbf ft")

// names are all names of a pump sheet, the longest first.
func names(p *pump.Pump) []string {
	all := map[string]bool{p.Name: true}
	for _, q := range p.Valves {
		all[q.Name] = true
	}
	for _, q := range p.Seals {
		all[q.Name] = true
	}
	for _, q := range p.Outlets {
		all[q.Name] = true
	}
	for _, q := range p.Stacks {
		for _, r := range q.Rings {
			all[r.Part] = true
		}
	}
	return slices.SortedFunc(maps.Keys(all), func(a, b string) int { return len(b) - len(a) })
}

// TestEveryTextIsSaid marks each word that is handed to the language, with signs that take no room, and wants no other word in a picture than names of the pump
// sheet and units of figures.
func TestEveryTextIsSaid(t *testing.T) {
	var own []string
	for _, p := range pumps(t) {
		own = append(own, names(p)...)
	}
	slices.SortFunc(own, func(a, b string) int { return len(b) - len(a) })
	mark := func(s string) string { return token.ReplaceAllString(s, "\u20d0$0\u20d1") }
	said := 0
	for name, q := range drawAll(t, In(mark)) {
		s := html.UnescapeString(tag.ReplaceAllString(sheetOfStyle.ReplaceAllString(q.svg, " "), " "))
		s = strings.Join(strings.Fields(s), " ")
		said += len(marked.FindAllString(s, -1))
		s = marked.ReplaceAllString(s, ".")
		for _, n := range own {
			s = strings.ReplaceAll(s, n, ".")
		}
		for _, w := range word.FindAllString(s, -1) {
			if !slices.Contains(units, w) {
				t.Errorf("%s: %q was not said: … %.200s", name, w, s[strings.Index(s, w):])
				break
			}
		}
	}
	if said < 1000 {
		t.Errorf("only %d words were said", said)
	}
}

// TestNoSayIsEnglish checks that In(nil) changes nothing.
func TestNoSayIsEnglish(t *testing.T) {
	if Lips("up", In(nil)) != Lips("up") {
		t.Error("In(nil) is not as no option")
	}
}

// TestSpanishTextsDoNotOverlap checks that the longer texts of another language have room too.
func TestSpanishTextsDoNotOverlap(t *testing.T) {
	c, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	voice := c.In("es")
	pictures := drawAll(t, In(func(s string) string {
		said, _ := voice.Engine(s)
		return said
	}))
	apartInside(t, pictures)
	if svg := pictures["map orrin-30 1"].svg; !strings.Contains(svg, "cuanto mayor la gota") || !strings.Contains(svg, "no aguanta") {
		t.Error("the pictures are not Spanish")
	}
}

// A leak that nobody would see is not written as a figure; ml is per minute.
func TestFlowRange(t *testing.T) {
	metric := unit.Metric()
	for want, q := range map[string]hold.Quantiles{"1.8–3.9 mL/min": {Q05: 1.8, Q95: 3.9}, "up to 0.30 mL/min": {Q05: 0.0001, Q95: 0.3}, "under 0.01 mL/min": {Q05: 2e-5, Q95: 0.009}, "0.010–0.020 mL/min": {Q05: 0.01, Q95: 0.02}} {
		if got := strings.ReplaceAll(FlowRange(q, metric), "\u00a0", " "); got != want {
			t.Errorf("FlowRange(%v) = %q, want %q", q, got, want)
		}
	}
	// a drop of 0.05 mL in a minute is 0.0017 fl oz/min (29.5735 mL, NIST SP 811 B.8): it can be seen, and has a figure in either unit
	for want, q := range map[string]hold.Quantiles{"up to 0.68 fl oz/min": {Q05: 0.01, Q95: 20}, "0.0017–0.68 fl oz/min": {Q05: 0.05, Q95: 20}, "under 0.001 fl oz/min": {Q05: 0.001, Q95: 0.02}} {
		if got := strings.ReplaceAll(FlowRange(q, unit.Imperial()), "\u00a0", " "); got != want {
			t.Errorf("imperial: %q, want %q", got, want)
		}
	}
}

// A time that was held is never rounded up to one that was asked for.
func TestWatched(t *testing.T) {
	for s, want := range map[float64]string{0.053: "0:00 min", 15.9: "0:15 min", 60: "1:00 min", 119.99: "1:59 min", 120 - 1e-9: "2:00 min", 3600: "60:00 min"} {
		if got := strings.ReplaceAll(Watched(s), "\u00a0", " "); got != want {
			t.Errorf("Watched(%g) = %q, want %q", s, got, want)
		}
	}
}

// A press is written as the watch of the page shows it: rounded down.
func TestPressed(t *testing.T) {
	for s, want := range map[float64]string{0: "0:00.0", 15.4: "0:15.4", 15.399: "0:15.3", 59.999: "0:59.9", 60: "1:00.0", 372.75: "6:12.7", 3600: "60:00.0"} {
		if got := Pressed(s); got != want {
			t.Errorf("Pressed(%g) = %q, want %q", s, got, want)
		}
	}
}
