package cli

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/unit"
)

// offer lists what may stand at one place of a command line, given the arguments before it and what is typed of it so far. What ends in
// "=" or "/" goes on.
type offer func(args []string, typed string) []string

// sheets are how the names of files that people write end.
var sheets = []string{".yaml", ".yml", ".json"}

// argOffers are what the shell offers for the arguments of a command, one after the other.
var argOffers = map[string][]offer{
	"hold":    {both(fixed(demo.Names()...), files(sheets...))},
	"stroke":  {pumps},
	"work":    {pumps},
	"torque":  {pumps, ofPump(jointNames)},
	"stack":   {pumps, ofPump(stackNames)},
	"schema":  {fixed(schema.Names()...)},
	"new":     {fixed(freshNames...), files()},
	"backup":  {files()},
	"restore": {files()},
	"import":  {files()},
	"export":  {fixed(), files()},
}

// flagOffers are the same for flags, which mean one thing in every command that has them.
var flagOffers = map[string]offer{
	"units": fixed("metric", "imperial"), "unit": unitsOfKinds,
	"pump": pumps, "prior": files(sheets...), "build": files(sheets...), "config": files(sheets...),
	"svg": files(".svg"), "csv": files(".csv"), "against": files(), "certificate": files(), "key": files(), "dir": files("/"), "data": files("/"),
	"class": fixed(bolt.ToolClasses()...), "friction": fixed(frictionClasses()...),
	"all":     fixed(string(pump.Keep), string(pump.Replace)),
	"replace": ofPump(partsFor(pump.Replace)), "keep": ofPump(partsFor(pump.Keep)), "turn": ofPump(partsFor(pump.TurnOver)), "lap": ofPump(partsFor(pump.Lap)), "hone": ofPump(partsFor(pump.Hone)),
	"mode": fixed(strokeModes...), "start": fixed("up", "down"), "fluid": fixed(strokeFluids...), "curve": fixed(strokeCurves...),
	"fault": faultOffer, "late": ofPump(valveNames), "vent": ofPump(chamberNames),
	"scope": fixed("read", "write"),
}

// complete has the shell offer names and values.
func complete(root *cobra.Command) {
	root.CompletionOptions.SetDefaultShellCompDirective(cobra.ShellCompDirectiveNoFileComp)
	each(root, func(c *cobra.Command) {
		if list := argOffers[name(c)]; list != nil {
			c.ValidArgsFunction = func(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
				if len(args) >= len(list) {
					return nil, cobra.ShellCompDirectiveNoFileComp
				}
				return list[len(args)].answer(args, typed)
			}
		}
		if name(c) == "sheet" { // as many as one likes
			c.ValidArgsFunction = func(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
				return offer(pumps).answer(args, typed)
			}
		}
		for flag, o := range flagOffers {
			if c.Flags().Lookup(flag) == nil && c.PersistentFlags().Lookup(flag) == nil {
				continue
			}
			err := c.RegisterFlagCompletionFunc(flag, func(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
				return o.answer(args, typed)
			})
			if err != nil { // the program offers for one flag twice
				panic(err)
			}
		}
	})
}

// answer gives the shell what begins as it is typed.
func (o offer) answer(args []string, typed string) ([]string, cobra.ShellCompDirective) {
	how := cobra.ShellCompDirectiveNoFileComp
	var out []string
	for _, w := range o(args, typed) {
		if !strings.HasPrefix(w, typed) {
			continue
		}
		if strings.HasSuffix(w, "=") || strings.HasSuffix(w, "/") {
			how |= cobra.ShellCompDirectiveNoSpace
		}
		out = append(out, w)
	}
	return out, how
}

func fixed(words ...string) offer { return func([]string, string) []string { return words } }

func both(a, b offer) offer {
	return func(args []string, typed string) []string { return slices.Concat(a(args, typed), b(args, typed)) }
}

