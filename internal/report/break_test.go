package report

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/outside"
)

// flat lists the tagged pieces of a page in reading order, a row of a table as one.
func flat(nodes []*node) (tags []string) {
	for _, n := range nodes {
		switch {
		case n.tag == "TR":
			kind := "TR"
			if len(n.kids) > 0 && slices.ContainsFunc(n.kids, func(k *node) bool { return k.tag == "TD" }) {
				kind = "row"
			}
			tags = append(tags, kind)
		case n.tag != "" && len(n.kids) == 0:
			tags = append(tags, n.tag)
		default:
			tags = append(tags, flat(n.kids)...)
		}
	}
	return tags
}

// lonely says what stands alone at an edge of a page: a heading or the head of a table at the foot, one row of a table at the foot or at
// the top.
func lonely(p *press) (out []string) {
	for i, pg := range p.pages {
		tags := flat(pg.nodes)
		if len(tags) == 0 {
			out = append(out, fmt.Sprintf("page %d is empty", i+1))
			continue
		}
		last := tags[len(tags)-1]
		if last == "H2" || last == "H3" || last == "TR" {
			out = append(out, fmt.Sprintf("page %d ends with a %s", i+1, last))
		}
		rows := func(from []string) int {
			n := 0
			for _, t := range from {
				if t != "row" {
					break
				}
				n++
			}
			return n
		}
		back := slices.Clone(tags)
		slices.Reverse(back)
		goesOn := i+1 < len(p.pages) && slices.Index(flat(p.pages[i+1].nodes), "TR") == 0
		if goesOn && rows(back) < 2 {
			out = append(out, fmt.Sprintf("page %d ends with %d rows of a table that goes on", i+1, rows(back)))
		}
		if i > 0 && tags[0] == "TR" && rows(tags[1:]) < 2 {
			out = append(out, fmt.Sprintf("page %d begins with %d rows of a table", i+1, rows(tags[1:])))
		}
	}
	return out
}

// Whatever the length of what stands before, no heading, no head of a table, no single row and no total stands alone at the edge of a page.
func TestNothingAloneAtAnEdge(t *testing.T) {
	for n := range 60 {
		doc := demoDocument(t)
		doc.Photos, doc.Holds = nil, doc.Holds[:1]
		doc.Departures = nil
		for i := range n {
			doc.Unknown = append(doc.Unknown, fmt.Sprintf("one thing more, number %d", i))
			doc.SignOffs = append(doc.SignOffs, SignOff{fmt.Sprintf("what %d", i), "T. Brand", "12 May"})
		}
		if n%2 == 0 {
			doc.Steps, doc.Cautions = nil, nil
		}
		p, err := pressed(doc)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range lonely(p) {
			t.Errorf("report with %d things more: %s", n, s)
		}
		c := demoCustomer()
		for i := range n {
			c.Found = append(c.Found, fmt.Sprintf("one finding more, number %d", i))
			c.Prices = append(c.Prices, PriceLine{Text: fmt.Sprintf("part %d", i), Quantity: "1", Amount: "1.00"})
		}
		v, err := newCustomer(c)
		if err != nil {
			t.Fatal(err)
		}
		if p, err = v.pressed(); err != nil {
			t.Fatal(err)
		}
		for _, s := range lonely(p) {
			t.Errorf("customer's page with %d things more: %s", n, s)
		}
	}
}

// fontSize is how a PDF sets type: the operator Tf after the name of the font and the size.
var fontSize = regexp.MustCompile(`/F\d+ ([0-9.]+) Tf`)

// No line on either paper is set in type under 8 points, the words in its pictures included.
func TestTypeIsLegible(t *testing.T) {
	c := demoCustomer()
	for i := range 40 {
		c.Found = append(c.Found, fmt.Sprintf("one finding more, number %d, so that the page is set smaller", i))
	}
	for name, pdf := range map[string]string{"report": paper(t, demoDocument(t)), "customer's page": customerPaper(t, demoCustomer()), "long customer's page": customerPaper(t, c)} {
		plain := output(t, outside.Program(t, "qpdf", "qpdf"), "--qdf", "--object-streams=disable", pdf, "-")
		least := math.Inf(1)
		for _, m := range fontSize.FindAllStringSubmatch(plain, -1) {
			size, err := strconv.ParseFloat(m[1], 64)
			if err != nil {
				t.Fatal(err)
			}
			least = math.Min(least, size)
		}
		if least < smallest || math.IsInf(least, 1) {
			t.Errorf("%s: the smallest type is of %g points, want %g at least", name, least, smallest)
		}
	}
}

// A draft says so at the head of each page, and each page says which pump and job it is of.
func TestEveryPageSaysWhatItIs(t *testing.T) {
	doc := demoDocument(t)
	doc.Draft, doc.Running = true, "example-30 · serial ALD-0417 · job 7"
	pdf := paper(t, doc)
	for n := range pages(t, pdf) {
		no := strconv.Itoa(n + 1)
		page := plainSpaces(output(t, outside.Program(t, "pdftotext", "poppler-utils"), "-f", no, "-l", no, "-raw", pdf, "-"))
		if !strings.Contains(page, "Draft") || !strings.Contains(page, doc.Running) {
			t.Errorf("page %s does not say that it is a draft, or of which pump", no)
		}
	}
	doc.Draft = false
	if strings.Contains(text(t, paper(t, doc)), "Draft") {
		t.Error("the report of a closed job calls itself a draft")
	}
}
