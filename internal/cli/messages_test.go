package cli

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// inside matches what only a programmer understands.
var inside = regexp.MustCompile(`\b(num|ode|fluid|leak|seal|bolt|pump|stroke|hold|unit|sheet|store|gate|archive|serve|strconv|json|os|fs|open|stat)\.[A-Za-z]\w*[^.\w]|\b(ode|num): |\b[A-Z]\w*\.[A-Z]|\b[A-Z][a-z]+[A-Z][a-z]\w+|\bwant\b|\bNaN\b|\+Inf|goroutine|0x[0-9a-f]|%!`)

// fileName is a file as it stands in a message.
var fileName = regexp.MustCompile(`[\w./-]+\.(yaml|json|csv|db|zip|svg)|/[\w./-]+`)

// plainly runs a line that is wrong and wants exit code 2 and a message without names of the program's own.
func plainly(t *testing.T, line string, says ...string) {
	t.Helper()
	out, errw, code := runLine(line)
	if code != exitInput || !strings.HasPrefix(errw, "evenstroke: ") || out != "" {
		t.Errorf("%s: exit %d, %q on the standard output\n%s", line, code, out, errw)
	}
	if bad := inside.FindString(fileName.ReplaceAllString(errw, "FILE")); bad != "" {
		t.Errorf("%s: the message has %q\n%s", line, bad, errw)
	}
	for _, s := range says {
		if !strings.Contains(strings.ReplaceAll(errw, "\u00a0", " "), s) {
			t.Errorf("%s: the message does not say %q\n%s", line, s, errw)
		}
	}
}

// hostile are values that no quantity of a flag can have, or that its formula does not cover.
var hostile = map[string][]string{
	"stroke orrin-30 --mode run": {"--for '0 s'", "--for '-5 s'", "--for '1e300 s'", "--for 60", "--at '-1 mm'", "--at '9 m'", "--sample '-1 s'", "--sample '1e-12 s'", "--sample 1:x",
		"--temperature '900 °C'", "--temperature '-200 °C'", "--temperature '5 bar'", "--air '-1 %'", "--air '80 %'", "--fluid honey", "--fluid coating", "--fluid oil --grade 33",
		"--fluid oil --grade -1", "--tolerance -1", "--tolerance 5", "--tolerance 0x", "--tolerance NaN", "--vent upper", "--vent attic", "--start left", "--mode hover", "--curve heat",
		"--fault 'piston packing=-3 mL/min'", "--fault 'piston packing=3 bar'", "--fault 'piston paking=3 mL/min'", "--fault 'piston packing=3 mL/min reversd'", "--fault x",
		"--late 'inlet valve=-3 ms'", "--late 'inlet valve=30 s'", "--late 'throat packing=3 ms'", "--late 'inlet valv=3 ms'", "--fault 'throat packing=3 mL/min debris'", "--svg no/such/x.svg", "--seed -1"},
	"torque --thread M24x2 --torque '45 N·m' --face-outer '38 mm' --face-inner '25 mm'": {"--torque '-20 N·m'", "--torque '0 N·m'", "--torque '45 ± 40 N·m'", "--torque 45", "--thread M99",
		"--thread 'lots'", "--thread 3/4", "--face-outer '20 mm'", "--face-inner '-1 mm'", "--face-inner '0 mm'", "--class 'V Z'", "--length '-1 m'", "--length '0 m' --adapter '5 mm'", "--adapter '-1 mm' --length '1 m'",
		"--angle '400 °'", "--angle '180 °' --adapter '500 mm' --length '400 mm'", "--step '-1 N·m'", "--step '900 N·m'", "--friction G", "--torque '1e9 N·m'"},
	"stack orrin-30 throat": {"--temperature '900 °C'", "--temperature '-300 °C'", "--temperature '-100 °C'", "--torque '-2 N·m'", "--torque '1e9 N·m'", "--torque 3", "--svg /"},
	"hold orrin-as-found.yaml": {"--pump nowhere", "--prior nowhere", "--prior orrin-as-found.yaml", "--pump orrin-as-found.yaml", "--seed x", "--svg .", "--unit pressure=mm",
		"--unit pressur=bar", "--units furlongs", "--unit x"},
	"work orrin-30":   {"--all polish", "--replace 'flux ring'", "--turn cylinder", "--hone 'throat leather ring'", "--build orrin-as-found.yaml", "--build nowhere.yaml"},
	"sheet":           {"orrin-31", "orrin-as-found.yaml", "shop-prior.yaml", "."},
	"torque orrin-30": {"'throat nit'", "'throat nut' --length x", "--class Z"},
	"schema":          {"hld", "out-hold.json"},
	"serve --data d":  {"--listen 0.0.0.0:1", "--listen 7717", "--lan 7743", "--trust x", "--idle 15", "--idle '0 s'", "--proxies proxy.lan", "--certificate a.pem", "--config nothing.yaml", "--config orrin.yaml"},
	"verify":          {"--data nowhere", "--config nothing.yaml"},
	"restore":         {"nothing.db", "orrin.yaml --data fresh", ". --data fresh"},
}

