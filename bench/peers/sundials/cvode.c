/* The moving pump of package stroke, solved by SUNDIALS CVODE (BDF, dense, analytic Jacobian, root finding).
 *
 * Usage: cvode TABLES RTOL REPEATS OUT
 * TABLES is what stroke.WriteTables writes. The samples of the last run go to OUT; one line on standard output says
 * the least CPU time of a run [s] and the work of one run: steps, calls of f, Jacobians, restarts.
 */
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sundials/sundials_types.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <time.h>

enum { MAXN = 16, MAXB = 24, MAXV = 8, MAXR = 8, MAXS = 16, MAXW = 24, MAXY = MAXN + 2 + 2 * MAXV + MAXS };
enum { SEATED, FREE, STOPPED, STUCK };
enum { LOCKED, PUSHED, ATTOP, ATBOTTOM };
enum { RODTOP, RODBOTTOM, RODLEAVES, LANDS, TOPS, LIFTS, DROPS };

typedef struct { double area, width, darea, dwidth; } Gap;
typedef struct {
    int from, to, onpiston;
    double rs, r, y0, seat, lift, turb, lam, inertia, heavy, drag1, drag2, late;
    int mode, at;
    Gap open;
} Ball;
typedef struct { int kind, ball, dir; double level; } Watch;

/* tables */
static double soft, air, atm, grav, mass, stroke, up, down, freespeed, changeover, steady, viscous, vround, pround;
static double contact, past, slow, rebound, duration, sample, suction, x0, tolx, tolv, tolw, toltotal;
static int N, B, V, R, S, startdir, tipslot, tipopen;
static double nv[MAXN], na[MAXN], ns[MAXN], tolc[MAXN], content0[MAXN];
static int bfrom[MAXB], bto[MAXB];
static double blin[MAXB], bquad[MAXB];
static Ball ball0[MAXV], ball[MAXV];
static double tolz[MAXV], cap = INFINITY;
static int rfrom[MAXR], rto[MAXR];
static double rper[MAXR];
static int slotbranch[MAXS];

/* mode */
static int rod, dir, changing, active[MAXB], nactive, ntotals, totbranch[MAXS], totslot[MAXS];
static int counted[MAXB], intake, lx, lv, ltot, dim, nw;
static double pstart, pfrom, prate, pdamp, rest, until;
static Watch w[MAXW];

/* state between runs */
static double t, content[MAXN], x, v, z[MAXV], bw[MAXV], sums[MAXS], release[MAXV], met[MAXV];
static double p[MAXN + 2], pn[MAXN + 2], px[MAXN + 2], in[MAXN + 2], q[MAXB];

static inline double flow(double lin, double quad, double dp, double *slope) {
    if (quad == 0) { *slope = 1 / lin; return dp * *slope; }
    if (lin == 0) {
        double m = sqrt(dp * dp + 1e4), r = 1 / sqrt(quad * m);
        *slope = r * (1 - 0.5 * (dp / m) * (dp / m));
        return dp * r;
    }
    double s = sqrt(lin * lin + 4 * quad * fabs(dp));
    *slope = 1 / s;
    return 2 * dp / (lin + s);
}

static Gap opening(const Ball *b, double zz) {
    Gap g = {0, 0, 0, 0};
    if (zz <= 0) return g;
    double yc = b->y0 + zz, l = sqrt(b->rs * b->rs + yc * yc), il = 1 / l;
    double gg = zz * (yc + b->y0) / (l + b->r), dg = yc * il, foot = b->r * b->rs * il;
    double ag = M_PI * (b->rs + foot) * gg, dag = M_PI * (b->rs + foot - foot * il * gg) * dg;
    double h = 1 / sqrt(ag * ag + b->seat * b->seat), s = b->seat * h;
    g.area = ag * s; g.width = 2 * gg; g.darea = dag * s * s * s; g.dwidth = 2 * dg;
    return g;
}

