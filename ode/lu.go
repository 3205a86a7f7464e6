package ode

import "math"

// lanes is the width of a block. Vectors are kept in blocks of four and
// matrices in tiles of four by four, filled up with zeros, so that the inner
// loops have a fixed length and need no bounds checks.
const lanes = 4

type (
	block [lanes]float64
	tile  [lanes]block // by rows
)

// pivotShare is the part of the largest element of its column that a pivot
// must reach to be left where it is.
const pivotShare = 0.1

// lu holds a factorisation P·(J - s·I) = L·D·U of a small dense matrix, L and
// U with unit diagonals, for the stage equations of a Rosenbrock method.
//
// The order of rows found by one factorisation is the first guess of the
// next: rows change places only where a pivot is smaller than pivotShare of
// the column below it, so that in a smooth run nothing moves.
type lu struct {
	n, nb int
	a     []tile  // a[bi+bj*nb], L below and U above the diagonal
	inv   []block // -1/D
	perm  []int   // row i of P·J is row perm[i] of J
	moved bool    // perm is not the identity
	x     []block // scratch for a permuted right side
}

func newLU(n int) *lu {
	nb := (n + lanes - 1) / lanes
	f := &lu{n: n, nb: nb, a: make([]tile, nb*nb), inv: make([]block, nb),
		perm: make([]int, n), x: make([]block, nb)}
	f.reset()
	return f
}

// reset forgets the order of rows.
func (f *lu) reset() {
	for i := range f.perm {
		f.perm[i] = i
	}
	f.moved = false
}

// load sets the matrix to jac - s·I, with jac row-major n by n.
func (f *lu) load(jac []float64, s float64) {
	n, nb := f.n, f.nb
	for i, src := range f.perm {
		row := jac[src*n : src*n+n]
		bi, r := i/lanes, i%lanes
		for len(row) >= lanes {
			f.a[bi][r] = block(row)
			row = row[lanes:]
			bi += nb
		}
		if len(row) > 0 {
			tail := &f.a[bi][r]
			*tail = block{}
			for c, v := range row {
				tail[c&(lanes-1)] = v
			}
		}
		f.a[i/lanes+src/lanes*nb][r][src%lanes] -= s
	}
	for i := n; i < nb*lanes; i++ {
		for b := nb - 1; b < len(f.a); b += nb {
			f.a[b][i%lanes] = block{}
		}
		f.a[nb*nb-1][i%lanes][i%lanes] = 1
	}
}

// factor replaces the matrix by its factors. It reports whether it is
// regular.
func (f *lu) factor() bool {
	for k := 0; k < f.nb; k++ {
		col := f.a[k*f.nb+k : (k+1)*f.nb]
		for c := 0; c < lanes; c++ {
			if !f.pivot(k, c, col) {
				return false
			}
			f.inv[k][c] = -1 / col[0][c][c]
			eliminate(col, c)
		}
		for j := k + 1; j < f.nb; j++ {
			update(col, f.a[j*f.nb+k:(j+1)*f.nb])
		}
	}
	f.unitU()
	return true
}

// eliminate clears column c of a panel below its diagonal.
func eliminate(col []tile, c int) {
	c &= lanes - 1
	u := col[0][c]
	inv := 1 / u[c]
	for i := 0; i <= c; i++ {
		u[i] = 0
	}
	u0, u1, u2, u3 := u[0], u[1], u[2], u[3]
	first := c + 1
	for b := range col {
		t := &col[b]
		for r := first; r < lanes; r++ {
			p := &t[r]
			m := p[c] * inv
			p[0] -= m * u0
			p[1] -= m * u1
			p[2] -= m * u2
			p[3] -= m * u3
			p[c] = m
		}
		first = 0
	}
}

// pivot makes sure of a good pivot for column c of panel k.
func (f *lu) pivot(k, c int, col []tile) bool {
	c &= lanes - 1
	best, at, first := 0.0, 0, c
	for b := range col {
		t := &col[b]
		for r := first; r < lanes; r++ {
			if v := math.Abs(t[r][c]); v > best {
				best, at = v, b*lanes+r
			}
		}
		first = 0
	}
	if math.Abs(col[0][c][c]) < pivotShare*best {
		f.exchange(k*lanes+c, k*lanes+at)
	}
	return best > 0
}

// exchange swaps two rows.
func (f *lu) exchange(i, j int) {
	f.perm[i], f.perm[j] = f.perm[j], f.perm[i]
	f.moved = true
	bi, ri, bj, rj := i/lanes, i%lanes, j/lanes, j%lanes
	for b := 0; b < f.nb; b++ {
		p, q := &f.a[b*f.nb+bi], &f.a[b*f.nb+bj]
		p[ri], q[rj] = q[rj], p[ri]
	}
}

