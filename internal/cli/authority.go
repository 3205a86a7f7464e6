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

// authorityFlags say where the certificate authority of a shop is kept.
type authorityFlags struct{ data, config string }

func (f *authorityFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.data, "data", serve.Default().Data, "folder of the database and the certificates")
	c.Flags().StringVar(&f.config, "config", "", "configuration file (YAML) of serve")
	c.Annotations = onShop
}

// folder is the data folder of the shop.
func (f *authorityFlags) folder(c *cobra.Command) (string, error) {
	cfg := serve.Default()
	if err := configure(&cfg, f.config); err != nil {
		return "", err
	}
	if c.Flags().Changed("data") {
		cfg.Data = f.data
	}
	return cfg.Data, nil
}

func (a *app) authorityCmd() *cobra.Command {
	c := &cobra.Command{
		Use:   "authority",
		Short: "Show the shop's own certificate authority, or put a new one in its place",
		Args:  cobra.NoArgs,
	}
	c.AddCommand(a.authorityShowCmd(), a.authorityReplaceCmd())
	return c
}

func (a *app) authorityShowCmd() *cobra.Command {
	var f authorityFlags
	c := &cobra.Command{
		Use:     "show",
		Short:   "Print the name, the fingerprint and the end of the authority that tablets trust",
		Example: "  evenstroke authority show",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			data, err := f.folder(c)
			if err != nil {
				return err
			}
			ca, err := serve.AuthorityOf(data)
			if err != nil {
				return noAuthority(data, err)
			}
			return a.printAuthority(describeAuthority(ca, ""))
		},
	}
	f.add(c)
	return c
}

func (a *app) authorityReplaceCmd() *cobra.Command {
	var f authorityFlags
	c := &cobra.Command{
		Use:   "replace",
		Short: "Put a new authority in the place of one whose key somebody may have, or which ends soon",
		Long: `Makes a new certificate authority and deletes the key of the old one. Start the server again afterwards. Each tablet has to learn to trust the
new root (the page /trust), and the old one has to be taken off it: as long as a tablet trusts the old root, whoever has a copy of
its key can pose as the workshop to that tablet. It can be done while the server runs.`,
		Example: "  evenstroke authority replace",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			data, err := f.folder(c)
			if err != nil {
				return err
			}
			ca, old, err := serve.ReplaceAuthority(data)
			if err != nil {
				return noAuthority(data, err)
			}
			return a.printAuthority(describeAuthority(ca, old))
		},
	}
	f.add(c)
	return c
}

func noAuthority(data string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return badInput("%s: found no certificate authority; expected the folder of a shop that was served on the network; give --data", data)
	}
	return err
}

func describeAuthority(ca serve.Authority, old string) authorityDoc {
	return authorityDoc{Name: ca.Name, Fingerprint: ca.Fingerprint, Until: ca.Until, Replaced: old}
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
