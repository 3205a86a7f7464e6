package unit

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// near reports agreement within 1e-15 relative, a few roundings.
func near(got, want float64) bool { return math.Abs(got-want) <= 1e-15*math.Abs(want) }

// Spellings of one quantity: every text of a line is the number before it in the unit before it. The expected SI values follow
// from the exact definitions in NIST SP 811:2008, App. B; the spellings are common practice, no published source.
func TestParseSpellings(t *testing.T) {
	const inch, lbf, gal = 0.0254, 0.45359237 * 9.80665, 231 * 0.0254 * 0.0254 * 0.0254
	for _, c := range []struct {
		d    Dim
		si   float64
		unit string
		text string
	}{
		{Torque, 52, "N·m", "52 N·m|52 Nm|52 N m|52 N-m|52 N*m|52 N.m|52Nm|52 N⋅m|52 newton metres|52 NM|52 nm"},
		{Torque, 38 * lbf * 12 * inch, "lbf·ft",
			"38 ft-lb|38 ft·lb|38 ft lb|38 lb-ft|38 lbf·ft|38 lbf-ft|38 ft·lbf|38 ft-lbs|38 ft.lb|38 ft. lbs.|38 FT-LB|38 foot-pounds|38 ft‑lb"},
		{Torque, 50 * lbf * inch, "lbf·in", "50 in-lb|50 lbf·in|50 in·lbf|50 in lbs|50 inch-pounds|50 lb-in"},
		{Torque, 0.52, "N·cm", "52 N·cm|52 Ncm"},
		{Pressure, 2380 * lbf / (inch * inch), "psi",
			"2380 psi|2,380 psi|2 380 psi|2\u00a0380 psi|2\u2009380 psi|2\u202f380 psi|2'380 psi|2’380 psi|2380psi|2380 PSI|2380 psig|2380 psi(g)|2380 lb/in²|2380 lbf/in^2|2380.0 psi.|+2380 psi|2.38e3 psi|2.38E+3 psi|2.38×10³ psi|2.38 x 10^3 psi|2,38·10^3 psi"},
		{Pressure, 2380 * lbf / (inch * inch), "ksi", "2.38 ksi|2.38 kpsi"},
		{Pressure, 164e5, "bar", "164 bar|164 bar(g)|164 barg|164 Bar|164 BAR|164,0 bar"},
		{Pressure, 16.4e6, "MPa", "16.4 MPa|16,4 MPa|16.4 N/mm²|16.4 Mpa"},
		{Length, 0.787 * inch, "in", "0.7870 in|0,787 in|.787 in|0.787\"|0.787″|0.787 inch|0.787 in.|787e-3 in"},
		{Length, 0.02 * inch, "thou", "20 thou|20 mil|20 mils|2e1 thou"},
		{Length, 1.5 * inch, "in", "1 1/2 in|1-1/2 in|1½ in|1 ½\"|3/2 in|1.5 in|1 1⁄2 in"},
		{Length, -1.5 * inch, "in", "-1 1/2 in|-3/2 in|−1.5 in"},
		{Length, 5e-6, "µm", "5 µm|5 μm|5 um|5 micron|5 microns"},
		{Length, 1.2e-3, "m", "1.2e-3 m|1,2e-3 m|0.0012 m"},
		{Length, 62 * inch, "in", "5 ft 2 in|5ft2in|5 ft 2\"|62 in"},
		{Length, 1234.5e-3, "mm", "1.234,5 mm|1,234.5 mm|1 234.5 mm|1 234,5 mm|1234.5 mm|1234,5 mm"},
		{Length, 1.234, "mm", "1234 mm|1 234 mm"},
		{Length, 1.234e-3, "mm", "1.234 mm|1,2340 mm|1,234e0 mm"},
		{Length, 1234.567, "mm", "1,234,567 mm|1.234.567 mm|1 234 567 mm"},
		{Flow, 18e-6 / 60, "mL/min", "18 mL/min|18 ml/min|18 cc/min|18 mL / min|18 mL per min|18 mL per minute|18 mL·min⁻¹|18 mL·min^-1|18 ML/MIN"},
		{Flow, 0.15 * gal / 60, "gpm", "0.15 gpm|0.15 gal/min|0.15 US gpm|0.15 GPM|0,15 gpm"},
		{Volume, 2 * gal / 128, "fl oz", "2 fl oz|2 fl. oz.|2 US fl oz|2 fl.oz"},
		{Volume, 0.5e-3, "L", "0.5 L|0.5 l|0,5 litre|0.5 liters"},
		{Volume, 250e-6, "mL", "250 mL|250 ml"},
		{Volume, 250e-6, "cm³", "250 cm³|250 cc|250 cm3|250 cm^3"},
		{KinViscosity, 35e-6, "cSt", "35 cSt|35 cst|35 centistokes"},
		{DynViscosity, 0.03, "mPa·s", "30 mPa·s|30 mPas|30 mPa s|30 mPa.s"},
		{Temperature, 294.15, "°C", "21 °C|21°C|21 C|21 degC|21 deg C|21 ℃|21 º C|21 celsius"},
		{Temperature, (70 + 459.67) / 1.8, "°F", "70 °F|70 F|70 degF|70 ℉"},
		{Temperature, 253.15, "°C", "-20 °C|−20 °C|- 20 °C"},
		{TempDiff, 5, "K", "5 K|5 kelvin"},
		{TempDiff, 5, "°F", "9 °F"},
		{TempDiff, 5, "°C", "5 °C"},
		{Time, 80, "s", "80 s|80 sec|80 seconds|1 min 20 s|1min20s|1:20|1:20 min|01:20|1 min, 20 s"},
		{Time, 125, "s", "2:05 min|2:05"},
		{Time, 5400, "s", "1:30 h|1:30:00|1:30:00 h"},
		{Time, 90, "min", "1.5 min|1½ min"},
		{Time, 3900, "min", "1 h 5 min|65 min"},
		{Time, 300, "min", "5 min|5 MIN|5 mins|5 minutes"},
		{Frequency, 1, "1/min", "60 1/min|60/min|60 /min|60 min⁻¹|60 per min|60 per minute|60 cycles/min|60 cpm|60 min^-1"},
		{Frequency, 1, "rpm", "60 rpm|60 RPM|60 r/min"},
		{Frequency, 1. / 60, "1/min", "1/min|1 1/min"},
		{Ratio, 0.08, "%", "8 %|8%|8 percent|8,0 %"},
		{Ratio, 0.08, "1", "0.08|0,08|.08|8e-2"},
		{Force, 100 * lbf, "lbf", "100 lbf|100 lb|100 lbs|100 pounds"},
		{Mass, 0.45359237, "lb", "1 lb|1 lbs|1 pound"},
		{Angle, math.Pi / 2, "°", "90°|90 °|90 deg"},
		{Angle, math.Pi / 2, "turn", "1/4 turn|0.25 turn|¼ turn|0.25 rev"},
		{Compliance, 0.2e-11, "mL/bar", "0.2 mL/bar|0.2 cc/bar"},
		{Density, 870, "kg/m³", "870 kg/m³|870 kg/m3|870 kg/m^3"},
	} {
		for _, text := range strings.Split(c.text, "|") {
			v, err := Parse(text, c.d)
			if err != nil || !near(v.SI, c.si) || v.Unit != c.unit || v.Dim != c.d || v.HasU || v.U != 0 {
				t.Errorf("%q as %s = %.17g %s (unit %s, error %v), want %.17g, unit %s", text, c.d, v.SI, c.d.SI(), v.Unit, err, c.si, c.unit)
			}
		}
	}
}

