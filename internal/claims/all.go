package claims

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"
)

// All tries the rows, so many at a time, writes a line for each as it comes and the counts at the end. It is an error when a named test is
// red on sound source, when a break is not seen, or when a row is wrong.
func (t Tree) All(ctx context.Context, rows []Break, jobs int, w io.Writer) error {
	began := time.Now()
	if err := t.allSound(ctx, rows); err != nil {
		return err
	}
	counts := map[Outcome]int{}
	seen := map[string]bool{}
	for r := range t.each(ctx, rows, jobs) {
		counts[r.Outcome]++
		if r.Outcome == Red {
			seen[r.Claim] = true
		}
		fmt.Fprintf(w, "%-7s %-12s %-60s %-52s %4.0f s\n", r.Claim, r.Outcome, r.What, r.Test, r.Took.Seconds())
		if r.Why != "" {
			fmt.Fprintf(w, "\t%s: %s\n", r.File, r.Why)
		}
	}
	fmt.Fprintf(w, "%d breaks of %d claims: %d red, %d still green, %d rows wrong; %d claims shown, %.0f s\n",
		len(rows), len(claimsOf(rows)), counts[Red], counts[Green], counts[Wrong], len(seen), time.Since(began).Seconds())
	if err := ctx.Err(); err != nil {
		return err
	}
	if counts[Red] != len(rows) {
		return fmt.Errorf("%d of %d breaks are not seen by the test that docs/security.md names", len(rows)-counts[Red], len(rows))
	}
	return nil
}

// allSound runs every named test once as it is, a package at a time.
func (t Tree) allSound(ctx context.Context, rows []Break) error {
	names := map[string][]string{}
	for _, b := range rows {
		pkg, name, _ := strings.Cut(b.Test, ".")
		if !slices.Contains(names[pkg], name) {
			names[pkg] = append(names[pkg], name)
		}
	}
	for pkg, of := range names {
		if err := t.Sound(ctx, pkg, of); err != nil {
			return err
		}
	}
	return nil
}

// each runs the rows on so many workers.
func (t Tree) each(ctx context.Context, rows []Break, jobs int) <-chan Result {
	todo, done := make(chan Break), make(chan Result)
	var workers sync.WaitGroup
	for range jobs {
		workers.Go(func() {
			for b := range todo {
				done <- t.Run(ctx, b)
			}
		})
	}
	go func() {
		defer close(done)
		defer workers.Wait()
		defer close(todo)
		for _, b := range rows {
			if ctx.Err() != nil {
				return
			}
			todo <- b
		}
	}()
	return done
}

func claimsOf(rows []Break) []string {
	var out []string
	for _, b := range rows {
		if !slices.Contains(out, b.Claim) {
			out = append(out, b.Claim)
		}
	}
	return out
}
