package record

import (
	"fmt"
	"strings"
	"time"
)

// Lengths of texts, in characters. They are far above what a person writes at a bench and keep a page readable.
const (
	short = 120
	long  = 4000
)

// Booked is the first entry of a job. The customer and the pump are named as they were then; their records may change later.
type Booked struct {
	Customer     int64  `json:"customer"`
	CustomerName string `json:"customer_name"`
	Pump         int64  `json:"pump"`
	Serial       string `json:"serial"`
	Model        string `json:"model"` // name of the pump sheet
	Sheet        int64  `json:"sheet"` // of the catalogue; 0 is one that comes with the program
	Complaint    string `json:"complaint"`
	Fluid        string `json:"fluid,omitempty"`  // what it ran
	Hours        string `json:"hours,omitempty"`  // since last time, as typed, with its unit
	Litres       string `json:"litres,omitempty"` // since last time, as typed, with its unit
	Drive        string `json:"drive,omitempty"`
	With         string `json:"with,omitempty"` // what came with it: hose, gun, stand
}

// Kind is KindBooked.
func (*Booked) Kind() Kind { return KindBooked }

// Check refuses a booking without customer, serial, model or complaint.
func (b *Booked) Check() error {
	return first(text("customer", b.CustomerName, short, true), text("serial", b.Serial, short, true), text("model", b.Model, short, true),
		text("complaint", b.Complaint, long, true), text("fluid", b.Fluid, short, false), text("hours", b.Hours, short, false),
		text("litres", b.Litres, short, false), text("drive", b.Drive, short, false), text("with", b.With, long, false))
}

// Noted is a note.
type Noted struct {
	Text string `json:"text"`
}

// Kind is KindNoted.
func (*Noted) Kind() Kind { return KindNoted }

// Check refuses an empty note.
func (b *Noted) Check() error { return text("text", b.Text, long, true) }

// Pictured is a photo. The picture itself is kept by its digest.
type Pictured struct {
	Photo   Digest `json:"photo"`
	Caption string `json:"caption,omitempty"`
	Stage   Stage  `json:"stage,omitempty"` // at which it was taken
	Part    string `json:"part,omitempty"`
}

// Kind is KindPictured.
func (*Pictured) Kind() Kind { return KindPictured }

// Check refuses a photo without a digest.
func (b *Pictured) Check() error {
	if b.Photo == (Digest{}) {
		return Faultf(Invalid, "photo", "nothing", "the digest of a stored picture", "store the picture first")
	}
	if b.Stage != "" {
		if err := b.Stage.check(); err != nil {
			return err
		}
	}
	return first(text("caption", b.Caption, long, false), text("part", b.Part, short, false))
}

// Found is what was seen or measured on a part.
type Found struct {
	Part  string `json:"part"`
	Text  string `json:"text,omitempty"`
	Size  string `json:"size,omitempty"`  // which size of the part, as in the pump sheet
	Value string `json:"value,omitempty"` // as typed, with its unit
	Tool  int64  `json:"tool,omitempty"`
}

// Kind is KindFound.
func (*Found) Kind() Kind { return KindFound }

// Check refuses a finding that says nothing.
func (b *Found) Check() error {
	if strings.TrimSpace(b.Text) == "" && strings.TrimSpace(b.Value) == "" {
		return Faultf(Invalid, "text", "nothing", "what was seen, or a measured value", "")
	}
	return first(text("part", b.Part, short, true), text("text", b.Text, long, false), text("size", b.Size, short, false), text("value", b.Value, short, false))
}

// Chose says what becomes of each part: keep, replace, turn over, lap, hone. A part that is not named is not touched.
type Chose struct {
	Parts map[string]string `json:"parts"`
}

// Kind is KindChose.
func (*Chose) Kind() Kind { return KindChose }

// Check refuses more parts than a pump has.
func (b *Chose) Check() error {
	if len(b.Parts) > 500 {
		return Faultf(Invalid, "parts", fmt.Sprint(len(b.Parts)), "at most 500", "")
	}
	for part, action := range b.Parts {
		if err := first(text("part", part, short, true), text("action", action, short, true)); err != nil {
			return err
		}
	}
	return nil
}