// Uncertainties; the arithmetic is by hand.
func TestParseUncertainty(t *testing.T) {
	for _, c := range []struct {
		d     Dim
		si, u float64
		text  string
	}{
		{Length, 22.74e-3, 0.01e-3, "22.74 ± 0.01 mm|22.74 mm ± 0.01 mm|22.74 mm ± 0.01|22.74±0.01mm|22.74 mm +/- 0.01 mm|22.74 mm +- 10 µm|(22.74 ± 0.01) mm|22.74(1) mm|22.74(0.01) mm|22,74 ± 0,01 mm|(22.74 ± 0.02) mm (k=2)|22.74 ± 0.02 mm (k = 2)|22.74(2) mm (k=2)"},
		{Length, 22.74e-3, 0.01e-3, "22,740 ± 0,010 mm|22,740 mm ± 0,010 mm"}, // the clear comma decides the doubtful one
		{Length, 22.74e-3, 0, "22.74 ± 0 mm"},
		{Pressure, 3e7, 3e5, "300 bar ± 1 %|300 bar ± 1%|300 ± 3 bar|30 MPa ± 3 bar"},
		{Pressure, -1e5, 1e3, "-1 bar ± 1 %"},
		{Ratio, 0.08, 0.01, "8 % ± 1 %|8 ± 1 %|0.08 ± 0.01"},
		{Temperature, 294.15, 0.5, "21 ± 0.5 °C|21 °C ± 0.5 °C|21 °C ± 0.5 K|21 °C ± 0.5|21 °C ± 0.9 °F|21.0(5) °C|294.15 ± 0.5 K"},
		{TempDiff, 5, 0.5, "5 ± 0.5 K|9 ± 0.9 °F"},
		{Time, 80, 1, "1 min 20 s ± 1 s|1:20 ± 1 s|80 ± 1 s|1 min 20 s ± 1"},
	} {
		for _, text := range strings.Split(c.text, "|") {
			v, err := Parse(text, c.d)
			if err != nil || !near(v.SI, c.si) || math.Abs(v.U-c.u) > 2e-15*c.u || !v.HasU {
				t.Errorf("%q as %s = %+v (%v, U %v), want %v ± %v", text, c.d, v.SI, err, v.U, c.si, c.u)
			}
		}
	}
}

