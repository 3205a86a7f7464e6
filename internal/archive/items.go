package archive

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/pump"
)

// item gives the name of the item that a number of this shop stands for, and makes its file the first time. model names a pump sheet that
// comes with the program, whose number is 0.
func (x *exporter) item(sub record.Subject, model string) (string, error) {
	key := sub.String()
	if sub.Kind == record.OfSheet && sub.ID == 0 {
		key += " " + model
	}
	if name, ok := x.numbers[key]; ok {
		return name, nil
	}
	value, names, err := x.value(sub, model)
	if err != nil {
		return "", err
	}
	it := Item{Kind: sub.Kind, Names: names}
	if p, ok := value.(*record.Pump); ok {
		own := *p
		value, it.Refers = &own, map[string]string{}
		if err := x.refer(it.Refers, store.ItemRefs(&own), store.ItemRefs(p), p.Model); err != nil {
			return "", err
		}
		for _, r := range store.ItemRefs(&own) {
			*r.ID = 0
		}
	}
	var told any = value
	if p, ok := value.(*record.Person); ok {
		told = person{p.Name, p.Initials}
	}
	var text, data bytes.Buffer
	if err := encode(&text, told); err != nil {
		return "", err
	}
	it.Value = bytes.TrimSpace(text.Bytes())
	if err := encode(&data, it); err != nil {
		return "", err
	}
	x.count[sub.Kind]++
	name := fmt.Sprintf("%s-%d", sub.Kind, x.count[sub.Kind])
	x.numbers[key] = name
	x.items = append(x.items, file{itemPath(name), data.Bytes()})
	return name, nil
}

func (x *exporter) value(sub record.Subject, model string) (record.Item, []record.Digest, error) {
	if sub.Kind == record.OfSheet && sub.ID == 0 {
		text, err := pump.DemoSheet(model)
		if err != nil {
			return nil, nil, record.Faultf(record.NotFound, "pump sheet", short(model), "a sheet that comes with the program", "add it under pump sheets")
		}
		return &record.PumpSheet{Name: model, Text: string(text)}, []record.Digest{}, nil
	}
	i, err := x.st.Item(x.ctx, sub)
	if err != nil {
		return nil, nil, err
	}
	names, err := x.st.Names(x.ctx, sub)
	return i.Value, names, err
}

// open reads an item of an archive strictly.
func (it *Item) open() (record.Item, error) {
	if it.Kind == record.OfPerson {
		var p person
		if err := strict(it.Value, &p); err != nil {
			return nil, err
		}
		out := &record.Person{Name: p.Name, Initials: p.Initials, Role: record.Technician}
		return out, out.Check()
	}
	value, err := record.DecodeItem(it.Kind, it.Value)
	if err != nil {
		return nil, err
	}
	for _, r := range store.ItemRefs(value) {
		if *r.ID != 0 {
			return nil, bad(r.Field, fmt.Sprint(*r.ID), "0, and the item under refers")
		}
	}
	if s, ok := value.(*record.PumpSheet); ok {
		p, err := pump.Read(s.Name, []byte(s.Text))
		if err != nil {
			return nil, &record.Fault{Code: record.Invalid, Where: "pump sheet", Found: err.Error(), Want: "a sound pump sheet", Mend: "have the archive made again", Err: err}
		}
		if p.Name != s.Name {
			return nil, bad("pump sheet", short(s.Name), "the name in the sheet")
		}
	}
	return value, nil
}

// builtIn says whether an item is a pump sheet that comes with this program, letter for letter.
func builtIn(value record.Item) bool {
	s, ok := value.(*record.PumpSheet)
	if !ok {
		return false
	}
	text, err := pump.DemoSheet(s.Name)
	return err == nil && string(text) == s.Text
}

// strict reads one JSON value with no unknown field and nothing behind it.
func strict(data []byte, v any) error {
	if err := record.TypedJSON("JSON", data); err != nil {
		return err
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return bad("JSON", short(err.Error()), "the fields of the format")
	}
	if dec.More() || len(bytes.TrimSpace(data[dec.InputOffset():])) > 0 {
		return bad("JSON", "more behind the end", "one value")
	}
	return nil
}

// lax reads one JSON value of which only some fields are wanted.
func lax(data []byte, v any) error {
	if err := json.Unmarshal(data, v); err != nil {
		return bad("JSON", short(err.Error()), "one value")
	}
	return nil
}