// Minded is a caution that was read and acknowledged, once a job.
type Minded struct {
	Caution string `json:"caution"`
}

// Kind is KindMinded.
func (*Minded) Kind() Kind { return KindMinded }

// Check refuses an empty caution.
func (b *Minded) Check() error { return text("caution", b.Caution, long, true) }

// Soaking is a soak that was started.
type Soaking struct {
	Step  string    `json:"step"`
	Ready time.Time `json:"ready"` // when the ring has soaked long enough
}

// Kind is KindSoaking.
func (*Soaking) Kind() Kind { return KindSoaking }

// Check refuses a soak without its step, or ready at a time that no clock of a shop shows.
func (b *Soaking) Check() error {
	return first(text("step", b.Step, short, true), moment("ready", b.Ready))
}

// Did is a step that was done, signed by who wrote the entry. Quantities are as typed, with their units.
type Did struct {
	Step     string `json:"step"`
	Torque   string `json:"torque,omitempty"`
	Wrench   string `json:"wrench,omitempty"`
	Adapter  string `json:"adapter,omitempty"`
	Angle    string `json:"angle,omitempty"`
	Tool     int64  `json:"tool,omitempty"`
	Despite  string `json:"despite,omitempty"` // why a tool was used whose calibration was due
	Soaked   string `json:"soaked,omitempty"`
	Pressure string `json:"pressure,omitempty"`
	Held     string `json:"held,omitempty"`
	Note     string `json:"note,omitempty"`
	Skipped  bool   `json:"skipped,omitempty"` // left out on purpose; the note says why
}

// Kind is KindDid.
func (*Did) Kind() Kind { return KindDid }

// Check refuses a step without its name, and one left out without a reason.
func (b *Did) Check() error {
	if b.Skipped && strings.TrimSpace(b.Note) == "" {
		return Faultf(Invalid, "note", "nothing", "why the step was left out", "")
	}
	return first(text("step", b.Step, short, true), text("torque", b.Torque, short, false), text("wrench", b.Wrench, short, false),
		text("adapter", b.Adapter, short, false), text("angle", b.Angle, short, false), text("despite", b.Despite, long, false), text("soaked", b.Soaked, short, false),
		text("pressure", b.Pressure, short, false), text("held", b.Held, short, false), text("note", b.Note, long, false))
}

// Stacked says how a stack was built: its rings from the bottom, and the shim.
type Stacked struct {
	Stack string `json:"stack"`
	Rings []Ring `json:"rings"`
	Shim  string `json:"shim,omitempty"`
}

// Ring is one ring of a stack as it was built.
type Ring struct {
	Part string `json:"part"`
	Lips string `json:"lips,omitempty"` // "up", "down" or ""
}

// Kind is KindStacked.
func (*Stacked) Kind() Kind { return KindStacked }

// Check refuses rings without a part and lips that point nowhere.
func (b *Stacked) Check() error {
	if len(b.Rings) > 100 {
		return Faultf(Invalid, "rings", fmt.Sprint(len(b.Rings)), "at most 100", "")
	}
	for _, r := range b.Rings {
		if r.Lips != "" && r.Lips != "up" && r.Lips != "down" {
			return Faultf(Invalid, "lips", quoted(r.Lips), `"up", "down" or nothing`, "")
		}
		if err := text("part", r.Part, short, true); err != nil {
			return err
		}
	}
	return first(text("stack", b.Stack, short, true), text("shim", b.Shim, short, false))
}

// Moved takes a job to another stage.
type Moved struct {
	To     Stage  `json:"to"`
	Reason string `json:"reason,omitempty"`
}

// Kind is KindMoved.
func (*Moved) Kind() Kind { return KindMoved }

// Check refuses an unknown stage; a job is closed by Closed, not moved there.
func (b *Moved) Check() error {
	if b.To == StageClosed {
		return Faultf(Invalid, "to", quoted(string(b.To)), "an open stage", "close the job instead")
	}
	return first(b.To.check(), text("reason", b.Reason, long, false))
}

// Overrode lets a job be closed as good although something speaks against it, by the word of the person who wrote it. Without Points it
// answers for the verdict alone; with them for those points, by the codes under which the program keeps what is open before a closing.
type Overrode struct {
	Verdict string   `json:"verdict"` // what the verdict was, "" when there was none
	Reason  string   `json:"reason"`
	Points  []string `json:"points,omitempty"`
}

