//go:build !small

package report

import (
	"bytes"
	"io"
	"slices"
	"strconv"
	"time"

	pdf "github.com/carlos7ags/folio/document"
	"github.com/carlos7ags/folio/layout"
)

// press sets a document on pages. It makes the page breaks itself; the PDF library writes the file, its tags and its fonts.
//
// Measures are points, 1/72 inch. y grows downward from the upper edge of the page.
type press struct {
	w, h                     float64
	left, right, top, bottom float64 // edges of the text
	y                        float64 // where the next thing stands
	zoom                     float64 // of all font sizes
	regular, bold            *face
	words                    Words
	pages                    []*sheetPage
	open                     []string  // tags of the open groups
	cursor                   []*node   // their nodes on this page
	missing                  bool      // a sign had to be replaced
	heads                    []heading // set together with what comes next
}

// sheetPage is one page: what stands on it, in reading order.
type sheetPage struct{ nodes []*node }

// node is a tagged piece of a page, or decoration when it has no tag.
type node struct {
	tag   string
	alt   string
	head  string // of a heading, for the bookmarks
	paint func(p *pen)
	kids  []*node
}

// foot is the height under the text that the page number needs.
const foot = 30

func newPress(paper string, words Words) (*press, error) {
	size := pdf.PageSizeA4
	if paper == Letter {
		size = pdf.PageSizeLetter
	}
	p := &press{w: size.Width, h: size.Height, left: 56, right: size.Width - 56, top: 52, bottom: size.Height - 58, zoom: 1, words: words}
	var err error
	p.regular, p.bold, err = newFaces()
	p.turn()
	return p, err
}

// turn begins a new page; open groups go on there.
func (p *press) turn() {
	p.pages = append(p.pages, &sheetPage{})
	p.y = p.top
	p.cursor = nil
	for _, tag := range p.open {
		p.enter(tag)
	}
}

func (p *press) page() *sheetPage { return p.pages[len(p.pages)-1] }

// add puts a piece at the end of the open group.
func (p *press) add(n *node) *node {
	if k := len(p.cursor); k > 0 {
		p.cursor[k-1].kids = append(p.cursor[k-1].kids, n)
	} else {
		p.page().nodes = append(p.page().nodes, n)
	}
	return n
}

func (p *press) enter(tag string) { p.cursor = append(p.cursor, p.add(&node{tag: tag})) }

// group opens a group, a list say; the function that it returns closes it.
func (p *press) group(tag string) (end func()) {
	p.enter(tag)
	p.open = append(p.open, tag)
	depth := len(p.open)
	return func() {
		p.open, p.cursor = p.open[:depth-1], p.cursor[:depth-1]
	}
}

// decorate draws something that says nothing.
func (p *press) decorate(paint func(p *pen)) { p.add(&node{paint: paint}) }

// need turns the page when less than h is left on it, headings that wait included, and sets those. What is higher than a page does not
// turn an empty one.
func (p *press) need(h float64) {
	waiting := p.heads
	p.heads = nil
	for _, k := range slices.Backward(waiting) {
		h = k.with(h)
	}
	if p.y+h > p.bottom && p.y > p.top {
		p.turn()
	}
	for _, k := range waiting {
		k.set()
	}
}

// gap leaves room, but not at the head of a page.
func (p *press) gap(h float64) {
	if p.y > p.top {
		p.y += h
	}
}

// clean makes a text fit for setting and notes when signs are missing.
func (p *press) clean(s string, bold bool) string {
	f := p.regular
	if bold {
		f = p.bold
	}
	out, missing := f.clean(s)
	p.missing = p.missing || missing
	return out
}

// info is what the file says about itself.
type info struct {
	title, author, lang string
	at                  time.Time
}

