package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/archive"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/serve"
	"github.com/evenstroke/evenstroke/internal/store"
)

// onShop marks commands that work on the records of a shop.
var onShop = map[string]string{"on": "shop"}

// shopFlags say where the records of a shop are, for the commands that work on them without serving.
type shopFlags struct{ data, database, config string }

func (f *shopFlags) add(c *cobra.Command) {
	def := serve.Default()
	c.Flags().StringVar(&f.data, "data", def.Data, "folder of the database file")
	c.Flags().StringVar(&f.database, "database", "", "address of PostgreSQL instead of a file in --data")
	c.Flags().StringVar(&f.config, "config", "", "configuration file (YAML) of serve")
}

// where is the address of the store that the flags name.
func (f *shopFlags) where(c *cobra.Command) (string, error) {
	cfg := serve.Default()
	if f.config != "" {
		var err error
		if cfg, err = serve.ReadConfig(cfg, f.config); err != nil {
			return "", asInput(err)
		}
	}
	if c.Flags().Changed("data") {
		cfg.Data = f.data
	}
	if c.Flags().Changed("database") {
		cfg.Database = f.database
	}
	return cfg.Where(), nil
}

// open opens the store of a shop that is there; it never makes one.
func (f *shopFlags) open(c *cobra.Command) (*store.Store, error) {
	where, err := f.where(c)
	if err != nil {
		return nil, err
	}
	if cfg := (serve.Config{Data: filepath.Dir(where)}); cfg.Where() == where {
		if _, err := os.Stat(where); err != nil {
			return nil, badInput("%s: found no database; expected the file of a shop; give --data, or --database", where)
		}
	}
	st, err := store.Open(c.Context(), where, store.Options{})
	return st, byFault(err)
}

// onStore runs a command on the store of a shop and closes it.
func (f *shopFlags) onStore(fn func(ctx context.Context, st *store.Store, args []string) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		if c.Context() == nil {
			c.SetContext(context.Background())
		}
		st, err := f.open(c)
		if err != nil {
			return err
		}
		return byFault(errors.Join(fn(c.Context(), st, args), st.Close()))
	}
}

func (a *app) backupCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy all records of a shop into one file, while it is being served",
		Long: `Writes a copy of the database, whichever it is, into one new file, and checks the copy row by row before it says that it is done.
The folder "authority" beside the database holds the certificate authority of the shop: copy it as well, or tablets must trust a
new one after a loss.`,
		Example: "  evenstroke backup workshop-copy.db",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			begin := time.Now()
			if err := st.Backup(ctx, args[0]); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "backup: %s, checked, in %s\n", args[0], time.Since(begin).Round(time.Millisecond))
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

func (a *app) restoreCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "restore FILE",
		Short:   "Put a backup back into an empty database of either engine",
		Example: "  evenstroke restore workshop-copy.db --data new-folder\n  evenstroke restore workshop-copy.db --database 'postgres://shop@db.lan/shop?sslmode=verify-full'",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			where, err := f.where(c)
			if err != nil {
				return err
			}
			if _, err := os.Stat(args[0]); err != nil {
				return badInput("restore: %s: found no such file; expected a backup", args[0])
			}
			if err := store.Restore(context.Background(), args[0], where); err != nil {
				return byFault(err)
			}
			fmt.Fprintf(a.out, "restored: %s\n", args[0])
			return nil
		},
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

