//go:build !small

package cli

import "github.com/spf13/cobra"

// lacks says which commands this build has not.
const lacks = ""

// shopCommands are the commands that serve the records of a shop or work on them. Most of what is compiled is for them.
func (a *app) shopCommands() []*cobra.Command {
	return []*cobra.Command{a.serveCmd(), a.backupCmd(), a.restoreCmd(), a.verifyCmd(), a.exportCmd(), a.importCmd(), a.pinCmd(), a.deviceCmd(), a.tokenCmd(), a.authorityCmd()}
}
