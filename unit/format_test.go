package unit

import (
	"math"
	"testing"
)

// Printing. Rounding is arithmetic; grouping from five digits on follows NIST SP 811:2008, 10.5.3 (four digits may stand together);
// no space before the degree of angle, a space before % and °C: 7.2 and 7.10.2 there.
func TestFormat(t *testing.T) {
	psi, _ := ToSI(1, "psi", Pressure)
	for _, c := range []struct {
		si     float64
		d      Dim
		u      string
		digits int
		want   string
	}{
		{2380 * psi, Pressure, "psi", 3, "2380 psi"},
		{3347 * psi, Pressure, "psi", 3, "3350 psi"},
		{12500 * psi, Pressure, "psi", 3, "12\u00a0500 psi"},
		{1234567 * psi, Pressure, "psi", 7, "1\u00a0234\u00a0567 psi"},
		{-12500 * psi, Pressure, "psi", 3, "-12\u00a0500 psi"},
		{164e5, Pressure, "bar", 3, "164 bar"},
		{2, Torque, "N·m", 3, "2.00 N·m"},
		{52, Torque, "Nm", 2, "52 N·m"},
		{0.0005 * 0.0254, Length, "in", 3, "0.000500 in"},
		{0.02274, Length, "mm", 4, "22.74 mm"},
		{0.02274, Length, "mm", 6, "22.7400 mm"},
		{0.0099996, Length, "mm", 4, "10.00 mm"},
		{1.23e-8, Length, "m", 3, "1.23e-8 m"},
		{-1.23e-8, Length, "m", 2, "-1.2e-8 m"},
		{3e9, Pressure, "Pa", 2, "3.0e9 Pa"},
		{0, Length, "mm", 3, "0 mm"},
		{math.Copysign(0, -1), Length, "mm", 3, "0 mm"},
		{294.15, Temperature, "°C", 3, "21.0 °C"},
		{273.15, Temperature, "°C", 3, "0 °C"},
		{math.Pi / 4, Angle, "°", 3, "45.0°"},
		{0.08, Ratio, "%", 1, "8 %"},
		{0.08, Ratio, "1", 1, "0.08"},
		{1, Frequency, "1/min", 2, "60 1/min"},
		{5, Torque, "bar", 3, "5.00 N·m"}, // no unit of a torque: SI
		{5, Torque, "N·m", 0, "5 N·m"},
		{1.0 / 3, Torque, "N·m", 99, "0.333333333333333 N·m"},
		{math.NaN(), Torque, "N·m", 3, "no value N·m"},
		{math.Inf(-1), Torque, "N·m", 3, "no value N·m"},
	} {
		if got := Format(c.si, c.d, c.u, c.digits); got != c.want {
			t.Errorf("Format(%v, %s, %q, %d) = %q, want %q", c.si, c.d, c.u, c.digits, got, c.want)
		}
	}
}

// The numbers of the GUM examples, with our units (the GUM has ohm there).
func TestFormatU(t *testing.T) {
	for _, c := range []struct {
		si, u float64
		d     Dim
		unit  string
		want  string
	}{
		{10.05762, 0.027, Torque, "N·m", "10.058 ± 0.027 N·m"},    // JCGM 100:2008, 7.2.6: 10,057 62 with u_c = 27 m becomes 10,058
		{0.10002147, 0.35e-6, Mass, "g", "100.02147 ± 0.00035 g"}, // JCGM 100:2008, 7.2.2
		{0.02274, 0.01e-3, Length, "mm", "22.740 ± 0.010 mm"},
		{0.02274, 0.0096e-3, Length, "mm", "22.7400 ± 0.0096 mm"},
		{0.02274, 0.00996e-3, Length, "mm", "22.740 ± 0.010 mm"},
		{3344, 123, Torque, "N·m", "3340 ± 120 N·m"},
		{33440, 1230, Torque, "N·m", "33\u00a0400 ± 1200 N·m"},
		{99.96, 0.996, Torque, "N·m", "100.0 ± 1.0 N·m"},
		{294.15, 0.5, Temperature, "°F", "69.80 ± 0.90 °F"}, // 0.5 K is 0.9 °F; the zero point does not enter
		{-0.0001, 5, Torque, "N·m", "0.0 ± 5.0 N·m"},
		{0, 0.02, Ratio, "%", "0.0 ± 2.0 %"},
		{1.2345e-8, 1e-10, Length, "m", "1.235e-8 ± 0.010e-8 m"},
		{1.5e12, 1e10, Pressure, "Pa", "1.500e12 ± 0.010e12 Pa"},
		{1, 1e-30, Torque, "N·m", "1.00000000000000 ± 1.0e-30 N·m"},
		{2.5, 0, Torque, "N·m", "2.5 N·m"},
		{2.5, math.NaN(), Torque, "N·m", "2.5 N·m"},
		{2.5, math.Inf(1), Torque, "N·m", "2.5 N·m"},
		{math.NaN(), 1, Torque, "N·m", "no value N·m"},
		{5, 0.1, Torque, "bar", "5.00 ± 0.10 N·m"},
	} {
		if got := FormatU(c.si, c.u, c.d, c.unit); got != c.want {
			t.Errorf("FormatU(%v, %v, %s, %q) = %q, want %q", c.si, c.u, c.d, c.unit, got, c.want)
		}
	}
}

