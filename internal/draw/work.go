package draw

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

type workForm struct {
	w, margin, gap             float64
	columns                    int
	number, torque, name, text float64 // font sizes
	side                       float64 // room for a torque or lips at the right of a tile
}

var (
	wideWork   = workForm{w: 980, margin: 24, gap: 16, columns: 2, number: 34, torque: 30, name: 19, text: 17, side: 130}
	narrowWork = workForm{w: 360, margin: 10, gap: 10, columns: 1, number: 26, torque: 25, name: 18, text: 16, side: 104}
)

// Work draws an order of work as numbered tiles, row by row: what to do, the torque large, the lips as they must face, a
// warning triangle where a step has cautions, a wait where one is due. Quantities are in the units of sys.
func Work(steps []pump.Step, sys unit.System, opts ...Option) string {
	return newWork(sys, wideWork, opts...).draw(steps)
}

// WorkNarrow is Work in one column for a hand-held screen of 360 px.
func WorkNarrow(steps []pump.Step, sys unit.System, opts ...Option) string {
	return newWork(sys, narrowWork, opts...).draw(steps)
}

// tile is one step with its words broken into lines.
type tile struct {
	step  pump.Step
	n     int
	title []said
	notes []said
	lips  []said
	warns [][]said // cautions, each with a triangle
	w, h  float64
}

type workPicture struct {
	canvas
	f    workForm
	sys  unit.System
	said map[string]int // caution → step that says it first
}

func newWork(sys unit.System, f workForm, opts ...Option) *workPicture {
	return &workPicture{canvas: with(opts), f: f, sys: sys, said: map[string]int{}}
}

func (w *workPicture) draw(steps []pump.Step) string {
	f := w.f
	half := (f.w - 2*f.margin - f.gap*float64(f.columns-1)) / float64(f.columns)
	y := f.margin
	for i := 0; i < len(steps); {
		row := w.row(steps, i, half)
		h := 0.0
		for _, t := range row {
			h = math.Max(h, t.h)
		}
		for k, t := range row {
			w.tile(t, f.margin+float64(k)*(half+f.gap), y, h)
		}
		i += len(row)
		y += h + f.gap
	}
	return w.document(f.w, y-f.gap+f.margin, w.t(fmt.Sprintf("Order of work, %d steps", len(steps))), w.describe(steps))
}

// row measures the next tiles that stand side by side. A step that says a caution for the first time has the row to itself, and
// so has one whose neighbour needs one.
func (w *workPicture) row(steps []pump.Step, i int, half float64) []tile {
	if w.speaks(steps[i]) || i+1 == len(steps) || w.speaks(steps[i+1]) {
		return []tile{w.measure(steps[i], i+1, w.f.w-2*w.f.margin)}
	}
	row := []tile{w.measure(steps[i], i+1, half)}
	for k := i + 1; k < min(i+w.f.columns, len(steps)) && !w.speaks(steps[k]); k++ {
		row = append(row, w.measure(steps[k], k+1, half))
	}
	return row
}

// speaks says whether a step has a caution that was not said yet.
func (w *workPicture) speaks(s pump.Step) bool {
	return slices.ContainsFunc(s.Cautions, func(c string) bool { return w.said[c] == 0 })
}

// left is where the words of a tile begin, room how wide they may be.
func (w *workPicture) left() float64 { return 22 + 2.1*w.f.number }
func (w *workPicture) room(s pump.Step, width float64) float64 {
	room := width - w.left() - 16
	if s.Torque > 0 || s.Lips != "" {
		room -= w.f.side
	}
	return room
}

func (w *workPicture) measure(s pump.Step, n int, width float64) tile {
	t := tile{step: s, n: n, w: width}
	room := w.room(s, width)
	name, text := font{"es-ink", w.f.name, true}, font{"es-quiet", w.f.text, false}
	t.title = name.wrap(w.t(s.Title), room)
	if s.Wait > 0 {
		t.notes = append(t.notes, text.wrap(w.t("first wait "+w.minutes(s.Wait)), room)...)
	}
	if s.Kind == pump.StepSoak && s.Ready > s.Start+s.Minutes {
		t.notes = append(t.notes, text.wrap(w.t("ready "+w.minutes(s.Ready-s.Start-s.Minutes)+" later"), room)...)
	}
	lines := len(t.notes)
	for _, c := range w.cautions(s, n) {
		t.warns = append(t.warns, text.wrap(w.t(c), room-30))
		lines += len(t.warns[len(t.warns)-1])
	}
	t.h = 34 + float64(len(t.title))*w.f.name*1.25 + float64(lines)*w.f.text*1.3 + 6*float64(len(t.warns))
	least := 2.4 * w.f.number
	if s.Torque > 0 || s.Lips != "" {
		least = 96
	}
	if s.Torque <= 0 && s.Lips != "" {
		t.lips = w.lipsFont().wrap(w.t("lips "+s.Lips), w.f.side+10)
		least += w.f.text * 1.25 * float64(len(t.lips)-1)
	}
	t.h = math.Max(t.h, least)
	return t
}

