"""Poiseuille number (Darcy f·Re) of triangular ducts, apart from the Go code: Trefftz collocation.

Solves  ∂²u/∂x² + ∂²u/∂y² = -1, u = 0 on the wall, as u = -(x²+y²)/4 + harmonic polynomials fitted on the wall by least
squares, integrates u over the triangle and prints Po = 2·Dh²·A/∫u dA for isosceles triangles by apex angle.
Checks itself on the equilateral triangle (53.3333 exact). Needs nothing but Python: python3 poiseuille.py
"""
import math


def lstsq(cols, rhs):
    """Least squares by Householder-free QR (modified Gram-Schmidt, done twice)."""
    n, q, r = len(cols), [], [[0.0] * len(cols) for _ in cols]
    for j in range(n):
        v = cols[j][:]
        for _ in range(2):
            for i in range(j):
                d = sum(a * b for a, b in zip(q[i], v))
                r[i][j] += d
                v = [a - d * b for a, b in zip(v, q[i])]
        r[j][j] = math.sqrt(sum(a * a for a in v))
        q.append([a / r[j][j] for a in v])
    y = [sum(a * b for a, b in zip(qi, rhs)) for qi in q]
    x = [0.0] * n
    for i in reversed(range(n)):
        x[i] = (y[i] - sum(r[i][j] * x[j] for j in range(i + 1, n))) / r[i][i]
    return x


def gauss(n):
    """Gauss-Legendre points and weights on 0..1."""
    out = []
    for k in range(n):
        x = math.cos(math.pi * (k + 0.75) / (n + 0.5))
        for _ in range(50):
            p0, p1 = 1.0, x
            for j in range(2, n + 1):
                p0, p1 = p1, ((2 * j - 1) * x * p1 - (j - 1) * p0) / j
            dp = n * (x * p1 - p0) / (x * x - 1)
            x -= p1 / dp
        out.append(((x + 1) / 2, 1 / ((1 - x * x) * dp * dp)))
    return out


def po(apex_deg, terms=34, points=160):
    half = math.radians(apex_deg) / 2
    h, w = math.cos(half), math.sin(half)  # legs of length 1; apex at origin, base at y = h
    cx, cy = 0.0, 2 * h / 3
    scale = max(w, h)
    wall = []
    for k in range(points):
        s = 0.5 - 0.5 * math.cos(math.pi * (k + 0.5) / points)
        wall.append((s * w, s * h))
        wall.append(((1 - s) * w, h))

    def basis(x, y):
        z = complex((y - cy) / scale, (x - cx) / scale)  # real part even in x
        p, out = 1 + 0j, []
        for _ in range(terms):
            out.append(p.real)
            p *= z
        return out

    rows = [basis(x, y) for x, y in wall]
    cols = [[row[j] for row in rows] for j in range(terms)]
    a = lstsq(cols, [(x * x + y * y) / 4 for x, y in wall])
    total = 0.0
    g = gauss(30)
    for s, ws in g:
        for t, wt in g:
            y, x = s * h, t * s * w
            u = -(x * x + y * y) / 4 + sum(c * b for c, b in zip(a, basis(x, y)))
            total += 2 * ws * wt * u * s * w * h
    area, perimeter = w * h, 2 + 2 * w
    dh = 4 * area / perimeter
    err = max(abs(-(x * x + y * y) / 4 + sum(c * b for c, b in zip(a, basis(x, y)))) for x, y in wall)
    return 2 * dh * dh * area / total, err * area / total


if __name__ == "__main__":
    for angle in (20, 30, 45, 60, 75, 90, 105, 120, 135, 150, 160):
        value, err = po(angle)
        print(f"apex {angle:4d} deg   Po {value:9.4f}   largest wall error {err:.1e} of the mean velocity")
