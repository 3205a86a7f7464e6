package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

func quoted(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// first is the first error of several.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// text checks the length and the characters of a text.
func text(where, s string, most int, needed bool) error {
	switch {
	case !utf8.ValidString(s):
		return notUTF8(where, s)
	case needed && strings.TrimSpace(s) == "":
		return Faultf(Invalid, where, "nothing", "a text", "fill it in")
	case utf8.RuneCountInString(s) > most:
		return Faultf(TooLarge, where, fmt.Sprintf("%d characters", utf8.RuneCountInString(s)), fmt.Sprintf("at most %d", most), "shorten it")
	}
	for _, r := range s {
		if r == 0 || unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' {
			return Faultf(Invalid, where, fmt.Sprintf("the control character %U", r), "a text without control characters", "type it again")
		}
	}
	return nil
}

// Typed checks a text of somebody else before it is taken apart, so that nothing in it is changed silently: it has to be UTF-8 without NUL.
func Typed(where, s string) error {
	if !utf8.ValidString(s) {
		return notUTF8(where, s)
	}
	if strings.ContainsRune(s, 0) {
		return Faultf(Invalid, where, "a control character", "a text", "type it again")
	}
	return nil
}

func notUTF8(where, s string) error {
	return Faultf(Invalid, where, quoted(strings.ToValidUTF8(s, "�")), "a text in UTF-8", "")
}

// TypedJSON is Typed for a JSON text: a decoder would put U+FFFD in the place of bytes that are no UTF-8 and of half a pair of surrogates
// (RFC 8259 section 8.2 leaves open what becomes of them).
func TypedJSON(where string, data []byte) error {
	if !utf8.Valid(data) {
		return notUTF8(where, string(data))
	}
	for i := 0; i < len(data); i++ {
		if data[i] != '\\' {
			continue
		}
		high := half(data[i:])
		switch {
		case high == 0:
			i++ // what is escaped
		case utf16.DecodeRune(high, half(data[min(len(data), i+6):])) == unicode.ReplacementChar:
			return Faultf(Invalid, where, fmt.Sprintf("half a character, %s", data[i:i+6]), "a text in UTF-8", "")
		default:
			i += 11
		}
	}
	return nil
}

// half reads an escaped surrogate at the start of a JSON text, 0 when there is none.
func half(data []byte) rune {
	if len(data) < 6 || data[0] != '\\' || data[1] != 'u' {
		return 0
	}
	n, err := strconv.ParseUint(string(data[2:6]), 16, 16)
	if err != nil || !utf16.IsSurrogate(rune(n)) {
		return 0
	}
	return rune(n)
}

// object checks that data is one JSON object.
func object(where string, data json.RawMessage, needed bool) error {
	trimmed := bytes.TrimSpace(data)
	if len(trimmed) == 0 && !needed {
		return nil
	}
	if len(trimmed) == 0 || trimmed[0] != '{' || !utf8.Valid(trimmed) || !json.Valid(trimmed) {
		return Faultf(Invalid, where, quoted(strings.ToValidUTF8(string(trimmed), "�")), "a JSON object", "")
	}
	if nul(trimmed) {
		return Faultf(Invalid, where, "the control character U+0000", "a text without control characters", "type it again")
	}
	return nil
}

// nul says whether a string of a valid JSON text has the character U+0000, which JSON writes as an escape.
func nul(data []byte) bool {
	for at := 0; ; at += 6 {
		i := bytes.Index(data[at:], []byte(`\u0000`))
		if i < 0 {
			return false
		}
		at += i
		before := 0 // an escaped backslash before "u0000" is no escape of U+0000
		for k := at - 1; k >= 0 && data[k] == '\\'; k-- {
			before++
		}
		if before%2 == 0 {
			return true
		}
	}
}

// moment checks a time against what a clock of a shop can show.
func moment(where string, t time.Time) error {
	if y := t.Year(); y < 2000 || y > 2199 {
		return Faultf(Invalid, where, fmt.Sprintf("the year %d", y), "a time from 2000 to 2199", "set the clock of the device")
	}
	return nil
}

// currency checks a code of ISO 4217 by its form.
func currency(code string) error {
	if len(code) == 3 && strings.ToUpper(code) == code && strings.IndexFunc(code, func(r rune) bool { return r < 'A' || r > 'Z' }) < 0 {
		return nil
	}
	return Faultf(Invalid, "currency", quoted(code), "three capital letters (ISO 4217), as EUR", "")
}

// date checks a date of ISO 8601, "" passes.
func date(where, s string) error {
	if s == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return Faultf(Invalid, where, quoted(s), "a date as 2027-03-01", "")
	}
	return nil
}
