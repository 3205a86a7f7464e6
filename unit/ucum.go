package unit

// UCUM returns the code of the unit u (any accepted spelling) in the Unified Code for Units of Measure, case sensitive form:
// "N.m", "[psi]", "[lbf_av].[ft_i]", "Cel". ok is false if u is unknown or UCUM has no unit of exactly its size (inHg, mmHg).
// "lb" is the mass [lb_av]; for the force write "lbf".
func UCUM(u string) (code string, ok bool) {
	for d := Length; d < dimEnd; d++ {
		if row, found := find(u, d); found {
			return row.ucum, row.ucum != ""
		}
	}
	return "", false
}

// FromUCUM returns the canonical symbol of a UCUM code, "lbf·ft" for "[lbf_av].[ft_i]". Only the codes that [UCUM] writes are
// known, with the equivalent spellings "l" for "L" and "1/min" for "/min".
func FromUCUM(code string) (u string, ok bool) {
	if alias, found := ucumAlias[code]; found {
		code = alias
	}
	if code == "" {
		return "", false
	}
	for d := Length; d < dimEnd; d++ {
		for i := range table[d] {
			if table[d][i].ucum == code {
				return table[d][i].sym, true
			}
		}
	}
	return "", false
}

// ucumAlias maps equivalent UCUM codes to the one in the table.
var ucumAlias = map[string]string{
	"l": "L", "ml": "mL", "ul": "uL", "l/min": "L/min", "ml/min": "mL/min", "l/s": "L/s", "l/h": "L/h", "ml/h": "mL/h", "ml/s": "mL/s",
	"1/min": "/min", "1/s": "/s", "1/h": "/h", "1/K": "/K", "m.N": "N.m", "[ft_i].[lbf_av]": "[lbf_av].[ft_i]",
	"[in_i].[lbf_av]": "[lbf_av].[in_i]", "[in_i]2": "[sin_i]", "[in_i]3": "[cin_i]", "[ft_i]2": "[sft_i]", "[ft_i]3": "[cft_i]",
	"{cycles}/min": "/min", "{strokes}/min": "/min", "N/mm2": "MPa",
}