static inline double through(const Ball *b, double dp, const Gap *g, double *byp, double *byz) {
    double s = sqrt(b->lam * b->lam + 4 * b->turb * g->width * g->width * fabs(dp)), is = 1 / s;
    double e = 2 * dp / (b->lam + s), u = e * g->width;
    *byp = g->area * g->width * is;
    *byz = u * g->darea + g->area * b->lam * e * is * g->dwidth;
    return u * g->area;
}

static inline double force(const Ball *b, double dp, double a) {
    return b->seat * dp - b->heavy * (b->onpiston ? grav + a : grav);
}

static void pressures(const double *y, double xx) {
    for (int j = 0; j < N; j++) {
        double n = y[j], vol = nv[j] + na[j] * xx, c = vol * soft + ns[j], b = c * atm + vol * air - n;
        double s = sqrt(b * b + 4 * c * n * atm);
        if (s < 1e-300) s = 1e-300;
        double pp = b < 0 ? (s - b) / (2 * c) : 2 * n * atm / (b + s);
        p[j] = pp;
        pn[j] = (pp + atm) / s;
        px[j] = -pp * (soft * (pp + atm) + air) / s * na[j];
    }
}

static double thrust(double tt) {
    double f = pfrom + prate * (tt - pstart);
    for (int j = 0; j < N; j++) f += p[j] * na[j];
    return f;
}

static double acceleration(double tt, double vv) {
    double s = vv / sqrt(vv * vv + vround * vround), sum = steady;
    for (int i = 0; i < R; i++) {
        double dp = p[rfrom[i]] - p[rto[i]];
        sum += rper[i] * sqrt(dp * dp + pround * pround);
    }
    return (thrust(tt) - vv * (pdamp + viscous) - s * sum) / mass;
}

static int deriv(realtype tt, N_Vector yv, N_Vector dyv, void *u) {
    (void)u;
    const double *y = NV_DATA_S(yv);
    double *dy = NV_DATA_S(dyv), xx = rest, vv = 0, a = 0, s1, s2;
    if (rod == PUSHED) { xx = y[lx]; vv = y[lv]; }
    pressures(y, xx);
    memset(in, 0, sizeof in);
    for (int i = 0; i < nactive; i++) {
        int k = active[i];
        double f = flow(blin[k], bquad[k], p[bfrom[k]] - p[bto[k]], &s1);
        q[k] = f; in[bfrom[k]] -= f; in[bto[k]] += f;
    }
    for (int i = 0; i < V; i++) {
        const Ball *b = &ball[i];
        if (b->mode == SEATED) continue;
        Gap g = b->open;
        double wv = 0;
        if (b->mode == FREE) { g = opening(b, y[b->at]); wv = y[b->at + 1]; }
        double f = through(b, p[b->from] - p[b->to], &g, &s1, &s2) + b->seat * wv;
        in[b->from] -= f; in[b->to] += f;
    }
    for (int j = 0; j < N; j++) dy[j] = in[j] - na[j] * vv;
    if (rod == PUSHED) { a = acceleration(tt, vv); dy[lx] = vv; dy[lv] = a; }
    for (int i = 0; i < V; i++) {
        const Ball *b = &ball[i];
        if (b->mode != FREE) continue;
        double wv = y[b->at + 1];
        dy[b->at] = wv;
        dy[b->at + 1] = (force(b, p[b->from] - p[b->to], a) - wv * (b->drag1 + b->drag2 * fabs(wv))) / b->inertia;
    }
    for (int i = 0; i < ntotals; i++) dy[ltot + i] = totbranch[i] >= 0 ? q[totbranch[i]] : -in[N + 1];
    return 0;
}

static SUNMatrix JM;
#define J(i, j) SM_ELEMENT_D(JM, i, j)

static inline void pass(int from, int to, int count, int col, double c) {
    if (from < N) J(from, col) -= c;
    if (to < N) J(to, col) += c;
    if (count >= 0) J(count, col) += c;
    if (intake >= 0) {
        if (from == N + 1) J(intake, col) += c;
        else if (to == N + 1) J(intake, col) -= c;
    }
}

