// Command sagitta keeps a laser in focus on stock that is not flat.
package main

import (
	"os"

	"sagitta/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
