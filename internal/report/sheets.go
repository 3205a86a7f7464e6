//go:build !small

package report

import (
	"strconv"
	"strings"
)

// Heights of pictures at most, of the height of the page.
const (
	mapHeight   = 0.515
	curveHeight = 0.265
	stackHeight = 0.60
	photoHeight = 0.27
)

func (s *sheets) holds() error {
	for _, h := range s.v.Holds {
		pic, err := readPicture(h.svg)
		if err != nil {
			return err
		}
		most := mapHeight * s.h
		s.head(2, h.Heading)
		s.figure(pic, most) // which says the verdict and its chance
		s.y += 4
		s.bullets("hold.needs", dot, plain(h.Needs, body))
		s.paths(h)
		if h.Sound != "" {
			s.gap(8)
			s.para(run{s.words.t("hold.sound") + ": ", body}, run{h.Sound, strong})
		}
		s.bullets("hold.groups", dot, plain(h.Groups, body))
		s.bullets("hold.doubts", dot, plain(h.Doubts, body))
		s.checks(h)
		s.bullets("hold.readings", numbered, plain(h.Readings, body))
		for _, c := range h.Curves {
			if err := s.picture(c.svg, curveHeight); err != nil {
				return err
			}
		}
	}
	return nil
}

// bullets sets a heading of the third level and a list.
func (s *sheets) bullets(key string, mark func(int) run, items [][][]run) {
	if len(items) > 0 {
		s.head(3, s.words.t(key))
		s.list(mark, items...)
	}
}

// picture sets a picture with room above it.
func (s *sheets) picture(svg string, most float64) error {
	pic, err := readPicture(svg)
	if err != nil {
		return err
	}
	s.gap(10)
	s.figure(pic, most*s.h)
	return nil
}

func (s *sheets) paths(h holdView) {
	if len(h.Paths) == 0 {
		return
	}
	t, how := s.words.t, false
	for _, q := range h.Paths {
		how = how || q.How != ""
	}
	cols := []column{{head: t("hold.path")}, {head: t("hold.fault"), align: alignRight}, {head: t("hold.flow")}, {head: t("hold.overall")}}
	if how {
		cols = append(cols, column{head: t("hold.how")})
	}
	var rows [][][]run
	for _, q := range h.Paths {
		rows = append(rows, [][]run{{{q.Name, strong}}, {{tight(q.Chance), strong}}, {{tight(q.Flow), body}}, {{tight(q.Overall), body}}, {{q.How, body}}}[:len(cols)])
	}
	s.gap(10)
	s.table(t("hold.caption"), cols, rows, 0)
}

func (s *sheets) checks(h holdView) {
	var items [][][]run
	for _, c := range h.Next {
		item := [][]run{{{c.Do + " ", strong}, {c.About + " " + c.Settles, body}}}
		for _, z := range c.Hazards {
			item = append(item, []run{{"⚠ ", aside.in(amber)}, {z, aside}})
		}
		items = append(items, item)
	}
	s.bullets("hold.next", numbered, items)
}

// stacks sets the packing stacks two by two.
func (s *sheets) stacks() error {
	const gap = 22
	w := (s.width() - gap) / 2
	for i := 0; i < len(s.v.Stacks); i += 2 {
		var cells []cell
		for k, q := range s.v.Stacks[i:min(i+2, len(s.v.Stacks))] {
			pic, err := readPicture(q.slim)
			if err != nil {
				return err
			}
			cells = append(cells, cell{x: s.left + float64(k)*(w+gap), w: w, art: s.art(pic, w, stackHeight*s.h)})
		}
		if i == 0 {
			s.head(2, s.words.t("stacks"))
		}
		s.row("", cells, 5, true, nil)
	}
	return nil
}

func (s *sheets) cautions() error {
	if len(s.v.Cautions) > 0 {
		s.head(2, "⚠ "+s.words.t("cautions"))
		s.list(func(i int) run { return run{strconv.Itoa(i + 1), strong.in(amber)} }, plain(s.v.Cautions, body)...)
	}
	return nil
}