static inline void passdp(int from, int to, int count, double g) {
    if (from < N) pass(from, to, count, from, g * pn[from]);
    if (to < N) pass(from, to, count, to, -g * pn[to]);
    if (lx >= 0) pass(from, to, count, lx, g * (px[from] - px[to]));
}

static inline void pslope(int row, int j, double c) {
    if (j < N) J(row, j) += c * pn[j];
    if (lx >= 0) J(row, lx) += c * px[j];
}

static int jac(realtype tt, N_Vector yv, N_Vector fy, SUNMatrix M, void *u, N_Vector a1, N_Vector a2, N_Vector a3) {
    (void)tt; (void)fy; (void)u; (void)a1; (void)a2; (void)a3;
    const double *y = NV_DATA_S(yv);
    double xx = rest, vv = 0, g, qz;
    if (rod == PUSHED) { xx = y[lx]; vv = y[lv]; }
    JM = M;
    SUNMatZero(M);
    pressures(y, xx);
    for (int i = 0; i < nactive; i++) {
        int k = active[i];
        flow(blin[k], bquad[k], p[bfrom[k]] - p[bto[k]], &g);
        passdp(bfrom[k], bto[k], counted[k], g);
    }
    for (int i = 0; i < V; i++) {
        const Ball *b = &ball[i];
        if (b->mode == SEATED) continue;
        double dp = p[b->from] - p[b->to];
        Gap o = b->mode == FREE ? opening(b, y[b->at]) : b->open;
        through(b, dp, &o, &g, &qz);
        passdp(b->from, b->to, -1, g);
        if (b->mode == FREE) {
            pass(b->from, b->to, -1, b->at, qz);
            pass(b->from, b->to, -1, b->at + 1, b->seat);
        }
    }
    if (rod == PUSHED) {
        double r = 1 / sqrt(vv * vv + vround * vround), s = vv * r, im = 1 / mass, normal = steady;
        for (int j = 0; j < N; j++) J(j, lv) = -na[j];
        J(lx, lv) = 1;
        for (int j = 0; j < N; j++) pslope(lv, j, na[j] * im);
        for (int i = 0; i < R; i++) {
            double dp = p[rfrom[i]] - p[rto[i]], size = sqrt(dp * dp + pround * pround);
            normal += rper[i] * size;
            double d = -s * im * rper[i] * dp / size;
            pslope(lv, rfrom[i], d);
            pslope(lv, rto[i], -d);
        }
        J(lv, lv) = -im * (pdamp + viscous + normal * vround * vround * r * r * r);
    }
    for (int i = 0; i < V; i++) {
        const Ball *b = &ball[i];
        if (b->mode != FREE) continue;
        int row = b->at + 1;
        double im = 1 / b->inertia;
        J(b->at, row) = 1;
        if (b->onpiston && rod == PUSHED)
            for (int c = 0; c < dim; c++) J(row, c) -= b->heavy * im * J(lv, c);
        pslope(row, b->from, b->seat * im);
        pslope(row, b->to, -b->seat * im);
        J(row, row) -= im * (b->drag1 + 2 * b->drag2 * fabs(y[row]));
    }
    return 0;
}

static int roots(realtype tt, N_Vector yv, realtype *g, void *u) {
    (void)u;
    const double *y = NV_DATA_S(yv);
    double xx = rest, vv = 0, a = 0;
    if (rod == PUSHED) { xx = y[lx]; vv = y[lv]; }
    pressures(y, xx);
    if (rod == PUSHED) a = acceleration(tt, vv);
    for (int i = 0; i < nw; i++) {
        const Ball *b = &ball[w[i].ball];
        switch (w[i].kind) {
        case RODTOP: case RODBOTTOM: g[i] = xx - w[i].level; break;
        case RODLEAVES: g[i] = thrust(tt); break;
        case LANDS: case TOPS: g[i] = y[b->at] - w[i].level; break;
        default: g[i] = force(b, p[b->from] - p[b->to], a);
        }
    }
    return 0;
}