// What the person reads. The texts are ours: the check is that each kind of mistake is met and its advice is sound.
func TestErrors(t *testing.T) {
	for _, c := range []struct {
		text string
		d    Dim
		kind Kind
		want string
	}{
		{"2380", Pressure, NoUnit, `"2380" has no unit: write e.g. 2380 psi or 164 bar`},
		{"3/8", Length, NoUnit, `"3/8" has no unit: write e.g. 3/8 in or 9.52 mm`},
		{"22.74 ± 0.01", Length, NoUnit, `"22.74 ± 0.01" has no unit: write e.g. 22.74 mm or 0.895 in`},
		{"52 mm", Torque, WrongDimension, `"52 mm" is a length, a torque is needed: write e.g. 52 N·m or 38.4 lbf·ft`},
		{"52 Nm", Length, WrongDimension, `"52 Nm" is a torque, a length is needed: write e.g. 52 mm or 2.05 in`},
		{"20°", Temperature, WrongDimension, `"20°" is an angle, a temperature is needed: write e.g. 20 °C or 68.0 °F`},
		{"30 nm", Length, UnclearUnit, `"30 nm" may be nanometres or newton metres, a length is needed: write nanometres in µm; a torque is no length`},
		{"5 m", Time, WrongDimension, `"5 m" is in metres, a time is needed: write 5 min for minutes`},
		{"50 kg", Force, WrongDimension, `"50 kg" is a mass, a force is needed: write 50 kgf for the weight of that mass, or N`},
		{"21 °C ± 1 mm", Temperature, WrongDimension, `"1 mm" is a length, a temperature is needed: write e.g. 1 K or 1.80 °F`},
		{"2380 pis", Pressure, UnknownUnit, `"2380 pis": unknown unit "pis", a pressure is needed: did you mean psi? Otherwise use one of psi, bar, MPa, kPa, Pa`},
		{"3 furlongs", Length, UnknownUnit, `"3 furlongs": unknown unit "furlongs", a length is needed: use one of mm, in, thou, µm, cm`},
		{"8 oz", Volume, UnclearUnit, `"8 oz": oz may be a volume or a weight, a volume is needed: write fl oz (US), imp fl oz or mL for a volume; oz av or g for a mass; ozf or N for a force`},
		{"300 psia", Pressure, UnclearUnit, `"300 psia" is an absolute pressure, a gauge pressure is needed: subtract the air pressure (about 14.7 psi or 1.013 bar) and write psi or bar`},
		{"20 mpa", Pressure, UnclearUnit, `"20 mpa": m is milli, M is mega, a pressure is needed: write 20 MPa with a capital M`},
		{"psi", Pressure, NoNumber, `"psi" has no number, a pressure is needed: write e.g. 2380 psi or 164 bar`},
		{"  ", Length, NoNumber, `nothing is written, a length is needed: write e.g. 20 mm or 0.787 in`},
		{"about 20 mm", Length, NoNumber, `"about 20 mm" has no number, a length is needed: write e.g. 20 mm or 0.787 in`},
		{"NaN psi", Pressure, NotFinite, `"NaN psi" is no finite number of usable size, a pressure is needed: write e.g. 2380 psi or 164 bar`},
		{"1e999 psi", Pressure, NotFinite, ""},
		{"-Inf bar", Pressure, NotFinite, ""},
		{"1e308 ksi", Pressure, NotFinite, ""},
		{"1e-400 m", Length, NotFinite, ""},
		{"-300 °C", Temperature, OutOfRange, `"-300 °C" is below absolute zero, a temperature is needed: write e.g. 21 °C or 69.8 °F`},
		{"-1 K", Temperature, OutOfRange, ""},
		{strings.Repeat("3", 65), Pressure, TooLong, ""},
		{"20-25 °C", Temperature, SeveralNumbers, `"20-25 °C" holds several numbers, a temperature is needed: write one of them with its unit`},
		{"3000 psi 200 bar", Pressure, SeveralNumbers, ""},
		{"1234 567 mm", Length, SeveralNumbers, ""},
		{"0 567 mm", Length, SeveralNumbers, ""},
		{"22.741 22.743 mm", Length, SeveralNumbers, ""},
		{"10/16 mm", Length, SeveralNumbers, `"10/16 mm" holds two numbers with a stroke between them, a length is needed: write one decimal number, e.g. 0.625 mm`},
		{"1 min 80 s", Time, SeveralNumbers, `"1 min 80 s" holds several numbers, a time is needed: write one of them with its unit, or 1 min 20 s`},
		{"1.5 min 20 s", Time, SeveralNumbers, ""},
		{"20 s 1 min", Time, SeveralNumbers, ""},
		{"1,23,456 psi", Pressure, BadSeparators, `"1,23,456 psi" mixes points and commas, a pressure is needed: write 1234.5, 1,234.5 or 1.234,5`},
		{"1.2.3 mm", Length, BadSeparators, ""},
		{"1,234.5,6 mm", Length, BadSeparators, ""},
		{"22,740 mm", Length, BadSeparators, `"22,740 mm" may mean thousands or decimals, a length is needed: write 22.740 or 22740`},
		{"22,740 ± 1,000 mm", Length, BadSeparators, ""},
		{"22.74 ± mm", Length, BadUncertainty, `"mm" cannot stand after ± in "22.74 ± mm", a length is needed: write e.g. 22.74 ± 0.01 mm, with one positive number after ±`},
		{"22.74 ± -0.01 mm", Length, BadUncertainty, ""},
		{"22.74 ± 0.01 ± 0.02 mm", Length, BadUncertainty, ""},
		{"22.74(1) ± 0.01 mm", Length, BadUncertainty, ""},
		{"22.74(x) mm", Length, BadUncertainty, ""},
		{"22.74 mm (k=2)", Length, BadUncertainty, ""},
		{"22.74 ± 0.01 mm (k=0)", Length, BadUncertainty, ""},
		{"21 °C ± 1 %", Temperature, BadUncertainty, ""},
		{"1:75", Time, NoNumber, `"1:75" is no time of the form min:s, a time is needed: write 1:20 for 1 min 20 s, or 80 s`},
		{"1:20 s", Time, NoNumber, ""},
		{"1:20", Pressure, SeveralNumbers, ""},
		{"2380 psi\x00", Pressure, BadText, ""},
		{"2380\npsi", Pressure, BadText, ""},
		{"2380 \xff", Pressure, BadText, ""},
		{"2380 psi", 0, UnknownDim, ""},
		{"2380 psi", dimEnd, UnknownDim, ""},
	} {
		v, err := Parse(c.text, c.d)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q as %s = %+v, want an error of kind %s", c.text, c.d, v, c.kind)
			continue
		}
		if e.Kind != c.kind || c.want != "" && e.Error() != c.want {
			t.Errorf("%q as %s:\n got %s: %s\nwant %s: %s", c.text, c.d, e.Kind, e, c.kind, c.want)
		}
	}
}

