package unit

import "math"

// Exact definitions (NIST SP 811:2008, App. B.6 and B.8), from which every other factor follows by constant arithmetic.
const (
	inch   = 0.0254                   // m, exact
	foot   = 12 * inch                // m
	pound  = 0.45359237               // kg, exact
	gn     = 9.80665                  // m/s², standard acceleration of free fall, exact
	lbf    = pound * gn               // N
	kgf    = 1 * gn                   // N
	psi    = lbf / (inch * inch)      // Pa
	galUS  = 231 * inch * inch * inch // m³, exact
	galImp = 4.54609e-3               // m³, exact
	flozUS = galUS / 128              // m³
	flozUK = galImp / 160             // m³
	mmHg   = 13595.1 * gn * 1e-3      // Pa, conventional millimetre of mercury
	inHg   = 13595.1 * gn * inch      // Pa, conventional inch of mercury
	hp     = 550 * foot * lbf         // W, mechanical horsepower
	zeroC  = 273.15                   // K, 0 °C, exact
	zeroF  = 459.67                   // °F below 0 °F to absolute zero, exact
)

// def is one unit: SI = (x + off)·num/den. Metric parts stand as den, so that 22.74 mm becomes 22.74/1000 with one rounding.
type def struct {
	sym      string  // the symbol printed
	num, den float64 // 1 sym = num/den SI
	ucum     string  // UCUM code, "" if UCUM has no unit of exactly this size
	names    string  // further spellings, "|" between; "_" stands for an optional separator (N_m: N·m, N m, N-m, Nm)
	off      float64 // zero point of a temperature scale, in the unit itself
	frac     bool    // written with fractions: 5/8 in, 1/4 turn
	exact    bool    // capital and small letters matter: mbar, MPa
}

