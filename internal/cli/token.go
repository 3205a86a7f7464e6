//go:build !small

package cli

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/store"
)

// tokenDoc is the JSON of one API token.
type tokenDoc struct {
	ID      int64      `json:"id"`
	Name    string     `json:"name"`
	Person  string     `json:"person"`
	Scope   string     `json:"scope"`
	State   string     `json:"state"` // good, over or ended
	Created *time.Time `json:"created,omitempty"`
	Expires time.Time  `json:"expires"`
	Token   string     `json:"token,omitempty"` // the secret itself; only when it has just been made
}

// longestToken is the longest life of a token, in days.
const longestToken = 366

func (a *app) tokenCmd() *cobra.Command {
	c := &cobra.Command{
		Use:   "token",
		Short: "Make, list and end the tokens with which programs use the REST API, from the server's own terminal",
		Long: `A token lets a program use the REST API in the name of a person of the shop, with the rights of that person, office at most. It is
shown once, when it is made: only its digest is kept.`,
		Annotations: onShop,
	}
	c.AddCommand(a.tokenMakeCmd(), a.tokenListCmd(), a.tokenEndCmd())
	return c
}

func (a *app) tokenMakeCmd() *cobra.Command {
	var f shopFlags
	var name, scope string
	var days int
	c := &cobra.Command{
		Use:     "make PERSON",
		Short:   "Make a token in the name of a person and print it, once",
		Example: "  evenstroke token make 'Mara Kell' --name 'stock list' --scope read --days 90",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			if days < 1 || days > longestToken {
				return badInput("--days: found %d; expected 1 to %d", days, longestToken)
			}
			p, err := personNamed(ctx, st, args[0])
			if err != nil {
				return err
			}
			by, err := tokenMaker(ctx, st, p)
			if err != nil {
				return err
			}
			expires := time.Now().Add(time.Duration(days) * 24 * time.Hour)
			secret, id, err := gate.New(st, gate.Options{}).MakeToken(ctx, by.atDoor(), p.id, name, scope, expires)
			if err != nil {
				return err
			}
			if a.json {
				return a.printJSON(tokenDoc{ID: id, Name: name, Person: p.name, Scope: scope, State: "good", Expires: expires.UTC().Truncate(time.Second), Token: secret})
			}
			fmt.Fprintf(a.out, "%s\n", secret)
			fmt.Fprintf(a.err, "Token %d of %s, to %s, good until %s. It is not shown again: keep it where only the program reads it.\n",
				id, p.name, scope, expires.Local().Format(time.DateOnly))
			return nil
		}),
	}
	f.add(c)
	c.Flags().StringVar(&name, "name", "", "what the token is for, as \"stock list\"")
	c.Flags().StringVar(&scope, "scope", "read", "what it may: read or write")
	c.Flags().IntVar(&days, "days", 90, "for how many days it is good, a year at most")
	c.Annotations = onShop
	return c
}

// tokenMaker is in whose name a token for p is made: p where the gate lets a person make one for himself, else an owner.
func tokenMaker(ctx context.Context, st *store.Store, p person) (person, error) {
	if gate.May(p.atDoor(), gate.MakeToken) == nil {
		return p, nil
	}
	return owner(ctx, st)
}

func (a *app) tokenListCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the tokens of the shop, the newest first",
		Example: "  evenstroke token list",
		Args:    cobra.NoArgs,
		RunE: f.onStore(func(ctx context.Context, st *store.Store, _ []string) error {
			docs, err := tokenDocs(ctx, st)
			if err != nil {
				return err
			}
			if a.json {
				return a.printJSON(docs)
			}
			if len(docs) == 0 {
				fmt.Fprintln(a.out, "no tokens")
				return nil
			}
			t := table{head: []string{"number", "what for", "person", "may", "state", "good until"}}
			for _, d := range docs {
				t.add(strconv.FormatInt(d.ID, 10), d.Name, d.Person, d.Scope, d.State, d.Expires.Local().Format(time.DateOnly))
			}
			t.print(a.out, a.width())
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

func tokenDocs(ctx context.Context, st *store.Store) ([]tokenDoc, error) {
	all, err := people(ctx, st)
	if err != nil {
		return nil, err
	}
	name := map[int64]string{}
	for _, p := range all {
		name[p.id] = p.name
	}
	tokens, err := st.Tokens(ctx)
	if err != nil {
		return nil, err
	}
	docs := []tokenDoc{}
	for _, t := range tokens {
		d := tokenDoc{ID: t.ID, Name: t.Name, Person: name[t.Person], Scope: t.Scope, State: "good", Expires: t.Expires.UTC()}
		created := t.Created.UTC()
		d.Created = &created
		switch {
		case t.Revoked:
			d.State = "ended"
		case !t.Expires.After(time.Now()):
			d.State = "over"
		}
		docs = append(docs, d)
	}
	return docs, nil
}

func (a *app) tokenEndCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "end NUMBER",
		Short:   "End a token at once, by its number in the list",
		Example: "  evenstroke token end 1",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			docs, err := tokenDocs(ctx, st)
			if err != nil {
				return err
			}
			for _, d := range docs {
				if strconv.FormatInt(d.ID, 10) != args[0] {
					continue
				}
				by, err := owner(ctx, st)
				if err != nil {
					return err
				}
				if err := gate.New(st, gate.Options{}).RevokeToken(ctx, by.atDoor(), d.ID); err != nil {
					return err
				}
				d.State = "ended"
				if a.json {
					return a.printJSON(d)
				}
				fmt.Fprintf(a.out, "Token %d (%s, %s) is ended.\n", d.ID, d.Name, d.Person)
				return nil
			}
			return badInput("token end: found %q; expected the number of a token; see `evenstroke token list`", args[0])
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}
