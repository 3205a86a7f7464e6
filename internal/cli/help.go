package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// help prints what a command does, in lines that fit the output; examples stay whole, to be copied.
func (a *app) help(c *cobra.Command, _ []string) {
	about := c.Long
	if about == "" {
		about = c.Short
	}
	for _, p := range strings.Split(strings.TrimSpace(about), "\n\n") {
		if strings.HasPrefix(p, "\t") || strings.HasPrefix(p, " ") { // lines to be copied
			fmt.Fprintln(a.out, p+"\n")
			continue
		}
		fmt.Fprintln(a.out, a.wrap(p, "")+"\n")
	}
	fmt.Fprintln(a.out, "Usage:")
	if c.HasAvailableSubCommands() {
		fmt.Fprintf(a.out, "  %s COMMAND\n\nCommands:\n", c.CommandPath())
		a.helpCommands(c)
		fmt.Fprintf(a.out, "\n%s\n", a.wrap(fmt.Sprintf("Of each: `%s COMMAND --help`", c.CommandPath()), ""))
	} else {
		fmt.Fprintln(a.out, a.hang(c.UseLine(), "  ", "    "))
	}
	a.helpFlags("Flags", c.LocalFlags())
	a.helpFlags("Flags of every command", c.InheritedFlags())
	if c.Example != "" {
		fmt.Fprintf(a.out, "\nExamples:\n%s\n", c.Example)
	}
}

func (a *app) helpCommands(c *cobra.Command) {
	name := 0
	for _, under := range c.Commands() {
		name = max(name, length(under.Name()))
	}
	for _, under := range c.Commands() {
		if under.IsAvailableCommand() {
			fmt.Fprintln(a.out, a.hang(under.Short, fmt.Sprintf("  %-*s  ", name, under.Name()), strings.Repeat(" ", name+4)))
		}
	}
}

// helpFlags lists flags, each with what it takes and its default.
func (a *app) helpFlags(title string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	fmt.Fprintf(a.out, "\n%s:\n", title)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		kind, about := pflag.UnquoteUsage(f)
		first := "  --" + f.Name
		if f.Shorthand != "" {
			first += ", -" + f.Shorthand
		}
		if kind != "" {
			first += " " + takes(f, kind)
		}
		if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "[]" {
			about += fmt.Sprintf(" (default %s)", f.DefValue)
		}
		fmt.Fprintln(a.out, first)
		fmt.Fprintln(a.out, a.wrap(about, "      "))
	})
}

// takes is what a flag takes, as it stands after its name.
func takes(f *pflag.Flag, kind string) string {
	switch f.Value.Type() {
	case "int", "uint64", "float64":
		return "NUMBER"
	case "stringSlice":
		return "TEXT,TEXT"
	}
	if kind == "string" || kind == "stringArray" {
		return "TEXT"
	}
	return kind
}
