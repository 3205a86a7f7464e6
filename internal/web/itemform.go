package web

import (
	"encoding/json"
	"net/http"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// slot is one field of the form of a kind: how its value is shown and read.
type slot struct {
	name    string
	need    bool
	rows    int
	code    bool
	typ     string
	options func(*Frame) []option
	get     func(record.Item, *Frame) string
	set     func(record.Item, *Form, string, *record.Shop) error
}

// words makes a slot for a text of an item.
func words[T any](name string, need bool, at func(*T) *string) slot {
	return slot{name: name, need: need,
		get: func(i record.Item, _ *Frame) string { return *at(any(i).(*T)) },
		set: func(i record.Item, f *Form, n string, _ *record.Shop) error { *at(any(i).(*T)) = f.Text(n); return nil }}
}

func (q slot) lines(n int) slot                  { q.rows = n; return q }
func (q slot) kind(t string) slot                { q.typ = t; return q }
func (q slot) from(o func(*Frame) []option) slot { q.options = o; return q }
func keyed(prefix string, values ...string) func(*Frame) []option {
	return func(f *Frame) []option {
		var out []option
		for _, v := range values {
			out = append(out, option{v, f.T(prefix + v), ""})
		}
		return out
	}
}

func roles() []string {
	var out []string
	for _, r := range record.Roles() {
		out = append(out, string(r))
	}
	return out
}

var slots = map[record.SubjectKind][]slot{
	record.OfShop: {
		words("name", true, func(v *record.Shop) *string { return &v.Name }), words("address", false, func(v *record.Shop) *string { return &v.Address }).lines(3),
		words("phone", false, func(v *record.Shop) *string { return &v.Phone }).kind("tel"), words("currency", true, func(v *record.Shop) *string { return &v.Currency }),
		words("units", true, func(v *record.Shop) *string { return &v.Units }).from(keyed("units.", "metric", "imperial")),
		words("lang", true, func(v *record.Shop) *string { return &v.Lang }).from(func(f *Frame) []option {
			var out []option
			for _, l := range f.langs {
				out = append(out, option{l, f.LanguageName(l), ""})
			}
			return out
		}),
		words("paper", true, func(v *record.Shop) *string { return &v.Paper }).from(func(*Frame) []option { return options("A4", "Letter") }),
	},
	record.OfPerson: {
		words("name", true, func(v *record.Person) *string { return &v.Name }), words("initials", true, func(v *record.Person) *string { return &v.Initials }),
		{name: "role", need: true, options: keyed("role.", roles()...),
			get: func(i record.Item, _ *Frame) string { return string(i.(*record.Person).Role) },
			set: func(i record.Item, f *Form, n string, _ *record.Shop) error {
				i.(*record.Person).Role = record.Role(f.Get(n))
				return nil
			}},
	},
	record.OfDevice: {words("name", true, func(v *record.Device) *string { return &v.Name }), words("place", false, func(v *record.Device) *string { return &v.Place })},
	record.OfCustomer: {
		words("name", true, func(v *record.Customer) *string { return &v.Name }), words("contact", false, func(v *record.Customer) *string { return &v.Contact }),
		words("phone", false, func(v *record.Customer) *string { return &v.Phone }).kind("tel"), words("mail", false, func(v *record.Customer) *string { return &v.Mail }).kind("email"),
		words("address", false, func(v *record.Customer) *string { return &v.Address }).lines(3), words("note", false, func(v *record.Customer) *string { return &v.Note }).lines(3),
	},
	record.OfPump: {
		words("serial", true, func(v *record.Pump) *string { return &v.Serial }), words("model", true, func(v *record.Pump) *string { return &v.Model }),
		words("drive", false, func(v *record.Pump) *string { return &v.Drive }), words("note", false, func(v *record.Pump) *string { return &v.Note }).lines(3),
	},
	record.OfTool: {
		words("name", true, func(v *record.Tool) *string { return &v.Name }), words("sort", true, func(v *record.Tool) *string { return &v.Sort }).from(keyed("tool.sort.", record.Sorts()...)),
		words("serial", false, func(v *record.Tool) *string { return &v.Serial }), words("class", false, func(v *record.Tool) *string { return &v.Class }),
		words("range", false, func(v *record.Tool) *string { return &v.Range }), words("step", false, func(v *record.Tool) *string { return &v.Step }),
		words("length", false, func(v *record.Tool) *string { return &v.Length }), words("due", false, func(v *record.Tool) *string { return &v.Due }).kind("date"),
		words("note", false, func(v *record.Tool) *string { return &v.Note }).lines(3),
	},
	record.OfSheet: {words("name", true, func(v *record.PumpSheet) *string { return &v.Name }), codeSlot("text", func(v *record.PumpSheet) *string { return &v.Text })},
	record.OfFluid: {
		words("name", true, func(v *record.Fluid) *string { return &v.Name }),
		{name: "test", rows: 4, code: true,
			get: func(i record.Item, _ *Frame) string { return string(i.(*record.Fluid).Test) },
			set: func(i record.Item, f *Form, n string, _ *record.Shop) error {
				v := f.Text(n)
				if v == "" {
					return nil
				}
				if !json.Valid([]byte(v)) {
					return record.Faultf(record.Invalid, n, "a text that is no JSON", `an object as {"kind": "oil", "grade": 32}, or nothing`, "")
				}
				i.(*record.Fluid).Test = json.RawMessage(v)
				return nil
			}},
		words("hazards", false, func(v *record.Fluid) *string { return &v.Hazards }).lines(3), words("note", false, func(v *record.Fluid) *string { return &v.Note }).lines(3),
	},
	record.OfPrice: {
		words("text", true, func(v *record.Price) *string { return &v.Text }),
		{name: "each", need: true,
			get: func(i record.Item, f *Frame) string { return bareMoney(i.(*record.Price).Each, f) },
			set: func(i record.Item, f *Form, n string, shop *record.Shop) (err error) {
				i.(*record.Price).Each, err = decimal(n, f.Get(n), digits(shop.Currency))
				return err
			}},
		words("unit", false, func(v *record.Price) *string { return &v.Unit }), words("number", false, func(v *record.Price) *string { return &v.Number }),
		words("model", false, func(v *record.Price) *string { return &v.Model }), words("part", false, func(v *record.Price) *string { return &v.Part }),
	},
}

func codeSlot[T any](name string, at func(*T) *string) slot {
	q := words(name, true, at).lines(24)
	q.code = true
	return q
}

// bareMoney is an amount as it is typed.
func bareMoney(v int64, f *Frame) string {
	if f.Shop == nil || v == 0 {
		return ""
	}
	s := money(v, f.Shop.Currency)
	return s[:len(s)-len(f.Shop.Currency)-1]
}

// itemFields are the fields of the form of a value.
func (s *Server) itemFields(_ *http.Request, f *Frame, form *Form, k record.SubjectKind, value record.Item) ([]Field, error) {
	var out []Field
	for _, q := range slots[k] {
		v := Field{F: f, Form: form, Name: q.name, Word: f.fieldWord(q.name), Value: q.get(value, f), Need: q.need, Rows: q.rows, Code: q.code, Type: q.typ}
		if hint := "hint." + string(k) + "." + q.name; f.Has(hint) {
			v.Hint = f.T(hint)
		}
		if q.options != nil {
			v.Options = q.options(f)
		}
		out = append(out, v)
	}
	return out, nil
}

// readItem reads a value from a form; what the form does not show stays as it was.
func (s *Server) readItem(r *http.Request, f *Form, k record.SubjectKind, have *store.Item) (record.Item, error) {
	profile, _, err := s.Shop.Profile(r.Context())
	if err != nil {
		return nil, err
	}
	value := record.NewItem(k)
	if have != nil {
		data, err := json.Marshal(have.Value)
		if err != nil {
			return nil, err
		}
		if value, err = record.DecodeItem(k, data); err != nil {
			return nil, err
		}
	}
	for _, q := range slots[k] {
		if _, ok := f.Values[q.name]; !ok {
			continue
		}
		if err := q.set(value, f, q.name, profile); err != nil {
			return nil, err
		}
	}
	if p, ok := value.(*record.Pump); ok {
		if sheet := s.sheetNamed(r, p.Model); sheet >= 0 {
			p.Sheet = sheet
		} else {
			return nil, record.Faultf(record.Invalid, "model", p.Model, "a pump sheet of the catalogue, or one that comes with the program", "add the pump sheet first")
		}
	}
	return value, nil
}

// sheetNamed is the number of the pump sheet of a name, 0 for one of the program, −1 when there is none.
func (s *Server) sheetNamed(r *http.Request, name string) int64 {
	models, err := s.Shop.Models(r.Context())
	if err != nil {
		return -1
	}
	for _, m := range models {
		if m.Name == name {
			return m.Sheet
		}
	}
	return -1
}
