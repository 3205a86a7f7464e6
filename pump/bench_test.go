package pump

import "testing"

func BenchmarkRead(b *testing.B) {
	data, err := DemoSheet("varn-40")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Read("varn-40.yaml", data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWork(b *testing.B) {
	p := demo(b, "varn-40")
	chosen := p.All(Replace)
	for b.Loop() {
		if _, err := p.Work(chosen); err != nil {
			b.Fatal(err)
		}
	}
}