/* ---- modes, as in package stroke ---- */

static void watchadd(int kind, int b, double level, int d) {
    w[nw].kind = kind; w[nw].ball = b; w[nw].level = level; w[nw].dir = d; nw++;
}

static void watchall(void) {
    nw = 0;
    if (rod == PUSHED) { watchadd(RODTOP, 0, stroke * (1 + past), 1); watchadd(RODBOTTOM, 0, -stroke * past, -1); }
    if (rod == ATTOP) watchadd(RODLEAVES, 0, 0, -1);
    if (rod == ATBOTTOM) watchadd(RODLEAVES, 0, 0, 1);
    for (int i = 0; i < V; i++) {
        double lift = ball[i].lift;
        if (ball[i].mode == SEATED) watchadd(LIFTS, i, 0, 1);
        if (ball[i].mode == FREE) { watchadd(LANDS, i, -lift * past, -1); watchadd(TOPS, i, lift * (1 + past), 1); }
        if (ball[i].mode == STOPPED) watchadd(DROPS, i, 0, -1);
    }
}

static int intakeon(void) {
    for (int i = 0; i < V; i++)
        if (ball[i].mode != SEATED && (ball[i].from == N + 1 || ball[i].to == N + 1)) return 1;
    for (int i = 0; i < nactive; i++)
        if (bfrom[active[i]] == N + 1 || bto[active[i]] == N + 1) return 1;
    return 0;
}

static double ybuf[MAXY], tol[MAXY];

static void enter(void) {
    ntotals = 0;
    for (int i = 0; i < S; i++)
        if ((i == 0 && intakeon()) || (i > 0 && (i != tipslot || tipopen))) { totbranch[ntotals] = slotbranch[i]; totslot[ntotals++] = i; }
    rest = x;
    int at = N;
    lx = lv = -1;
    if (rod == PUSHED) { lx = at++; lv = at++; }
    for (int i = 0; i < V; i++)
        if (ball[i].mode == FREE) { ball[i].at = at; at += 2; }
    ltot = at;
    dim = at + ntotals;
    intake = -1;
    for (int i = 0; i < B; i++) counted[i] = -1;
    for (int i = 0; i < ntotals; i++) {
        if (totbranch[i] < 0) intake = ltot + i; else counted[totbranch[i]] = ltot + i;
    }
    watchall();
    for (int j = 0; j < N; j++) { ybuf[j] = content[j]; tol[j] = tolc[j]; }
    if (lx >= 0) { ybuf[lx] = x; ybuf[lv] = v; tol[lx] = tolx; tol[lv] = tolv; }
    for (int i = 0; i < V; i++)
        if (ball[i].mode == FREE) {
            int k = ball[i].at;
            ybuf[k] = z[i]; ybuf[k + 1] = bw[i]; tol[k] = tolz[i]; tol[k + 1] = tolw;
        }
    for (int i = 0; i < ntotals; i++) { ybuf[ltot + i] = sums[totslot[i]]; tol[ltot + i] = toltotal; }
}

static void leave(const double *y) {
    memcpy(content, y, N * sizeof *y);
    if (lx >= 0) { x = y[lx]; v = y[lv]; } else v = 0;
    for (int i = 0; i < V; i++)
        if (ball[i].mode == FREE) { z[i] = y[ball[i].at]; bw[i] = y[ball[i].at + 1]; }
    for (int i = 0; i < ntotals; i++) sums[totslot[i]] = y[ltot + i];
}

static void setpush(void) {
    double f = dir > 0 ? up : down;
    pstart = t; pfrom = dir * f; prate = 0; pdamp = f / freespeed;
}

static void placerod(double to) {
    for (int j = 0; j < N; j++) content[j] -= na[j] * (to - x);
    x = to; v = 0;
}

