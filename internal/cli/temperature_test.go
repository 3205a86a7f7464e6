package cli

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// TestTemperatureOfPackings: a set says which of its materials the temperature does not change.
func TestTemperatureOfPackings(t *testing.T) {
	t.Chdir(t.TempDir())
	sheet, err := pump.DemoSheet("orrin-30") // leather and polyethylene
	if err != nil {
		t.Fatal(err)
	}
	mixed := strings.ReplaceAll(string(sheet), "material: UHMWPE", "material: PTFE")
	if err := os.WriteFile("mixed.yaml", []byte(mixed), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"orrin-30":   "the temperature changes nothing here",
		"mixed.yaml": "the temperature changes only what is known of PTFE; taken as at 23 °C: leather",
		"varn-40":    "the temperature changes only what is known of PTFE; taken as at 23 °C: uhmwpe, leather",
	} {
		var out, errw bytes.Buffer
		if code := Main([]string{"stack", name, "--temperature", "40 °C"}, strings.NewReader(""), &out, &errw); code != 0 {
			t.Fatalf("%s: exit %d: %s", name, code, errw.String())
		}
		text := strings.Join(strings.Fields(out.String()), " ")
		if !strings.Contains(text, want) {
			t.Errorf("%s: want %q in\n%s", name, want, out.String())
		}
	}
}

// TestRunSaysWhatIsAssumed: what a run gave stands beside what its strokes displace, with the loss that is assumed.
func TestRunSaysWhatIsAssumed(t *testing.T) {
	t.Chdir(t.TempDir())
	text := "hold: 1\npump: orrin-30\nreadings:\n  - {run: 20, pressure: 140 bar, volume: 1.0 L, time: 24 s}\n"
	if err := os.WriteFile("run.yaml", []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errw bytes.Buffer
	if code := Main([]string{"hold", "run.yaml", "--no-next"}, strings.NewReader(""), &out, &errw); code != 0 {
		t.Fatal(errw.String())
	}
	said := strings.Join(strings.Fields(out.String()), " ")
	// both strokes of a cycle together displace what the bore of 30 mm does over 100 mm, 70.7 mL: 20 of them 1.41 L, of which 1.0 L is 71 %
	for _, want := range []string{"1.00 L of the 1.41 L that the strokes displace, a volumetric efficiency of 70.74 ± 0.72 %; 9.8 % is assumed to go to compression and late balls, not to leaks",
		"a run without any leak is taken to give 9.8 % less than its strokes displace"} {
		if !strings.Contains(said, want) {
			t.Errorf("want %q in\n%s", want, out.String())
		}
	}
}
