package gate

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// The length of a PIN.
const (
	minPIN = 6
	maxPIN = 12
)

// common are PINs that many people choose and that no rule below finds: keys in a row on the pad, pairs, mirrors. After Wang, Gu,
// Huang and Wang, "Understanding human-chosen PINs" (ASIA CCS 2017) and Markert et al., "This PIN can be easily guessed" (IEEE
// S&P 2020), from memory.
var common = []string{"112233", "445566", "778899", "332211", "123321", "789456", "159753", "147258", "258369", "159951", "456123", "963852",
	"147852", "741852", "852963", "123654", "102030", "520131", "100200", "007007", "142536", "911911", "192837", "11223344", "14725836"}

// CheckPIN refuses, with a *record.Fault of code Invalid, a PIN that is not 6 to 12 digits and one that would be among the first
// guesses (SP 800-63B asks for such a list, from memory): digits in equal steps (000000, 123456, 246802), five in a row of 12345,
// fewer than three different digits, a block that repeats (123123), a year 1900 to 2099 at the start or the end, six digits that
// read as a date, and the list above. It does not say anything about the PIN itself.
func CheckPIN(pin string) error {
	if err := pinForm(pin); err != nil {
		return err
	}
	for _, c := range []struct {
		bad  func(string) bool
		what string
	}{
		{evenSteps, "digits in equal steps"},
		{row, "five digits in a row"},
		{fewDigits, "fewer than three different digits"},
		{repeats, "a part that repeats"},
		{hasYear, "a year at the start or the end"},
		{isDate, "a date"},
		{func(s string) bool { return slices.Contains(common, s) }, "one of the PINs most used"},
	} {
		if c.bad(pin) {
			return record.Faultf(record.Invalid, "PIN", c.what, "a PIN that is not guessed at once", "choose another one")
		}
	}
	return nil
}

func pinForm(pin string) error {
	if len(pin) < minPIN || len(pin) > maxPIN || strings.Trim(pin, "0123456789") != "" || !digits(pin) {
		return record.Faultf(record.Invalid, "PIN", "something else", fmt.Sprintf("%d to %d digits", minPIN, maxPIN), "type digits only")
	}
	return nil
}

func digits(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' }) < 0
}

// step is the way from one digit to the next, 0 to 9, past 9 back to 0.
func step(s string, i int) int { return (int(s[i+1]) - int(s[i]) + 10) % 10 }

func evenSteps(s string) bool {
	for i := 1; i < len(s)-1; i++ {
		if step(s, i) != step(s, 0) {
			return false
		}
	}
	return true
}

func row(s string) bool {
	n, last := 1, -1
	for i := range len(s) - 1 {
		d := step(s, i)
		switch {
		case d != 1 && d != 9:
			n = 1
		case d == last:
			n++
		default:
			n = 2
		}
		last = d
		if n == 5 {
			return true
		}
	}
	return false
}

func fewDigits(s string) bool {
	seen := map[rune]bool{}
	for _, r := range s {
		seen[r] = true
	}
	return len(seen) < 3
}

func repeats(s string) bool {
	for n := 1; n <= len(s)/2; n++ {
		if len(s)%n == 0 && strings.Repeat(s[:n], len(s)/n) == s {
			return true
		}
	}
	return false
}

func hasYear(s string) bool {
	end := s[len(s)-4:]
	return s[:2] == "19" || s[:2] == "20" || end[:2] == "19" || end[:2] == "20"
}

// isDate says whether six digits read as day-month-year, month-day-year or year-month-day.
func isDate(s string) bool {
	if len(s) != 6 {
		return false
	}
	a, _ := strconv.Atoi(s[:2])
	b, _ := strconv.Atoi(s[2:4])
	c, _ := strconv.Atoi(s[4:])
	return dayMonth(a, b) || dayMonth(b, a) || dayMonth(c, b)
}

func dayMonth(day, month int) bool { return day >= 1 && day <= 31 && month >= 1 && month <= 12 }