// A person's units.
func TestSystem(t *testing.T) {
	m, i := Metric(), Imperial()
	for _, d := range Dims() {
		for _, s := range []System{m, i} {
			if sym, err := Canonical(s.Unit(d), d); err != nil || sym != s.Unit(d) {
				t.Errorf("%s is shown in %q (%v)", d, s.Unit(d), err)
			}
		}
		if got := (System{}).Unit(d); got != d.SI() {
			t.Errorf("an empty System shows %s in %q", d, got)
		}
	}
	for _, s := range []System{m, i} {
		for u, d := range map[string]Dim{s.SmallLength: Length, s.SmallFlow: Flow, s.LargeVolume: Volume} {
			if sym, err := Canonical(u, d); err != nil || sym != u {
				t.Errorf("%s is shown in %q (%v)", d, u, err)
			}
		}
	}
	for _, c := range []struct {
		s    System
		si   float64
		d    Dim
		want string
	}{
		{m, 16409522, Pressure, "164 bar"}, {i, 16409522, Pressure, "2380 psi"},
		{m, 51.5, Torque, "51.5 N·m"}, {i, 51.5, Torque, "38.0 lbf·ft"},
		{m, 0.02274, Length, "22.7 mm"}, {i, 0.02274, Length, "0.895 in"},
		{m, 12.7e-6, Length, "12.7 µm"}, {i, 12.7e-6, Length, "0.500 thou"}, {m, 0, Length, "0 mm"}, {m, 99e-6, Length, "99.0 µm"}, {m, 101e-6, Length, "0.101 mm"},
		{m, 18e-6 / 60, Flow, "18.0 mL/min"}, {i, 18e-6 / 60, Flow, "0.609 fl oz/min"},
		{m, 2e-3 / 60, Flow, "2.00 L/min"}, {i, 2e-3 / 60, Flow, "0.528 gpm"},
		{m, 250e-6, Volume, "250 mL"}, {m, 20e-3, Volume, "20.0 L"}, {i, 250e-6, Volume, "8.45 fl oz"}, {i, 20e-3, Volume, "5.28 gal"},
		{m, 80, Time, "80.0 s"}, {m, 300, Time, "5.00 min"}, {i, 9000, Time, "2.50 h"},
		{m, 294.15, Temperature, "21.0 °C"}, {i, 294.15, Temperature, "69.8 °F"}, {i, 380, Temperature, "224.3 °F"}, {m, 270, Temperature, "-3.1 °C"},
		{m, 273.14999, Temperature, "0.0 °C"}, {m, 0.08, Ratio, "8.00 %"}, {m, math.NaN(), Pressure, "no value bar"}, {m, math.NaN(), Temperature, "no value °C"},
	} {
		if got := c.s.Show(c.si, c.d); got != c.want {
			t.Errorf("Show(%v, %s) = %q, want %q", c.si, c.d, got, c.want)
		}
	}
	if got := m.ShowU(130.578, 0.3, Time); got != "130.58 ± 0.30 s" {
		t.Errorf("ShowU = %q", got)
	}
	if got := m.ShowU(0.02274, 1e-5, Length); got != "22.740 ± 0.010 mm" {
		t.Errorf("ShowU = %q", got)
	}
	mpa, err := m.With(Pressure, "mpag")
	if err == nil {
		t.Errorf("mpag was taken for %s", mpa.Pressure)
	}
	mpa, err = m.With(Pressure, "N/mm²")
	if err != nil || mpa.Pressure != "MPa" || m.Pressure != "bar" {
		t.Errorf("With gives %q (%v) and leaves %q", mpa.Pressure, err, m.Pressure)
	}
}
