package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/schema"
)

func (a *app) schemaCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [NAME]",
		Short: "Print the JSON Schemas of the files that go in and of the JSON that comes out",
		Example: `  evenstroke schema
  evenstroke schema hold`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				if a.json {
					return a.printJSON(schema.Names())
				}
				fmt.Fprintln(a.out, strings.Join(schema.Names(), "\n"))
				return nil
			}
			data, err := schema.File(args[0])
			if err != nil {
				return badInput("schema %q: found no such schema; expected one of %s", args[0], strings.Join(schema.Names(), ", "))
			}
			a.out.exact = true
			_, err = a.out.Write(data)
			return err
		},
	}
}
