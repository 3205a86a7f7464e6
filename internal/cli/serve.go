//go:build !small

package cli

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/serve"
)

func (a *app) serveCmd() *cobra.Command {
	def := serve.Default()
	var file string
	flags := def
	c := &cobra.Command{
		Use:   "serve",
		Short: "Serve the workshop to tablets, phones and screens",
		Long: `Serves the workshop's pages and its REST API. On this machine it answers plain HTTP on a loopback address. On the workshop's
network it answers HTTPS, once the shop is set up: by a small certificate authority of its own that each tablet learns to trust
under /trust, or by given files. All records are in one database file under --data, or in PostgreSQL under --database.

Flags come before the file (--config), the file before the defaults.`,
		Example: `  evenstroke serve
  evenstroke serve --demo --data demo-workshop
  evenstroke serve --config /etc/evenstroke/serve.yaml
  evenstroke serve --database "postgres://shop@db.lan/shop?sslmode=verify-full" --lan :443 --name workshop.lan`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			cfg := def
			if err := configure(&cfg, file); err != nil {
				return err
			}
			override(c, &cfg, flags)
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			return byFault(serve.Run(ctx, cfg, Version, a.out, a.err))
		},
	}
	c.Annotations = onShop
	f := c.Flags()
	f.StringVar(&file, "config", "", "configuration file (YAML)")
	f.StringVar(&flags.Data, "data", def.Data, "folder of the database file and the certificates")
	f.StringVar(&flags.Database, "database", "", "address of PostgreSQL instead of a file in --data")
	f.StringVar(&flags.Listen, "listen", def.Listen, "loopback address for this machine")
	f.StringVar(&flags.LAN, "lan", def.LAN, "address for the workshop's network (HTTPS), or none")
	f.StringVar(&flags.Trust, "trust", def.Trust, "address of the plain port that leads to HTTPS, or none")
	f.StringVar(&flags.Name, "name", "", "name under which tablets reach the shop")
	f.StringVar(&flags.Cert, "certificate", "", "certificate of the shop's own (PEM)")
	f.StringVar(&flags.Key, "key", "", "key of that certificate (PEM)")
	f.StringVar(&flags.Idle, "idle", def.Idle, "a person is signed out on a tablet that was not touched for so long")
	f.StringSliceVar(&flags.Proxies, "proxies", nil, "addresses or networks of proxies whose X-Forwarded-For is believed; nobody's without it")
	f.StringVar(&flags.Heads, "heads", "", "folder into which the signed head of the chain is written, one file a day")
	f.BoolVar(&flags.LogJSON, "log-json", false, "write the log as JSON")
	f.BoolVar(&flags.Demo, "demo", false, "fill an empty database with the demo workshop (invented); everybody's PIN is "+serve.DemoPIN)
	return c
}

// configure reads the configuration file, if one was named, over a configuration.
func configure(cfg *serve.Config, file string) error {
	if file == "" {
		return nil
	}
	data, err := readFile(file)
	if err != nil {
		return err
	}
	*cfg, err = serve.ReadConfig(*cfg, file, data)
	return asInput(err)
}

// override puts the flags that were given over a configuration.
func override(c *cobra.Command, cfg *serve.Config, flags serve.Config) {
	for name, pair := range map[string][2]*string{"data": {&cfg.Data, &flags.Data}, "database": {&cfg.Database, &flags.Database}, "listen": {&cfg.Listen, &flags.Listen},
		"lan": {&cfg.LAN, &flags.LAN}, "trust": {&cfg.Trust, &flags.Trust}, "name": {&cfg.Name, &flags.Name}, "certificate": {&cfg.Cert, &flags.Cert},
		"key": {&cfg.Key, &flags.Key}, "idle": {&cfg.Idle, &flags.Idle}, "heads": {&cfg.Heads, &flags.Heads}} {
		if c.Flags().Changed(name) {
			*pair[0] = *pair[1]
		}
	}
	if c.Flags().Changed("proxies") {
		cfg.Proxies = flags.Proxies
	}
	cfg.Demo = flags.Demo
	cfg.LogJSON = cfg.LogJSON || flags.LogJSON
}
