package ode

// stages keeps the eight stage vectors U_1 … U_8 of four components.
type stages [maxStages]block

// combine sets, over k stages,
//
//	z = y + Σ_j a_j·U_j,   x = s·Σ_j c_j·U_j
func combine(k int, z, y []float64, x []block, us []stages, a, c *[maxStages]float64, s float64) {
	x = x[:len(us)]
	switch k {
	case 1:
		a0, c0 := a[0], c[0]*s
		for b := range us {
			u, p, q, w := &us[b], (*block)(z[4*b:]), (*block)(y[4*b:]), &x[b]
			for r := range lanes {
				v := u[0][r]
				p[r] = q[r] + a0*v
				w[r] = c0 * v
			}
		}
	case 2:
		a0, a1 := a[0], a[1]
		c0, c1 := c[0]*s, c[1]*s
		for b := range us {
			u, p, q, w := &us[b], (*block)(z[4*b:]), (*block)(y[4*b:]), &x[b]
			for r := range lanes {
				v0, v1 := u[0][r], u[1][r]
				p[r] = q[r] + (a0*v0 + a1*v1)
				w[r] = c0*v0 + c1*v1
			}
		}
	case 3:
		a0, a1, a2 := a[0], a[1], a[2]
		c0, c1, c2 := c[0]*s, c[1]*s, c[2]*s
		for b := range us {
			u, p, q, w := &us[b], (*block)(z[4*b:]), (*block)(y[4*b:]), &x[b]
			for r := range lanes {
				v0, v1, v2 := u[0][r], u[1][r], u[2][r]
				p[r] = q[r] + (a0*v0 + a1*v1 + a2*v2)
				w[r] = c0*v0 + c1*v1 + c2*v2
			}
		}
	case 4:
		a0, a1, a2, a3 := a[0], a[1], a[2], a[3]
		c0, c1, c2, c3 := c[0]*s, c[1]*s, c[2]*s, c[3]*s
		for b := range us {
			u, p, q, w := &us[b], (*block)(z[4*b:]), (*block)(y[4*b:]), &x[b]
			for r := range lanes {
				v0, v1, v2, v3 := u[0][r], u[1][r], u[2][r], u[3][r]
				p[r] = q[r] + (a0*v0 + a1*v1) + (a2*v2 + a3*v3)
				w[r] = (c0*v0 + c1*v1) + (c2*v2 + c3*v3)
			}
		}
	case 5:
		a0, a1, a2, a3, a4 := a[0], a[1], a[2], a[3], a[4]
		c0, c1, c2, c3, c4 := c[0]*s, c[1]*s, c[2]*s, c[3]*s, c[4]*s
		for b := range us {
			u, p, q, w := &us[b], (*block)(z[4*b:]), (*block)(y[4*b:]), &x[b]
			for r := range lanes {
				v0, v1, v2, v3, v4 := u[0][r], u[1][r], u[2][r], u[3][r], u[4][r]
				p[r] = q[r] + (a0*v0 + a1*v1) + (a2*v2 + a3*v3) + a4*v4
				w[r] = (c0*v0 + c1*v1) + (c2*v2 + c3*v3) + c4*v4
			}
		}
	}
}

// advance sets z = z + U_k and, over k stages, x = s·Σ_j c_j·U_j.
func advance(k int, z []float64, x []block, us []stages, c *[maxStages]float64, s float64) {
	x = x[:len(us)]
	c0, c1, c2, c3, c4, c5, c6 := c[0]*s, c[1]*s, c[2]*s, c[3]*s, c[4]*s, c[5]*s, c[6]*s
	for b := range us {
		u, p, w := &us[b], (*block)(z[4*b:]), &x[b]
		last := &u[(k-1)&7]
		for r := range lanes {
			p[r] += last[r]
			w[r] = (c0*u[0][r] + c1*u[1][r]) + (c2*u[2][r] + c3*u[3][r]) + c4*u[4][r]
		}
		if k > 5 {
			for r := range lanes {
				w[r] += c5 * u[5][r]
			}
		}
		if k > 6 {
			for r := range lanes {
				w[r] += c6 * u[6][r]
			}
		}
	}
}

// addTo adds s·v to x.
func addTo(x []block, v []float64, s float64) {
	for b := range x {
		p, q := &x[b], (*block)(v[4*b:])
		for r := range lanes {
			p[r] += s * q[r]
		}
	}
}
