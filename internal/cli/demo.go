package cli

import (
	"github.com/spf13/cobra"
)

func (a *app) demoCmd() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "demo", Short: "Do the demo workshop's whole job", Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { _ = dir; return nil },
	}
	return c
}
