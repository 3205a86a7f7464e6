"""Second implementation of the formulas of package seal, for the cases of kind "independent": the differential equation of
the stack is stepped numerically, a torus is summed, instead of using the closed forms. Run: python3 independent.py"""
from math import exp, pi, sqrt


def march(rings, load, n=20000):
    """rings from the nut: (mu_i, K_i, mu_o, K_o, d, D, h). Runge-Kutta on dσ/dz; returns per ring (near, far, mean, Ti, To)."""
    out = []
    for mi, ki, mo, ko, d, D, h in rings:
        area = pi / 4 * (D * D - d * d)

        def slope(s):
            return -(mi * ki * s * pi * d + mo * ko * s * pi * D) / area

        s = near = load / area
        dz = h / n
        mean = 0.0
        for _ in range(n):
            k1 = slope(s)
            k2 = slope(s + dz / 2 * k1)
            k3 = slope(s + dz / 2 * k2)
            k4 = slope(s + dz * k3)
            new = s + dz / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
            mean += (s + 4 * (s + dz / 2 * k2) + new) / 6 * dz  # Simpson
            s = new
        mean /= h
        out.append((near, s, mean, mi * ki * mean * pi * d * h, mo * ko * mean * pi * D * h))
        load = s * area
    return out, load


def stretched(d1, c, D):
    """Section of a torus of the same volume, by bisection of the summed ring volume."""
    def volume(inside, sec, n=2000):
        r, mid, dv = sec / 2, inside / 2 + sec / 2, 0.0
        for i in range(n):  # slices at height y: annulus between mid ± x
            y = -r + (i + .5) * sec / n
            x = sqrt(r * r - y * y)
            dv += pi * ((mid + x) ** 2 - (mid - x) ** 2) * sec / n
        return dv
    want, lo, hi = volume(d1, c), c / 3, 2 * c
    for _ in range(60):
        m = (lo + hi) / 2
        lo, hi = (m, hi) if volume(D, m) < want else (lo, m)
    return lo


if __name__ == "__main__":
    one = [(.05, .85, .05, .85, .028, .045, .030)]
    r, far = march(one, 10e6 * pi / 4 * (.045 ** 2 - .028 ** 2))
    print("one ring (0.05, 0.85):", r, far)
    r, _ = march([(.08, .6, .12, .85, .014, .030, .005)], 9000)
    print("unequal walls, 5 mm:", r)
    beta = 4 * (.08 * .6 * 14 + .12 * .85 * 30) / (900 - 196) * 1000
    print("  beta from forces:", sum(r[0][3:5]) / (r[0][2] * pi / 4 * (.030 ** 2 - .014 ** 2) * .005), beta)
    three = [(.05, .8519, .05, .8519, .014, .030, .004), (.08, .6, .08, .6, .014, .030, .005), (.15, .85, .10, .85, .014, .030, .006)]
    r, far = march(three, 9600)
    print("three rings:", r, far)
    area = pi / 4 * (.030 ** 2 - .014 ** 2)
    comp = sum(x[2] * h / e for x, h, e in zip(r, (.004, .005, .006), (.5e9, .1e9, .7e9))) / 9600
    print("  compliance:", comp)
    drag = [(-.05, .8519, .05, .8519, .014, .030, .004), (-.08, .6, .08, .6, .014, .030, .005), (-.15, .85, .10, .85, .014, .030, .006)]
    r, far = march(drag, 9600)
    print("  rod dragging the rings along:", r, far, "drag", -sum(x[3] for x in r))
    print("stretched 214 on 1.010 in:", stretched(.984 * .0254, .139 * .0254, 1.010 * .0254))
    print("stretched 110 on 0.40 in:", stretched(.362 * .0254, .103 * .0254, .40 * .0254))
    print("gap closed 1 µm, 5 MPa, net 3 MPa:", 1e-6 * exp(-3 / 5))
