package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/currency"

	"github.com/evenstroke/evenstroke/internal/record"
)

// digits is the number of decimals of a currency (ISO 4217).
func digits(code string) int {
	u, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	n, _ := currency.Standard.Rounding(u)
	return n
}

// money writes an amount in the smallest unit as "1234.50 EUR".
func money(v int64, code string) string {
	n := digits(code)
	if n == 0 {
		return fmt.Sprintf("%d %s", v, code)
	}
	sign, u := "", uint64(v)
	if v < 0 {
		sign, u = "−", uint64(-v)
	}
	p := uint64(math.Pow10(n))
	return fmt.Sprintf("%s%d.%0*d %s", sign, u/p, n, u%p, code)
}

// decimal reads a number with at most n decimals, with a point or a comma, as an integer of the smallest unit.
func decimal(field, s string, n int) (int64, error) {
	bad := func() error {
		return record.Faultf(record.Invalid, field, fmt.Sprintf("%.40q", s), fmt.Sprintf("a number with at most %d decimals, as 12.50", n), "")
	}
	t := strings.TrimSpace(strings.ReplaceAll(s, ",", "."))
	neg := strings.HasPrefix(t, "-") || strings.HasPrefix(t, "−")
	t = strings.TrimPrefix(strings.TrimPrefix(t, "-"), "−")
	whole, frac, _ := strings.Cut(t, ".")
	if len(frac) > n || whole == "" && frac == "" || len(whole) > 12 {
		return 0, bad()
	}
	frac += strings.Repeat("0", n-len(frac))
	if whole == "" {
		whole = "0"
	}
	v, err := strconv.ParseUint(whole+frac, 10, 62)
	if err != nil {
		return 0, bad()
	}
	if neg {
		return -int64(v), nil
	}
	return int64(v), nil
}
