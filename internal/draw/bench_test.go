package draw

import (
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/unit"
)

func BenchmarkLeakMap(b *testing.B) {
	for name, p := range map[string]func() string{
		"two valves":  func() string { p := demoLike(); return LeakMap(p, result(p, hold.Holds), unit.Metric()) },
		"four valves": func() string { p := throughRod(); return LeakMap(p, result(p, hold.Holds), unit.Metric()) },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p()
			}
		})
	}
}
