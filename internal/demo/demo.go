// Package demo holds the files of the demo workshop: the coatings workshop of the invented Aldersay ferry yard. Pumps,
// people, serials, readings and prices are made up.
package demo

import (
	"embed"
	"io/fs"
	"sort"
)

//go:embed files
var files embed.FS

// Names lists the demo files.
func Names() []string {
	entries, err := fs.ReadDir(files, "files")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	sort.Strings(out)
	return out
}

// File returns a demo file by its name.
func File(name string) ([]byte, bool) {
	data, err := files.ReadFile("files/" + name)
	return data, err == nil
}
