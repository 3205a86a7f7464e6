package gate

import (
	"testing"
	"time"
)

// TestPINsDoNotExpire: a PIN that nobody else knows need not be changed now and then (SP 800-63B says so, from memory).
func TestPINsDoNotExpire(t *testing.T) {
	s := open(t, Options{})
	b := s.another()
	s.clock.pass(390 * 24 * time.Hour)
	b.mustIn(s.tech, techPIN)
}
