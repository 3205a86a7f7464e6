// Package unit reads, converts and prints quantities as people write them: "2380 psi", "52 N·m", "0.0005 in",
// "1 min 20 s", "22.74 ± 0.01 mm".
//
// SI inside: [Parse] returns the value in the coherent SI unit of its [Dim], every calculation works on that number, and
// [Format], [FormatU] and [System.Show] print it in the unit a person wants. Rounding happens there and only there.
//
// # Factors
//
// Every factor is a compile-time constant built from the exact definitions (NIST SP 811:2008, App. B; international yard
// and pound 1959): in = 0.0254 m, lb = 0.453 592 37 kg, g_n = 9.806 65 m/s², US gal = 231 in³, imperial gal = 4.546 09 L,
// mercury column 13 595.1 kg/m³. No rounded factor is typed anywhere.
//
// # Decisions a reader must know
//
//   - Pressures are gauge throughout. "psig" and "bar(g)" are read as psi and bar; "psia" and "bara" are refused.
//   - A comma followed by exactly three digits, with no other separator, is a thousands separator if the part before it has
//     one to three digits and is not 0 ("2,380 psi" = 2380 psi); otherwise it is a decimal
//     comma ("0,787 in", "22,74 mm", "22,7400 mm"). A clear decimal comma elsewhere in the same quantity decides the doubtful
//     one ("22,740 ± 0,010 mm" is 22.740 mm). A length that stays in doubt ("22,740 mm") is refused: at a bench it is a
//     micrometer reading as often as not. A single point is always decimal; [Doubt] names the pressures ("2.100 bar") in which it may
//     have been meant otherwise. When both occur, the last one is decimal.
//     Spaces (also no-break and thin) and apostrophes group thousands.
//   - The number after ± is one standard uncertainty (coverage factor 1). "(k=2)" after the unit divides it. "3000 psi ± 1 %"
//     is relative; on a ratio, "8 % ± 1 %" means one percentage point. "22.740(10) mm" is the short form of GUM 7.2.2.
//   - "min" is minute, "m" is metre, never the other way. "1:20" is minutes and seconds, for a time only.
//   - gal, qt, pt, fl oz and gpm without prefix are US units; the imperial ones are written "imp gal", "imp fl oz".
//     A bare "oz" is refused. "lb" is a mass where a mass is asked and lbf where a force is asked.
//   - A temperature is absolute (K) and never below 0 K; what follows ± on it is a difference. "20 °C" as [TempDiff] is 20 K.
//   - Fractions ("5/8", "1 1/2", "½") are read for inches, feet, gallons, pints, hours, turns and the like, never for metric units.
//   - "1 min 20 s" and "5 ft 2 in" are one quantity; any other second number is refused.
//   - Capital and small letters are interchangeable except where m (milli) and M (mega) are both thinkable: "mPa" is never
//     read as MPa.
package unit