// update applies a panel to the block column u to its right.
func update(l, u []tile) {
	u = u[:len(l)]
	d, t := &l[0], &u[0]
	for c := 0; c < lanes; c++ {
		y0 := t[0][c]
		y1 := t[1][c] - d[1][0]*y0
		y2 := t[2][c] - d[2][0]*y0 - d[2][1]*y1
		y3 := t[3][c] - d[3][0]*y0 - d[3][1]*y1 - d[3][2]*y2
		t[1][c], t[2][c], t[3][c] = y1, y2, y3
		for b := 1; b < len(l); b++ {
			m, q := &l[b], &u[b]
			q[0][c] -= (m[0][0]*y0 + m[0][1]*y1) + (m[0][2]*y2 + m[0][3]*y3)
			q[1][c] -= (m[1][0]*y0 + m[1][1]*y1) + (m[1][2]*y2 + m[1][3]*y3)
			q[2][c] -= (m[2][0]*y0 + m[2][1]*y1) + (m[2][2]*y2 + m[2][3]*y3)
			q[3][c] -= (m[3][0]*y0 + m[3][1]*y1) + (m[3][2]*y2 + m[3][3]*y3)
		}
	}
}

// unitU divides the rows of U by the diagonal.
func (f *lu) unitU() {
	for k := 0; k < f.nb; k++ {
		v := &f.inv[k]
		i0, i1, i2, i3 := -v[0], -v[1], -v[2], -v[3]
		d := &f.a[k*f.nb+k]
		d[0][1] *= i0
		d[0][2] *= i0
		d[0][3] *= i0
		d[1][2] *= i1
		d[1][3] *= i1
		d[2][3] *= i2
		for j := k + 1; j < f.nb; j++ {
			t := &f.a[j*f.nb+k]
			for c := 0; c < lanes; c++ {
				t[0][c] *= i0
				t[1][c] *= i1
				t[2][c] *= i2
				t[3][c] *= i3
			}
		}
	}
}

// solve replaces x by the solution of (s·I - J)·x = x.
func (f *lu) solve(x []block) {
	nb := f.nb
	if len(x) != nb {
		return
	}
	if f.moved {
		f.permute(x)
	}
	for k := range x {
		l := f.a[k*nb+k : (k+1)*nb]
		q := x[k:]
		q = q[:len(l)]
		d, p, v := &l[0], &q[0], &f.inv[k]
		y0 := p[0]
		y1 := p[1] - d[1][0]*y0
		y2 := p[2] - d[2][0]*y0 - d[2][1]*y1
		y3 := p[3] - d[3][0]*y0 - d[3][1]*y1 - d[3][2]*y2
		p[0], p[1], p[2], p[3] = y0*v[0], y1*v[1], y2*v[2], y3*v[3]
		for b := 1; b < len(l); b++ {
			t, p := &l[b], &q[b]
			p[0] -= (t[0][0]*y0 + t[0][1]*y1) + (t[0][2]*y2 + t[0][3]*y3)
			p[1] -= (t[1][0]*y0 + t[1][1]*y1) + (t[1][2]*y2 + t[1][3]*y3)
			p[2] -= (t[2][0]*y0 + t[2][1]*y1) + (t[2][2]*y2 + t[2][3]*y3)
			p[3] -= (t[3][0]*y0 + t[3][1]*y1) + (t[3][2]*y2 + t[3][3]*y3)
		}
	}
	for k := nb - 1; k >= 0; k-- {
		u := f.a[k*nb : k*nb+k+1]
		q := x[:len(u)]
		d, p := &u[k], &q[k]
		y3 := p[3]
		y2 := p[2] - d[2][3]*y3
		y1 := p[1] - d[1][3]*y3 - d[1][2]*y2
		y0 := p[0] - d[0][3]*y3 - d[0][2]*y2 - d[0][1]*y1
		p[0], p[1], p[2] = y0, y1, y2
		u, q = u[:k], q[:k]
		for b := range u {
			t, p := &u[b], &q[b]
			p[0] -= (t[0][0]*y0 + t[0][1]*y1) + (t[0][2]*y2 + t[0][3]*y3)
			p[1] -= (t[1][0]*y0 + t[1][1]*y1) + (t[1][2]*y2 + t[1][3]*y3)
			p[2] -= (t[2][0]*y0 + t[2][1]*y1) + (t[2][2]*y2 + t[2][3]*y3)
			p[3] -= (t[3][0]*y0 + t[3][1]*y1) + (t[3][2]*y2 + t[3][3]*y3)
		}
	}
}

// permute brings x into the order of the rows of P·J.
func (f *lu) permute(x []block) {
	copy(f.x, x)
	for i, src := range f.perm {
		x[i/lanes][i%lanes] = f.x[src/lanes][src%lanes]
	}
}
