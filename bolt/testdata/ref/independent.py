"""Second implementation of the formulas of package bolt, for the cases of kind "independent": other language, and where it
can be another way to the same value (inclined plane for the screw, random draws for the scatter). Run: python3 independent.py"""
import random
from math import atan, cos, log, pi, radians, sqrt, tan

LBF, INCH = 4.4482216152605, 0.0254


def thread(d, p):
    """d2, D1, d3 from the height of the fundamental triangle (ISO 68-1)."""
    h = p / (2 * tan(radians(30)))
    return d - 2 * 3 / 8 * h, d - 2 * 5 / 8 * h, d - 2 * 17 / 24 * h


def plane(f, d, p, mu, mub, db, sign=1):
    """Torque of a screw as an inclined plane: F·d2/2·tan(rho' ± lead) + bearing."""
    d2 = thread(d, p)[0]
    lead, rho = atan(p / (pi * d2)), atan(mu / cos(radians(30)))
    return f * (d2 / 2 * tan(rho + sign * lead) + mub * db / 2)


def motosh_arm(d, p, mu, mub, db):
    d2 = thread(d, p)[0]
    return p / 2 / pi + mu * d2 / 2 / cos(radians(30)) + mub * db / 2


def jis_k(d, p, mu, mub, db):
    d2 = thread(d, p)[0]
    flank = atan(tan(radians(30)) * cos(atan(p / pi / d2)))
    return (p / pi + mu * d2 / cos(flank) + mub * db) / 2 / d


def mises(f, d, p, bore, mu):
    """Tension and plastic torsion of the section by summing rings of constant shear."""
    d2, _, d3 = thread(d, p)
    d0 = (d2 + d3) / 2
    n = 200000
    ri, ro = bore / 2, d0 / 2
    dr = (ro - ri) / n
    polar = sum(2 * pi * (ri + (i + .5) * dr) ** 2 * dr for i in range(n))
    area = sum(2 * pi * (ri + (i + .5) * dr) * dr for i in range(n))
    torque = f * (p / 2 / pi + mu * d2 / 2 / cos(radians(30)))
    return sqrt((f / area) ** 2 + 3 * (torque / polar) ** 2)


def working(f, fs, d, p, bore, mu):
    """Tension under load with half the torsion of tightening; the torsion is elastic, its shear at the rim from the sum of r² over
    rings."""
    d2, _, d3 = thread(d, p)
    d0 = (d2 + d3) / 2
    n = 200000
    ri, ro = bore / 2, d0 / 2
    dr = (ro - ri) / n
    second = sum(2 * pi * (ri + (i + .5) * dr) ** 3 * dr for i in range(n))
    area = sum(2 * pi * (ri + (i + .5) * dr) * dr for i in range(n))
    torque = f * (p / 2 / pi + mu * d2 / 2 / cos(radians(30)))
    return sqrt((fs / area) ** 2 + 3 * (torque * ro / second / 2) ** 2)


def scatter(n, seed, torque, tol, tool, reading, d, p, db, mt, mb, shared):
    r = random.Random(seed)
    d2 = thread(d, p)[0]
    out = []
    def mu(spec):
        kind, lo, hi = spec
        if kind == "even":
            return r.uniform(lo, hi)
        while True:
            v = r.gauss((lo + hi) / 2, (hi - lo) / 4)
            if v >= 0:
                return v
    for _ in range(n):
        m = torque + r.uniform(-tol, tol) + torque * r.uniform(-tool, tool) + r.gauss(0, reading)
        a = mu(mt)
        b = a if shared else mu(mb)
        out.append(m / (p / 2 / pi + a * d2 / 2 / cos(radians(30)) + b * db / 2))
    out.sort()
    mean = sum(out) / n
    std = sqrt(sum((x - mean) ** 2 for x in out) / (n - 1))
    return mean, std, out[int(.05 * n)], out[int(.95 * n)]


if __name__ == "__main__":
    print("torque M24x2 20 kN 0.10/0.14 Db 30:", 20e3 * motosh_arm(.024, .002, .10, .14, .030))
    print("clamp M24x2 52 N·m:", 52 / motosh_arm(.024, .002, .10, .14, .030))
    print("plane tighten M12x1.75 30 kN:", plane(30e3, .012, .00175, .12, .12, .015065))
    print("plane loosen M24x2 20 kN:", plane(20e3, .024, .002, .10, .14, .030, -1))
    print("jis K M12:", jis_k(.012, .00175, .12, .12, .015065))
    print("mises M24x2 bore 12, 40 kN, mu .12:", mises(40e3, .024, .002, .012, .12))
    print("  -> clamp at 0.9·660 MPa:", 0.9 * 660e6 / mises(1, .024, .002, .012, .12))
    print("mises M12x1.75 solid, 30 kN, mu .12:", mises(30e3, .012, .00175, 0, .12))
    print("working M24x2 bore 12, 40 and 52 kN, mu .12:", working(40e3, 52e3, .024, .002, .012, .12))
    print("working M16x1.5 solid, 26.2 and 34 kN, mu .24:", working(26.2e3, 34e3, .016, .0015, 0, .24))
    print("scatter even, separate:", scatter(4000000, 7, 52, 0, .04, .3, .024, .002, .030, ("even", .08, .16), ("even", .08, .16), False))
    print("scatter 2 sigma, shared, tolerance:", scatter(4000000, 8, 52, 5, .04, .3, .024, .002, .030, ("normal", .08, .16), None, True))
    a, b = .002 / 2 / pi, thread(.024, .002)[0] / 2 / cos(radians(30)) + .015
    lo, hi = .08, .16
    print("scatter even shared, closed mean:", 52 * log((a + b * hi) / (a + b * lo)) / (b * (hi - lo)))
    print("E[F²] closed, tool 0.005:", 52 ** 2 * (1 + .005 ** 2 / 3) / ((a + b * hi) * (a + b * lo)))
    print("ratio of clamps class B M12x1.75, Db 15.065:", motosh_arm(.012, .00175, .16, .16, .015065) / motosh_arm(.012, .00175, .08, .08, .015065))
    print("Wentzell SI: F", .85 * 85000 * .334 * LBF, "T", 3619.73 * LBF * INCH, "| 6-4 F", .9 * 120000 * 1.073 * LBF, "T", 21728.25 * LBF * INCH)