static void arrive(int end) {
    rod = end > 0 ? ATTOP : ATBOTTOM;
    placerod(end > 0 ? stroke : 0);
    if (dir != end || changing) return;
    dir = -end;
    if (changeover == 0) { setpush(); return; }
    changing = 1;
    until = t + changeover;
    double from = end * (end > 0 ? up : down), to = -end * (end > 0 ? down : up);
    pstart = t; pfrom = from; prate = (to - from) / changeover; pdamp = (up + down) / 2 / freespeed;
}

static int place(int i, double to) {
    Ball *b = &ball[i];
    double volume = b->seat * (to - z[i]);
    z[i] = to;
    if (b->from < N) content[b->from] -= volume; else if (b->from == N + 1) sums[0] += volume;
    if (b->to < N) content[b->to] += volume; else if (b->to == N + 1) sums[0] -= volume;
    bw[i] *= -rebound;
    if (fabs(bw[i]) > slow) return 0;
    bw[i] = 0; met[i] = t;
    return 1;
}

static void drop(int i) {
    if (ball[i].late > 0) { ball[i].mode = STUCK; release[i] = t + ball[i].late; return; }
    ball[i].mode = FREE; release[i] = INFINITY;
}

static void happen(Watch e) {
    Ball *b = &ball[e.ball];
    switch (e.kind) {
    case RODTOP: arrive(1); break;
    case RODBOTTOM: arrive(-1); break;
    case RODLEAVES: rod = PUSHED; break;
    case LANDS: if (place(e.ball, 0)) b->mode = SEATED; break;
    case TOPS: if (place(e.ball, b->lift)) b->mode = STOPPED; break;
    case LIFTS: b->mode = FREE; release[e.ball] = INFINITY; break;
    case DROPS: drop(e.ball);
    }
}

static void timed(void) {
    if (t >= until) { until = INFINITY; changing = 0; setpush(); }
    for (int i = 0; i < V; i++)
        if (t >= release[i]) { release[i] = INFINITY; if (ball[i].mode == STUCK) ball[i].mode = FREE; }
}

static void settle(void) {
    for (int n = 0; n < 2 + V; n++) {
        int changed = 0;
        enter();
        pressures(ybuf, x);
        if ((rod == ATTOP && thrust(t) < 0) || (rod == ATBOTTOM && thrust(t) > 0)) { rod = PUSHED; continue; }
        double a = rod == PUSHED ? acceleration(t, v) : 0;
        for (int i = 0; i < V; i++) {
            Ball *b = &ball[i];
            double f = force(b, p[b->from] - p[b->to], a);
            if (!((b->mode == SEATED && f > 0) || (b->mode == STOPPED && f < 0))) continue;
            if (t < met[i] + contact) release[i] = met[i] + contact;
            else if (b->mode == SEATED) { b->mode = FREE; changed = 1; }
            else { drop(i); changed = 1; }
        }
        if (!changed) return;
    }
    enter();
}

/* ---- CVODE ---- */

typedef struct { int used, dim, nw; unsigned key; void *mem; N_Vector y, tol; SUNMatrix A; SUNLinearSolver ls; } Solver;
static Solver solvers[64];
static SUNContext ctx;
static long nsteps, nderivs, njacs, nstarts;

static void check(int flag, const char *what) {
    if (flag < 0) { fprintf(stderr, "cvode: %s failed with %d at t = %.12g\n", what, flag, t); exit(1); }
}

