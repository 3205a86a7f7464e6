package report

import (
	"time"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

// Document is what goes into a report. Only Pump is needed; what is empty is left out. Times and sums of money come as they are to
// be read: the report has no clock and does not reckon prices.
type Document struct {
	Title     string // of the report; "Pump report" when empty
	Shop      string
	ShopLines []string // under the name of the shop: address, telephone
	Made      string   // when
	Version   string   // of the program, for the generated-by line
	Units     unit.System
	Lang      string    // language tag of the texts, BCP 47; "en" when empty
	Paper     string    // A4 or Letter; A4 when empty
	Words     Words     // the fixed words; English when nil
	Say       Say       // the sentences of the science; English when nil
	At        time.Time // date of making in the properties of a PDF; left open when zero
	Leave     string    // words of a key that signs out, on the page of a server and not in print; "" for none

	Job    []Fact // job number, serial, customer, dates, who …
	Pump   *pump.Pump
	Holds  []Hold // in the order in which they were done, as found first
	Stacks []Stack

	Steps      []pump.Step      // order of work
	Audited    bool             // the build was compared with the order of work; then no departure is a finding too
	Departures []pump.Departure // of the build
	Torques    []Torque

	Overrides  []string  // job closed as good without proof: who, why; printed prominently
	SignOffs   []SignOff // steps and other work signed off
	Photos     []Photo
	Prices     []PriceLine
	Total      string
	Currency   string // of the amounts, "EUR"
	Signature  *Signature
	RecordMark string // a hash of the record, so that the paper proves the record; see also QR
	QR         string // what the QR code says: a link or the mark; none when empty

	Drive   string // what drives it, as the shop wrote it down; may be empty
	Running string // stands at the head of every page: which pump, which job
	Draft   bool   // the job is not closed: what stands here can still change; every page says so

	Plots    []draw.Plot
	Cautions []string // beside those of the steps
	Unknown  []string // what this report does not know, beside what the results say themselves
}

// Fact is one line about the job.
type Fact struct{ Name, Value string }

// Hold is one hold test with what it says.
type Hold struct {
	Heading string       // "As found", "As left"; the stage of the result when empty
	Result  *hold.Result // needed
	Sheet   *hold.Sheet  // the readings; nil when they are not to be shown
}

// Stack is one packing stack; Analysis may be nil.
type Stack struct {
	Name     string
	Analysis *seal.Analysis
}

// Torque is one line of the torque table.
type Torque struct {
	Joint    pump.Joint
	Analysis *bolt.Analysis // what to set and what clamp it gives; may be nil
	Read     float64        // N·m, what the wrench showed; 0 when not recorded
	Outside  bool           // what it showed is outside the tolerance at the joint
	With     string         // the tool that was used: name, number, when its check is due; may be empty
}

// SignOff says who signed something off, and when. When What is the ID or the title of a step it is written at the step.
type SignOff struct{ What, Who, When string }

// Photo is one photograph, as a baseline or progressive JPEG of at most 24 MB. It goes in as large as it is: hand over reduced copies.
// What the camera wrote beside the picture (place, time, owner) is left out.
type Photo struct {
	Caption   string
	JPEG      []byte
	When, Who string
}

// PriceLine is one line of the price.
type PriceLine struct {
	Text     string
	Quantity string // "2", "1.5 h"
	Amount   string // without the currency
}

// Signature is a signature with the name in print. The hand is a PNG picture or SVG path data; PNG when both are given, a line
// to sign on when neither is.
type Signature struct {
	Name, When string
	Role       string     // "Technician", "Customer"; may be empty
	SVGPath    string     // the d attribute of a path: strokes
	ViewBox    [4]float64 // min x, min y, width, height of the path's plane; the bounds of the path when zero
	PNG        []byte
}

// Torques returns a torque table of all joints of a pump, with nothing read.
func Torques(p *pump.Pump) []Torque {
	var out []Torque
	for _, j := range p.Joints {
		out = append(out, Torque{Joint: j})
	}
	return out
}

// DocumentError says what keeps a document from being written.
type DocumentError struct{ Field, Why string }

// Error names the field and says why.
func (e *DocumentError) Error() string { return "report: " + e.Field + ": " + e.Why }
