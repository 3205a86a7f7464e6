//go:build !small

package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/serve"
	"github.com/evenstroke/evenstroke/internal/store"
)

// onShop marks commands that work on the records of a shop.
var onShop = map[string]string{"on": "shop"}

// shopFlags say where the records of a shop are, for the commands that work on them without serving.
type shopFlags struct {
	data, database, config string
	alone                  string // the command, when it keeps the records for itself
}

func (f *shopFlags) add(c *cobra.Command) {
	f.addFolder(c)
	c.Flags().StringVar(&f.database, "database", "", "address of PostgreSQL instead of a file in --data")
}

// addFolder adds the flags of what lies in the folder whichever the database is.
func (f *shopFlags) addFolder(c *cobra.Command) {
	c.Flags().StringVar(&f.data, "data", serve.Default().Data, "folder of the database file and the certificates")
	c.Flags().StringVar(&f.config, "config", "", "configuration file (YAML) of serve")
}

// where is the address of the store that the flags name.
func (f *shopFlags) where(c *cobra.Command) (string, error) {
	cfg, err := f.configured(c)
	return cfg.Where(), err
}

// configured is the configuration that the flags name.
func (f *shopFlags) configured(c *cobra.Command) (serve.Config, error) {
	cfg := serve.Default()
	if err := configure(&cfg, f.config); err != nil {
		return cfg, err
	}
	if c.Flags().Changed("data") {
		cfg.Data = f.data
	}
	if c.Flags().Changed("database") {
		cfg.Database = f.database
	}
	return cfg, nil
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
	st, err := store.Open(c.Context(), where, store.Options{Alone: f.alone})
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

// backupDoc is the JSON of `evenstroke backup`.
type backupDoc struct {
	File    string  `json:"file"`
	Checked bool    `json:"checked"` // the copy was read again row by row
	TookS   float64 `json:"took_s"`
	Head    headDoc `json:"head"`
}

// headDoc is the last link of the chain of a shop.
type headDoc struct {
	Link   int64  `json:"link"`
	Digest string `json:"digest"` // in hexadecimal
}

func describeHead(link int64, digest record.Digest) headDoc { return headDoc{link, digest.String()} }

func (h headDoc) String() string {
	return fmt.Sprintf("head of the chain: link %d, %s", h.Link, h.Digest)
}

func (a *app) backupCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy all records of a shop into one file, while it is being served",
		Long: `Writes a copy of the database, whichever it is, into one new file, and checks the copy row by row before it says that it is done.
The folder "authority" beside the database holds the certificate authority of the shop: copy it as well, or tablets must trust a
new one after a loss. The head of the chain that it prints stands in each later state of the records: write it down elsewhere, for
verify --expect.`,
		Example: "  evenstroke backup workshop-copy.db",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			if _, err := os.Stat(filepath.Dir(args[0])); err != nil {
				return badInput("backup: %s: found no such folder; expected a new name in a folder that is there; make the folder first", args[0])
			}
			defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
			begin := time.Now()
			if err := st.Backup(ctx, args[0]); err != nil {
				return err
			}
			took := time.Since(begin)
			link, digest, err := store.HeadOf(ctx, args[0])
			if err != nil {
				return err
			}
			head := describeHead(link, digest)
			if a.json {
				return a.printJSON(backupDoc{File: args[0], Checked: true, TookS: took.Seconds(), Head: head})
			}
			fmt.Fprintf(a.out, "backup: %s, checked, in %s\n%s\n", args[0], took.Round(time.Millisecond), head)
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// restoreDoc is the JSON of `evenstroke restore`.
type restoreDoc struct {
	File string `json:"file"` // the backup that was put back
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
			defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
			ctx, end := a.storeProgress(context.Background())
			err = store.Restore(ctx, args[0], where)
			end()
			if err != nil {
				return ofFile(args[0], err)
			}
			if a.json {
				return a.printJSON(restoreDoc{File: args[0]})
			}
			fmt.Fprintf(a.out, "restored: %s\n", args[0])
			return nil
		},
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// verifyDoc is the JSON of `evenstroke verify`.
type verifyDoc struct {
	Sound    bool         `json:"sound"`
	Entries  int64        `json:"entries"`
	Jobs     int64        `json:"jobs"`
	Items    int64        `json:"catalogue_values"`
	Links    int64        `json:"links"`
	Photos   int64        `json:"photos"`
	Head     headDoc      `json:"head"`
	Problems []problemDoc `json:"problems"` // the first hundred
	More     int64        `json:"more_problems"`
}

type problemDoc struct {
	Where string `json:"where"`
	What  string `json:"what"`
}

func describeVerify(r *store.Report, head headDoc) verifyDoc {
	d := verifyDoc{Head: head, Sound: r.Sound(), Entries: r.Entries, Jobs: r.Jobs, Items: r.Items, Links: r.Links, Photos: r.Photos, Problems: []problemDoc{}, More: r.More}
	for _, p := range r.Problems {
		d.Problems = append(d.Problems, problemDoc{p.Where, p.What})
	}
	return d
}

func (a *app) verifyCmd() *cobra.Command {
	var f shopFlags
	var k keptElsewhere
	c := &cobra.Command{
		Use:   "verify",
		Short: "Read every record of a shop and check that nothing was changed or lost",
		Long: `Reads every row: the digests and the chain of each job and each value of the catalogue, the chain of what was signed, the summaries,
the words of the search, the pictures, and the database file itself. Exit code 1 when anything is wrong.

Somebody who may write the database can make all digests anew. With --against each entry of a backup must stand unchanged in the store; with
--expect a digest that was kept elsewhere must stand in it: a head as backup and verify print it, or the mark of a record on paper. With --head
the signature of a file that serve wrote must fit and its digest must stand in the chain; it must be signed with the key of --head-key (as serve
logs it), without that with the one that lies with the data.`,
		Example: "  evenstroke verify\n  evenstroke verify --json --data new-folder",
		Args:    cobra.NoArgs,
	}
	c.RunE = f.onStore(func(ctx context.Context, st *store.Store, _ []string) error {
		defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
		told, end := a.storeProgress(ctx)
		r, err := st.Verify(told)
		end()
		if err != nil {
			return err
		}
		cfg, err := f.configured(c)
		if err != nil {
			return err
		}
		if err := k.check(ctx, st, r, cfg.Data); err != nil {
			return err
		}
		link, digest, err := st.Head(ctx)
		if err != nil {
			return err
		}
		head := describeHead(link, digest)
		if a.json {
			return errors.Join(a.printJSON(describeVerify(r, head)), unsound(r))
		}
		a.para("", "%d entries, %d jobs, %d values of the catalogue, %d links, %d photos", r.Entries, r.Jobs, r.Items, r.Links, r.Photos)
		fmt.Fprintln(a.out, head)
		for _, p := range r.Problems {
			a.para("", "✘ %s: %s", p.Where, p.What)
		}
		if r.Sound() {
			fmt.Fprintln(a.out, "✔ all sound")
		}
		return unsound(r)
	})
	f.add(c)
	c.Flags().StringVar(&k.against, "against", "", "a backup, each entry of which must stand unchanged")
	c.Flags().StringArrayVar(&k.expect, "expect", nil, "a digest that was kept elsewhere and must stand (can be given again)")
	c.Flags().StringArrayVar(&k.heads, "head", nil, "a signed head that serve wrote and that must stand (can be given again)")
	c.Flags().StringVar(&k.key, "head-key", "", "the key that signed them, as serve logs it")
	c.Annotations = onShop
	return c
}

func unsound(r *store.Report) error {
	if r.Sound() {
		return nil
	}
	return fmt.Errorf("verify: found %d problems", int64(len(r.Problems))+r.More)
}
