package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// format is one sort of file: the key that carries its version, what it is, and where it goes.
type format struct{ key, name, use string }

// formats are the files that people write. A hold sheet and a build record name their pump under `pump`; there it is no number.
var formats = []format{
	{"hold", "a hold sheet", "`evenstroke hold` reads a hold sheet"},
	{"prior", "a prior file", "a prior file is given with --prior"},
	{"build", "a build record", "a build record is given with --build"},
	{"serve", "a configuration of serve", "a configuration is given with --config"},
	{"pump", "a pump sheet", "`evenstroke sheet` reads a pump sheet; --pump takes one too"},
}

// Format reads the version of the format, which says what sort of file this is. It is false, with one error that says what the file is
// instead, when nothing else in it needs to be read.
func (m *Map) Format(key string, version int) bool {
	m.ask(key)
	mine := format{key: key, name: "a file of this sort"}
	for _, f := range formats {
		if f.key == key {
			mine = f
		}
	}
	if m.numbered(key) {
		before := len(m.doc.errs)
		m.Count(key, "the version of the format", version, version)
		return len(m.doc.errs) == before
	}
	for _, f := range formats {
		if m.numbered(f.key) {
			m.doc.add(m.Line(f.key), "", f.name, mine.name, f.use)
			return false
		}
	}
	found := "nothing"
	if n, ok := m.keys[key]; ok {
		found = describe(n)
	}
	m.Fail(key, found, fmt.Sprintf("the version of the format: %d", version), fmt.Sprintf("add the line `%s: %d` if this is %s", key, version, mine.name))
	return false
}

// numbered says whether a key carries a whole number, as the version of a format does.
func (m *Map) numbered(key string) bool {
	n, ok := m.keys[key]
	if !ok || n.Kind != yaml.ScalarNode {
		return false
	}
	_, err := strconv.Atoi(strings.TrimSpace(n.Value))
	return err == nil
}
