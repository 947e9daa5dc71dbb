// Command man writes the pages of the manual, made of the help texts, into a folder:
//
//	go run ./scripts/man DIR
//	man -l DIR/sagitta.1
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"sagitta/internal/cli"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: go run ./scripts/man DIR")
		os.Exit(2)
	}
	if err := write(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func write(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, p := range cli.Manual() {
		if err := os.WriteFile(filepath.Join(dir, p.File()), p.Roff(), 0o666); err != nil {
			return err
		}
	}
	return nil
}