// TestMessagesArePlain gives each flag what it cannot have.
func TestMessagesArePlain(t *testing.T) {
	t.Chdir(t.TempDir())
	whole, _, err := loadText("orrin-as-found.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("orrin.yaml", whole, 0o600); err != nil {
		t.Fatal(err)
	}
	n := 0
	for command, values := range hostile {
		for _, v := range values {
			plainly(t, command+" "+v)
			n++
		}
	}
	if n < 90 {
		t.Errorf("only %d lines", n)
	}
}

// TestMessagesSayWhere names the flag or the key, what was found, what is expected.
func TestMessagesSayWhere(t *testing.T) {
	t.Chdir(t.TempDir())
	sheet, err := pump.DemoSheet("orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{
		"pump.yaml":   string(sheet),
		"notip.yaml":  regexp.MustCompile(`(?m)^  tip: .*\n`).ReplaceAllString(string(sheet), ""),
		"comma.yaml":  "hold: 1\npump: orrin-30\nreadings:\n  - {creep: up, pressure: 2,900 psi, travel: 60 mm, time: 14 s}\n",
		"point.yaml":  "hold: 1\npump: orrin-30\nreadings:\n  - {creep: up, pressure: 2.100 bar, travel: 60 mm, time: 14 s}\n",
		"key.yaml":    "hold: 1\npump: orrin-30\nreadings:\n  - {creep: up, presure: 100 bar, travel: 60 mm, time: 14 s}\n",
		"some.yaml":   "kettle: on\nlid: off\n",
		"hold.yaml":   "hold: 1\npump: orrin-30\nreadings: []\n",
		"nopump.yaml": "hold: 1\npump: oring-30\nreadings: []\n",
	}
	for name, text := range files {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for line, says := range map[string]string{
		"stack orrin-30 --temperature '900 °C'":                                              "--temperature: found 900.0 °C; expected a temperature from",
		"stack orrin-30 throat --torque '-2 N·m'":                                            `--torque: found "-2 N·m"; expected a torque above 0, up to 10 000 N·m`,
		"stack orrin-30 --units imperial --temperature '900 °C'":                             "--temperature: found 1652.0 °F; expected",
		"torque --thread M24x2 --torque '-20 N·m' --face-outer '38 mm' --face-inner '25 mm'": `--torque: found "-20 N·m"; expected a torque above 0`,
		"torque --thread M24x2 --torque '20 N·m' --face-outer '18 mm' --face-inner '25 mm'":  "--face-outer: found 18.0 mm; expected a diameter larger than the inner one",
		"torque orrin-30 --class 'II Z'":                                                     "--class: found the tool class \"II Z\"; expected \"I A\" to \"I E\" or \"II A\" to \"II G\"",
		"stroke orrin-30 --air '80 %'":                                                       `--air: found "80 %"; expected a ratio from 0, up to 50.0 %`,
		"stroke notip.yaml --mode run":                                                       "notip.yaml: hose.tip: found none; expected a tip",
		"stroke orrin-30 --vent upper":                                                       "--vent",
		"stroke orrin-30 --mode locked --vent attc":                                          `--vent: found "attc", which this pump does not have; expected one of `,
		"stroke orrin-30 --fault 'throat paking=1 mL/min'":                                   `did you mean "throat packing"?`,
		"hold pump.yaml":                   "pump.yaml:2: found a pump sheet; expected a hold sheet",
		"sheet hold.yaml":                  "hold.yaml:1: found a hold sheet; expected a pump sheet",
		"sheet some.yaml":                  "add the line `pump: 1` if this is a pump sheet",
		"hold orrin-30":                    "found a pump",
		"hold hold.yaml --prior pump.yaml": "found a pump sheet; expected a prior file",
		"work orrin-30 --build hold.yaml":  "found a hold sheet; expected a build record",
		"hold comma.yaml":                  `comma.yaml:4: readings[1].pressure: found a comma that ends the value: "2", then "900 psi"; expected a pressure such as`,
		"hold point.yaml":                  `point.yaml:4: readings[1].pressure: found "2.100 bar" may mean 2.1 or 2100; expected a pressure; write 2.1 bar or 2100 bar`,
		"hold key.yaml":                    `did you mean "pressure"?`,
		"hold nopump.yaml":                 `did you mean "orrin-30"?`,
		"hold orrin-as-fond.yaml":          `did you mean "orrin-as-found.yaml"?`,
	} {
		plainly(t, line, says)
	}
	for _, line := range []string{"hold pump.yaml", "sheet hold.yaml", "sheet some.yaml", "hold comma.yaml"} {
		if _, errw, _ := runLine(line); strings.Count(errw, "\n") != 1 {
			t.Errorf("%s: says more than one line:\n%s", line, errw)
		}
	}
	if out, errw, code := runLine("stroke orrin-30 --mode locked --vent attc --json"); code != exitInput || out != "" || !strings.Contains(errw, `--vent: found \"attc\"`) {
		t.Errorf("as JSON: exit %d %s", code, errw)
	}
}