// Errors of the functions that take a unit.
func TestUnitErrors(t *testing.T) {
	for _, c := range []struct {
		call func() error
		want string
	}{
		{func() error { _, err := Convert(1, "psi", "mm"); return err }, `"mm" is a length, a pressure is needed: use one of psi, bar, MPa, kPa, Pa`},
		{func() error { _, err := Convert(1, "psx", "mm"); return err }, `unknown unit "psx", a known unit is needed: did you mean psi?`},
		{func() error { _, err := Convert(1, "mm", "furlong"); return err }, `unknown unit "furlong", a known unit is needed: write a usual symbol such as psi, bar, N·m, mm, in, mL/min or °C`},
		{func() error { _, err := Convert(1, "oz", "g"); return err }, `"oz": oz may be a volume or a weight, a unit of one meaning is needed: write fl oz (US), imp fl oz or mL for a volume; oz av or g for a mass; ozf or N for a force`},
		{func() error { _, err := Convert(math.NaN(), "psi", "psi"); return err }, `NaN gives no finite number, a pressure is needed: write e.g. 2380 psi or 164 bar`},
		{func() error { _, err := Value{SI: 1, Dim: Torque}.In("bar"); return err }, `"bar" is a pressure, a torque is needed: use one of N·m, lbf·ft, lbf·in, N·mm, N·cm`},
		{func() error { _, err := ToSI(math.Inf(1), "bar", Pressure); return err }, `+Inf gives no finite number, a pressure is needed: write e.g. 2380 psi or 164 bar`},
		{func() error { _, err := ToSI(-500, "°F", Temperature); return err }, `"-500 °F" is below absolute zero, a temperature is needed: write e.g. 21 °C or 69.8 °F`},
		{func() error { _, err := FromSI(-1, "K", Temperature); return err }, `"-1 K" is below absolute zero, a temperature is needed: write e.g. 21 °C or 69.8 °F`},
		{func() error { _, err := Convert(-300, "°C", "°F"); return err }, `"-300 °C" is below absolute zero, a temperature is needed: write e.g. 21 °C or 69.8 °F`},
		{func() error { _, err := FromSI(1, "bar", 0); return err }, `no such kind of quantity, one of the kinds of this package is needed: ask for unit.Pressure, unit.Length, …`},
		{func() error { _, err := Metric().With(Pressure, "N"); return err }, `"N" is a force, a pressure is needed: use one of psi, bar, MPa, kPa, Pa`},
	} {
		if err := c.call(); err == nil || err.Error() != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
	}
}

