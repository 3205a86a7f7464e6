package pump

import (
	"embed"
	"fmt"
	"strings"
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

// DemoPump reads a demo pump.
func DemoPump(name string) (*Pump, error) {
	data, err := DemoSheet(name)
	if err != nil {
		return nil, err
	}
	return Read(name+".yaml", data)
}
