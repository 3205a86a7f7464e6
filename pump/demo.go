package pump

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

//go:embed demo/*.yaml
var demos embed.FS

// Demo returns the names of the demo pumps, sorted. All of them are invented.
func Demo() []string {
	entries, err := demos.ReadDir("demo")
	if err != nil { // the folder is part of the program
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".yaml"))
	}
	return out
}

// DemoSheet returns the pump sheet of a demo pump.
func DemoSheet(name string) ([]byte, error) {
	data, err := demos.ReadFile("demo/" + name + ".yaml")
	if err != nil {
		return nil, fmt.Errorf("no demo pump %q; there are %s", name, strings.Join(Demo(), ", "))
	}
	return data, nil
}

// OwnSheet returns the sheet of a demo pump as the beginning of a shop's own: the same figures, without what calls the pump invented
// (the comment at the top, the note, and the key by which papers know it).
func OwnSheet(name string) ([]byte, error) {
	data, err := DemoSheet(name)
	if err != nil {
		return nil, err
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, err
	}
	doc.HeadComment = ""
	top := doc.Content[0]
	top.HeadComment = ""
	top.Content[0].HeadComment = ""
	for i := 0; i < len(top.Content); {
		if key := top.Content[i].Value; key == "note" || key == "invented" {
			top.Content = append(top.Content[:i], top.Content[i+2:]...)
			continue
		}
		i += 2
	}
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	err = errors.Join(enc.Encode(&doc), enc.Close())
	return out.Bytes(), err
}

// DemoPump reads a demo pump.
func DemoPump(name string) (*Pump, error) {
	data, err := DemoSheet(name)
	if err != nil {
		return nil, err
	}
	return Read(name+".yaml", data)
}