static Solver *solver(void) {
    unsigned key = 0;
    for (int i = 0; i < V; i++) key |= (ball[i].mode == FREE) << i;
    for (int i = 0; i < ntotals; i++) key |= 1u << (8 + totslot[i]);
    key |= (unsigned)(rod == PUSHED) << 31;
    Solver *s = solvers;
    for (; s->used; s++)
        if (s->key == key && s->nw == nw) break;
    if (!s->used) {
        s->used = 1; s->key = key; s->nw = nw; s->dim = dim;
        s->y = N_VNew_Serial(dim, ctx);
        s->tol = N_VNew_Serial(dim, ctx);
        memcpy(NV_DATA_S(s->y), ybuf, dim * sizeof *ybuf);
        memcpy(NV_DATA_S(s->tol), tol, dim * sizeof *tol);
        s->mem = CVodeCreate(CV_BDF, ctx);
        check(CVodeInit(s->mem, deriv, t, s->y), "CVodeInit");
        check(CVodeSVtolerances(s->mem, 1e-14, s->tol), "CVodeSVtolerances");
        s->A = SUNDenseMatrix(dim, dim, ctx);
        s->ls = SUNLinSol_Dense(s->y, s->A, ctx);
        check(CVodeSetLinearSolver(s->mem, s->ls, s->A), "CVodeSetLinearSolver");
        check(CVodeSetJacFn(s->mem, jac), "CVodeSetJacFn");
        check(CVodeSetMaxNumSteps(s->mem, 10000000), "CVodeSetMaxNumSteps");
        check(CVodeSetMaxErrTestFails(s->mem, 50), "CVodeSetMaxErrTestFails");
        check(CVodeSetMaxConvFails(s->mem, 100), "CVodeSetMaxConvFails");
        check(CVodeRootInit(s->mem, nw, roots), "CVodeRootInit");
        check(CVodeSetNoInactiveRootWarn(s->mem), "CVodeSetNoInactiveRootWarn");
    } else {
        memcpy(NV_DATA_S(s->y), ybuf, dim * sizeof *ybuf);
        check(CVodeReInit(s->mem, t, s->y), "CVodeReInit");
    }
    int dirs[MAXW];
    for (int i = 0; i < nw; i++) dirs[i] = w[i].dir;
    check(CVodeSetRootDirection(s->mem, dirs), "CVodeSetRootDirection");
    return s;
}

static FILE *out;
static long nextsample;

static void writesample(double ts, const double *y) {
    if (!out) return;
    double xx = lx >= 0 ? y[lx] : rest;
    pressures(y, xx);
    fprintf(out, "%.17g %.17g %.17g\n", ts, xx, p[0]);
}

static void stretch(void) {
    Solver *s = solver();
    double next = until < duration ? until : duration;
    for (int i = 0; i < V; i++) if (release[i] < next) next = release[i];
    int flag = CV_SUCCESS, found[MAXW];
    long n;
    if (next > t) {
        check(CVodeSetStopTime(s->mem, next), "CVodeSetStopTime");
        for (;;) {
            double ts = nextsample * sample;
            if (ts <= t) { writesample(ts, ybuf); nextsample++; continue; }
            double to = ts < next ? ts : next;
            flag = CVode(s->mem, to, s->y, &t, CV_NORMAL);
            check(flag, "CVode");
            if (flag == CV_ROOT_RETURN) break;
            if (t >= ts) { writesample(ts, NV_DATA_S(s->y)); nextsample++; }
            if (t >= next) break;
        }
        CVodeGetNumSteps(s->mem, &n); nsteps += n;
        CVodeGetNumRhsEvals(s->mem, &n); nderivs += n;
        CVodeGetNumJacEvals(s->mem, &n); njacs += n;
        nstarts++;
    }
    leave(NV_DATA_S(s->y));
    if (flag == CV_ROOT_RETURN) {
        Watch events[MAXW];
        int k = 0;
        CVodeGetRootInfo(s->mem, found);
        for (int i = 0; i < nw; i++) if (found[i]) events[k++] = w[i];
        for (int i = 0; i < k; i++) happen(events[i]);
    }
    timed();
    settle();
}

static void run(void) {
    memcpy(ball, ball0, sizeof ball);
    memcpy(content, content0, sizeof content);
    t = 0; x = x0; v = 0; changing = 0; until = INFINITY; dir = startdir; nextsample = 0;
    nsteps = nderivs = njacs = nstarts = 0;
    for (int i = 0; i < V; i++) { z[i] = bw[i] = 0; release[i] = INFINITY; met[i] = -INFINITY; }
    memset(sums, 0, sizeof sums);
    p[N] = 0; p[N + 1] = suction; pn[N] = pn[N + 1] = px[N] = px[N + 1] = 0;
    nactive = 0;
    for (int i = 0; i < B; i++) if (tipslot < 0 || tipopen || i != slotbranch[tipslot]) active[nactive++] = i;
    rod = PUSHED;
    setpush();
    if (x >= stroke) arrive(1); else if (x <= 0) arrive(-1);
    settle();
    while (t < duration) stretch();
}

