// Command shop serves a workshop whose clock stands still until it is told to go on, for the scenarios of internal/browser. It is never
// part of a release: the program that people run has no other clock than the machine's.
//
// It reads its standard input line by line: a line is a number of milliseconds by which the clock goes on, and is answered by a line
// "clock " and the new time (RFC 3339). When the input ends, so does the server.
package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/evenstroke/evenstroke/internal/serve"
)

// clock stands still until it is moved.
type clock struct{ ms atomic.Int64 } // since 1970

func (c *clock) now() time.Time { return time.UnixMilli(c.ms.Load()) }

// follow moves the clock by what is read from in, until there is no more.
func (c *clock) follow(in io.Reader, out io.Writer) error {
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		by, err := strconv.ParseInt(lines.Text(), 10, 64)
		if err != nil || by < 0 {
			return fmt.Errorf("found %q on the standard input, expected milliseconds by which the clock goes on", lines.Text())
		}
		c.ms.Add(by)
		if _, err := fmt.Fprintf(out, "clock %s\n", c.now().UTC().Format(time.RFC3339Nano)); err != nil {
			return err
		}
	}
	return lines.Err()
}

func run() error {
	cfg := serve.Default()
	cfg.Listen = "127.0.0.1:0"
	start := flag.String("clock", "", "time at the start (RFC 3339)")
	flag.StringVar(&cfg.Data, "data", "", "folder of the database")
	flag.StringVar(&cfg.Idle, "idle", cfg.Idle, "a person is signed out on a tablet that was not touched for so long")
	flag.StringVar(&cfg.LAN, "lan", "none", "address for HTTPS, or none")
	flag.StringVar(&cfg.Trust, "trust", "none", "address of the plain port that leads to HTTPS, or none")
	flag.BoolVar(&cfg.Demo, "demo", false, "fill an empty database with the demo workshop")
	flag.Parse()
	at, err := time.Parse(time.RFC3339, *start)
	if err != nil {
		return fmt.Errorf("-clock: %w", err)
	}
	if cfg.Data == "" {
		return errors.New("-data: found none, expected a folder of the test's own")
	}
	var c clock
	c.ms.Store(at.UnixMilli())
	cfg.Now = c.now
	ctx, stop := context.WithCancelCause(context.Background())
	go func() { stop(c.follow(os.Stdin, os.Stdout)) }()
	err = serve.Run(ctx, cfg, "test", os.Stdout, os.Stderr)
	if cause := context.Cause(ctx); err == nil && !errors.Is(cause, context.Canceled) {
		err = cause
	}
	return err
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
