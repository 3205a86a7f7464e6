package gate

import (
	"crypto/rand"
	"strings"
)

// letters are the 32 of Crockford's base 32: no I, L, O and U.
const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// codeLength gives 40 bits. With at most 60 guesses and one a second after that (see Gate.allKnocks), a code that lives ten minutes is
// found with a probability below 1 in a thousand million.
const codeLength = 8

func newCode() string {
	b := make([]byte, codeLength)
	rand.Read(b)
	for i := range b {
		b[i] = letters[b[i]&31]
	}
	return string(b)
}

// readCode reads a code as somebody types it: any capitals, spaces and hyphens between, I and L for 1, O for 0 (Crockford, from
// memory). False when it cannot be one.
func readCode(s string) (string, bool) {
	if len(s) > 40 {
		return "", false
	}
	s = strings.NewReplacer("-", "", " ", "", "I", "1", "L", "1", "O", "0").Replace(strings.ToUpper(s))
	if len(s) != codeLength {
		return "", false
	}
	for _, r := range s {
		if !strings.ContainsRune(letters, r) {
			return "", false
		}
	}
	return s, true
}
