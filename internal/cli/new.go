package cli

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/schema"
)

// fresh are the files that `evenstroke new` writes, each from an invented one that is whole.
var freshFiles = map[string]func() ([]byte, error){
	"pump":  func() ([]byte, error) { return pump.DemoSheet("orrin-30") },
	"hold":  func() ([]byte, error) { return demoFile("orrin-as-found-2.yaml") },
	"prior": func() ([]byte, error) { return demoFile("shop-prior.yaml") },
}

// freshNames are their names, in the order in which a shop needs them.
var freshNames = []string{"pump", "hold", "prior"}

func demoFile(name string) ([]byte, error) {
	if data, ok := demo.File(name); ok {
		return data, nil
	}
	return nil, fmt.Errorf("demo file %s is missing", name)
}

func (a *app) newCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "new pump|hold|prior [FILE]",
		Short: "Write a file to start from, with every key and what it is",
		Long: `Writes a pump sheet, a hold sheet or a prior file that is sound as it is, with a comment at every key and, at its end, the keys that it
does not use. Its figures are invented: put those of your own pump in their place. Without FILE it goes to the standard output. A file that
is there is never written over. All keys: docs/keys.md.`,
		Example: `  evenstroke new pump
  evenstroke new hold my-hold.yaml
  evenstroke new prior my-prior.yaml`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(_ *cobra.Command, args []string) error {
			base, ok := freshFiles[args[0]]
			if !ok {
				return badInput("new: found %q; expected one of %s%s", args[0], strings.Join(freshNames, ", "), meant(args[0], freshNames))
			}
			text, err := template(args[0], base)
			if err != nil {
				return err
			}
			return a.writeNew(args, text)
		},
	}
}

// newDoc is the JSON of `evenstroke new`.
type newDoc struct {
	File string `json:"file,omitempty"`
	Text string `json:"text,omitempty"` // the file itself, when no name was given
}

func (a *app) writeNew(args []string, text []byte) error {
	doc := newDoc{Text: string(text)}
	if len(args) == 2 && args[1] != stdout {
		doc = newDoc{File: args[1]}
		err := outfile.New(args[1], func(w io.Writer) error { _, err := w.Write(text); return err })
		if err != nil {
			return err
		}
	}
	switch {
	case a.json:
		return a.printJSON(doc)
	case doc.File != "":
		fmt.Fprintf(a.out, "written: %s\n", doc.File)
		return nil
	}
	a.out.exact = true
	_, err := a.out.Write(text)
	return err
}

// template puts what each key is beside the keys of a file, and the keys that it has not at its end.
func template(name string, base func() ([]byte, error)) ([]byte, error) {
	data, err := base()
	if err != nil {
		return nil, err
	}
	keys, err := schema.Keys(name)
	if err != nil {
		return nil, err
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, err
	}
	about := map[string]schema.Key{}
	for _, k := range keys {
		about[k.Path] = k
	}
	seen := map[string]bool{}
	remark(doc.Content[0], "", about, seen)
	doc.HeadComment, doc.Content[0].HeadComment = "", ""
	var b bytes.Buffer
	fmt.Fprintf(&b, "# A %s to start from. It is sound as it is, but invented: put the figures of your own in their place.\n\n", map[string]string{"pump": "pump sheet", "hold": "hold sheet", "prior": "prior file"}[name])
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	if err := enc.Encode(&doc); err != nil {
		return nil, err
	}
	b.WriteString("\n# Keys that this file does not use:\n")
	for _, k := range keys {
		if seen[k.Path] {
			continue
		}
		at := k.Path[strings.LastIndexAny(k.Path, ".")+1:]
		fmt.Fprintf(&b, "#   %s: %s\n", at, strings.TrimSpace(strings.Join([]string{"(" + k.Path + ")", k.About, k.Takes}, " ")))
	}
	return b.Bytes(), nil
}

// remark puts a comment above each key of a block the first time that it stands in the file.
func remark(n *yaml.Node, path string, about map[string]schema.Key, seen map[string]bool) {
	switch n.Kind {
	case yaml.SequenceNode:
		for _, c := range n.Content {
			remark(c, path+"[]", about, seen)
		}
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i]
			at := strings.TrimPrefix(path+"."+key.Value, ".")
			if k, ok := about[at]; ok && !seen[at] && n.Style&yaml.FlowStyle == 0 && k.About != "" {
				key.HeadComment = "# " + k.About
			}
			seen[at] = true
			remark(n.Content[i+1], at, about, seen)
		}
	}
}
