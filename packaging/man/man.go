// Package man writes a manual page for every command.
package man

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// Write puts a page for a command and for each under it into a folder, "evenstroke-token-make.1". The same tree, version and date give the same
// bytes.
func Write(root *cobra.Command, version string, date time.Time, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	root.DisableAutoGenTag = true
	date = date.UTC()
	head := &doc.GenManHeader{Section: "1", Date: &date, Source: root.Name() + " " + version, Manual: fmt.Sprintf("%s manual", root.Name())}
	return doc.GenManTree(root, head, dir)
}

// Completions puts the completion of a command into a folder for each shell, under the name by which that shell finds it.
func Completions(root *cobra.Command, dir string) error {
	for file, write := range map[string]func(string) error{
		filepath.Join("bash", root.Name()):         func(f string) error { return root.GenBashCompletionFileV2(f, true) },
		filepath.Join("zsh", "_"+root.Name()):      root.GenZshCompletionFile,
		filepath.Join("fish", root.Name()+".fish"): func(f string) error { return root.GenFishCompletionFile(f, true) },
	} {
		file = filepath.Join(dir, file)
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			return err
		}
		if err := write(file); err != nil {
			return err
		}
	}
	return nil
}