// send writes the file once it is whole.
func (p *press) send(w io.Writer, in info) error {
	var b bytes.Buffer
	if err := p.write(&b, in); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// write writes the file. The same pages give the same bytes.
func (p *press) write(w io.Writer, in info) error {
	d := pdf.NewDocument(pdf.PageSize{Width: p.w, Height: p.h})
	d.Info = pdf.Info{Title: p.clean(in.title, false), Author: p.clean(in.author, false), Creator: "evenstroke", Language: in.lang, CreationDate: in.at, ModDate: in.at}
	d.SetMargins(layout.Margins{})
	d.SetPdfA(pdf.PdfAConfig{Level: pdf.PdfA2A})
	d.SetAutoBookmarks(true)
	d.SetViewerPreferences(pdf.ViewerPreferences{DisplayDocTitle: true, OpenPage: -1})
	before := 0
	for i, pg := range p.pages {
		if i > 0 {
			d.Add(layout.NewAreaBreak())
		}
		e := &pageElement{h: p.h, nodes: pg.nodes, before: before}
		before += e.count()
		d.Add(e)
	}
	_, err := d.WriteToWithOptions(w, pdf.WriteOptions{Deterministic: true, UseXRefStream: true, UseObjectStreams: true})
	return err
}

// pageElement hands one page over to the PDF library.
type pageElement struct {
	h      float64
	nodes  []*node
	before int // tagged pieces on the pages before
}

func (e *pageElement) count() int {
	n := 0
	var walk func(nodes []*node)
	walk = func(nodes []*node) {
		for _, k := range nodes {
			if k.tag != "" {
				n++
			}
			walk(k.kids)
		}
	}
	walk(e.nodes)
	return n
}

// PlanLayout places everything at the corner of the page: the pieces know where they stand.
func (e *pageElement) PlanLayout(area layout.LayoutArea) layout.LayoutPlan {
	blocks := make([]layout.PlacedBlock, 0, len(e.nodes)+1)
	for _, n := range e.nodes {
		blocks = append(blocks, e.block(n))
	}
	blocks = append(blocks, layout.PlacedBlock{Draw: e.renumber})
	return layout.LayoutPlan{Status: layout.LayoutFull, Consumed: area.Height, Blocks: blocks}
}

// renumber gives the pieces of this page the numbers from 0 on. The library numbers them through the whole file in the page, but
// from 0 on each page in the structure tree (v0.11.0); so the tree of all pages but the first would point at nothing.
func (e *pageElement) renumber(ctx layout.DrawContext, _, _ float64) {
	if e.before == 0 {
		return
	}
	for i := range e.count() {
		ctx.Stream.ReplaceInBytes("<</MCID "+strconv.Itoa(e.before+i)+">> BDC", "<</MCID "+strconv.Itoa(i)+">> BDC")
	}
}

func (e *pageElement) block(n *node) layout.PlacedBlock {
	b := layout.PlacedBlock{Tag: n.tag, AltText: n.alt, HeadingText: n.head}
	paint := func(ctx layout.DrawContext) { n.paint(&pen{s: ctx.Stream, page: ctx.Page, h: e.h}) }
	switch {
	case n.tag == "": // decoration; the library's own BeginArtifact writes BDC without its second operand
		b.Draw = func(ctx layout.DrawContext, _, _ float64) {
			ctx.Stream.BeginMarkedContent("Artifact")
			paint(ctx)
			ctx.Stream.EndMarkedContent()
		}
	case n.paint != nil:
		b.Draw = func(ctx layout.DrawContext, _, _ float64) { paint(ctx) }
	default: // a group: its mark is closed before those of its pieces, so that marks do not stand inside each other
		b.Draw = func(ctx layout.DrawContext, _, _ float64) { ctx.Stream.EndMarkedContent() }
		b.PostDraw = func(ctx layout.DrawContext, _, _ float64) { ctx.Stream.BeginMarkedContent("Artifact") }
	}
	for _, k := range n.kids {
		b.Children = append(b.Children, e.block(k))
	}
	return b
}