func (s *sheets) steps() error {
	if len(s.v.Steps) == 0 {
		return nil
	}
	s.head(2, s.words.t("steps"))
	s.need(60)
	end := s.group("L")
	defer end()
	for _, k := range s.v.Steps {
		if err := s.step(k); err != nil {
			return err
		}
	}
	return nil
}

// step sets one step: its number, what to do, and at the side the torque or the lips.
func (s *sheets) step(k stepView) error {
	const no, side = 32.0, 104.0
	w := s.width() - no
	right := cell{tag: "P", x: s.right - side, w: side, align: alignRight}
	switch {
	case k.Torque != "":
		right.lines = append(s.lines(side, run{k.Torque, textStyle{15, 19, true, black}}), s.lines(side, run{k.Tolerance, small})...)
	case k.Lips != "":
		pic, err := readPicture(k.svg)
		if err != nil {
			return err
		}
		right.art = s.art(pic, 26, 26)
		right.lines = s.lines(side, run{s.words.t("steps.lips", "lips", k.Lips), strong.at(9, 12)})
	}
	if right.height() > 0 {
		w -= side + 14
	}
	lines := s.lines(w, run{k.Title, strong.at(9.8, 13.5)})
	text := textStyle{8.8, 12, false, black}
	para := []run{{k.Wait + " ", text.in(amber)}, {k.Detail + " ", text}, {k.Why + " ", text.in(quiet)}}
	if k.Cautions != "" {
		para = append(para, run{"⚠\u00a0" + strings.ReplaceAll(s.words.t("cautions.of", "numbers", k.Cautions), " ", "\u00a0"), textStyle{8.8, 12, true, amber}})
	}
	lines = append(lines, s.lines(w, para...)...)
	for _, d := range k.Done {
		lines = append(lines, s.lines(w, run{"✓ " + d, textStyle{8.8, 12.5, true, green}})...)
	}
	s.row("LI", []cell{
		{tag: "Lbl", x: s.left, w: no - 10, align: alignRight, lines: s.lines(no, run{strconv.Itoa(k.N), textStyle{12, 14, true, quiet}})},
		{tag: "LBody", x: s.left + no, w: w, lines: lines}, right,
	}, 4.5, true, func(x0, y, x1 float64) { s.decorate(func(q *pen) { q.rule(hair, x0, y, x1, y, 0.6) }) })
	return nil
}

func (s *sheets) torques() error {
	v, t := s.v, s.words.t
	if len(v.Torques) == 0 {
		return nil
	}
	under := t("torques.thread")
	if v.Tool {
		under += ", " + t("torques.tool")
	}
	cols := []column{{head: t("torques.joint") + " (" + under + ")"}, {head: t("torques.torque")}}
	for _, c := range []struct {
		shown bool
		key   string
	}{{v.AnySet, "set"}, {v.AnyClamp, "clamp"}, {v.AnyRead, "read"}} {
		if c.shown {
			cols = append(cols, column{head: t("torques." + c.key)})
		}
	}
	var rows [][][]run
	for _, q := range v.Torques {
		r := [][]run{{{q.Name, strong}, {newLine, small}, {joinPresent(", ", q.Thread, q.Tool, q.With), small}}, {{tight(q.Torque), strong}}}
		if v.AnySet {
			r = append(r, []run{{tight(q.Set), body}})
		}
		if v.AnyClamp {
			r = append(r, []run{{tight(q.Clamp), body}})
		}
		if v.AnyRead && q.Read != "" {
			r = append(r, q.read(s.words))
		} else if v.AnyRead {
			r = append(r, []run{{t("torques.notRead"), aside}})
		}
		rows = append(rows, r)
	}
	s.head(2, t("torques"))
	s.table("", cols, rows, 0)
	return nil
}

// read is what the wrench showed, in red and with the word when it is outside.
func (q torqueView) read(w Words) []run {
	if !q.Outside {
		return []run{{tight(q.Read), strong}}
	}
	return []run{{tight(q.Read) + " ", strong.in(warning)}, {w.t("torques.outside"), strong.in(warning)}}
}

