// Package sheet reads the files that people write (pump sheets, hold sheets, priors, builds): YAML, or JSON as its subset.
// It is strict: an unknown key, a missing unit, an impossible value is an error that says where, what was found, what is
// expected and how to mend it. It reads everything before it complains, so that one run shows all that is wrong.
package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxBytes is the largest file that Read takes. A pump sheet has some 20 kB; what is larger is not a sheet.
const MaxBytes = 1 << 20

// maxErrors is where the list of errors stops: beyond it nobody reads on.
const maxErrors = 20

// Error is one thing that is wrong in a file.
type Error struct {
	File  string `json:"file"`
	Line  int    `json:"line,omitempty"`
	Key   string `json:"key,omitempty"` // where in the document, e.g. valves[1].ball
	Found string `json:"found"`         // what stands there
	Want  string `json:"want"`          // what is expected
	Fix   string `json:"fix,omitempty"` // how to mend it
}

// Error gives it in one line: file:line: key: found …; expected …; mend: ….
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d", e.Line)
	}
	b.WriteString(": ")
	if e.Key != "" {
		b.WriteString(e.Key + ": ")
	}
	fmt.Fprintf(&b, "found %s; expected %s", e.Found, e.Want)
	if e.Fix != "" {
		b.WriteString("; " + e.Fix)
	}
	return b.String()
}

// Errors is all that is wrong in one file, in the order of the file.
type Errors []*Error

// Error joins the errors, one a line.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// List returns the errors inside err, or nil when err is of another kind.
func List(err error) Errors {
	var es Errors
	if errors.As(err, &es) {
		return es
	}
	var e *Error
	if errors.As(err, &e) {
		return Errors{e}
	}
	return nil
}

// Doc is one file being read.
type Doc struct {
	File  string
	errs  Errors
	more  int             // errors beyond maxErrors
	asked map[string]bool // keys that a reader has asked for, see Asked
	root  *yaml.Node
	json  bool // written by a program, which means its points
}

var yamlLine = regexp.MustCompile(`line (\d+): (.*)`)

// Read parses data. The error of a file that is no YAML at all names the line where the reader gave up.
func Read(file string, data []byte) (*Doc, error) {
	fail := func(line int, found, want, fix string) (*Doc, error) {
		return nil, Errors{{File: file, Line: line, Found: found, Want: want, Fix: fix}}
	}
	switch {
	case len(data) > MaxBytes:
		return fail(0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d bytes", MaxBytes), "is this the right file?")
	case !utf8.Valid(data):
		return fail(firstBadLine(data), "bytes that are not UTF-8 text", "a text file", "is this the right file? save it as UTF-8")
	case strings.TrimSpace(string(data)) == "":
		return fail(0, "an empty file", "a YAML document", "start from `evenstroke schema` or from a demo file")
	}
	var node yaml.Node
	if err := decode(data, &node); err != nil {
		line, text := 0, strings.TrimPrefix(err.Error(), "yaml: ")
		if m := yamlLine.FindStringSubmatch(text); m != nil {
			line, _ = strconv.Atoi(m[1])
			text = m[2]
		}
		return fail(line, "text that YAML cannot read ("+text+")", "a YAML document of `key: value` lines", "look for a wrong indent, a stray tab, an open quote or a cut-off end")
	}
	d := &Doc{File: file, asked: map[string]bool{}, json: json.Valid(data)}
	if len(node.Content) == 1 {
		d.root = node.Content[0]
	}
	if d.root == nil || d.root.Kind != yaml.MappingNode {
		return fail(1, "a document that is not a list of keys", "`key: value` lines at the top", "")
	}
	if line, found := unplain(d.root, 0); found != "" {
		return fail(line, found, "plain `key: value` lines", "write the value out")
	}
	return d, nil
}

// decode reads the one document of a file. It guards against the parser's own panics on hostile input, which it turns into an
// error.
func decode(data []byte, node *yaml.Node) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("unreadable: %v", r)
		}
	}()
	dec := yaml.NewDecoder(bytes.NewReader(data))
	if err := dec.Decode(node); err != nil && !errors.Is(err, io.EOF) { // io.EOF: comments only; the caller sees no root
		return err
	}
	var second yaml.Node
	switch err := dec.Decode(&second); {
	case err == nil:
		return fmt.Errorf("line %d: a second document after `---`", second.Line)
	case !errors.Is(err, io.EOF):
		return err
	}
	return nil
}

func firstBadLine(data []byte) int {
	line := 1
	for len(data) > 0 {
		r, n := utf8.DecodeRune(data)
		if r == utf8.RuneError && n == 1 {
			return line
		}
		if r == '\n' {
			line++
		}
		data = data[n:]
	}
	return line
}

// maxDepth is how deep blocks may be nested; a sheet needs 5.
const maxDepth = 12

// unplain finds what a sheet has no use for and a reader could be fooled by: anchors, aliases, tags, keys that are no text.
func unplain(n *yaml.Node, depth int) (line int, found string) {
	switch {
	case n.Kind == yaml.AliasNode || n.Anchor != "":
		return n.Line, "a YAML anchor or alias"
	case n.Style&yaml.TaggedStyle != 0:
		return n.Line, "the YAML tag " + quote(n.Tag)
	case depth > maxDepth:
		return n.Line, fmt.Sprintf("blocks nested deeper than %d", maxDepth)
	}
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode && i%2 == 0 && c.Kind != yaml.ScalarNode {
			return c.Line, "a key that is no plain text"
		}
		if line, found := unplain(c, depth+1); found != "" {
			return line, found
		}
	}
	return 0, ""
}

// Root returns the top map of the document.
func (d *Doc) Root() *Map { return newMap(d, d.root, "", "") }

// Err returns everything that was found wrong, in the order of the file, or nil.
func (d *Doc) Err() error {
	if len(d.errs) == 0 {
		return nil
	}
	es := append(Errors(nil), d.errs...)
	sort.SliceStable(es, func(i, j int) bool { return es[i].Line < es[j].Line })
	if d.more > 0 {
		es = append(es, &Error{File: d.File, Found: fmt.Sprintf("%d more things that are wrong", d.more), Want: "none", Fix: "mend those above first"})
	}
	return es
}

func (d *Doc) add(line int, key, found, want, fix string) {
	if len(d.errs) == maxErrors {
		d.more++
		return
	}
	d.errs = append(d.errs, &Error{File: d.File, Line: line, Key: key, Found: found, Want: want, Fix: fix})
}

// Asked returns every key that a reader has asked for so far, whether it stood in the file or not, sorted, with the numbers of
// list items left out: "valves[].ball". A test compares them with the published schema.
func (d *Doc) Asked() []string {
	out := make([]string, 0, len(d.asked))
	for k := range d.asked {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
