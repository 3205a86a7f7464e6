package main

import (
	"fmt"
	"math"
)

func printRows(rows []row) {
	fmt.Printf("  %-20s %9s %10s %12s %10s %9s\n", "method", "tolerance", "error", "CPU time", "steps", "restarts")
	for _, r := range rows {
		note := ""
		if r.method[:5] == "SciPy" {
			note = "  (steps: calls of f)"
		}
		fmt.Printf("  %-20s %9.0e %10.2e %9.2f ms %10d %9d%s\n", r.method, r.tol, r.err, 1e3*r.cpu, r.steps, r.restarts, note)
	}
}

// printCVODE compares at equal error, by interpolation of the work-precision lines.
func printCVODE(ours, theirs []row) {
	for _, e := range []float64{1e-3, 1e-4, 1e-5, 1e-6} {
		a, okA := timeAt(ours, e)
		b, okB := timeAt(theirs, e)
		if okA && okB {
			fmt.Printf("  at error %.0e: stroke %.2f ms, CVODE %.2f ms: %.2f times as long\n", e, 1e3*a, 1e3*b, b/a)
		}
	}
}

// printSciPy compares each run of SciPy with package stroke at the same error, and prints the least favourable.
func printSciPy(ours, theirs []row) {
	best := math.Inf(1)
	var which row
	for _, r := range theirs {
		a, ok := timeAt(ours, r.err)
		if ok && r.cpu/a < best {
			best, which = r.cpu/a, r
		}
	}
	fmt.Printf("  SciPy at its best (%s, tolerance %.0e, error %.1e): %.0f times as long\n", which.method, which.tol, which.err, best)
}

// timeAt returns the time that an error of e takes: interpolated, log time over log error, between the first two
// neighbouring tolerances with errors on both sides; the loosest run's where that is already better than e.
func timeAt(rows []row, e float64) (float64, bool) {
	if rows[0].err <= e {
		return rows[0].cpu, true
	}
	for i := 1; i < len(rows); i++ {
		a, b := rows[i-1], rows[i]
		if a.err >= e && b.err < e {
			u := math.Log(a.err/e) / math.Log(a.err/b.err)
			return math.Exp(math.Log(a.cpu) + u*math.Log(b.cpu/a.cpu)), true
		}
	}
	return 0, false
}
