// Command graftclock turns a surgery record into a dated, explained healing
// timeline, calendar files and a letter.
package main

import (
	"os"

	"graftclock/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
