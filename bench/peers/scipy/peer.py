"""The moving pump of package stroke, solved by SciPy's stiff methods with a right side in Python and NumPy.

Usage: peer.py TABLES METHOD RTOL SECONDS REPEATS OUT

TABLES is what stroke.WriteTables writes; only the first SECONDS are simulated. The samples go to OUT; one line on standard
output says the least CPU time of a run [s], the simulated time, calls of f, Jacobians and restarts.
"""
import sys
import time
from math import sqrt, pi, inf, fabs

import numpy as np
from scipy.integrate import solve_ivp

SEATED, FREE, STOPPED, STUCK = range(4)
PUSHED, ATTOP, ATBOTTOM = range(3)


class Ball:
    def __init__(self, row, rtol):
        (self.frm, self.to, self.onpiston, self.rs, self.r, self.y0, self.seat, self.lift, self.turb, self.lam,
         self.inertia, self.heavy, self.drag1, self.drag2, self.late, tolz) = row
        self.frm, self.to = int(self.frm), int(self.to)
        self.tolz = rtol * tolz
        self.mode, self.at, self.z, self.w = SEATED, 0, 0.0, 0.0
        self.release, self.met = inf, -inf
        self.open = self.opening(self.lift)

    def opening(self, z):
        if z <= 0:
            return 0.0, 0.0, 0.0, 0.0
        yc = self.y0 + z
        l = sqrt(self.rs * self.rs + yc * yc)
        g, dg = z * (yc + self.y0) / (l + self.r), yc / l
        foot = self.r * self.rs / l
        ag = pi * (self.rs + foot) * g
        dag = pi * (self.rs + foot - foot / l * g) * dg
        s = self.seat / sqrt(ag * ag + self.seat * self.seat)
        return ag * s, 2 * g, dag * s ** 3, 2 * dg

    def through(self, dp, gap):
        area, width, darea, dwidth = gap
        s = sqrt(self.lam * self.lam + 4 * self.turb * width * width * fabs(dp))
        e = 2 * dp / (self.lam + s)
        u = e * width
        return u * area, area * width / s, u * darea + area * self.lam * e / s * dwidth


