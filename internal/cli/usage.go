package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/evenstroke/evenstroke/sheet"
)

// each calls fn on a command and on all under it.
func each(c *cobra.Command, fn func(*cobra.Command)) {
	fn(c)
	for _, under := range c.Commands() {
		each(under, fn)
	}
}

// guard makes a wrong number of arguments an input error, and a command that only holds others show its help or say which of them was
// probably meant.
func guard(c *cobra.Command) {
	if c.HasSubCommands() {
		c.Args, c.RunE = oneOf, func(c *cobra.Command, _ []string) error { return c.Help() }
		return
	}
	check := c.Args
	if check == nil {
		check = cobra.ArbitraryArgs
	}
	c.Args = func(c *cobra.Command, args []string) error {
		if check(c, args) != nil {
			return badInput("%s: found %d arguments; expected `%s`; see `%s --help`", name(c), len(args), strings.TrimSuffix(c.UseLine(), " [flags]"), c.CommandPath())
		}
		return nil
	}
}

// name is a command as it stands after the name of the program: "token make"; "command" for the program itself.
func name(c *cobra.Command) string {
	if !c.HasParent() {
		return "command"
	}
	return strings.TrimPrefix(c.CommandPath(), c.Root().Name()+" ")
}

// oneOf refuses a word that is none of the commands under c.
func oneOf(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, under := range c.Commands() {
		if under.IsAvailableCommand() {
			names = append(names, under.Name())
		}
	}
	return badInput("%s: found %q; expected one of %s%s; see `%s --help`%s", name(c), args[0], strings.Join(names, ", "), meant(args[0], names), c.CommandPath(), lacks)
}

// meant is "; did you mean …?" when one of the options is near.
func meant(s string, options []string) string {
	if near := sheet.Nearest(s, options); near != "" {
		return "; " + near
	}
	return ""
}

// flagError says what is wrong with a flag.
func flagError(c *cobra.Command, err error) error {
	see := fmt.Sprintf("see `%s --help`", c.CommandPath())
	var unknown *pflag.NotExistError
	var lacking *pflag.ValueRequiredError
	var wrong *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		var names []string
		list := func(f *pflag.Flag) { names = append(names, f.Name) }
		c.Flags().VisitAll(list)
		flag := unknown.GetSpecifiedName()
		if short := unknown.GetSpecifiedShortnames(); short != "" {
			return badInput("%s: found -%s; expected one of its flags, with two hyphens; %s", name(c), short, see)
		}
		return badInput("%s: found --%s; expected one of its flags%s; %s", name(c), flag, meant(flag, names), see)
	case errors.As(err, &lacking):
		return badInput("%s: --%s: found nothing; expected %s after it; %s", name(c), lacking.GetFlag().Name, kindOfFlag(lacking.GetFlag()), see)
	case errors.As(err, &wrong):
		return badInput("%s: --%s: found %q; expected %s; %s", name(c), wrong.GetFlag().Name, wrong.GetValue(), kindOfFlag(wrong.GetFlag()), see)
	}
	return badInput("%s: %w; %s", name(c), err, see)
}

// kindOfFlag says what a flag takes.
func kindOfFlag(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "bool":
		return "true or false"
	case "int", "uint64":
		return "a whole number"
	case "float64":
		return "a number"
	}
	return "a value"
}

// helpCmd shows the help of a command, or says which was probably meant.
func helpCmd() *cobra.Command {
	return &cobra.Command{
		Use: "help [COMMAND]", Short: "Show what a command does, with its flags and examples",
		Example: "  evenstroke help hold",
		Args:    cobra.ArbitraryArgs,
		ValidArgsFunction: func(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			at, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var out []string
			for _, under := range at.Commands() {
				if under.IsAvailableCommand() {
					out = append(out, cobra.CompletionWithDesc(under.Name(), under.Short))
				}
			}
			return out, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			at, rest, err := c.Root().Find(args)
			if err != nil {
				return oneOf(c.Root(), args)
			}
			if len(rest) > 0 && at.HasSubCommands() {
				return oneOf(at, rest)
			}
			at.InitDefaultHelpFlag()
			return at.Help()
		},
	}
}
