package schema

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Key is one key of a file, as its schema has it.
type Key struct {
	Path     string // as valves[].ball
	About    string // what it is, "" when its name says so
	Takes    string // what is written there
	Required bool   // wherever the block stands in which it is
}

// Keys lists every key of the files of a schema, each before those of the block under it.
func Keys(name string) ([]Key, error) {
	root, err := load(name)
	if err != nil {
		return nil, err
	}
	w := keyWalk{defs: root.Defs}
	w.block("", root)
	return w.keys, nil
}

// load reads a schema as lists of keys and forms need it.
func load(name string) (*node, error) {
	data, err := File(name)
	if err != nil {
		return nil, err
	}
	var root node
	if err := json.Unmarshal(data, &root); err != nil {
		return nil, fmt.Errorf("schema %s: %w", name, err)
	}
	return &root, nil
}

// node is what a list of keys needs of a schema.
type node struct {
	Title       string           `json:"title"`
	Ref         string           `json:"$ref"`
	Defs        map[string]*node `json:"$defs"`
	Description string           `json:"description"`
	Type        any              `json:"type"`
	Enum        []any            `json:"enum"`
	Examples    []any            `json:"examples"`
	MinItems    int              `json:"minItems"`
	Required    []string         `json:"required"`
	Properties  members          `json:"properties"`
	Items       *node            `json:"items"`
	OneOf       []*node          `json:"oneOf"`
	AnyOf       []*node          `json:"anyOf"`
	AllOf       []*node          `json:"allOf"`
	Then        *node            `json:"then"`
	Else        *node            `json:"else"`

	def string // the name of the definition that a reference led to
}

// members are the properties of a block in the order of the file.
type members struct {
	names []string
	of    map[string]*node
}

// UnmarshalJSON reads an object and keeps its order.
func (m *members) UnmarshalJSON(data []byte) error {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(data, &raw); err != nil {
		return err
	}
	m.of = map[string]*node{}
	for name, text := range raw {
		if text[0] != '{' {
			continue // true or false: whether an alternative has the key at all
		}
		var n node
		if err := json.Unmarshal(text, &n); err != nil {
			return err
		}
		m.of[name] = &n
	}
	dec := json.NewDecoder(strings.NewReader(string(data)))
	depth := 0
	for {
		t, err := dec.Token()
		if err != nil {
			return nil // its end
		}
		switch t := t.(type) {
		case json.Delim:
			if t == '{' || t == '[' {
				depth++
			} else {
				depth--
			}
		case string:
			if depth != 1 {
				continue
			}
			var skip json.RawMessage
			if err := dec.Decode(&skip); err != nil {
				return err
			}
			if m.of[t] != nil {
				m.names = append(m.names, t)
			}
		}
	}
}

type keyWalk struct {
	defs map[string]*node
	keys []Key
	deep int
}

// follow goes to what a reference names; what stands beside the reference goes before.
func (w *keyWalk) follow(n *node) *node {
	for n.Ref != "" {
		to := w.defs[strings.TrimPrefix(n.Ref, "#/$defs/")]
		if to == nil {
			return n
		}
		both := *to
		both.def = strings.TrimPrefix(n.Ref, "#/$defs/")
		if n.Description != "" {
			both.Description = n.Description
		}
		n = &both
	}
	return n
}

// block lists the keys of an object, with those of its alternatives.
func (w *keyWalk) block(path string, n *node) {
	if w.deep++; w.deep > 20 {
		return
	}
	defer func() { w.deep-- }()
	n = w.follow(n)
	for _, name := range n.Properties.names {
		p := w.follow(n.Properties.of[name])
		at := strings.TrimPrefix(path+"."+name, ".")
		w.add(Key{at, strings.Join(strings.Fields(p.Description), " "), w.takes(p), slices.Contains(n.Required, name)})
		w.block(at, p)
	}
	if n.Items != nil {
		w.block(path+"[]", n.Items)
	}
	for _, list := range [][]*node{n.OneOf, n.AnyOf, n.AllOf, {n.Then, n.Else}} {
		for _, alt := range list {
			if alt != nil {
				w.block(path, alt)
			}
		}
	}
}

// add lists a key once; what an alternative says more is kept.
func (w *keyWalk) add(k Key) {
	for i, have := range w.keys {
		if have.Path == k.Path {
			if have.About == "" {
				w.keys[i].About = k.About
			}
			if have.Takes == "" {
				w.keys[i].Takes = k.Takes
			}
			return
		}
	}
	w.keys = append(w.keys, k)
}

// takes says what is written at a key.
func (w *keyWalk) takes(n *node) string {
	switch {
	case len(n.Enum) > 0:
		var out []string
		for _, e := range n.Enum {
			if s := fmt.Sprint(e); !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
		return strings.Join(out, ", ")
	case n.Items != nil && len(w.follow(n.Items).Properties.names) == 0 && len(n.Items.OneOf) == 0:
		return "a list of texts"
	case n.Items != nil:
		return "a list of blocks"
	case len(n.Properties.names) > 0:
		return "a block"
	}
	if s, ok := n.Type.(string); ok {
		return map[string]string{"string": "text", "integer": "a whole number", "number": "a number", "boolean": "yes or no"}[s]
	}
	return ""
}