class Pump:
    def __init__(self, name, rtol, seconds):
        rows = {}
        for line in open(name):
            key, *v = line.split()
            rows.setdefault(key, []).append([float(x) for x in v])
        self.soft, self.air, self.atm, self.grav = rows["fluid"][0]
        self.mass, self.stroke, self.x, d = rows["rod"][0]
        self.dir = int(d)
        self.up, self.down, self.freespeed, self.changeover = rows["drive"][0]
        self.steady, self.viscous, self.vround, self.pround = rows["friction"][0]
        self.contact, self.past, self.slow, self.rebound = rows["contact"][0]
        self.duration, self.sample, suction, tipslot, tipopen = rows["run"][0]
        self.duration = min(self.duration, seconds)
        self.tolx, self.tolv, self.tolw, self.toltotal = [rtol * x for x in rows["tolerance"][0]]
        nodes = np.array(rows["node"])
        self.vol, self.area, self.stretch = nodes[:, 0].copy(), nodes[:, 1].copy(), nodes[:, 2].copy()
        self.content, tolp = nodes[:, 3].copy(), nodes[:, 4].copy()
        self.N = len(nodes)
        self.branches = np.array(rows["branch"])
        self.balls = [Ball(r, rtol) for r in rows["ball"]]
        self.tolc = np.minimum(rtol, self.capped(rows)) * tolp
        self.slots = [int(r[0]) for r in rows["slot"]]
        rubs = np.array(rows.get("rub", np.zeros((0, 3))))
        self.rf, self.rt, self.rp = rubs[:, 0].astype(int), rubs[:, 1].astype(int), rubs[:, 2]
        self.tipslot, self.tipopen = int(tipslot), bool(tipopen)
        keep = [i for i in range(len(self.branches))
                if self.tipslot < 0 or self.tipopen or i != self.slots[self.tipslot]]
        b = self.branches[keep]
        self.keep = {k: i for i, k in enumerate(keep)}
        self.bf, self.bt = b[:, 0].astype(int), b[:, 1].astype(int)
        # A linear law has no quad, a square-root law no lin: see branch flow below.
        self.lin, self.quad = b[:, 2], b[:, 3]
        self.root = self.lin == 0
        self.safelin = np.where(self.root, 1.0, self.lin)
        self.p = np.zeros(self.N + 2)
        self.p[self.N + 1] = suction
        self.pn, self.px = np.zeros(self.N + 2), np.zeros(self.N + 2)
        self.sums = np.zeros(len(self.slots))
        self.t, self.v, self.changing, self.until = 0.0, 0.0, False, inf
        self.rod = PUSHED

    def capped(self, rows):
        return rows["cap"][0][0]

    # ---- equations ----
    def pressures(self, y, x, slopes=False):
        n = y[:self.N]
        v = self.vol + self.area * x
        c = v * self.soft + self.stretch
        b = c * self.atm + v * self.air - n
        s = np.sqrt(b * b + 4 * c * n * self.atm)
        q = np.where(b < 0, (s - b) / (2 * c), 2 * n * self.atm / np.where(b < 0, 1.0, b + s))
        self.p[:self.N] = q
        if slopes:
            self.pn[:self.N] = (q + self.atm) / s
            self.px[:self.N] = -q * (self.soft * (q + self.atm) + self.air) / s * self.area

    def branch(self, slopes=False):
        dp = self.p[self.bf] - self.p[self.bt]
        s = np.sqrt(self.lin * self.lin + 4 * self.quad * np.abs(dp))
        m = np.sqrt(dp * dp + 1e4)
        r = 1 / np.sqrt(np.where(self.root, self.quad, 1.0) * m)
        if slopes:
            return np.where(self.root, r * (1 - 0.5 * (dp / m) ** 2), 1 / np.where(self.root, 1.0, s))
        return np.where(self.root, dp * r, 2 * dp / (self.safelin + s))

    def thrust(self, t):
        return self.pfrom + self.prate * (t - self.pstart) + self.p[:self.N] @ self.area

    def acceleration(self, t, v):
        s = v / sqrt(v * v + self.vround * self.vround)
        dp = self.p[self.rf] - self.p[self.rt]
        normal = self.steady + self.rp @ np.sqrt(dp * dp + self.pround * self.pround)
        return (self.thrust(t) - v * (self.pdamp + self.viscous) - s * normal) / self.mass

    def force(self, b, a):
        return b.seat * (self.p[b.frm] - self.p[b.to]) - b.heavy * (self.grav + a if b.onpiston else self.grav)

    def deriv(self, t, y):
        dy = np.zeros(self.dim)
        x, v, a = self.rest, 0.0, 0.0
        if self.rod == PUSHED:
            x, v = y[self.lx], y[self.lv]
        self.pressures(y, x)
        into = np.zeros(self.N + 2)
        q = self.branch()
        np.subtract.at(into, self.bf, q)
        np.add.at(into, self.bt, q)
        for b in self.balls:
            if b.mode == SEATED:
                continue
            gap, w = b.open, 0.0
            if b.mode == FREE:
                gap, w = b.opening(y[b.at]), y[b.at + 1]
            f = b.through(self.p[b.frm] - self.p[b.to], gap)[0] + b.seat * w
            into[b.frm] -= f
            into[b.to] += f
        dy[:self.N] = into[:self.N] - self.area * v
        if self.rod == PUSHED:
            a = self.acceleration(t, v)
            dy[self.lx], dy[self.lv] = v, a
        for b in self.balls:
            if b.mode == FREE:
                w = y[b.at + 1]
                dy[b.at] = w
                dy[b.at + 1] = (self.force(b, a) - w * (b.drag1 + b.drag2 * fabs(w))) / b.inertia
        for i, br in enumerate(self.totbranch):
            dy[self.ltot + i] = q[self.keep[br]] if br >= 0 else -into[self.N + 1]
        return dy

    def through_nodes(self, J, frm, to, count, col, c):
        if frm < self.N:
            J[frm, col] -= c
        if to < self.N:
            J[to, col] += c
        if count >= 0:
            J[count, col] += c
        if self.intake >= 0:
            if frm == self.N + 1:
                J[self.intake, col] += c
            elif to == self.N + 1:
                J[self.intake, col] -= c

    def pass_dp(self, J, frm, to, count, g):
        if frm < self.N:
            self.through_nodes(J, frm, to, count, frm, g * self.pn[frm])
        if to < self.N:
            self.through_nodes(J, frm, to, count, to, -g * self.pn[to])
        if self.lx >= 0:
            self.through_nodes(J, frm, to, count, self.lx, g * (self.px[frm] - self.px[to]))

    def pslope(self, row, j, c):
        if j < self.N:
            row[j] += c * self.pn[j]
        if self.lx >= 0:
            row[self.lx] += c * self.px[j]

    def jac(self, t, y):
        J = np.zeros((self.dim, self.dim))
        x, v = self.rest, 0.0
        if self.rod == PUSHED:
            x, v = y[self.lx], y[self.lv]
        self.pressures(y, x, True)
        for k, g in zip(range(len(self.bf)), self.branch(True)):
            self.pass_dp(J, self.bf[k], self.bt[k], self.counted[k], g)
        for b in self.balls:
            if b.mode == SEATED:
                continue
            gap = b.opening(y[b.at]) if b.mode == FREE else b.open
            _, g, qz = b.through(self.p[b.frm] - self.p[b.to], gap)
            self.pass_dp(J, b.frm, b.to, -1, g)
            if b.mode == FREE:
                self.through_nodes(J, b.frm, b.to, -1, b.at, qz)
                self.through_nodes(J, b.frm, b.to, -1, b.at + 1, b.seat)
        if self.rod == PUSHED:
            J[:self.N, self.lv] = -self.area
            J[self.lx, self.lv] = 1
            row = J[self.lv]
            r = 1 / sqrt(v * v + self.vround * self.vround)
            row[:self.N] += self.area * self.pn[:self.N] / self.mass
            row[self.lx] += self.area @ self.px[:self.N] / self.mass
            normal = self.steady
            for f, to, per in zip(self.rf, self.rt, self.rp):
                dp = self.p[f] - self.p[to]
                size = sqrt(dp * dp + self.pround * self.pround)
                normal += per * size
                d = -v * r / self.mass * per * dp / size
                self.pslope(row, f, d)
                self.pslope(row, to, -d)
            row[self.lv] = -(self.pdamp + self.viscous + normal * self.vround ** 2 * r ** 3) / self.mass
        for b in self.balls:
            if b.mode == FREE:
                J[b.at, b.at + 1] = 1
                row = J[b.at + 1]
                if b.onpiston and self.rod == PUSHED:
                    row -= b.heavy / b.inertia * J[self.lv]
                self.pslope(row, b.frm, b.seat / b.inertia)
                self.pslope(row, b.to, -b.seat / b.inertia)
                row[b.at + 1] -= (b.drag1 + 2 * b.drag2 * fabs(y[b.at + 1])) / b.inertia
        return J

    # ---- modes ----
    def switch(self, value, direction):
        def g(t, y):
            return value(t, y)
        g.terminal, g.direction = True, direction
        return g

    def at_pressures(self, y):
        x = y[self.lx] if self.rod == PUSHED else self.rest
        self.pressures(y, x)

    def watch(self):
        out = []

        def add(value, direction, action):
            out.append((self.switch(value, direction), action))

        def thrust(t, y):
            self.at_pressures(y)
            return self.thrust(t)

        def lifting(b):
            def g(t, y):
                self.at_pressures(y)
                return self.force(b, self.acceleration(t, y[self.lv]) if self.rod == PUSHED else 0.0)
            return g

        if self.rod == PUSHED:
            add(lambda t, y: y[self.lx] - self.stroke * (1 + self.past), 1, lambda: self.arrive(1))
            add(lambda t, y: y[self.lx] + self.stroke * self.past, -1, lambda: self.arrive(-1))
        else:
            add(thrust, -1 if self.rod == ATTOP else 1, self.leave_stop)
        for b in self.balls:
            if b.mode == SEATED:
                add(lifting(b), 1, lambda b=b: self.lift(b))
            elif b.mode == FREE:
                add(lambda t, y, b=b: y[b.at] + b.lift * self.past, -1, lambda b=b: self.land(b, 0.0, SEATED))
                add(lambda t, y, b=b: y[b.at] - b.lift * (1 + self.past), 1, lambda b=b: self.land(b, b.lift, STOPPED))
            elif b.mode == STOPPED:
                add(lifting(b), -1, lambda b=b: self.drop(b))
        return out

    def leave_stop(self):
        self.rod = PUSHED

    def lift(self, b):
        b.mode, b.release = FREE, inf

    def land(self, b, z, mode):
        volume = b.seat * (z - b.z)
        b.z = z
        if b.frm < self.N:
            self.content[b.frm] -= volume
        elif b.frm == self.N + 1:
            self.sums[0] += volume
        if b.to < self.N:
            self.content[b.to] += volume
        elif b.to == self.N + 1:
            self.sums[0] -= volume
        b.w *= -self.rebound
        if fabs(b.w) <= self.slow:
            b.w, b.met, b.mode = 0.0, self.t, mode

    def drop(self, b):
        if b.late > 0:
            b.mode, b.release = STUCK, self.t + b.late
        else:
            b.mode, b.release = FREE, inf

    def setpush(self):
        f = self.up if self.dir > 0 else self.down
        self.pstart, self.pfrom, self.prate, self.pdamp = self.t, self.dir * f, 0.0, f / self.freespeed

    def arrive(self, end):
        self.rod = ATTOP if end > 0 else ATBOTTOM
        to = self.stroke if end > 0 else 0.0
        self.content -= self.area * (to - self.x)
        self.x, self.v = to, 0.0
        if self.dir != end or self.changing:
            return
        self.dir = -end
        if self.changeover == 0:
            self.setpush()
            return
        self.changing, self.until = True, self.t + self.changeover
        frm = end * (self.up if end > 0 else self.down)
        to = -end * (self.down if end > 0 else self.up)
        self.pstart, self.pfrom, self.prate = self.t, frm, (to - frm) / self.changeover
        self.pdamp = (self.up + self.down) / 2 / self.freespeed

    def enter(self):
        suction = self.N + 1
        flows = any(b.mode != SEATED and suction in (b.frm, b.to) for b in self.balls)
        flows = flows or suction in self.bf or suction in self.bt
        self.totslot = [i for i in range(len(self.slots))
                        if i == 0 and flows or i > 0 and (i != self.tipslot or self.tipopen)]
        self.totbranch = [self.slots[i] for i in self.totslot]
        self.rest = self.x
        at, self.lx, self.lv = self.N, -1, -1
        if self.rod == PUSHED:
            self.lx, self.lv, at = at, at + 1, at + 2
        for b in self.balls:
            if b.mode == FREE:
                b.at, at = at, at + 2
        self.ltot, self.dim = at, at + len(self.totslot)
        self.counted, self.intake = [-1] * len(self.bf), -1
        for i, br in enumerate(self.totbranch):
            if br < 0:
                self.intake = at + i
            else:
                self.counted[self.keep[br]] = at + i
        y, tol = np.zeros(self.dim), np.full(self.dim, self.toltotal)
        y[:self.N], tol[:self.N] = self.content, self.tolc
        if self.rod == PUSHED:
            y[self.lx], y[self.lv], tol[self.lx], tol[self.lv] = self.x, self.v, self.tolx, self.tolv
        for b in self.balls:
            if b.mode == FREE:
                y[b.at], y[b.at + 1], tol[b.at], tol[b.at + 1] = b.z, b.w, b.tolz, self.tolw
        y[self.ltot:] = self.sums[self.totslot]
        return y, tol

    def leave(self, y):
        self.content = y[:self.N].copy()
        self.v = 0.0
        if self.rod == PUSHED:
            self.x, self.v = y[self.lx], y[self.lv]
        for b in self.balls:
            if b.mode == FREE:
                b.z, b.w = y[b.at], y[b.at + 1]
        self.sums[self.totslot] = y[self.ltot:]

    def settle(self):
        for _ in range(2 + len(self.balls)):
            changed = False
            y, tol = self.enter()
            self.pressures(y, self.x)
            f = self.thrust(self.t)
            if self.rod == ATTOP and f < 0 or self.rod == ATBOTTOM and f > 0:
                self.rod = PUSHED
                continue
            a = self.acceleration(self.t, self.v) if self.rod == PUSHED else 0.0
            for b in self.balls:
                f = self.force(b, a)
                if not (b.mode == SEATED and f > 0 or b.mode == STOPPED and f < 0):
                    continue
                if self.t < b.met + self.contact:
                    b.release = b.met + self.contact
                elif b.mode == SEATED:
                    b.mode, changed = FREE, True
                else:
                    self.drop(b)
                    changed = True
            if not changed:
                return

    def timed(self):
        if self.t >= self.until:
            self.until, self.changing = inf, False
            self.setpush()
        for b in self.balls:
            if self.t >= b.release:
                b.release = inf
                if b.mode == STUCK:
                    b.mode = FREE

    def run(self, method, out):
        self.setpush()
        if self.x >= self.stroke:
            self.arrive(1)
        elif self.x <= 0:
            self.arrive(-1)
        self.settle()
        nfev = njev = starts = 0
        sample = 0
        while self.t < self.duration:
            y, tol = self.enter()
            watches = self.watch()
            end = min([self.duration, self.until] + [b.release for b in self.balls])
            if end > self.t:
                first = sample
                while sample * self.sample <= end:
                    sample += 1
                grid = np.arange(first, sample) * self.sample
                grid = grid[grid >= self.t]
                when = grid if len(grid) and grid[-1] >= end else np.append(grid, end)
                sol = solve_ivp(self.deriv, (self.t, end), y, method=method, t_eval=when, jac=self.jac,
                                rtol=3e-14, atol=tol, events=[w[0] for w in watches])
                if sol.status < 0:
                    raise SystemExit(f"{method} fails at t = {sol.t[-1] if len(sol.t) else self.t}: {sol.message}")
                nfev, njev, starts = nfev + sol.nfev, njev + sol.njev, starts + 1
                reached, ylast, fired = end, None, []
                if sol.status == 1:
                    times = [e[0] if len(e) else inf for e in sol.t_events]
                    reached = min(times)
                    fired = [i for i, e in enumerate(times) if e <= reached]
                    ylast = sol.y_events[fired[0]][0]
                else:
                    ylast = sol.y[:, -1]
                for k, ts in enumerate(sol.t):
                    if k < len(grid) and ts <= reached:
                        yk = sol.y[:, k]
                        x = yk[self.lx] if self.rod == PUSHED else self.rest
                        self.pressures(yk, x)
                        out.append((ts, x, self.p[0]))
                while sample > 0 and (sample - 1) * self.sample > reached:
                    sample -= 1
                self.t = reached
                self.leave(ylast)
                for i in fired:
                    watches[i][1]()
            self.timed()
            self.settle()
        return nfev, njev, starts


def main():
    tables, method, rtol, seconds, repeats, name = sys.argv[1:7]
    best = inf
    for _ in range(int(repeats)):
        pump = Pump(tables, float(rtol), float(seconds))
        out = []
        start = time.process_time()
        nfev, njev, starts = pump.run(method, out)
        best = min(best, time.process_time() - start)
    with open(name, "w") as f:
        for row in out:
            f.write("%.17g %.17g %.17g\n" % row)
    print(f"{best:.6f} {pump.duration} {nfev} {njev} {starts}")


if __name__ == "__main__":
    main()
