// Command evenstroke finds which seal or valve of an airless sprayer's piston pump leaks, orders its rebuild and proves it.
package main

import (
	"os"

	"github.com/evenstroke/evenstroke/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
