// Command extras writes the manual pages and the completions of the shells, both made from the tree of commands, into DIR/man and
// DIR/completions. The date on the pages is SOURCE_DATE_EPOCH, in seconds since 1970.
package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/cli"
	"github.com/evenstroke/evenstroke/packaging/man"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "extras: expected one argument, the folder to write into")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Getenv("SOURCE_DATE_EPOCH")); err != nil {
		fmt.Fprintln(os.Stderr, "extras:", err)
		os.Exit(1)
	}
}

func run(dir, epoch string) error {
	s, err := strconv.ParseInt(epoch, 10, 64)
	if err != nil {
		return fmt.Errorf("SOURCE_DATE_EPOCH: found %q; expected seconds since 1970, as `git log -1 --format=%%ct` gives them", epoch)
	}
	return errors.Join(man.Write(cli.Commands(), cli.Version, time.Unix(s, 0), filepath.Join(dir, "man")),
		man.Completions(cli.Commands(), filepath.Join(dir, "completions")))
}