func (a *app) verifyCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:   "verify",
		Short: "Read every record of a shop and check that nothing was changed or lost",
		Long: `Reads every row: the digests and the chain of each job and each value of the catalogue, the chain of what was signed, the summaries,
the words of the search, the pictures, and the database file itself. Exit code 1 when anything is wrong.`,
		Example: "  evenstroke verify\n  evenstroke verify --json --data new-folder",
		Args:    cobra.NoArgs,
		RunE: f.onStore(func(ctx context.Context, st *store.Store, _ []string) error {
			r, err := st.Verify(ctx)
			if err != nil {
				return err
			}
			if a.json {
				return errors.Join(a.printJSON(r), unsound(r))
			}
			fmt.Fprintf(a.out, "%d entries, %d jobs, %d values of the catalogue, %d links, %d photos\n", r.Entries, r.Jobs, r.Items, r.Links, r.Photos)
			for _, p := range r.Problems {
				fmt.Fprintf(a.out, "✘ %s: %s\n", p.Where, p.What)
			}
			if r.Sound() {
				fmt.Fprintln(a.out, "✔ all sound")
			}
			return unsound(r)
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

func unsound(r *store.Report) error {
	if r.Sound() {
		return nil
	}
	return fmt.Errorf("verify: found %d problems", int64(len(r.Problems))+r.More)
}

func (a *app) exportCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "export JOB FILE",
		Short:   "Write a whole job into one archive that another shop can take in",
		Example: "  evenstroke export 1 job-1.zip",
		Args:    cobra.ExactArgs(2),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			n, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil {
				return badInput("export: found %q; expected the number of a job", args[0])
			}
			file, err := os.OpenFile(args[1], os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
			if err != nil {
				return badInput("export: %v", err)
			}
			err = archive.Export(ctx, st, Version, n, file)
			if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
				return errors.Join(err, os.Remove(args[1]))
			}
			fmt.Fprintf(a.out, "job %d: %s\n", n, args[1])
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

func (a *app) importCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "import FILE",
		Short:   "Take in the archive of a job of another shop",
		Example: "  evenstroke import job-1.zip --data new-folder",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			file, err := os.Open(args[0])
			if err != nil {
				return badInput("import: %v", err)
			}
			info, err := file.Stat()
			if err != nil {
				return errors.Join(err, file.Close())
			}
			got, err := archive.Import(ctx, st, file, info.Size(), 0, 0)
			if err = errors.Join(err, file.Close()); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "job %d: %d entries taken in\n", got.Number, got.Added)
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// pinCmd is the way back in when nobody can sign in any more; whoever can run it can read the database too.
func (a *app) pinCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "pin PERSON",
		Short:   "Set the PIN of a person, by name or number, when nobody can sign in; it is read from the standard input",
		Example: "  echo 804937 | evenstroke pin 'Mara Kell'",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			people, err := st.Items(ctx, record.OfPerson, store.Page{Limit: 1000})
			if err != nil {
				return err
			}
			for _, p := range people {
				if p.Label != args[0] && strconv.FormatInt(p.Subject.ID, 10) != args[0] {
					continue
				}
				var pin string
				fmt.Fprintf(a.err, "New PIN of %s: ", p.Label)
				if _, err := fmt.Fscanln(a.in, &pin); err != nil {
					return badInput("pin: found no PIN; expected one line with 6 to 12 digits")
				}
				if err := gate.New(st, gate.Options{}).Recover(ctx, p.Subject.ID, pin); err != nil {
					return err
				}
				fmt.Fprintf(a.out, "The PIN of %s is set.\n", p.Label)
				return nil
			}
			return badInput("pin: found nobody named %q; expected the name or number of a person of the shop", args[0])
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// deviceCmd makes a code that lets a browser in, when no device of the shop is at hand.
func (a *app) deviceCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "device",
		Short:   "Make a code that lets one more browser in, when no device of the shop is at hand",
		Example: "  evenstroke device",
		Args:    cobra.NoArgs,
		RunE: f.onStore(func(ctx context.Context, st *store.Store, _ []string) error {
			people, err := st.Items(ctx, record.OfPerson, store.Page{Limit: 1000})
			if err != nil {
				return err
			}
			for _, p := range people {
				v := p.Value.(*record.Person)
				if v.Role != record.Owner {
					continue
				}
				code, until, err := gate.New(st, gate.Options{}).MakeCode(ctx, gate.Who{Person: p.Subject.ID, P: *v, Since: time.Now()})
				if err != nil {
					return err
				}
				fmt.Fprintf(a.out, "Open /let-in and give the code %s before %s.\n", code, until.Local().Format("15:04"))
				return nil
			}
			return badInput("device: found no owner; expected a shop that is set up")
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}
