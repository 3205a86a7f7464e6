package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Item is one value of the catalogue.
type Item interface {
	Check() error
	Label() string   // one line that names it
	Words() []string // texts under which it is found
}

// Kept is a value of the catalogue as a whole; the entry before it holds what it was.
type Kept struct {
	Value json.RawMessage `json:"value"`
}

// Kind is KindKept.
func (*Kept) Kind() Kind { return KindKept }

// Check refuses what is no JSON object. What the object must hold depends on the subject; see DecodeItem.
func (b *Kept) Check() error { return object("value", b.Value, true) }

// Retired takes a value out of the lists; what refers to it keeps it.
type Retired struct {
	Reason string `json:"reason,omitempty"`
}

// Kind is KindRetired.
func (*Retired) Kind() Kind { return KindRetired }

// Check refuses a reason that is too long.
func (b *Retired) Check() error { return text("reason", b.Reason, long, false) }

// Keep makes the body that keeps an item.
func Keep(i Item) (*Kept, error) {
	if err := i.Check(); err != nil {
		return nil, err
	}
	data, err := json.Marshal(i)
	if err != nil {
		return nil, fmt.Errorf("record: an item: %w", err)
	}
	return &Kept{Value: data}, nil
}

// NewItem is an empty item of a kind, nil for a kind that is not of the catalogue.
func NewItem(k SubjectKind) Item {
	switch k {
	case OfShop:
		return &Shop{}
	case OfPerson:
		return &Person{}
	case OfDevice:
		return &Device{}
	case OfCustomer:
		return &Customer{}
	case OfPump:
		return &Pump{}
	case OfTool:
		return &Tool{}
	case OfSheet:
		return &PumpSheet{}
	case OfFluid:
		return &Fluid{}
	case OfPrice:
		return &Price{}
	}
	return nil
}

