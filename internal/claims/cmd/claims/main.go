// Command claims breaks the program line by line, as the table of internal/claims says, and runs for each break the test that docs/security.md
// names. It ends with 1 when a test stays green, or when a row of the table is wrong.
//
// Usage, from the root of the tree:
//
//	go run ./internal/claims/cmd/claims [-only REGEXP] [-j N]
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"regexp"
	"runtime"
	"strings"

	"github.com/evenstroke/evenstroke/internal/claims"
)

func main() {
	only := flag.String("only", "", "rows whose claim, words, file or test match this expression")
	jobs := flag.Int("j", runtime.NumCPU(), "how many breaks are tried at a time")
	flag.Parse()
	if err := run(*only, *jobs); err != nil {
		fmt.Fprintln(os.Stderr, "claims:", err)
		os.Exit(1)
	}
}

func run(only string, jobs int) error {
	wanted, err := regexp.Compile(only)
	if err != nil {
		return fmt.Errorf("-only: %w", err)
	}
	var rows []claims.Break
	for _, b := range claims.Breaks() {
		if wanted.MatchString(strings.Join([]string{b.Claim, b.What, b.File, b.Test}, " ")) {
			rows = append(rows, b)
		}
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	return claims.Tree{Root: "."}.All(ctx, rows, max(1, jobs), os.Stdout)
}
