package unit_test

import (
	"fmt"

	"github.com/evenstroke/evenstroke/unit"
)

func ExampleParse() {
	v, err := unit.Parse("38 ft-lb", unit.Torque)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f %s, written in %s\n", v.SI, v.Dim.SI(), v.Unit)
	// Output: 51.52 N·m, written in lbf·ft
}

func ExampleParse_uncertainty() {
	v, err := unit.Parse("(22.74 ± 0.02) mm (k=2)", unit.Length)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(v)
	// Output: 22.740 ± 0.010 mm
}

func ExampleParse_mistakes() {
	for _, s := range []string{"2380", "52 mm", "2380 pis", "8 psia"} {
		_, err := unit.Parse(s, unit.Pressure)
		fmt.Println(err)
	}
	// Output:
	// "2380" has no unit: write e.g. 2380 psi or 164 bar
	// "52 mm" is a length, a pressure is needed: write e.g. 52 psi or 3.59 bar
	// "2380 pis": unknown unit "pis", a pressure is needed: did you mean psi? Otherwise use one of psi, bar, MPa, kPa, Pa
	// "8 psia" is an absolute pressure, a gauge pressure is needed: subtract the air pressure (about 14.7 psi or 1.013 bar) and write psi or bar
}

func ExampleFormat() {
	fmt.Println(unit.Format(16.4e6, unit.Pressure, "bar", 3))
	fmt.Println(unit.Format(0.02274, unit.Length, "in", 4))
	// Output:
	// 164 bar
	// 0.8953 in
}

func ExampleFormatU() {
	fmt.Println(unit.FormatU(0.0227396, 0.0000104, unit.Length, "mm"))
	// Output: 22.740 ± 0.010 mm
}

func ExampleConvert() {
	x, err := unit.Convert(52, "N·m", "lbf·in")
	fmt.Printf("%.1f %v\n", x, err)
	// Output: 460.2 <nil>
}

func ExampleSystem_Show() {
	metric, imperial := unit.Metric(), unit.Imperial()
	const leak = 18e-6 / 60 // m³/s
	fmt.Println(metric.Show(leak, unit.Flow), "=", imperial.Show(leak, unit.Flow))
	fmt.Println(metric.Show(12.7e-6, unit.Length), "=", imperial.Show(12.7e-6, unit.Length))
	// Output:
	// 18.0 mL/min = 0.609 fl oz/min
	// 12.7 µm = 0.500 thou
}

func ExampleUCUM() {
	code, ok := unit.UCUM("ft-lb")
	fmt.Println(code, ok)
	symbol, ok := unit.FromUCUM("mPa.s")
	fmt.Println(symbol, ok)
	// Output:
	// [lbf_av].[ft_i] true
	// mPa·s true
}
