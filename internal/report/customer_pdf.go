//go:build !small

package report

import (
	"io"
	"math"
)

// CustomerPDF writes the page for the customer as PDF/A-2a: one page, set smaller when there is much to say, and more pages only
// when it would become too small to read. The same page gives the same bytes. Errors: those of CustomerHTML.
func CustomerPDF(w io.Writer, c Customer) error {
	v, err := newCustomer(c)
	if err != nil {
		return err
	}
	p, err := v.pressed()
	if err != nil {
		return err
	}
	return p.send(w, info{title: joinPresent(": ", v.Title, v.For), author: v.Shop, lang: v.Lang, at: v.At})
}

// pressed sets the page for the customer.
func (v *customerView) pressed() (p *press, err error) {
	for _, zoom := range []float64{1, 0.97, 0.94, 0.91, 0.88, 0.85, 0.82, 0.79, 1} {
		if p, err = newPress(v.Paper, v.Words); err != nil {
			return nil, err
		}
		p.zoom, p.left, p.right, p.top, p.bottom, p.y = zoom, 50, p.w-50, 44, p.h-48, 44
		if err := p.customer(v); err != nil {
			return nil, err
		}
		if len(p.pages) == 1 {
			break
		}
	}
	p.running("", v.Draft)
	p.footers(v.Title, v.Generated, v.RecordMark)
	return p, nil
}

// customer sets the page for the customer.
func (p *press) customer(v *customerView) error {
	text := textStyle{9.8, 13.5, false, black}
	w := p.words
	forWhom := ""
	if v.For != "" {
		forWhom = w.t("customer.for", "name", v.For)
	}
	p.masthead(v.Shop, v.ShopLines, v.Title, append(append([]string{forWhom}, v.ForLines...), v.Made), v.Code)
	p.y += 12 * p.zoom
	p.draft(v.Draft)
	if v.Note != "" {
		p.para(run{v.Note, strong.in(warning)})
		p.y += 8 * p.zoom
	}
	if v.Tested() {
		p.plate(v.Class, 14, 32, 0, func(room float64) (words, figure []textLine) {
			words = append(p.lines(room, run{w.t("customer.verdict"), body.in(white)}), p.lines(room, run{v.Answer, textStyle{22, 27, true, white}})...)
			return append(words, p.lines(room, run{v.Proof, text.in(white)})...), nil
		})
	} else {
		p.para(run{w.t("customer.untested"), strong})
	}
	p.y += 6 * p.zoom
	p.overrides(v.Overrides)
	p.facts(v.Facts, 3)
	p.y += 6 * p.zoom
	for _, k := range v.Parts {
		p.part(k, v.Price, text)
	}
	if err := p.signed(v.Signature, v.RecordMark); err != nil {
		return err
	}
	p.note()
	return nil
}

// part sets a heading at the left and what belongs to it beside it.
func (p *press) part(k part, price priceView, text textStyle) {
	const side = 128
	p.y += 6 * p.zoom
	lines := p.lines(side-14, run{k.Heading, sub.at(10.8, 14.6)})
	x, y, page := p.left, 0.0, 0
	p.heads = append(p.heads, heading{
		with: func(h float64) float64 { return math.Max(h, height(lines)) },
		set: func() {
			y, page = p.y, len(p.pages)
			p.add(&node{tag: "H2", head: p.clean(k.Heading, true), paint: func(q *pen) { p.drawLines(q, lines, x, y, side-14, alignLeft) }})
		},
	})
	p.left += side
	switch {
	case k.Price:
		p.price(price)
	case k.List:
		p.list(dot, plain(k.Lines, text)...)
	default:
		for _, l := range k.Lines {
			p.para(run{l, text})
		}
	}
	p.left = x
	if len(p.pages) == page {
		p.y = math.Max(p.y, y+height(lines))
	}
	p.y += 6 * p.zoom
	if k.Price { // the table has its own rules
		return
	}
	under, right := p.y, p.right
	p.decorate(func(q *pen) { q.rule(hair, x, under, right, under, 0.6) })
}
