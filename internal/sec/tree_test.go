package sec

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/evenstroke/evenstroke/internal/claims"
)

// overlay maps a file of the tree to the one that is read in its place, as go build -overlay does, so that make claims breaks what these tests
// read too.
var overlay = sync.OnceValues(func() (map[string]string, error) {
	name := os.Getenv(claims.OverlayIn)
	if name == "" {
		return nil, nil
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var list struct{ Replace map[string]string }
	return list.Replace, json.Unmarshal(data, &list)
})

// readFile reads a file of the tree. Both ways to read the tree go through here.
func readFile(path string) ([]byte, error) {
	instead, err := overlay()
	if err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if other, ok := instead[abs]; ok {
		path = other
	}
	return os.ReadFile(path)
}

// source reads a file by its path from the root.
func source(t *testing.T, path string) string {
	t.Helper()
	data, err := readFile(filepath.Join(root, filepath.FromSlash(path)))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// goFile is a parsed file of the tree, by its path from the root.
type goFile struct {
	path  string
	file  *ast.File
	src   []byte
	files *token.FileSet
}

// goFiles parses every Go file of the tree, once for all tests.
var goFiles = sync.OnceValues(func() ([]goFile, error) {
	var out []goFile
	err := everyFile(root, func(path string) error {
		if !strings.HasSuffix(path, ".go") || strings.Contains(path, "testdata") {
			return nil
		}
		src, err := readFile(path)
		if err != nil {
			return err
		}
		files := token.NewFileSet()
		f, err := parser.ParseFile(files, path, src, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		out = append(out, goFile{filepath.ToSlash(rel), f, src, files})
		return nil
	})
	return out, err
})

// walk sees every Go file of the tree.
func walk(t *testing.T, see func(path string, f *ast.File, src []byte, files *token.FileSet)) {
	t.Helper()
	all, err := goFiles()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		see(g.path, g.file, g.src, g.files)
	}
}

// each sees every file of a folder with an extension.
func each(t *testing.T, dir, ext string, see func(path, text string)) {
	t.Helper()
	err := everyFile(dir, func(path string) error {
		if filepath.Ext(path) != ext {
			return nil
		}
		data, err := readFile(path)
		if err != nil {
			return err
		}
		see(path, string(data))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// everyFile goes through what belongs to the project.
func everyFile(dir string, see func(path string) error) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == ".git" || n == "node_modules" || n == "dist" {
				return filepath.SkipDir
			}
			return nil
		}
		return see(path)
	})
}
