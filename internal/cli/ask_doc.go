package cli

import (
	"bytes"
	"errors"
	"path/filepath"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/sheet"
)

// answers is a hold sheet that is being filled in, with its comments. It may be unfinished.
type answers struct {
	top  *yaml.Node
	list *yaml.Node // its readings
	dir  string     // the folder from which it names traces
}

// noAnswers is a sheet in which nothing is filled in.
func noAnswers(file string) *answers {
	top := &yaml.Node{Kind: yaml.MappingNode}
	put(top, "hold", scalar("1", schema.TakesWhole))
	return &answers{top: top, dir: filepath.Dir(file)}
}

// readAnswers reads a sheet that was begun.
func readAnswers(file string, data []byte) (*answers, error) {
	if _, err := sheet.Read(file, data); err != nil {
		return nil, err
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, err
	}
	d := &answers{top: doc.Content[0], dir: filepath.Dir(file)}
	if v := at(d.top, "hold"); v == nil || v.Value != "1" {
		return nil, badInput("%s: found no key `hold: 1`; expected a hold sheet, or a new name; name another file", file)
	}
	if d.list = at(d.top, "readings"); d.list != nil && d.list.Kind != yaml.SequenceNode {
		return nil, badInput("%s: readings: found no list; expected a list of readings; mend it, or name another file", file)
	}
	return d, nil
}

// readings is the list of readings, made when it is first needed so that it stands after the head.
func (d *answers) readings() *yaml.Node {
	if d.list == nil {
		d.list = &yaml.Node{Kind: yaml.SequenceNode}
		put(d.top, "readings", d.list)
	}
	d.list.Style &^= yaml.FlowStyle // as [] is, where nothing stands in it
	return d.list
}

func (d *answers) text() ([]byte, error) { return encode(d.top) }

func encode(n *yaml.Node) ([]byte, error) {
	var b bytes.Buffer
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	err := errors.Join(enc.Encode(n), enc.Close())
	return b.Bytes(), err
}

// read gives the sheet with these readings alone to the reader of hold sheets.
func (d *answers) read(file string, readings ...*yaml.Node) (*hold.Sheet, error) {
	top := &yaml.Node{Kind: yaml.MappingNode}
	for i := 0; i+1 < len(d.top.Content); i += 2 {
		if key := d.top.Content[i]; key.Value != "readings" {
			top.Content = append(top.Content, key, d.top.Content[i+1])
		}
	}
	list := &yaml.Node{Kind: yaml.SequenceNode, Content: readings}
	if len(readings) == 0 {
		list.Style = yaml.FlowStyle
	}
	put(top, "readings", list)
	data, err := encode(top)
	if err != nil {
		return nil, err
	}
	return hold.ReadSheet(file, data, func(name string) ([]byte, error) { return readFile(filepath.Join(d.dir, name)) })
}

// at returns the value of a key, or nil.
func at(m *yaml.Node, key string) *yaml.Node {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			return m.Content[i+1]
		}
	}
	return nil
}

// put sets a key, at its old place when it has one.
func put(m *yaml.Node, key string, v *yaml.Node) {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			v.LineComment, v.FootComment = m.Content[i+1].LineComment, m.Content[i+1].FootComment
			m.Content[i+1] = v
			return
		}
	}
	m.Content = append(m.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, v)
}

// drop takes a key away.
func drop(m *yaml.Node, key string) {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			m.Content = append(m.Content[:i], m.Content[i+2:]...)
			return
		}
	}
}

// scalar is a value as it is written for what a key takes.
func scalar(s string, takes schema.Takes) *yaml.Node {
	n := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s}
	switch takes {
	case schema.TakesYesNo:
		n.Tag, n.Value = "!!bool", strconv.FormatBool(s == yes)
	case schema.TakesWhole:
		if _, err := strconv.Atoi(s); err == nil {
			n.Tag = "!!int"
		}
	}
	return n
}

// answered is a value as somebody would answer it.
func answered(n *yaml.Node, takes schema.Takes) string {
	switch {
	case n == nil:
		return ""
	case takes == schema.TakesYesNo && strings.EqualFold(n.Value, "true"):
		return yes
	case takes == schema.TakesYesNo && strings.EqualFold(n.Value, "false"):
		return no
	}
	return n.Value
}
