package report

import (
	"html/template"
	"io"
	"time"
)

// Customer is the page for the one who brought the pump: plain words, one sheet. All texts come ready-made in the language of the
// reader; what is empty is left out.
type Customer struct {
	Title     string // "About your pump" when empty
	Shop      string
	ShopLines []string  // under the name of the shop: address, telephone
	Made      string    // when
	Version   string    // of the program, for the generated-by line
	Lang      string    // language tag of the texts, BCP 47; "en" when empty
	Paper     string    // A4 or Letter; A4 when empty
	Words     Words     // the fixed words; English when nil
	At        time.Time // date of making in the properties of a PDF; left open when zero
	Leave     string    // see Document
	Note      string    // printed in a frame at the top: "Demonstration. Invented."

	For      string   // whom the page is for
	ForLines []string // under the name: address
	Draft    bool     // the job is not closed: what stands here can still change
	Planned  bool     // what Done says is still to be done
	Facts    []Fact   // job number, pump, serial, dates

	Brought []string // what you brought
	Found   []string // what we found
	Done    []string // what we did

	Verdict   string   // hold.Holds, hold.DoesNotHold or hold.NotProven; empty when nothing was tested
	Proof     string   // one plain sentence beside the verdict: how it was tested
	Overrides []string // closed as good without proof: who, why; printed prominently
	Advised   []string // what we advise to have done, and by when

	Prices   []PriceLine
	Total    string
	Currency string

	Care      []string // how to keep it well; the general cautions of Words when nil
	Back      string   // when to bring it back
	Ask       []string // whom to ask: name, telephone
	Signature *Signature

	RecordMark string
	QR         string
}

// CustomerHTML writes the page for the customer as one HTML file that needs nothing else. Errors: *DocumentError for a language,
// paper, verdict, signature or code that cannot be written, and those of w.
func CustomerHTML(w io.Writer, c Customer) error {
	v, err := newCustomer(c)
	if err != nil {
		return err
	}
	return fill(w, customerPage, c.Words, v)
}

// customerView is the page for the customer in words.
type customerView struct {
	Customer
	Style         template.CSS
	Class, Answer string // of the verdict
	Parts         []part
	Price         priceView
	Signature     *signatureView
	Code          *codeView
	Generated     string
}

// Tested says whether there is a verdict to show.
func (v *customerView) Tested() bool { return v.Verdict != "" }

// part is one heading with what stands beside it.
type part struct {
	Heading string
	Lines   []string
	List    bool // with a mark before each line
	Price   bool // the price stands here
}

func newCustomer(c Customer) (*customerView, error) {
	if err := c.settle(); err != nil {
		return nil, err
	}
	w := c.Words
	v := &customerView{Customer: c, Style: template.CSS(style), Class: verdictClass(c.Verdict), Price: newPrice(c.Prices, c.Total, c.Currency, w), Generated: generated(c.Version, w)}
	v.Answer = w.t("customer." + map[string]string{"holds": "holds", "fails": "fails", "open": "open", "neutral": "untested"}[v.Class])
	add := func(key string, lines []string, list bool) {
		if len(lines) > 0 {
			v.Parts = append(v.Parts, part{Heading: w.t("customer." + key), Lines: lines, List: list && len(lines) > 1})
		}
	}
	add("brought", c.Brought, false)
	add("found", c.Found, true)
	if c.Planned {
		add("plan", c.Done, true)
	} else {
		add("done", c.Done, true)
	}
	add("advised", c.Advised, true)
	if v.Price.Any() {
		v.Parts = append(v.Parts, part{Heading: w.t("customer.cost"), Price: true})
	}
	add("care", c.Care, true)
	if c.Back != "" {
		add("back", []string{c.Back}, false)
	}
	add("ask", c.Ask, false)
	var err error
	if v.Signature, err = newSignature(c.Signature, w); err != nil {
		return nil, err
	}
	v.Code, err = newCode(c.QR, w)
	return v, err
}
