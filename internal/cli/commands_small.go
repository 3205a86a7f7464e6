//go:build small

package cli

import "github.com/spf13/cobra"

const lacks = "; this build (-tags small) has no commands for the records of a shop: build without the tag"

func (a *app) shopCommands() []*cobra.Command { return nil }
