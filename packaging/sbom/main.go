// Command sbom writes the bill of materials of a binary in CycloneDX 1.6 JSON (ECMA-424): the modules that the linker wrote into the binary, with
// their checksums, and the version of Go. The same binary always gives the same bytes: there is neither a time nor a random number in it.
package main

import (
	"debug/buildinfo"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "sbom: expected two arguments, the binary and its version")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "sbom:", err)
		os.Exit(1)
	}
}

// bill is the part of a CycloneDX document that is used here.
type bill struct {
	Format     string      `json:"bomFormat"`
	Spec       string      `json:"specVersion"`
	Version    int         `json:"version"`
	Metadata   metadata    `json:"metadata"`
	Components []component `json:"components"`
}

type metadata struct {
	Component component `json:"component"` // what the bill is of
}

type component struct {
	Type    string     `json:"type"`
	Ref     string     `json:"bom-ref"`
	Name    string     `json:"name"`
	Version string     `json:"version"`
	URL     string     `json:"purl"`
	Hashes  []hash     `json:"hashes,omitempty"` // of the module as go.sum has it: h1, the SHA-256 of the list of its files
	Props   []property `json:"properties,omitempty"`
}

type hash struct {
	Alg     string `json:"alg"`
	Content string `json:"content"`
}

type property struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

func run(binary, version string, w io.Writer) error {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	if len(info.Deps) == 0 {
		return fmt.Errorf("%s: found no modules; expected a binary built with modules", binary)
	}
	b := bill{Format: "CycloneDX", Spec: "1.6", Version: 1, Metadata: metadata{describe("application", info.Main.Path, version)}}
	for _, s := range info.Settings {
		if s.Key == "GOOS" || s.Key == "GOARCH" || s.Key == "-tags" {
			b.Metadata.Component.Props = append(b.Metadata.Component.Props, property{"go:" + s.Key, s.Value})
		}
	}
	b.Components = append(b.Components, describe("library", "std", strings.TrimPrefix(info.GoVersion, "go")))
	for _, m := range info.Deps {
		c, err := module(m)
		if err != nil {
			return err
		}
		b.Components = append(b.Components, c)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	enc.SetEscapeHTML(false)
	return enc.Encode(b)
}

// describe names a module by its package URL.
func describe(kind, path, version string) component {
	url := "pkg:golang/" + path + "@" + strings.ReplaceAll(version, "+", "%2B")
	return component{Type: kind, Ref: url, Name: path, Version: version, URL: url}
}

// module describes one that is linked in: the one that replaces it, when one does.
func module(m *debug.Module) (component, error) {
	for m.Replace != nil {
		m = m.Replace
	}
	c := describe("library", m.Path, m.Version)
	sum, ok := strings.CutPrefix(m.Sum, "h1:")
	if !ok {
		return c, fmt.Errorf("module %s: found the checksum %q; expected one of go.sum, h1:…", m.Path, m.Sum)
	}
	raw, err := base64.StdEncoding.DecodeString(sum)
	if err != nil {
		return c, fmt.Errorf("module %s: %w", m.Path, err)
	}
	c.Hashes = []hash{{"SHA-256", hex.EncodeToString(raw)}}
	return c, nil
}