// A pressure whose point may part thousands is in doubt, with both readings; one that is clear, or of another kind, is not.
func TestDoubt(t *testing.T) {
	for text, want := range map[string]string{
		"2.100 bar":  `"2.100 bar" may mean 2.1 or 2100, a pressure is needed: write 2.1 bar or 2100 bar`,
		"2.900psi":   `"2.900psi" may mean 2.9 or 2900, a pressure is needed: write 2.9 psi or 2900 psi`,
		"1.013 barg": `"1.013 barg" may mean 1.0130 or 1013, a pressure is needed: write 1.0130 bar or 1013 bar`,
		"57.999 psi": `"57.999 psi" may mean 57.9990 or 57999, a pressure is needed: write 57.9990 psi or 57999 psi`,
	} {
		err := Doubt(text, Pressure)
		if err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
		v, perr := Parse(text, Pressure)
		if x, _ := v.In(v.Unit); perr != nil || x > 60 {
			t.Errorf("%s is read as %v (%v), want the point decimal", text, x, perr)
		}
	}
	for _, text := range []string{"2.1 bar", "2.10 bar", "2.1000 bar", "0.900 bar", "231.125 bar", "58.001 psi", "1.200 MPa", "101.325 kPa", "2.100 ± 0.010 bar", "2.100(10) bar", "2,100 bar", "2.100", "2.100 mm"} {
		if err := Doubt(text, Pressure); err != nil {
			t.Errorf("%s is in doubt: %v", text, err)
		}
	}
	if err := Doubt("22.740 mm", Length); err != nil {
		t.Errorf("a length with three decimals is in doubt: %v", err)
	}
}
