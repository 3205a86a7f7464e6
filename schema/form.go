package schema

import (
	"fmt"
	"slices"
	"strings"
)

// Form is a block of keys as somebody fills it in, one after the other.
type Form struct {
	Title  string // of an item that may be of several kinds: the name of its kind
	About  string
	Fields []Field
}

// Field is one key of a form.
type Field struct {
	Key, About string
	Required   bool
	Takes      Takes
	Quantity   string   // what it measures, as "length", when it takes a quantity
	Options    []string // the values that it takes, when it takes no others
	Example    string   // or ""
	Form       *Form    // of a block
	Items      []Form   // of a list: the kinds of its items
	Least      int      // the least number of items of a list
}

// Takes is what is written at a key.
type Takes int

// What a key takes.
const (
	TakesText Takes = iota
	TakesChoice
	TakesQuantity
	TakesWhole
	TakesNumber
	TakesYesNo
	TakesBlock
	TakesList
)

// FormOf returns the form of the files of a schema.
func FormOf(name string) (Form, error) {
	root, err := load(name)
	if err != nil {
		return Form{}, err
	}
	w := keyWalk{defs: root.Defs}
	return w.form(root), nil
}

// Field returns the field of a key, or nil.
func (f Form) Field(key string) *Field {
	for i := range f.Fields {
		if f.Fields[i].Key == key {
			return &f.Fields[i]
		}
	}
	return nil
}

func (w *keyWalk) form(n *node) Form {
	n = w.follow(n)
	f := Form{Title: n.Title, About: oneLine(n.Description)}
	for _, key := range n.Properties.names {
		f.Fields = append(f.Fields, w.field(key, n.Properties.of[key], slices.Contains(n.Required, key)))
	}
	return f
}

func (w *keyWalk) field(key string, n *node, required bool) Field {
	own := n.Description
	n = w.follow(n)
	f := Field{Key: key, About: oneLine(n.Description), Required: required}
	if len(n.Examples) > 0 {
		f.Example = fmt.Sprint(n.Examples[0])
	}
	switch {
	case len(n.Enum) > 0:
		f.Takes = TakesChoice
		for _, e := range n.Enum {
			if s := fmt.Sprint(e); !slices.Contains(f.Options, s) {
				f.Options = append(f.Options, s)
			}
		}
	case n.Items != nil:
		f.Takes, f.Least = TakesList, n.MinItems
		kinds := w.follow(n.Items).OneOf
		if len(kinds) == 0 {
			kinds = []*node{n.Items}
		}
		for _, k := range kinds {
			f.Items = append(f.Items, w.form(k))
		}
	case len(n.Properties.names) > 0:
		block := w.form(n)
		f.Takes, f.Form = TakesBlock, &block
	case n.def != "":
		f.Takes, f.Quantity, f.About = TakesQuantity, n.def, oneLine(own) // not what every such quantity is
	default:
		f.Takes = scalar(n.Type)
	}
	return f
}

// scalar is what a key takes by its types; a text beside another type is that in quotes.
func scalar(types any) Takes {
	list, ok := types.([]any)
	if !ok {
		list = []any{types}
	}
	switch has := func(name string) bool { return slices.Contains(list, any(name)) }; {
	case has("integer"):
		return TakesWhole
	case has("number"):
		return TakesNumber
	case has("boolean"):
		return TakesYesNo
	}
	return TakesText
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