// files offers files whose names end so, any when nothing is said, and the folders on the way.
func files(ends ...string) offer {
	return func(_ []string, typed string) []string {
		dir, begun := filepath.Split(typed)
		entries, err := os.ReadDir(filepath.Clean("./" + dir))
		if filepath.IsAbs(dir) {
			entries, err = os.ReadDir(dir)
		}
		if err != nil {
			return nil // there is nothing to offer in a folder that cannot be read
		}
		var out []string
		for _, e := range entries {
			base := e.Name()
			hidden := strings.HasPrefix(base, ".") && !strings.HasPrefix(begun, ".")
			ending := func(end string) bool { return strings.HasSuffix(base, end) }
			switch {
			case hidden:
			case isFolder(dir, e):
				out = append(out, dir+base+"/")
			case len(ends) == 0 || slices.ContainsFunc(ends, ending):
				out = append(out, dir+base)
			}
		}
		return out
	}
}

func isFolder(dir string, e os.DirEntry) bool {
	st, err := os.Stat(dir + e.Name()) // through a link
	return err == nil && st.IsDir()
}

// pumps offers the demo pumps and the files that may be pump sheets.
func pumps(args []string, typed string) []string {
	return both(fixed(pump.Demo()...), files(sheets...))(args, typed)
}

// ofPump offers names of the pump that is the first argument; none when that is no pump.
func ofPump(names func(*pump.Pump) []string) offer {
	return func(args []string, _ string) []string {
		if len(args) == 0 {
			return nil
		}
		p, err := loadPump(args[0], "")
		if err != nil {
			return nil
		}
		return names(p)
	}
}

func jointNames(p *pump.Pump) []string {
	return namesOf(p.Joints, func(j pump.Joint) string { return j.Name })
}

func stackNames(p *pump.Pump) []string {
	return namesOf(p.Stacks, func(s pump.Stack) string { return s.Name })
}

func chamberNames(p *pump.Pump) []string {
	return namesOf(p.Chambers, func(c pump.Chamber) string { return c.Name })
}

// valveNames and pathNames go on with what happens there: "inlet valve=30 ms".
func valveNames(p *pump.Pump) []string {
	return namesOf(p.Valves, func(v pump.Valve) string { return v.Name + "=" })
}

func pathNames(p *pump.Pump) []string {
	return namesOf(p.Map().Paths, func(q pump.Path) string { return q.Name + "=" })
}

// partsFor are the parts on which an action can be done.
func partsFor(do pump.Action) func(*pump.Pump) []string {
	return func(p *pump.Pump) []string {
		may := slices.Collect(func(yield func(pump.Part) bool) {
			for _, q := range p.Parts {
				if q.Allows(do) && !yield(q) {
					return
				}
			}
		})
		return namesOf(may, func(q pump.Part) string { return q.Name })
	}
}

func namesOf[T any](list []T, name func(T) string) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = name(x)
	}
	return out
}

// faultOffer offers the leak paths of a pump, and after the flow in which way it leaks.
func faultOffer(args []string, typed string) []string {
	_, flow, ok := strings.Cut(typed, "=")
	if !ok {
		return ofPump(pathNames)(args, typed)
	}
	for at := range flow { // the word begins at the first space after which one can
		if flow[at] != ' ' {
			continue
		}
		if hits := beginning(flow[at+1:], faultWords); len(hits) > 0 {
			return namesOf(hits, func(w string) string { return strings.TrimSuffix(typed, flow[at+1:]) + w })
		}
	}
	return nil
}

// unitsOfKinds offers kinds of quantities, "pressure=", then the units of one.
func unitsOfKinds(_ []string, typed string) []string {
	kind, _, ok := strings.Cut(typed, "=")
	if !ok {
		return namesOf(unit.Dims(), func(d unit.Dim) string { return d.String() + "=" })
	}
	d, known := dimNamed(kind)
	if !known {
		return nil
	}
	return namesOf(unit.Units(d), func(u string) string { return kind + "=" + u })
}

func frictionClasses() []string {
	return namesOf(bolt.FrictionClasses(), func(c bolt.FrictionClass) string { return c.Name })
}
