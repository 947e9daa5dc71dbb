// Command yardstick reads a program with the 256dpi/gcode reader and writes it
// with its writer, both through bufio: what scripts/speed measures against.
package main

import (
	"bufio"
	"fmt"
	"os"

	"github.com/256dpi/gcode"
)

func main() {
	if err := run(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "yardstick:", err)
		os.Exit(1)
	}
}

func run(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	program, err := gcode.ParseFile(bufio.NewReader(in))
	if err != nil {
		return err
	}
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(out)
	if err := gcode.WriteFile(w, program); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return out.Close()
}