// DecodeItem reads an item strictly.
func DecodeItem(k SubjectKind, data []byte) (Item, error) {
	i := NewItem(k)
	if i == nil {
		return nil, Faultf(Invalid, "kind", quoted(string(k)), "a kind of the catalogue", "")
	}
	if t := bytes.TrimSpace(data); len(t) == 0 || t[0] != '{' {
		return nil, Faultf(Invalid, string(k), quoted(string(t)), "one JSON object", "")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(i); err != nil {
		return nil, Faultf(Invalid, string(k), err.Error(), "the fields of a "+string(k), "")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, Faultf(Invalid, string(k), "more after the end", "one JSON object", "")
	}
	if err := i.Check(); err != nil {
		return nil, err
	}
	return i, nil
}

// Shop is the workshop itself.
type Shop struct {
	Name     string `json:"name"`
	Address  string `json:"address,omitempty"`
	Phone    string `json:"phone,omitempty"`
	Currency string `json:"currency"` // ISO 4217
	Units    string `json:"units"`    // "metric" or "imperial"
	Lang     string `json:"lang"`     // BCP 47
	Paper    string `json:"paper"`    // "A4" or "Letter"
	Demo     bool   `json:"demo,omitempty"`
}

// Check refuses a shop without name, currency or units.
func (s *Shop) Check() error {
	if s.Units != "metric" && s.Units != "imperial" {
		return Faultf(Invalid, "units", quoted(s.Units), "metric or imperial", "")
	}
	if s.Paper != "" && s.Paper != "A4" && s.Paper != "Letter" {
		return Faultf(Invalid, "paper", quoted(s.Paper), "A4 or Letter", "")
	}
	return first(text("name", s.Name, short, true), text("address", s.Address, long, false), text("phone", s.Phone, short, false),
		currency(s.Currency), text("lang", s.Lang, 35, true))
}

// Label is the name.
func (s *Shop) Label() string { return s.Name }

// Words are none: the shop is not searched.
func (s *Shop) Words() []string { return nil }

// Role says what a person may do. Each role may do what the one before it may.
type Role string

// The roles.
const (
	Technician Role = "technician" // jobs
	Trainer    Role = "trainer"    // and correct and override the work of others, pump sheets, fluids, tools
	Office     Role = "office"     // jobs, customers, prices, bills, people but owners
	Owner      Role = "owner"      // everything
)

// Roles lists the roles.
func Roles() []Role { return []Role{Technician, Trainer, Office, Owner} }

// Person is somebody who works in the shop. PIN and passkeys are not part of the record.
type Person struct {
	Name     string            `json:"name"`
	Initials string            `json:"initials"`
	Role     Role              `json:"role"`
	Lang     string            `json:"lang,omitempty"`  // "" is that of the shop
	Units    string            `json:"units,omitempty"` // "metric", "imperial" or "" for that of the shop
	Unit     map[string]string `json:"unit,omitempty"`  // single units that differ: "pressure": "psi"
	Look     string            `json:"look,omitempty"`  // "light", "dark", "contrast" or "" for that of the device
}

// Check refuses a person without name, initials or a known role.
func (p *Person) Check() error {
	known := false
	for _, r := range Roles() {
		known = known || p.Role == r
	}
	if !known {
		return Faultf(Invalid, "role", quoted(string(p.Role)), "technician, trainer, office or owner", "")
	}
	if p.Units != "" && p.Units != "metric" && p.Units != "imperial" {
		return Faultf(Invalid, "units", quoted(p.Units), "metric, imperial or nothing", "")
	}
	switch p.Look {
	case "", "light", "dark", "contrast":
	default:
		return Faultf(Invalid, "look", quoted(p.Look), "light, dark, contrast or nothing", "")
	}
	if len(p.Unit) > 30 {
		return Faultf(Invalid, "unit", fmt.Sprint(len(p.Unit)), "at most 30 units", "")
	}
	for k, v := range p.Unit {
		if err := first(text("unit", k, short, true), text("unit", v, short, true)); err != nil {
			return err
		}
	}
	return first(text("name", p.Name, short, true), text("initials", p.Initials, 6, true), text("lang", p.Lang, 35, false))
}

// Label is the name.
func (p *Person) Label() string { return p.Name }

// Words are name and initials.
func (p *Person) Words() []string { return []string{p.Name, p.Initials} }

// Device is a tablet, phone or screen that may be used in the shop.
type Device struct {
	Name  string `json:"name"`
	Place string `json:"place,omitempty"`
}

// Check refuses a device without a name.
func (d *Device) Check() error {
	return first(text("name", d.Name, short, true), text("place", d.Place, short, false))
}

// Label is the name.
func (d *Device) Label() string { return d.Name }

// Words are name and place.
func (d *Device) Words() []string { return []string{d.Name, d.Place} }

// Customer is who owns pumps.
type Customer struct {
	Name    string `json:"name"`
	Contact string `json:"contact,omitempty"`
	Phone   string `json:"phone,omitempty"`
	Mail    string `json:"mail,omitempty"`
	Address string `json:"address,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Check refuses a customer without a name.
func (c *Customer) Check() error {
	return first(text("name", c.Name, short, true), text("contact", c.Contact, short, false), text("phone", c.Phone, short, false),
		text("mail", c.Mail, short, false), text("address", c.Address, long, false), text("note", c.Note, long, false))
}

// Label is the name.
func (c *Customer) Label() string { return c.Name }

// Words are name, contact, phone and mail.
func (c *Customer) Words() []string { return []string{c.Name, c.Contact, c.Phone, c.Mail} }

// Pump is one pump with its serial.
type Pump struct {
	Serial   string `json:"serial"`
	Model    string `json:"model"` // name of the pump sheet
	Sheet    int64  `json:"sheet"` // of the catalogue; 0 is one that comes with the program
	Customer int64  `json:"customer,omitempty"`
	Drive    string `json:"drive,omitempty"`
	Note     string `json:"note,omitempty"`
}

// Check refuses a pump without serial and model.
func (p *Pump) Check() error {
	return first(text("serial", p.Serial, short, true), text("model", p.Model, short, true), text("drive", p.Drive, short, false), text("note", p.Note, long, false))
}

// Label is serial and model.
func (p *Pump) Label() string { return p.Serial + " · " + p.Model }

// Words are serial, model and drive.
func (p *Pump) Words() []string { return []string{p.Serial, p.Model, p.Drive} }

// Tool is a torque wrench or an instrument.
type Tool struct {
	Name   string `json:"name"`
	Sort   string `json:"sort"` // "wrench", "gauge", "ruler", "micrometer", "stopwatch", "other"
	Serial string `json:"serial,omitempty"`
	Class  string `json:"class,omitempty"` // of a wrench after ISO 6789-1, as "II A"; of a gauge after EN 837-1, as "1.6 %"
	Range  string `json:"range,omitempty"` // as typed, with its unit
	Step   string `json:"step,omitempty"`  // resolution, as typed
	Length string `json:"length,omitempty"`
	Due    string `json:"due,omitempty"` // next calibration, as 2027-03-01
	Note   string `json:"note,omitempty"`
}

// Sorts lists the sorts of tools.
func Sorts() []string {
	return []string{"wrench", "gauge", "ruler", "micrometer", "stopwatch", "other"}
}

// Check refuses a tool without name or sort and a date that is none.
func (t *Tool) Check() error {
	if !contains(Sorts(), t.Sort) {
		return Faultf(Invalid, "sort", quoted(t.Sort), strings.Join(Sorts(), ", "), "")
	}
	return first(text("name", t.Name, short, true), text("serial", t.Serial, short, false), text("class", t.Class, short, false),
		text("range", t.Range, short, false), text("step", t.Step, short, false), text("length", t.Length, short, false),
		date("due", t.Due), text("note", t.Note, long, false))
}

// Label is the name.
func (t *Tool) Label() string { return t.Name }

// Words are name, serial and sort.
func (t *Tool) Words() []string { return []string{t.Name, t.Serial, t.Sort} }

// PumpSheet is the description of a pump model as text. Whether it is a sound pump sheet, package pump says.
type PumpSheet struct {
	Name string `json:"name"`
	Text string `json:"text"` // YAML
}

// Check refuses a sheet without name or text.
func (s *PumpSheet) Check() error {
	return first(text("name", s.Name, short, true), text("text", s.Text, 400_000, true))
}

// Label is the name.
func (s *PumpSheet) Label() string { return s.Name }

// Words are the name.
func (s *PumpSheet) Words() []string { return []string{s.Name} }

// Fluid is a fluid that pumps run or are tested with, in the words of a hold sheet.
type Fluid struct {
	Name    string          `json:"name"`
	Test    json.RawMessage `json:"test,omitempty"` // {"kind": "water", …} when it is used for tests
	Hazards string          `json:"hazards,omitempty"`
	Note    string          `json:"note,omitempty"`
}

// Check refuses a fluid without a name.
func (f *Fluid) Check() error {
	return first(text("name", f.Name, short, true), object("test", f.Test, false), text("hazards", f.Hazards, long, false), text("note", f.Note, long, false))
}

// Label is the name.
func (f *Fluid) Label() string { return f.Name }

// Words are the name.
func (f *Fluid) Words() []string { return []string{f.Name} }

// Price is one line of the price list: a part, a kit or work.
type Price struct {
	Text   string `json:"text"`
	Model  string `json:"model,omitempty"` // for which pump, "" for any
	Part   string `json:"part,omitempty"`  // of the pump sheet
	Each   int64  `json:"each"`            // in the smallest unit of the shop's currency
	Unit   string `json:"unit,omitempty"`  // "piece", "hour" …
	Number string `json:"number,omitempty"`
}

// Check refuses a line without text and an amount that cannot be.
func (p *Price) Check() error {
	if p.Each < -maxMoney || p.Each > maxMoney {
		return Faultf(Invalid, "each", fmt.Sprint(p.Each), "an amount that a bill can hold", "")
	}
	return first(text("text", p.Text, short, true), text("model", p.Model, short, false), text("part", p.Part, short, false),
		text("unit", p.Unit, short, false), text("number", p.Number, short, false))
}

// Label is the text.
func (p *Price) Label() string { return p.Text }

// Words are text, number, model and part.
func (p *Price) Words() []string { return []string{p.Text, p.Number, p.Model, p.Part} }

func contains(list []string, s string) bool {
	for _, t := range list {
		if t == s {
			return true
		}
	}
	return false
}
