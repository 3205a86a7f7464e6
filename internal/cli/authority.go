//go:build !small

package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/serve"
)

// authorityDoc is the JSON of `evenstroke authority show` and `evenstroke authority replace`.
type authorityDoc struct {
	Name        string    `json:"name"`        // under which a tablet lists its root
	Fingerprint string    `json:"fingerprint"` // SHA-256 of the root, to compare with what a tablet shows
	Until       time.Time `json:"until"`
	Replaced    string    `json:"replaced,omitempty"` // the name of the one before, to be taken off each tablet
}

func (a *app) authorityCmd() *cobra.Command {
	c := &cobra.Command{
		Use:   "authority",
		Short: "Show the shop's own certificate authority, or put a new one in its place",
		Args:  cobra.NoArgs,
	}
	c.AddCommand(a.onAuthority(&cobra.Command{
		Use:     "show",
		Short:   "Print the name, the fingerprint and the end of the authority that tablets trust",
		Example: "  evenstroke authority show",
	}, func(data string) (serve.Authority, string, error) {
		ca, err := serve.AuthorityOf(data)
		return ca, "", err
	}), a.onAuthority(&cobra.Command{
		Use:   "replace",
		Short: "Put a new authority in the place of one whose key somebody may have, or which ends soon",
		Long: `Makes a new certificate authority and deletes the key of the old one. Start the server again afterwards. Each tablet has to learn to trust the
new root (the page /trust), and the old one has to be taken off it: as long as a tablet trusts the old root, whoever has a copy of
its key can pose as the workshop to that tablet. It can be done while the server runs.`,
		Example: "  evenstroke authority replace",
	}, serve.ReplaceAuthority))
	return c
}

// onAuthority has a command do something with the authority in the data folder of a shop, and print what is there then; old is the name of one that
// is not any more.
func (a *app) onAuthority(c *cobra.Command, do func(data string) (now serve.Authority, old string, err error)) *cobra.Command {
	var f shopFlags
	c.Args = cobra.NoArgs
	c.RunE = func(c *cobra.Command, _ []string) error {
		cfg, err := f.configured(c)
		if err != nil {
			return err
		}
		ca, old, err := do(cfg.Data)
		if err != nil {
			return noAuthority(cfg.Data, err)
		}
		return a.printAuthority(authorityDoc{Name: ca.Name, Fingerprint: ca.Fingerprint, Until: ca.Until, Replaced: old})
	}
	f.addFolder(c)
	c.Annotations = onShop
	return c
}

func noAuthority(data string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return badInput("%s: found no certificate authority; expected the folder of a shop that was served on the network; give --data", data)
	}
	return err
}

func (a *app) printAuthority(d authorityDoc) error {
	if a.json {
		return a.printJSON(d)
	}
	fmt.Fprintf(a.out, "%s, until %s\n", d.Name, d.Until.Format("2006-01-02"))
	fmt.Fprintln(a.out, a.hang(d.Fingerprint, "SHA-256 of its root: ", "  "))
	if d.Replaced != "" {
		a.para("", "Now start the server again. On each tablet: take %q off the list of trusted certificates, open /trust, and compare the fingerprint before the new one is installed.", d.Replaced)
	}
	return nil
}
