package cli

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
)

// answersThere are what a person who types anything anywhere types.
var answersThere = []string{"", "", "back", "back", "done", "done", "drop", "none", "creep", "changeover", "still", "no_changeover", "locked", "restart", "run", "drips", "caught", "sign",
	"trace", "up", "down", "unknown", "160 bar", "0 bar", "2,330 psi", "60 mm", "0 mm", "14.2 s", "0 s", "30 s", "20", "3", "throat packing", "throat dry", "1 L", "0.1 mL", "yes", "no",
	"note", "at", "seen", "temperature", "21 °C", "reseat", "fluid", "gauge", "ruler", "stopwatch", "serial", "water", "oil", "class", "1.6 %", "range", "250 bar", "volume", "time", "up_time",
	"down_time", "vented", "pressures", "a: b # c", "- x", "'", "\"", "{", "}", "[", "null", "~", "é", "x.csv", "force-held"}

// TestAskWhatever answers at random: it never comes to harm, and what it saves is always a sheet with which it can go on.
func TestAskWhatever(t *testing.T) {
	t.Chdir(t.TempDir())
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 7))
		file := fmt.Sprintf("s%d.yaml", seed)
		for round := range 3 {
			var in strings.Builder
			if round == 0 {
				in.WriteString([]string{"orrin-30", "tolsk-18", "varn-40"}[seed%3] + "\n\n")
			}
			for range 60 {
				in.WriteString(answersThere[rng.IntN(len(answersThere))] + "\n")
			}
			var out, errw bytes.Buffer
			code := Main([]string{"hold", "--ask", "--no-next", file}, strings.NewReader(in.String()), &out, &errw)
			if code != 0 && code != exitInput {
				t.Fatalf("seed %d, round %d: exit %d after\n%s\n%s", seed, round, code, in.String(), errw.String())
			}
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var doc map[string]any
			if err := yaml.Unmarshal(data, &doc); err != nil || doc["pump"] == nil {
				t.Fatalf("seed %d, round %d: saved %s (%v)", seed, round, data, err)
			}
			if code == 0 {
				break
			}
			if !strings.Contains(errw.String(), "go on with `evenstroke hold --ask "+file+"`") {
				t.Fatalf("seed %d, round %d: %s\nafter\n%s", seed, round, errw.String(), in.String())
			}
		}
	}
}
