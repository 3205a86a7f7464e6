// Command zipdir packs a folder into a ZIP file of the same name.
package main

import (
	"archive/zip"
	"errors"
	"fmt"
	"os"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "zipdir: expected one argument, the folder")
		os.Exit(2)
	}
	if err := pack(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "zipdir:", err)
		os.Exit(1)
	}
}

func pack(dir string) error {
	f, err := os.Create(dir + ".zip")
	if err != nil {
		return err
	}
	z := zip.NewWriter(f)
	return errors.Join(z.AddFS(os.DirFS(dir)), z.Close(), f.Close())
}