// tight keeps a number with its unit on one line, and lets it break before ±.
func tight(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, " ", "\u00a0"), "\u00a0±", " ±")
}

func (s *sheets) departures() error {
	if !s.v.Audited {
		return nil
	}
	s.head(2, s.words.t("departures"))
	if len(s.v.Departures) == 0 {
		s.para(run{s.words.t("departures.none"), body})
	}
	var items [][][]run
	for _, d := range s.v.Departures {
		item := []run{{d.Kind + ": ", strong}, {d.Text, body}}
		if d.Step != "" {
			item = append(item, run{" " + s.words.t("departures.step", "step", d.Step), aside})
		}
		items = append(items, [][]run{item})
	}
	s.list(dot, items...)
	return nil
}

func (s *sheets) signOffs() error {
	t := s.words.t
	var rows [][][]run
	for _, q := range s.v.SignOffs {
		rows = append(rows, [][]run{{{q.What, strong}}, {{q.Who, body}}, {{q.When, body}}})
	}
	if len(rows) > 0 {
		s.head(2, t("signOffs"))
		s.table("", []column{{head: t("signOffs.what")}, {head: t("signOffs.who")}, {head: t("signOffs.when")}}, rows, 0)
	}
	return nil
}

func (s *sheets) curves() error {
	for i, k := range s.v.Plots {
		if i == 0 {
			s.head(2, s.words.t("curves"))
		}
		if err := s.picture(k.svg, curveHeight); err != nil {
			return err
		}
	}
	return nil
}

// photos sets photographs two by two.
func (s *sheets) photos() error {
	photos := s.v.Photos
	const gap = 18
	w := (s.width() - gap) / 2
	for first := true; len(photos) > 0; first = false {
		n := min(2, len(photos))
		cells := make([]cell, n)
		for i := range n {
			a, err := photos[i].art(w, photoHeight*s.h)
			if err != nil {
				return err
			}
			a.alt = s.clean(a.alt, false)
			caption := append([]textLine{{lead: 5}}, s.lines(w, run{photos[i].Caption, strong})...)
			cells[i] = cell{tag: "Caption", x: s.left + float64(i)*(w+gap), w: w, art: a, lines: append(caption, s.lines(w, run{photos[i].By, small})...)}
		}
		if first {
			s.head(2, s.words.t("photos"))
		}
		s.row("", cells, 5, true, nil)
		photos = photos[n:]
	}
	return nil
}

func (s *sheets) prices() error {
	if s.v.Price.Any() {
		s.head(2, s.words.t("prices"))
		s.price(s.v.Price)
	}
	return nil
}

// price sets the table of prices with the total.
func (p *press) price(v priceView) {
	t := p.words.t
	cols := []column{{head: t("prices.what")}}
	if v.Quantity {
		cols = append(cols, column{head: t("prices.quantity"), align: alignRight})
	}
	cols = append(cols, column{head: v.Amount, align: alignRight})
	var rows [][][]run
	line := func(name, quantity, amount run) {
		r := [][]run{{name}}
		if v.Quantity {
			r = append(r, []run{quantity})
		}
		rows = append(rows, append(r, []run{amount}))
	}
	for _, l := range v.Lines {
		line(run{l.Text, body}, run{l.Quantity, body}, run{l.Amount, body})
	}
	last := 0
	if v.Total != "" {
		large := textStyle{12.5, 18, true, black}
		line(run{t("prices.total"), large}, run{"", body}, run{v.Total, large})
		last = 1
	}
	p.table("", cols, rows, last)
}

func (s *sheets) unknown() error {
	if len(s.v.Unknown) > 0 {
		s.head(2, s.words.t("unknown"))
		s.list(dot, plain(s.v.Unknown, body)...)
	}
	return nil
}

func (s *sheets) closing() error {
	if err := s.signed(s.v.Signature, s.v.RecordMark); err != nil {
		return err
	}
	s.note()
	return nil
}

// note says that signs had to be replaced, if any had.
func (p *press) note() {
	if p.missing {
		p.gap(12 * p.zoom)
		p.para(run{p.words.t("unprintable"), small})
	}
}
