package num

import (
	"math"
	"math/bits"
	"math/rand/v2"
)

// MaxSobolDim is the largest number of dimensions of a Sobol sequence.
const MaxSobolDim = 16

// joeKuo holds degree, coefficients and initial direction numbers of the
// second dimension on. Source: S. Joe, F. Y. Kuo, Constructing Sobol sequences
// with better two-dimensional projections, SIAM J. Sci. Comput. 30 (2008)
// 2635 (table new-joe-kuo-6.21201).
var joeKuo = [MaxSobolDim - 1]struct {
	s int
	a uint32
	m [6]uint32
}{
	{1, 0, [6]uint32{1}},
	{2, 1, [6]uint32{1, 3}},
	{3, 1, [6]uint32{1, 3, 1}},
	{3, 2, [6]uint32{1, 1, 1}},
	{4, 1, [6]uint32{1, 1, 3, 3}},
	{4, 4, [6]uint32{1, 3, 5, 13}},
	{5, 2, [6]uint32{1, 1, 5, 5, 17}},
	{5, 4, [6]uint32{1, 1, 5, 5, 5}},
	{5, 7, [6]uint32{1, 1, 7, 11, 19}},
	{5, 11, [6]uint32{1, 1, 5, 1, 1}},
	{5, 13, [6]uint32{1, 1, 1, 3, 11}},
	{5, 14, [6]uint32{1, 3, 5, 5, 31}},
	{6, 1, [6]uint32{1, 3, 3, 9, 7, 49}},
	{6, 13, [6]uint32{1, 1, 1, 15, 21, 21}},
	{6, 16, [6]uint32{1, 3, 1, 13, 27, 49}},
}

// Sobol gives the points of a Sobol sequence in the unit cube: the first 2^m
// points fill it evenly for every m, so use such numbers of points. The first
// point is the origin.
type Sobol struct {
	index uint32
	x     []uint32     // the next point, 32 bits a coordinate
	shift []uint32     // digital shift
	v     [][32]uint32 // direction numbers
}

// NewSobol returns the sequence in dim dimensions, 1 <= dim <= MaxSobolDim,
// otherwise a *RangeError. With rng not nil the points get a random digital
// shift: each point is then uniform in the cube, the set keeps its evenness,
// and several shifts give an estimate of the error.
func NewSobol(dim int, rng *rand.Rand) (*Sobol, error) {
	if err := CheckRange("num.NewSobol", "dim", float64(dim), 1, MaxSobolDim, ""); err != nil {
		return nil, err
	}
	s := &Sobol{x: make([]uint32, dim), shift: make([]uint32, dim), v: make([][32]uint32, dim)}
	for j := range s.v {
		v := &s.v[j]
		if j == 0 {
			for k := range v {
				v[k] = 1 << (31 - k)
			}
		} else {
			directions(v, j-1)
		}
		if rng != nil {
			s.shift[j] = rng.Uint32()
		}
	}
	return s, nil
}

// directions fills the direction numbers of row i of the table by the
// recurrence of Bratley & Fox, ACM TOMS 14 (1988) 88.
func directions(v *[32]uint32, i int) {
	d := &joeKuo[i]
	for k := range v {
		if k < d.s {
			v[k] = d.m[k] << (31 - k)
			continue
		}
		v[k] = v[k-d.s] ^ v[k-d.s]>>d.s
		for l := 1; l < d.s; l++ {
			if d.a>>(d.s-1-l)&1 == 1 {
				v[k] ^= v[k-l]
			}
		}
	}
}

// Next sets dst to the next point, as many coordinates as dst has and the
// sequence gives. After 2^32 points the sequence begins again.
func (s *Sobol) Next(dst []float64) {
	for j := range dst {
		if j == len(s.x) {
			break
		}
		dst[j] = float64(s.x[j]^s.shift[j]) * 0x1p-32
	}
	// Gray code: the next point differs by one direction number.
	k := bits.TrailingZeros32(^s.index) & 31
	for j := range s.x {
		s.x[j] ^= s.v[j][k]
	}
	s.index++
	if s.index == 0 {
		clear(s.x)
	}
}

// Seek makes point i, counted from 0, the next one.
func (s *Sobol) Seek(i uint32) {
	s.index = i
	gray := i ^ i>>1
	for j := range s.x {
		s.x[j] = 0
		for k := range s.v[j] {
			if gray>>k&1 == 1 {
				s.x[j] ^= s.v[j][k]
			}
		}
	}
}

// RadicalInverse returns the digits of i in the given base mirrored at the
// point: coordinate i of the van der Corput sequence. A Halton point has the
// radical inverses of one i > 0 in the first primes as bases.
//
// Source: J. H. Halton, Numer. Math. 2 (1960) 84. It returns a *RangeError
// for a base below 2.
func RadicalInverse(i uint64, base int) (float64, error) {
	if err := CheckRange("num.RadicalInverse", "base", float64(base), 2, math.MaxInt32, ""); err != nil {
		return 0, err
	}
	b := uint64(base)
	x, scale := 0.0, 1.0
	for ; i > 0; i /= b {
		scale /= float64(b)
		x += scale * float64(i%b)
	}
	return x, nil
}
