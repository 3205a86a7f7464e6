// Package cli is the command line: it reads files and flags, asks the science packages, and prints what they answer. It
// computes nothing itself.
//
// Exit codes: 0 done; 1 the program failed, or its output did not arrive whole; 2 the input is wrong (nothing was written); with
// --strict 3 when the verdict is "does not hold" or a build departs from the order of work, 4 when it is "not proven yet", 5 when a
// joint or a packing set would not stand what is asked of it, or a sheet can hardly be. An order of work through such a joint is refused
// with 5 in any case, unless a person answers for it.
package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/unit"
)

// Version is printed by `evenstroke version` and stands in every report.
const Version = "0.1.0"

// The exit codes.
const (
	exitFailed   = 1
	exitInput    = 2
	exitNo       = 3
	exitUnproven = 4
	exitOverload = 5
)

// verdictError carries an exit code of --strict; it prints nothing.
type verdictError int

func (e verdictError) Error() string { return "" }

// app is one run of the program.
type app struct {
	in     io.Reader
	out    *sink
	err    io.Writer
	units  string
	unitOf []string
	json   bool
	strict bool
	sys    unit.System
}

// Main runs the command line and returns the exit code.
func Main(args []string, in io.Reader, out, errw io.Writer) int {
	a := &app{in: in, out: &sink{w: out}, err: errw, sys: unit.Metric()}
	root := a.root()
	root.SetArgs(args)
	err := root.Execute()
	if lost := a.out.lost(); lost != nil {
		err = lost // what the command found out is not known to whoever reads half of it
	}
	return a.code(err)
}

// Commands returns the tree of all commands, from which manual pages are made.
func Commands() *cobra.Command {
	return (&app{in: strings.NewReader(""), out: &sink{w: io.Discard}, err: io.Discard, sys: unit.Metric()}).root()
}

// code prints an error once and turns it into an exit code.
func (a *app) code(err error) int {
	if err == nil {
		return 0
	}
	var v verdictError
	if errors.As(err, &v) {
		return int(v)
	}
	if a.json {
		a.jsonError(err)
	} else {
		for _, line := range strings.Split(a.text(err), "\n") {
			fmt.Fprintln(a.err, "evenstroke: "+line)
		}
	}
	var over overloadError
	switch {
	case errors.As(err, &over):
		return exitOverload
	case isInput(err):
		return exitInput
	}
	return exitFailed
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "evenstroke",
		Short: "Find what leaks in an airless sprayer's piston pump, rebuild it in the right order, prove that it holds",
		Long: `evenstroke finds, from a gauge, a stopwatch and a ruler, which seal or valve of a reciprocating piston pump lets fluid by,
with a probability; it orders the rebuild, and says when a hold has proven enough.

Start with the demo workshop:  evenstroke demo

It does not replace the maker's manual, local rules or trained hands: fluid under this pressure goes through skin.`,
		SilenceErrors: true, SilenceUsage: true,
		PersistentPreRunE: func(*cobra.Command, []string) error { return a.setUnits() },
	}
	root.PersistentFlags().StringVar(&a.units, "units", "metric", "units to print: metric or imperial")
	root.PersistentFlags().StringArrayVar(&a.unitOf, "unit", nil, "unit of one kind, e.g. --unit pressure=psi (may be repeated)")
	root.PersistentFlags().BoolVar(&a.json, "json", false, "print one JSON document; its schema: evenstroke schema")
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(a.demoCmd(), a.sheetCmd(), a.holdCmd(), a.strokeCmd(), a.torqueCmd(), a.stackCmd(), a.workCmd(), a.schemaCmd(), a.versionCmd(), a.newCmd())
	root.AddCommand(a.shopCommands()...)
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetHelpFunc(a.help)
	root.SetHelpCommand(helpCmd())
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	each(root, guard)
	complete(root)
	return root
}

// versionDoc is the JSON of `evenstroke version`.
type versionDoc struct {
	Version string `json:"version"`
	Model   string `json:"model"`
}

func (a *app) versionCmd() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Print the version of the program and of its model", Args: cobra.NoArgs,
		Example: "  evenstroke version",
		RunE: func(*cobra.Command, []string) error {
			if a.json {
				return a.printJSON(versionDoc{Version, hold.Version})
			}
			fmt.Fprintf(a.out, "evenstroke %s (model %s)\n", Version, hold.Version)
			return nil
		},
	}
}

func (a *app) printJSON(v any) error {
	a.out.exact = true
	enc := json.NewEncoder(a.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
