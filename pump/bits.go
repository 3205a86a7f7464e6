package pump

// bits is a set of small whole numbers.
type bits []uint64

func newBits(n int) bits { return make(bits, (n+63)/64) }

func (b bits) set(i int)      { b[i/64] |= 1 << (i % 64) }
func (b bits) has(i int) bool { return b[i/64]&(1<<(i%64)) != 0 }

// add puts every number of c into b.
func (b bits) add(c bits) {
	for i, w := range c {
		b[i] |= w
	}
}

// meets says whether b and c have a number in common.
func (b bits) meets(c bits) bool {
	for i, w := range c {
		if b[i]&w != 0 {
			return true
		}
	}
	return false
}
