//go:build !small

package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/archive"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/internal/store"
)

// exportDoc is the JSON of `evenstroke export`.
type exportDoc struct {
	Job  int64  `json:"job"`
	File string `json:"file"`
}

func (a *app) exportCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:   "export JOB FILE",
		Short: "Write a whole job into one archive that another shop can take in",
		Long: `Writes a whole job, its entries, photos and all that they stand on, into one archive that another shop can take in. FILE is a new
file; a pipe or a device is written to.`,
		Example: "  evenstroke export 1 job-1.zip",
		Args:    cobra.ExactArgs(2),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			n, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil {
				return badInput("export: found %q; expected the number of a job", args[0])
			}
			err = outfile.New(args[1], func(w io.Writer) error { return archive.Export(ctx, st, Version, n, w) })
			if err != nil {
				return err
			}
			if a.json {
				return a.printJSON(exportDoc{Job: n, File: args[1]})
			}
			fmt.Fprintf(a.out, "job %d: %s\n", n, args[1])
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// importDoc is the JSON of `evenstroke import`.
type importDoc struct {
	Job   int64 `json:"job"` // its number in this shop
	Added int64 `json:"entries_added"`
}

func (a *app) importCmd() *cobra.Command {
	f := shopFlags{alone: "import"}
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Take in the archive of a job of another shop",
		Long: `Takes in an archive that export made. A job that is here already is not taken twice; what the archive has more of it is added. It is
all or nothing: an archive that is damaged changes nothing. While the shop is served from a file, take archives in on its pages instead.`,
		Example: "  evenstroke import job-1.zip --data new-folder",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			file, err := os.Open(args[0])
			if err != nil {
				return badInput("import: %s: it cannot be opened (%v); expected an archive that export made", args[0], errors.Unwrap(err))
			}
			info, err := file.Stat()
			if err != nil {
				return errors.Join(err, file.Close())
			}
			got, err := archive.Import(ctx, st, file, info.Size(), 0, 0)
			if err = errors.Join(err, file.Close()); err != nil {
				return ofFile(args[0], err)
			}
			if a.json {
				return a.printJSON(importDoc{Job: got.Number, Added: int64(got.Added)})
			}
			fmt.Fprintf(a.out, "job %d: %d entries taken in\n", got.Number, got.Added)
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}
