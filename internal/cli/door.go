//go:build !small

package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// person is somebody of the shop, with the number.
type person struct {
	id    int64
	name  string
	value *record.Person
}

// people lists who works in the shop.
func people(ctx context.Context, st *store.Store) ([]person, error) {
	items, err := st.Items(ctx, record.OfPerson, store.Page{Limit: 1000})
	if err != nil {
		return nil, err
	}
	var out []person
	for _, p := range items {
		out = append(out, person{p.Subject.ID, p.Label, p.Value.(*record.Person)})
	}
	return out, nil
}

// personNamed finds somebody by name or number.
func personNamed(ctx context.Context, st *store.Store, name string) (person, error) {
	all, err := people(ctx, st)
	if err != nil {
		return person{}, err
	}
	var names []string
	for _, p := range all {
		if p.name == name || strconv.FormatInt(p.id, 10) == name {
			return p, nil
		}
		names = append(names, p.name)
	}
	return person{}, badInput("person %q: found nobody of that name; expected the name or number of a person of the shop%s", name, meant(name, names))
}

// owner finds an owner, in whose name the server's own terminal acts.
func owner(ctx context.Context, st *store.Store) (person, error) {
	all, err := people(ctx, st)
	if err != nil {
		return person{}, err
	}
	for _, p := range all {
		if p.value.Role == record.Owner {
			return p, nil
		}
	}
	return person{}, badInput("found no owner; expected a shop that is set up; open it in a browser first: evenstroke serve")
}

// atDoor is a person as the gate sees one who has just signed in. Whoever can run a command on the server's own terminal can read and
// write the database too.
func (p person) atDoor() gate.Who { return gate.Who{Person: p.id, P: *p.value, Since: time.Now()} }

// pinDoc is the JSON of `evenstroke pin`.
type pinDoc struct {
	Person int64  `json:"person"`
	Name   string `json:"name"`
}

// pinCmd is the way back in when nobody can sign in any more.
func (a *app) pinCmd() *cobra.Command {
	var f shopFlags
	c := &cobra.Command{
		Use:     "pin PERSON",
		Short:   "Set the PIN of a person, by name or number, when nobody can sign in; it is read from the standard input",
		Example: "  echo 804937 | evenstroke pin 'Mara Kell'",
		Args:    cobra.ExactArgs(1),
		RunE: f.onStore(func(ctx context.Context, st *store.Store, args []string) error {
			p, err := personNamed(ctx, st, args[0])
			if err != nil {
				return err
			}
			pin, err := a.secret("New PIN of " + p.name)
			if err != nil {
				return badInput("pin: found no PIN; expected one line with 6 to 12 digits")
			}
			if err := gate.New(st, gate.Options{}).Recover(ctx, p.id, pin); err != nil {
				return err
			}
			if a.json {
				return a.printJSON(pinDoc{p.id, p.name})
			}
			fmt.Fprintf(a.out, "The PIN of %s is set.\n", p.name)
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}

// secret asks for one word on the standard input.
func (a *app) secret(question string) (string, error) {
	var s string
	fmt.Fprint(a.err, question+": ")
	_, err := fmt.Fscanln(a.in, &s)
	return strings.TrimSpace(s), err
}

// deviceDoc is the JSON of `evenstroke device`.
type deviceDoc struct {
	Code  string    `json:"code"`
	Open  string    `json:"open"` // path of the page that asks for the code
	Until time.Time `json:"until"`
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
			p, err := owner(ctx, st)
			if err != nil {
				return err
			}
			code, until, err := gate.New(st, gate.Options{}).MakeCode(ctx, p.atDoor())
			if err != nil {
				return err
			}
			if a.json {
				return a.printJSON(deviceDoc{Code: code, Open: "/let-in", Until: until.UTC().Truncate(time.Second)})
			}
			fmt.Fprintf(a.out, "Open /let-in and give the code %s before %s.\n", code, until.Local().Format("15:04"))
			return nil
		}),
	}
	f.add(c)
	c.Annotations = onShop
	return c
}
