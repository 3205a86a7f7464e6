package report

import (
	"regexp"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/unit"
)

// Papers that a document can name.
const (
	A4     = "A4"
	Letter = "Letter"
)

// langTag is the shape of a language tag, BCP 47.
var langTag = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`)

// settle fills in what may be left empty and refuses what cannot be written.
func (doc *Document) settle() error {
	if doc.Pump == nil {
		return &DocumentError{"Pump", "found none; expected the pump that the report is about"}
	}
	for _, h := range doc.Holds {
		if h.Result == nil {
			return &DocumentError{"Holds", "found a hold without a result; expected what the readings say"}
		}
	}
	if (doc.Units == unit.System{}) {
		doc.Units = unit.Metric()
	}
	if doc.Title == "" {
		doc.Title = doc.Words.t("title")
	}
	return settle(&doc.Lang, &doc.Paper)
}

func (c *Customer) settle() error {
	switch c.Verdict {
	case "", hold.Holds, hold.DoesNotHold, hold.NotProven:
	default:
		return &DocumentError{"Verdict", "found " + c.Verdict + "; expected a verdict of package hold, or none"}
	}
	if c.Title == "" {
		c.Title = c.Words.t("customer.title")
	}
	if c.Care == nil {
		for _, key := range []string{"manual", "injection", "relieve", "flush", "wetCup", "stop"} {
			c.Care = append(c.Care, c.Words.t("customer.care."+key))
		}
	}
	return settle(&c.Lang, &c.Paper)
}

func settle(lang, paper *string) error {
	if *lang == "" {
		*lang = "en"
	}
	if *paper == "" {
		*paper = A4
	}
	if len(*lang) > 35 || !langTag.MatchString(*lang) {
		return &DocumentError{"Lang", "found " + *lang + "; expected a language tag like en or es-MX"}
	}
	if *paper != A4 && *paper != Letter {
		return &DocumentError{"Paper", "found " + *paper + "; expected A4 or Letter"}
	}
	return nil
}
