package report

import (
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/outside"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// TestPictures reads every picture of package draw of every demo pump: nothing in them may be unknown, no text may be lost, every shape
// must have a paint, and no colour may be one of the dark ones.
func TestPictures(t *testing.T) {
	dark := map[ink]bool{0x14191c: true, 0x1f272b: true, 0xeef2f2: true, 0xff9057: true}
	sys := unit.Metric()
	for _, name := range pump.Demo() {
		p := demoPump(t, name)
		steps, err := p.Work(pump.Chosen{})
		if err != nil {
			t.Fatal(err)
		}
		svgs := []string{draw.LeakMap(p, nil, sys), draw.LeakMapNarrow(p, nil, sys), draw.LeakMap(p, leftResult(), sys), draw.LeakMap(p, foundResult(), sys), draw.Work(steps, sys), draw.Lips("up"), draw.Lips("down")}
		for _, s := range p.Stacks {
			wide, err1 := draw.Stack(p, s.Name, nil, sys)
			narrow, err2 := draw.StackNarrow(p, s.Name, nil, sys)
			if err := errors.Join(err1, err2); err != nil {
				t.Fatal(err)
			}
			svgs = append(svgs, wide, narrow)
		}
		for _, svg := range svgs {
			pic, err := readPicture(svg)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			texts := 0
			for _, d := range pic.ops {
				if d.text != "" {
					texts++
				}
				if !d.filled && !d.stroked {
					t.Errorf("%s, %s: a piece without paint: %+v", name, pic.title, d)
				}
				if dark[d.fill] && d.filled || dark[d.stroke] && d.stroked {
					t.Errorf("%s, %s: a dark colour", name, pic.title)
				}
			}
			if n := strings.Count(svg, "<text"); n != texts || pic.title == "" || pic.desc == "" || pic.w < 10 || pic.h < 10 {
				t.Errorf("%s, %q: %d texts of %d, %g by %g", name, pic.title, texts, n, pic.w, pic.h)
			}
		}
	}
	for _, bad := range []string{"<svg><image/></svg>", `<svg><g transform="rotate(3)"/></svg>`, `<svg width="NaN"/>`, "<svg", `<svg><path d="X"/></svg>`} {
		if _, err := readPicture(bad); err == nil {
			t.Errorf("%s: no error", bad)
		}
	}
}

// TestPlace checks groups within groups, and the shapes, by hand.
func TestPlace(t *testing.T) {
	pic, err := readPicture(`<svg width="100" height="50"><title>t</title><desc>d</desc><style>.a{fill:none;stroke:#010203;stroke-width:2;stroke-dasharray:4 2}@media screen{.b{fill:none;}.a{stroke:#ffffff;}}</style>
<g transform="translate(10 20) scale(2)"><g transform="translate(1 1) scale(0.5)"><line class="a" x1="0" y1="0" x2="3" y2="4"/></g><circle class="a" cx="5" cy="5" r="1"/></g></svg>`)
	if err != nil {
		t.Fatal(err)
	}
	l, c := pic.ops[0], pic.ops[1]
	if l.segs[0].p[0] != 12 || l.segs[0].p[1] != 22 || l.segs[1].p[0] != 15 || l.segs[1].p[1] != 26 || l.stroke != 0x010203 || l.filled || l.width != 2 || l.dash[0] != 4 {
		t.Errorf("the line is %+v", l)
	}
	if x0, y0, x1, y1, _ := bounds(c.segs); x0 != 18 || y0 != 28 || x1 != 22 || y1 != 32 || c.width != 4 || c.dash[1] != 4 {
		t.Errorf("the circle lies in %g %g %g %g, width %g", x0, y0, x1, y1, c.width)
	}
}

// TestWidth compares the width of words, kerning included, with where pdftotext finds their ends.
func TestWidth(t *testing.T) {
	p, err := newPress(A4, nil)
	if err != nil {
		t.Fatal(err)
	}
	words := []string{"AVATAR", "To,", "Typ", "WAVE.", "160bar", "Größe"}
	for i, w := range words {
		p.add(&node{tag: "P", paint: func(q *pen) { q.text(p.face(i%2 == 1), 40, black, 100, 100+60*float64(i), w) }})
	}
	if a, b := p.regular.width("AV", 1), p.regular.width("A", 1)+p.regular.width("V", 1); a > b-0.03 {
		t.Errorf("AV is %g wide, its letters %g: no kerning", a, b)
	}
	outside.Program(t, "pdftotext", "poppler-utils")
	pdf := file(t, func(w io.Writer) error { return p.write(w, info{title: "x", lang: "en"}) })
	found := boxes(t, pdf)[0].Words
	for i, w := range words {
		if i >= len(found) || found[i].Word != w || math.Abs(found[i].X1-100-p.face(i%2 == 1).width(w, 40)) > 0.15 || math.Abs(found[i].X0-100) > 0.1 {
			t.Errorf("%s: width %g; found %+v", w, p.face(i%2 == 1).width(w, 40), found)
		}
	}
}

// FuzzLines breaks texts into lines of any width: no line may be too wide, and no sign may be lost.
func FuzzLines(f *testing.F) {
	for _, s := range strange {
		f.Add(s, 60.0)
	}
	p, err := newPress(A4, nil)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, s string, w float64) {
		if !(w >= 20 && w < 1000) || len(s) > 5000 {
			return
		}
		var got strings.Builder
		for _, l := range p.lines(w, run{s, body}, run{"|" + s, strong}) {
			if l.width > w+0.02 {
				single := 0
				for _, r := range l.runs {
					single += len([]rune(r.text))
				}
				if single > 8 { // a sign with many marks on it cannot be divided
					t.Errorf("%q: a line is %g wide, want %g", s, l.width, w)
				}
			}
			for _, r := range l.runs {
				got.WriteString(r.text)
				if n, m := len([]rune(visual(r.text))), len([]rune(r.text)); n != m {
					t.Errorf("%q: %d signs drawn of %d", r.text, n, m)
				}
			}
		}
		none := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		want := none(p.clean(bind(s), false)) + none(p.clean(bind("|"+s), true))
		if none(got.String()) != want {
			t.Errorf("%q becomes %q, want %q", s, got.String(), want)
		}
	})
}
