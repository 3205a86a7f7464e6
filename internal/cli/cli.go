// Package cli is the command line: it reads files and flags, asks the science packages, and prints what they answer. It
// computes nothing itself.
//
// Exit codes: 0 done; 1 the program failed; 2 the input is wrong (nothing was written); with --strict 3 when the verdict is
// "does not hold" or a build departs from the order of work, 4 when it is "not proven yet".
package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/pump"
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
	in       io.Reader
	out, err io.Writer
	units    string
	unitOf   []string
	json     bool
	strict   bool
	sys      unit.System
}

// Main runs the command line and returns the exit code.
func Main(args []string, in io.Reader, out, errw io.Writer) int {
	a := &app{in: in, out: out, err: errw}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	return a.code(root.Execute())
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
	if errors.As(err, &in) || errors.As(err, &refusal) || sheet.List(err) != nil {
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
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return badInput("%s: %w; see `evenstroke %s --help`", c.Name(), err, c.Name())
	})
	root.AddCommand(a.demoCmd(), a.sheetCmd(), a.holdCmd(), a.strokeCmd(), a.torqueCmd(), a.stackCmd(), a.workCmd(), a.schemaCmd(), a.versionCmd(), a.serveCmd(), a.backupCmd(),
		a.restoreCmd(), a.verifyCmd(), a.exportCmd(), a.importCmd(), a.pinCmd(), a.deviceCmd())
	for _, c := range root.Commands() {
		c.Args = inputArgs(c.Args)
	}
	root.Args = inputArgs(cobra.NoArgs)
	root.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	root.CompletionOptions.HiddenDefaultCmd = true
	return root
}

// inputArgs makes a wrong number of arguments an input error.
func inputArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if check == nil {
			return nil
		}
		if err := check(c, args); err != nil {
			return badInput("%s: %w; see `evenstroke %s --help`", c.Name(), err, c.Name())
		}
		return nil
	}
}

func (a *app) setUnits() error {
	switch a.units {
	case "metric":
		a.sys = unit.Metric()
	case "imperial":
		a.sys = unit.Imperial()
	default:
		return badInput("--units: found %q; expected metric or imperial", a.units)
	}
	for _, pair := range a.unitOf {
		name, u, ok := strings.Cut(pair, "=")
		d, known := dimNamed(name)
		if !ok || !known {
			return badInput("--unit: found %q; expected kind=unit, e.g. pressure=psi or torque=lbf·ft", pair)
		}
		sys, err := a.sys.With(d, u)
		if err != nil {
			return badInput("--unit %s: %w", name, err)
		}
		a.sys = sys
	}
	return nil
}

func dimNamed(name string) (unit.Dim, bool) {
	for _, d := range unit.Dims() {
		if d.String() == strings.TrimSpace(name) {
			return d, true
		}
	}
	return 0, false
}

func (a *app) versionCmd() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Print the version of the program and of its model", Args: cobra.NoArgs,
		Example: "  evenstroke version",
		RunE: func(*cobra.Command, []string) error {
			if a.json {
				return a.printJSON(map[string]string{"version": Version, "model": hold.Version})
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

// readFile reads a file that the person named.
func readFile(name string) ([]byte, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, badInput("%s: no such file can be opened (%v)", name, errors.Unwrap(err))
	}
	if st.IsDir() {
		return nil, badInput("%s: found a folder; expected a file", name)
	}
	if st.Size() > 64<<20 {
		return nil, badInput("%s: found %d bytes; expected at most 64 MiB", name, st.Size())
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, badInput("%s: %v", name, err)
	}
	return data, nil
}

// loadPump reads a pump sheet by file name, else a demo pump by its name. dir is tried before the working folder.
func loadPump(name, dir string) (*pump.Pump, error) {
	for _, path := range []string{filepath.Join(dir, name), name} {
		if _, err := os.Stat(path); err == nil && !filepath.IsAbs(name) || filepath.IsAbs(name) && path == name {
			data, err := readFile(path)
			if err != nil {
				return nil, err
			}
			return pump.Read(path, data)
		}
	}
	data, err := pump.DemoSheet(name)
	if err != nil {
		return nil, badInput("pump %q: found neither a file nor a demo pump of that name; expected a pump sheet or one of %s", name, strings.Join(pump.Demo(), ", "))
	}
	return pump.Read(name+".yaml (demo)", data)
}

// loadText reads a file by its name, else the demo file of that name.
func loadText(name string) (data []byte, dir string, err error) {
	if _, statErr := os.Stat(name); statErr == nil {
		data, err = readFile(name)
		return data, filepath.Dir(name), err
	}
	if data, ok := demo.File(name); ok {
		return data, "", nil
	}
	return nil, "", badInput("%s: found neither a file nor a demo file of that name; expected a file, or one of %s", name, strings.Join(demo.Names(), ", "))
}

// writeFile writes a result by way of a temporary file, so that nothing half-written is left behind.
func writeFile(name string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(name), ".evenstroke-*")
	if err != nil {
		return badInput("%s: cannot write there: %v", name, err)
	}
	_, werr := tmp.Write(data)
	if err := errors.Join(werr, tmp.Chmod(0o644), tmp.Close()); err != nil {
		return errors.Join(err, os.Remove(tmp.Name()))
	}
	return os.Rename(tmp.Name(), name)
}