/* ---- reading the tables ---- */

static double num(FILE *f) {
    double d;
    if (fscanf(f, "%lf", &d) != 1) { fprintf(stderr, "cvode: a number is missing in the tables\n"); exit(1); }
    return d;
}

static void readtables(const char *name, double rtol) {
    FILE *f = fopen(name, "r");
    char key[64];
    if (!f) { perror(name); exit(1); }
    while (fscanf(f, "%63s", key) == 1) {
        if (!strcmp(key, "fluid")) { soft = num(f); air = num(f); atm = num(f); grav = num(f); }
        else if (!strcmp(key, "rod")) { mass = num(f); stroke = num(f); x0 = num(f); startdir = num(f); }
        else if (!strcmp(key, "drive")) { up = num(f); down = num(f); freespeed = num(f); changeover = num(f); }
        else if (!strcmp(key, "friction")) { steady = num(f); viscous = num(f); vround = num(f); pround = num(f); }
        else if (!strcmp(key, "contact")) { contact = num(f); past = num(f); slow = num(f); rebound = num(f); }
        else if (!strcmp(key, "run")) { duration = num(f); sample = num(f); suction = num(f); tipslot = num(f); tipopen = num(f); }
        else if (!strcmp(key, "tolerance")) { tolx = rtol * num(f); tolv = rtol * num(f); tolw = rtol * num(f); toltotal = rtol * num(f); }
        else if (!strcmp(key, "node")) { nv[N] = num(f); na[N] = num(f); ns[N] = num(f); content0[N] = num(f); tolc[N] = num(f); N++; }
        else if (!strcmp(key, "cap")) cap = num(f);
        else if (!strcmp(key, "branch")) { bfrom[B] = num(f); bto[B] = num(f); blin[B] = num(f); bquad[B] = num(f); B++; }
        else if (!strcmp(key, "slot")) slotbranch[S++] = num(f);
        else if (!strcmp(key, "rub")) { rfrom[R] = num(f); rto[R] = num(f); rper[R] = num(f); R++; }
        else if (!strcmp(key, "ball")) {
            Ball *b = &ball0[V];
            b->from = num(f); b->to = num(f); b->onpiston = num(f);
            b->rs = num(f); b->r = num(f); b->y0 = num(f); b->seat = num(f); b->lift = num(f); b->turb = num(f); b->lam = num(f);
            b->inertia = num(f); b->heavy = num(f); b->drag1 = num(f); b->drag2 = num(f); b->late = num(f);
            tolz[V++] = rtol * num(f);
            b->mode = SEATED;
            b->open = opening(b, b->lift);
        } else { fprintf(stderr, "cvode: unknown line %s\n", key); exit(1); }
    }
    fclose(f);
    for (int j = 0; j < N; j++) tolc[j] *= rtol < cap ? rtol : cap;
}

static double cputime(void) {
    struct timespec ts;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &ts);
    return ts.tv_sec + 1e-9 * ts.tv_nsec;
}

int main(int argc, char **argv) {
    if (argc != 5) { fprintf(stderr, "usage: cvode TABLES RTOL REPEATS OUT\n"); return 2; }
    readtables(argv[1], atof(argv[2]));
    if (SUNContext_Create(NULL, &ctx)) return 1;
    double best = INFINITY;
    for (int i = 0; i < atoi(argv[3]); i++) {
        double a = cputime();
        run();
        a = cputime() - a;
        if (a < best) best = a;
    }
    out = fopen(argv[4], "w");
    if (!out) { perror(argv[4]); return 1; }
    run();
    fclose(out);
    printf("%.9f %ld %ld %ld %ld\n", best, nsteps, nderivs, njacs, nstarts);
    return 0;
}
