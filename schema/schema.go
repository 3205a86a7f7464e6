// Package schema holds the published JSON Schemas (2020-12) of the files that people exchange.
package schema

import (
	"embed"
	"fmt"
	"strings"
)

//go:embed *.schema.json
var files embed.FS

// Names returns the names of the schemas, sorted: "build", "pump", ….
func Names() []string {
	entries, err := files.ReadDir(".")
	if err != nil { // the folder is part of the program
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".schema.json"))
	}
	return out
}

// File returns the schema of a name, as JSON.
func File(name string) ([]byte, error) {
	data, err := files.ReadFile(name + ".schema.json")
	if err != nil {
		return nil, fmt.Errorf("no schema %q; there are %s", name, strings.Join(Names(), ", "))
	}
	return data, nil
}