// Kind is KindOverrode.
func (*Overrode) Kind() Kind { return KindOverrode }

// Check refuses an override without a reason, and more points than a job can have.
func (b *Overrode) Check() error {
	if len(b.Points) > 200 {
		return Faultf(Invalid, "points", fmt.Sprint(len(b.Points)), "at most 200", "")
	}
	for _, p := range b.Points {
		if err := text("points", p, 2*short, true); err != nil {
			return err
		}
	}
	return first(text("verdict", b.Verdict, short, false), text("reason", b.Reason, long, true))
}

// Priced is one line of the bill. Money is in the smallest unit of the shop's currency, quantities in thousandths.
type Priced struct {
	Item     int64  `json:"item,omitempty"` // of the price list
	Text     string `json:"text"`
	Quantity int64  `json:"quantity_thousandths"`
	Each     int64  `json:"each"`
	Currency string `json:"currency"` // ISO 4217
}

// maxMoney keeps sums of many lines within 64 bits.
const maxMoney = 1_000_000_000_000

// Kind is KindPriced.
func (*Priced) Kind() Kind { return KindPriced }

// Check refuses amounts that cannot be and a currency that is not of three capital letters.
func (b *Priced) Check() error {
	if b.Quantity < -1_000_000_000 || b.Quantity > 1_000_000_000 || b.Each < -maxMoney || b.Each > maxMoney {
		return Faultf(Invalid, "price", fmt.Sprintf("%d × %d", b.Quantity, b.Each), "an amount that a bill can hold", "")
	}
	if a := b.Amount(); a < -maxMoney || a > maxMoney {
		return Faultf(Invalid, "price", fmt.Sprintf("%d × %d", b.Quantity, b.Each), "an amount that a bill can hold", "")
	}
	return first(text("text", b.Text, long, true), currency(b.Currency))
}

// Amount is quantity × price, rounded half away from zero to the smallest unit of the currency.
func (b *Priced) Amount() int64 {
	v := b.Quantity * (b.Each / 1000)
	rest := b.Quantity * (b.Each % 1000)
	half := int64(500)
	if rest < 0 {
		half = -500
	}
	return v + (rest+half)/1000
}

// Handed is the hand-over to the customer.
type Handed struct {
	To        string `json:"to"`
	Signature string `json:"signature,omitempty"` // an SVG path in a box of 1000 × 300
	Note      string `json:"note,omitempty"`
}

// Kind is KindHanded.
func (*Handed) Kind() Kind { return KindHanded }

// Check refuses a hand-over to nobody and a signature that is no plain path.
func (b *Handed) Check() error {
	for _, r := range b.Signature {
		if !(r >= '0' && r <= '9' || r == ' ' || r == '.' || r == ',' || r == '-' || r == 'M' || r == 'L') {
			return Faultf(Invalid, "signature", quoted(string(r)), "moves and lines (M, L and numbers)", "sign again")
		}
	}
	return first(text("to", b.To, short, true), text("signature", b.Signature, 60000, false), text("note", b.Note, long, false))
}

// Closed ends a job. A job that is closed as good has a verdict that says so, or an override.
type Closed struct {
	Good   bool   `json:"good"`
	Reason string `json:"reason,omitempty"` // of a job that is not good: scrapped, not worth it, taken back as it is
}

// Kind is KindClosed.
func (*Closed) Kind() Kind { return KindClosed }

// Check refuses a job closed as not good without a reason.
func (b *Closed) Check() error { return text("reason", b.Reason, long, !b.Good) }

// Struck takes an entry out of the present state; the entry itself stays in the record.
type Struck struct {
	Seq    int64  `json:"seq"`
	Reason string `json:"reason"`
}

// Kind is KindStruck.
func (*Struck) Kind() Kind { return KindStruck }

// Check refuses a strike without its entry and its reason.
func (b *Struck) Check() error {
	if b.Seq < 1 {
		return Faultf(Invalid, "seq", fmt.Sprint(b.Seq), "the number of an entry of this job", "")
	}
	return text("reason", b.Reason, long, true)
}
