package cli

import (
	"bytes"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// offered asks as the shells do: what may stand at the end of a command line.
func offered(t *testing.T, words ...string) (out []string, directive string) {
	t.Helper()
	var text, errw bytes.Buffer
	if code := Main(append([]string{"__completeNoDesc"}, words...), strings.NewReader(""), &text, &errw); code != 0 {
		t.Fatalf("%v: exit %d: %s", words, code, errw.String())
	}
	lines := strings.Split(strings.TrimSpace(text.String()), "\n")
	return lines[:len(lines)-1], lines[len(lines)-1]
}

// What ends a line of the shell: nothing, or that the word goes on.
const (
	noFiles = ":4"
	goesOn  = ":6"
)

func TestCompletion(t *testing.T) {
	t.Chdir(t.TempDir())
	sheet, err := pump.DemoSheet("tolsk-18")
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"own.yaml": sheet, "notes.txt": nil, ".hidden.yaml": nil} {
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir("pumps", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("pumps/other.yml", sheet, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		line []string
		want string // "|" between
		how  string
	}{
		{[]string{"sheet", ""}, "orrin-30|tolsk-18|varn-40|own.yaml|pumps/", goesOn},
		{[]string{"sheet", "orrin-30", "o"}, "orrin-30|own.yaml", noFiles},
		{[]string{"work", "pumps/"}, "pumps/other.yml", noFiles},
		{[]string{"stroke", "orrin-30", ""}, "", noFiles},
		{[]string{"torque", "orrin-30", "th"}, "throat nut", noFiles},
		{[]string{"stack", "own.yaml", ""}, "throat|piston", noFiles},
		{[]string{"stack", "nothing", ""}, "", noFiles},
		{[]string{"hold", "varn"}, "varn-as-found.yaml", noFiles},
		{[]string{"hold", "--pump", "or"}, "orrin-30", noFiles},
		{[]string{"hold", "--prior", "o"}, "own.yaml", noFiles},
		{[]string{"schema", "ho"}, "hold", noFiles},
		{[]string{"new", ""}, "pump|hold|prior", noFiles},
		{[]string{"stroke", "orrin-30", "--fault", "piston"}, "piston packing=|piston valve=", goesOn},
		{[]string{"stroke", "orrin-30", "--fault", "piston packing=60 mL/min l"}, "piston packing=60 mL/min laminar|piston packing=60 mL/min loose", noFiles},
		{[]string{"stroke", "orrin-30", "--fault", "piston packing=60 mL/min worn m"}, "piston packing=60 mL/min worn middle", noFiles},
		{[]string{"stroke", "orrin-30", "--late", "in"}, "inlet valve=", goesOn},
		{[]string{"stroke", "orrin-30", "--vent", "u"}, "upper", noFiles},
		{[]string{"stroke", "orrin-30", "--mode", ""}, "stall|run|locked", noFiles},
		{[]string{"stroke", "orrin-30", "--start", ""}, "up|down", noFiles},
		{[]string{"stroke", "orrin-30", "--fluid", ""}, "water|oil|solvent", noFiles},
		{[]string{"stroke", "orrin-30", "--curve", ""}, "pressure|rod", noFiles},
		{[]string{"stroke", "orrin-30", "--for", ""}, "", noFiles},
		{[]string{"work", "orrin-30", "--all", ""}, "keep|replace", noFiles},
		{[]string{"work", "orrin-30", "--turn", "p"}, "piston valve seat", noFiles},
		{[]string{"torque", "--friction", ""}, "A|B|C|D|E", noFiles},
		{[]string{"torque", "--class", "II"}, "II A|II B|II C|II D|II E|II F|II G", noFiles},
		{[]string{"demo", "--dir", ""}, "pumps/", goesOn},
		{[]string{"demo", "--units", ""}, "metric|imperial", noFiles},
		{[]string{"demo", "--unit", "pressure"}, "pressure=|pressure rate=", goesOn},
		{[]string{"demo", "--unit", "torque="}, "torque=N·m|torque=lbf·ft|torque=lbf·in|torque=N·mm|torque=N·cm|torque=cN·m|torque=daN·m|torque=kgf·m|torque=kgf·cm|torque=ozf·in", noFiles},
		{[]string{"token", "make", "--scope", ""}, "read|write", noFiles},
		{[]string{"token", "make", "--data", ""}, "pumps/", goesOn},
		{[]string{"verify", "--against", "n"}, "notes.txt", noFiles},
		{[]string{"export", ""}, "", noFiles},
		{[]string{"export", "J-1", "n"}, "notes.txt", noFiles},
		{[]string{"ho"}, "hold", noFiles},
	} {
		have, how := offered(t, c.line...)
		want := strings.Split(c.want, "|")
		if c.want == "" {
			want = []string{}
		}
		if !slices.Equal(have, want) || how != c.how {
			t.Errorf("%q: offered %q %s, want %q %s", c.line, have, how, want, c.how)
		}
	}
}

// Each of the offered names of the demo pumps is taken by the command for which it is offered.
func TestWhatIsOfferedIsTaken(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, p := range pump.Demo() {
		for _, line := range [][]string{{"stack", p}, {"torque", "--length", "380 mm", p}, {"work", p, "--replace"}, {"work", p, "--keep"}} {
			names, _ := offered(t, append(line, "")...)
			if len(names) == 0 {
				t.Errorf("%s: nothing is offered", line)
			}
			for _, n := range names {
				var out, errw bytes.Buffer
				if code := Main(append(line, n), strings.NewReader(""), &out, &errw); code != 0 {
					t.Errorf("%s %q: exit %d: %s", line, n, code, errw.String())
				}
			}
		}
	}
}