// table holds the units of each Dim, the usual ones first.
var table = [dimEnd][]def{
	Length: {
		{sym: "mm", num: 1, den: 1e3, ucum: "mm", names: "millimetre|millimetres|millimeter|millimeters"},
		{sym: "in", num: inch, den: 1, ucum: "[in_i]", names: `inch|inches|"|''`, frac: true},
		{sym: "thou", num: inch, den: 1e3, ucum: "[mil_i]", names: "thous|mil|mils"},
		{sym: "µm", num: 1, den: 1e6, ucum: "um", names: "micron|microns|micrometre|micrometer"},
		{sym: "cm", num: 1, den: 1e2, ucum: "cm", names: "centimetre|centimetres|centimeter|centimeters"},
		{sym: "m", num: 1, den: 1, ucum: "m", names: "metre|metres|meter|meters"},
		{sym: "ft", num: foot, den: 1, ucum: "[ft_i]", names: "foot|feet", frac: true},
	},
	Area: {
		{sym: "mm²", num: 1, den: 1e6, ucum: "mm2", names: "sq_mm"},
		{sym: "cm²", num: 1, den: 1e4, ucum: "cm2", names: "sq_cm"},
		{sym: "in²", num: inch * inch, den: 1, ucum: "[sin_i]", names: "sq_in|square_inch|square_inches"},
		{sym: "ft²", num: foot * foot, den: 1, ucum: "[sft_i]", names: "sq_ft|square_foot|square_feet"},
		{sym: "m²", num: 1, den: 1, ucum: "m2", names: "sq_m"},
	},
	Volume: {
		{sym: "mL", num: 1, den: 1e6, ucum: "mL", names: "millilitre|millilitres|milliliter|milliliters"},
		{sym: "cm³", num: 1, den: 1e6, ucum: "cm3", names: "cc|ccm|cu_cm"},
		{sym: "L", num: 1, den: 1e3, ucum: "L", names: "litre|litres|liter|liters|dm³"},
		{sym: "µL", num: 1, den: 1e9, ucum: "uL", names: "microlitre|microliter"},
		{sym: "mm³", num: 1, den: 1e9, ucum: "mm3", names: "cu_mm"},
		{sym: "in³", num: inch * inch * inch, den: 1, ucum: "[cin_i]", names: "cu_in|cubic_inch|cubic_inches|cubic_in"},
		{sym: "fl oz", num: flozUS, den: 1, ucum: "[foz_us]", names: "fl_oz|fluid_ounce|fluid_ounces|US_fl_oz|fl_oz_US", frac: true},
		{sym: "pt", num: galUS, den: 8, ucum: "[pt_us]", names: "pint|pints|US_pt|US_pint", frac: true},
		{sym: "qt", num: galUS, den: 4, ucum: "[qt_us]", names: "quart|quarts|US_qt|US_quart", frac: true},
		{sym: "gal", num: galUS, den: 1, ucum: "[gal_us]", names: "gallon|gallons|gals|US_gal|US_gallon|US_gallons|gal_US", frac: true},
		{sym: "imp fl oz", num: flozUK, den: 1, ucum: "[foz_br]", names: "imp_fl_oz|UK_fl_oz|imperial_fl_oz|fl_oz_imp|imperial_fluid_ounce", frac: true},
		{sym: "imp pt", num: galImp, den: 8, ucum: "[pt_br]", names: "imp_pt|UK_pt|imperial_pint|imp_pint", frac: true},
		{sym: "imp gal", num: galImp, den: 1, ucum: "[gal_br]", names: "imp_gal|UK_gal|imperial_gal|imperial_gallon|imp_gallon|gal_imp", frac: true},
		{sym: "ft³", num: foot * foot * foot, den: 1, ucum: "[cft_i]", names: "cu_ft|cubic_foot|cubic_feet"},
		{sym: "m³", num: 1, den: 1, ucum: "m3", names: "cu_m|cubic_metre|cubic_meter"},
	},
	Time: {
		{sym: "s", num: 1, den: 1, ucum: "s", names: "sec|secs|second|seconds"},
		{sym: "min", num: 60, den: 1, ucum: "min", names: "mins|minute|minutes", frac: true},
		{sym: "h", num: 3600, den: 1, ucum: "h", names: "hr|hrs|hour|hours", frac: true},
		{sym: "ms", num: 1, den: 1e3, ucum: "ms", names: "msec|millisecond|milliseconds"},
		{sym: "µs", num: 1, den: 1e6, ucum: "us", names: "microsecond|microseconds"},
		{sym: "d", num: 86400, den: 1, ucum: "d", names: "day|days", frac: true},
	},
	Mass: {
		{sym: "kg", num: 1, den: 1, ucum: "kg", names: "kgs|kilogram|kilograms|kilo|kilos"},
		{sym: "g", num: 1, den: 1e3, ucum: "g", names: "gram|grams|gramme|grammes"},
		{sym: "mg", num: 1, den: 1e6, ucum: "mg", names: "milligram|milligrams"},
		{sym: "lb", num: pound, den: 1, ucum: "[lb_av]", names: "lbs|lbm|pound|pounds", frac: true},
		{sym: "oz av", num: pound, den: 16, ucum: "[oz_av]", names: "oz_av|oz_avdp|oz_wt", frac: true},
	},
	Force: {
		{sym: "N", num: 1, den: 1, ucum: "N", names: "newton|newtons"},
		{sym: "kN", num: 1e3, den: 1, ucum: "kN", names: "kilonewton|kilonewtons"},
		{sym: "lbf", num: lbf, den: 1, ucum: "[lbf_av]", names: "lb_f|lb|lbs|pound|pounds|pound_force"},
		{sym: "kgf", num: kgf, den: 1, ucum: "kgf", names: "kg_f|kp|kilopond"},
		{sym: "daN", num: 10, den: 1, ucum: "daN"},
		{sym: "ozf", num: lbf, den: 16, ucum: "[lbf_av]/16", names: "oz_f|ounce_force"},
		{sym: "MN", num: 1e6, den: 1, ucum: "MN", exact: true},
		{sym: "mN", num: 1, den: 1e3, ucum: "mN", exact: true},
	},
	Pressure: {
		{sym: "psi", num: psi, den: 1, ucum: "[psi]", names: "psig|psi_g|lbf/in²|lb/in²|lbf/sq_in|lb/sq_in|lbs/in²|lb/square_inch|pounds/square_inch"},
		{sym: "bar", num: 1e5, den: 1, ucum: "bar", names: "bars|barg|bar_g"},
		{sym: "MPa", num: 1e6, den: 1, ucum: "MPa", names: "Mpa|MPA|N/mm²|MPag|MPa_g|megapascal|megapascals", exact: true},
		{sym: "kPa", num: 1e3, den: 1, ucum: "kPa", names: "kPag|kPa_g|kilopascal|kilopascals"},
		{sym: "Pa", num: 1, den: 1, ucum: "Pa", names: "N/m²|pascal|pascals"},
		{sym: "GPa", num: 1e9, den: 1, ucum: "GPa", names: "kN/mm²|gigapascal|gigapascals"},
		{sym: "hPa", num: 100, den: 1, ucum: "hPa"},
		{sym: "mbar", num: 100, den: 1, ucum: "mbar", names: "millibar|millibars", exact: true},
		{sym: "ksi", num: 1e3 * psi, den: 1, ucum: "10*3.[psi]", names: "kpsi"},
		{sym: "kgf/cm²", num: kgf * 1e4, den: 1, ucum: "kgf/cm2", names: "kg/cm²|kp/cm²|kgf/sq_cm|kg/sq_cm"},
		{sym: "inHg", num: inHg, den: 1, names: "in_Hg|inch_Hg"},
		{sym: "mmHg", num: mmHg, den: 1, names: "mm_Hg"},
	},
	Torque: {
		{sym: "N·m", num: 1, den: 1, ucum: "N.m", names: "N_m|newton_metre|newton_metres|newton_meter|newton_meters|nm"},
		{sym: "lbf·ft", num: lbf * foot, den: 1, ucum: "[lbf_av].[ft_i]",
			names: "lbf_ft|ft_lbf|ft_lb|lb_ft|ft_lbs|lbs_ft|foot_pound|foot_pounds|pound_foot|pound_feet|foot_lbs|foot_lb"},
		{sym: "lbf·in", num: lbf * inch, den: 1, ucum: "[lbf_av].[in_i]",
			names: "lbf_in|in_lbf|in_lb|lb_in|in_lbs|lbs_in|inch_pound|inch_pounds|pound_inch|pound_inches|inch_lbs|inch_lb"},
		{sym: "N·mm", num: 1, den: 1e3, ucum: "N.mm", names: "N_mm"},
		{sym: "N·cm", num: 1, den: 1e2, ucum: "N.cm", names: "N_cm"},
		{sym: "cN·m", num: 1, den: 1e2, ucum: "cN.m", names: "cN_m"},
		{sym: "daN·m", num: 10, den: 1, ucum: "daN.m", names: "daN_m"},
		{sym: "kgf·m", num: kgf, den: 1, ucum: "kgf.m", names: "kgf_m|kg_m|m_kg|m_kgf|kp_m"},
		{sym: "kgf·cm", num: kgf, den: 1e2, ucum: "kgf.cm", names: "kgf_cm|kg_cm|cm_kg|cm_kgf|kp_cm"},
		{sym: "ozf·in", num: lbf * inch, den: 16, ucum: "[lbf_av].[in_i]/16", names: "ozf_in|in_ozf|oz_in|in_oz"},
	},
	Flow: {
		{sym: "L/min", num: 1, den: 60e3, ucum: "L/min", names: "lpm|litre/min|litres/min|liter/min|liters/min|L/mn"},
		{sym: "mL/min", num: 1, den: 60e6, ucum: "mL/min", names: "cc/min|ccm/min|cm³/min|ccpm"},
		{sym: "gpm", num: galUS, den: 60, ucum: "[gal_us]/min", names: "gal/min|US_gpm|US_gal/min|gallon/min|gallons/min"},
		{sym: "imp gpm", num: galImp, den: 60, ucum: "[gal_br]/min", names: "imp_gpm|UK_gpm|imp_gal/min|UK_gal/min"},
		{sym: "fl oz/min", num: flozUS, den: 60, ucum: "[foz_us]/min", names: "fl_oz/min|US_fl_oz/min"},
		{sym: "mL/s", num: 1, den: 1e6, ucum: "mL/s", names: "cc/s|cm³/s"},
		{sym: "mL/h", num: 1, den: 3600e6, ucum: "mL/h", names: "cc/h|cm³/h"},
		{sym: "mm³/s", num: 1, den: 1e9, ucum: "mm3/s"},
		{sym: "µL/min", num: 1, den: 60e9, ucum: "uL/min"},
		{sym: "L/s", num: 1, den: 1e3, ucum: "L/s"},
		{sym: "L/h", num: 1, den: 3600e3, ucum: "L/h", names: "lph"},
		{sym: "m³/h", num: 1, den: 3600, ucum: "m3/h", names: "cbm/h"},
		{sym: "m³/s", num: 1, den: 1, ucum: "m3/s"},
		{sym: "gph", num: galUS, den: 3600, ucum: "[gal_us]/h", names: "gal/h|US_gph"},
		{sym: "in³/s", num: inch * inch * inch, den: 1, ucum: "[cin_i]/s", names: "cu_in/s"},
		{sym: "in³/min", num: inch * inch * inch, den: 60, ucum: "[cin_i]/min", names: "cu_in/min|cim"},
		{sym: "in³/h", num: inch * inch * inch, den: 3600, ucum: "[cin_i]/h", names: "cu_in/h"},
		{sym: "ft³/min", num: foot * foot * foot, den: 60, ucum: "[cft_i]/min", names: "cfm|cu_ft/min"},
	},
	Velocity: {
		{sym: "m/s", num: 1, den: 1, ucum: "m/s", names: "metres/s"},
		{sym: "mm/s", num: 1, den: 1e3, ucum: "mm/s"},
		{sym: "cm/s", num: 1, den: 1e2, ucum: "cm/s"},
		{sym: "mm/min", num: 1, den: 60e3, ucum: "mm/min"},
		{sym: "m/min", num: 1, den: 60, ucum: "m/min"},
		{sym: "in/s", num: inch, den: 1, ucum: "[in_i]/s", names: "ips|inch/s"},
		{sym: "in/min", num: inch, den: 60, ucum: "[in_i]/min", names: "ipm|inch/min"},
		{sym: "ft/s", num: foot, den: 1, ucum: "[ft_i]/s", names: "fps"},
		{sym: "ft/min", num: foot, den: 60, ucum: "[ft_i]/min", names: "fpm"},
	},
	Temperature: {
		{sym: "°C", num: 1, den: 1, off: zeroC, ucum: "Cel", names: "C|deg_C|degree_C|degrees_C|celsius|degrees_celsius"},
		{sym: "°F", num: 5, den: 9, off: zeroF, ucum: "[degF]", names: "F|deg_F|degree_F|degrees_F|fahrenheit|degrees_fahrenheit"},
		{sym: "K", num: 1, den: 1, ucum: "K", names: "kelvin"},
	},
	TempDiff: {
		{sym: "K", num: 1, den: 1, ucum: "K", names: "kelvin|delta_K|ΔK"},
		{sym: "°C", num: 1, den: 1, ucum: "Cel", names: "C|deg_C|degree_C|degrees_C|celsius|Δ°C"},
		{sym: "°F", num: 5, den: 9, ucum: "[degF]", names: "F|deg_F|degree_F|degrees_F|fahrenheit|Δ°F"},
	},
	Angle: {
		{sym: "°", num: math.Pi, den: 180, ucum: "deg", names: "deg|degs|degree|degrees"},
		{sym: "turn", num: 2 * math.Pi, den: 1, ucum: "circ", names: "turns|rev|revs|revolution|revolutions", frac: true},
		{sym: "rad", num: 1, den: 1, ucum: "rad", names: "radian|radians"},
	},
	DynViscosity: {
		{sym: "mPa·s", num: 1, den: 1e3, ucum: "mPa.s", names: "mPa_s", exact: true},
		{sym: "cP", num: 1, den: 1e3, ucum: "cP", names: "cps|centipoise"},
		{sym: "Pa·s", num: 1, den: 1, ucum: "Pa.s", names: "Pa_s|N·s/m²|kg/m·s"},
		{sym: "P", num: 1, den: 10, ucum: "P", names: "poise"},
	},
	KinViscosity: {
		{sym: "cSt", num: 1, den: 1e6, ucum: "cSt", names: "centistoke|centistokes"},
		{sym: "mm²/s", num: 1, den: 1e6, ucum: "mm2/s"},
		{sym: "St", num: 1, den: 1e4, ucum: "St", names: "stoke|stokes"},
		{sym: "cm²/s", num: 1, den: 1e4, ucum: "cm2/s"},
		{sym: "m²/s", num: 1, den: 1, ucum: "m2/s"},
		{sym: "in²/s", num: inch * inch, den: 1, ucum: "[sin_i]/s"},
	},
	Density: {
		{sym: "kg/m³", num: 1, den: 1, ucum: "kg/m3"},
		{sym: "g/cm³", num: 1e3, den: 1, ucum: "g/cm3", names: "g/cc|g/ccm"},
		{sym: "kg/L", num: 1e3, den: 1, ucum: "kg/L", names: "kg/dm³"},
		{sym: "g/mL", num: 1e3, den: 1, ucum: "g/mL"},
		{sym: "g/L", num: 1, den: 1, ucum: "g/L"},
		{sym: "lb/gal", num: pound / galUS, den: 1, ucum: "[lb_av]/[gal_us]", names: "ppg|lbs/gal|lb/US_gal"},
		{sym: "lb/ft³", num: pound / (foot * foot * foot), den: 1, ucum: "[lb_av]/[cft_i]", names: "lbs/ft³|pcf|lb/cu_ft"},
		{sym: "lb/in³", num: pound / (inch * inch * inch), den: 1, ucum: "[lb_av]/[cin_i]", names: "lb/cu_in"},
	},
	Frequency: {
		{sym: "1/min", num: 1, den: 60, ucum: "/min", names: "/min|min-1|cpm|cycles/min|cycle/min|strokes/min|stroke/min|spm|bpm"},
		{sym: "Hz", num: 1, den: 1, ucum: "Hz", names: "hertz|cycles/s|cycle/s"},
		{sym: "rpm", num: 1, den: 60, ucum: "{rev}/min", names: "r/min|rev/min|revs/min|U/min"},
		{sym: "1/s", num: 1, den: 1, ucum: "/s", names: "/s|s-1"},
		{sym: "1/h", num: 1, den: 3600, ucum: "/h", names: "/h|h-1|cycles/h"},
		{sym: "kHz", num: 1e3, den: 1, ucum: "kHz"},
	},
	Ratio: {
		{sym: "%", num: 1, den: 1e2, ucum: "%", names: "percent|per_cent|pct"},
		{sym: "‰", num: 1, den: 1e3, ucum: "[ppth]", names: "permille|per_mille"},
		{sym: "ppm", num: 1, den: 1e6, ucum: "[ppm]"},
		{sym: "1", num: 1, den: 1, ucum: "1"},
	},
	Stiffness: {
		{sym: "N/mm", num: 1e3, den: 1, ucum: "N/mm"},
		{sym: "N/m", num: 1, den: 1, ucum: "N/m"},
		{sym: "kN/mm", num: 1e6, den: 1, ucum: "kN/mm"},
		{sym: "N/µm", num: 1e6, den: 1, ucum: "N/um"},
		{sym: "lbf/in", num: lbf / inch, den: 1, ucum: "[lbf_av]/[in_i]", names: "lb/in|lbs/in"},
	},
	Compliance: {
		{sym: "mL/bar", num: 1, den: 1e11, ucum: "mL/bar", names: "cm³/bar|cc/bar"},
		{sym: "cc/psi", num: 1e-6 / psi, den: 1, ucum: "cm3/[psi]", names: "cm³/psi|mL/psi"},
		{sym: "mL/MPa", num: 1, den: 1e12, ucum: "mL/MPa", names: "cm³/MPa|cc/MPa"},
		{sym: "µL/bar", num: 1, den: 1e14, ucum: "uL/bar", names: "mm³/bar"},
		{sym: "in³/psi", num: inch * inch * inch / psi, den: 1, ucum: "[cin_i]/[psi]", names: "cu_in/psi"},
		{sym: "m³/Pa", num: 1, den: 1, ucum: "m3/Pa"},
	},
	PressureRate: {
		{sym: "psi/min", num: psi, den: 60, ucum: "[psi]/min"},
		{sym: "bar/min", num: 1e5, den: 60, ucum: "bar/min"},
		{sym: "MPa/min", num: 1e6, den: 60, ucum: "MPa/min", exact: true},
		{sym: "kPa/min", num: 1e3, den: 60, ucum: "kPa/min"},
		{sym: "psi/s", num: psi, den: 1, ucum: "[psi]/s"},
		{sym: "bar/s", num: 1e5, den: 1, ucum: "bar/s"},
		{sym: "MPa/s", num: 1e6, den: 1, ucum: "MPa/s", exact: true},
		{sym: "kPa/s", num: 1e3, den: 1, ucum: "kPa/s"},
		{sym: "Pa/s", num: 1, den: 1, ucum: "Pa/s"},
	},
	Power: {
		{sym: "kW", num: 1e3, den: 1, ucum: "kW", names: "kilowatt|kilowatts"},
		{sym: "W", num: 1, den: 1, ucum: "W", names: "watt|watts"},
		{sym: "hp", num: hp, den: 1, ucum: "[HP]", names: "horsepower|bhp"},
	},
	ThermalExpansion: {
		{sym: "1/K", num: 1, den: 1, ucum: "/K", names: "/K|K-1|1/°C|/°C"},
		{sym: "ppm/K", num: 1, den: 1e6, ucum: "[ppm]/K", names: "ppm/°C|µm/m/K|µm/m/°C|µm/m·K|µm/m·°C"},
		{sym: "1/°F", num: 9, den: 5, names: "/°F"},
	},
}