func (w *workPicture) minutes(m float64) string {
	return Short(60*m, unit.Time, w.sys)
}

func (w *workPicture) tile(t tile, x, y, h float64) {
	w.rect("es-card", x, y, t.w, h, 12)
	number := font{"es-quiet", w.f.number, true}
	w.text(number, x+14+1.05*w.f.number, y+14+w.f.number*0.8, atMiddle, said(strconv.Itoa(t.n)))
	left := x + w.left()
	yy := w.lines(font{"es-ink", w.f.name, true}, left, y+16+w.f.name*0.85, w.f.name*1.25, atStart, t.title)
	yy += w.f.text*1.3 - w.f.name*1.25 + 4
	text := font{"es-quiet", w.f.text, false}
	yy = w.lines(text, left, yy, w.f.text*1.3, atStart, t.notes)
	for _, c := range t.warns {
		w.warning(left+11, yy-w.f.text*0.32)
		yy = w.lines(text, left+30, yy, w.f.text*1.3, atStart, c) + 6
	}
	right := x + t.w - 16
	switch {
	case t.step.Torque > 0:
		w.torque(t.step, right, y)
	case t.step.Lips != "":
		w.lips(t, right-w.f.side/2+8, y)
	}
}

// cautions returns the cautions of a step: in full where one is said for the first time, after that the step that said it.
func (w *workPicture) cautions(s pump.Step, n int) []string {
	var out []string
	var again []string
	for _, c := range s.Cautions {
		if at, ok := w.said[c]; ok {
			if t := strconv.Itoa(at); !slices.Contains(again, t) {
				again = append(again, t)
			}
			continue
		}
		w.said[c] = n
		out = append(out, c)
	}
	if len(again) > 0 {
		out = append(out, "as in step "+strings.Join(again, ", "))
	}
	return out
}

// torque sets the torque large, with its tolerance below.
func (w *workPicture) torque(s pump.Step, right, y float64) {
	number, u := splitUnit(w.sys.Show(s.Torque, unit.Torque), w.sys.UnitFor(s.Torque, unit.Torque))
	w.text(font{"es-ink", w.f.torque, true}, right, y+18+w.f.torque*0.8, atEnd, said(number))
	w.text(font{"es-ink", w.f.text, true}, right, y+18+w.f.torque*0.8+w.f.text*1.3, atEnd, said(u))
	if s.Tol > 0 {
		w.text(font{"es-quiet", w.f.text, false}, right, y+18+w.f.torque*0.8+w.f.text*2.6, atEnd, said("± "+w.sys.Show(s.Tol, unit.Torque)))
	}
}

// Lips draws, small and without words, how the lips of a ring face: "up" or "down". For a line of text beside it.
func Lips(direction string, opts ...Option) string {
	w := &workPicture{canvas: with(opts)}
	r := &pump.Ring{Kind: pump.KindVRing}
	for i := range 3 {
		w.profile(r, direction, 6, 50, 14+13*float64(i), 25+13*float64(i), 11)
	}
	return w.document(56, 66, w.t("Lips "+direction), w.t("Three rings in section, their lips open "+direction+"."))
}

func (w *workPicture) lipsFont() font { return font{"es-ink", w.f.text, true} }

// lips draws three rings with their lips, small, and the words.
func (w *workPicture) lips(t tile, x, y float64) {
	r := &pump.Ring{Kind: pump.KindVRing, Part: t.step.Part}
	for i := range 3 {
		w.profile(r, t.step.Lips, x-22, x+22, y+24+13*float64(i), y+35+13*float64(i), 11)
	}
	w.lines(w.lipsFont(), x, y+90, w.f.text*1.25, atMiddle, t.lips)
}

// warning draws a triangle with an exclamation mark.
func (w *workPicture) warning(x, y float64) {
	w.polygon("es-open", x-11, y+9, x+11, y+9, x, y-11)
	w.rect("es-white", x-1.3, y-5, 2.6, 8, 1)
	w.circle("es-white", x, y+6, 1.5)
}

// describe lists the steps in words.
func (w *workPicture) describe(steps []pump.Step) said {
	var out []said
	for i, s := range steps {
		one := said(strconv.Itoa(i+1)+". ") + w.t(s.Title)
		if s.Torque > 0 {
			one += said(", " + w.sys.Show(s.Torque, unit.Torque))
		}
		out = append(out, one+".")
	}
	return join(out, " ")
}
