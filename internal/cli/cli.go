// Package cli is the command line: it reads files and flags, asks the science packages, and prints what they answer. It
// computes nothing itself.
//
// Exit codes: 0 done; 1 the program failed, or its output did not arrive whole; 2 the input is wrong (nothing was written); with
// --strict 3 when the verdict is "does not hold" or a build departs from the order of work, 4 when it is "not proven yet".
package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/sheet"
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
)

// inputError is an error that the person can mend: exit code 2.
type inputError struct{ err error }

func (e inputError) Error() string { return e.err.Error() }
func (e inputError) Unwrap() error { return e.err }

func badInput(format string, args ...any) error { return inputError{fmt.Errorf(format, args...)} }

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
	a := &app{in: in, out: &sink{w: out}, err: errw}
	root := a.root()
	root.SetArgs(args)
	err := root.Execute()
	if lost := a.out.lost(); lost != nil {
		err = lost // what the command found out is not known to whoever reads half of it
	}
	return a.code(err)
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
	exit := exitFailed
	var in inputError
	var refusal *hold.Refusal
	var place *outfile.Refusal
	if errors.As(err, &in) || errors.As(err, &refusal) || errors.As(err, &place) || sheet.List(err) != nil {
		exit = exitInput
	}
	if a.json {
		a.jsonError(err)
		return exit
	}
	for _, line := range strings.Split(err.Error(), "\n") {
		fmt.Fprintln(a.err, "evenstroke: "+line)
	}
	return exit
}

// errorDoc is how an error looks with --json.
type errorDoc struct {
	Error  string             `json:"error"`
	Sheet  sheet.Errors       `json:"in_file,omitempty"`
	Refuse []hold.RefusalItem `json:"refused,omitempty"`
}

func describeError(err error) errorDoc {
	doc := errorDoc{Error: err.Error(), Sheet: sheet.List(err)}
	var refusal *hold.Refusal
	if errors.As(err, &refusal) {
		doc.Refuse = refusal.Items
	}
	return doc
}

func (a *app) jsonError(err error) {
	data, merr := json.Marshal(describeError(err))
	if merr != nil {
		fmt.Fprintln(a.err, "evenstroke: "+err.Error())
		return
	}
	fmt.Fprintln(a.err, string(data))
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
	root.AddCommand(a.demoCmd(), a.sheetCmd(), a.holdCmd(), a.strokeCmd(), a.torqueCmd(), a.stackCmd(), a.workCmd(), a.schemaCmd(), a.versionCmd(), a.serveCmd(), a.backupCmd(),
		a.restoreCmd(), a.verifyCmd(), a.exportCmd(), a.importCmd(), a.pinCmd(), a.deviceCmd(), a.tokenCmd())
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetHelpCommand(helpCmd())
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	each(root, guard)
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
	enc := json.NewEncoder(a.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
