// Command speed compares sagitta as a whole process with tools that copy: it
// makes jobs, follows each on one processor and on two, interleaved with cat,
// with mawk '{print}' and with the reader and writer of a G-code library, and
// prints medians as a table. It wants Linux with cat, mawk and taskset.
//
//	go run ./scripts/speed [-size MB] [-runs N]
package main

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"time"
)

func main() {
	size := flag.Int64("size", 100, "size of each job in `MB`")
	runs := flag.Int("runs", 7, "how often each is measured")
	large := flag.Int64("large", 1000, "size of the job whose memory is held to that of 10 MB, in `MB`")
	flag.Parse()
	if err := measure(*size<<20, *large<<20, *runs); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

// contestant is a command that makes out of in.
type contestant struct {
	name string
	cpus string
	args func(in, out string) []string
}

func measure(size, large int64, runs int) error {
	dir, err := os.MkdirTemp("", "speed-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, build := range [][2]string{{"sagitta", "./cmd/sagitta"}, {"yardstick", "./internal/program/yardstick"}} {
		if out, err := exec.Command("go", "build", "-o", in(build[0]), build[1]).CombinedOutput(); err != nil {
			return fmt.Errorf("%w\n%s", err, out)
		}
	}
	f, err := os.Create(in("sheet.csv"))
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	sheet(w)
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		return err
	}
	follow := func(from, to string) []string {
		return []string{in("sagitta"), "follow", from, "-s", in("sheet.csv"), "--depth", "1.5", "-o", to}
	}
	all := []contestant{
		{"cat", "0", func(from, to string) []string { return []string{"sh", "-c", `exec cat "$0" > "$1"`, from, to} }},
		{"mawk", "0", func(from, to string) []string {
			return []string{"sh", "-c", `exec mawk '{print}' "$0" > "$1"`, from, to}
		}},
		{"library", "0", func(from, to string) []string { return []string{in("yardstick"), from, to} }},
		{"sagitta, 1 processor", "0", follow},
		{"sagitta, 2 processors", "0,1", follow},
	}
	fmt.Printf("| job of %d MB | command | seconds | of mawk | library's speed | MiB |\n|---|---|---|---|---|---|\n", size>>20)
	for _, j := range jobs {
		if err := write(in(j.name), size, j.write); err != nil {
			return err
		}
		seconds, mib, err := race(all, in(j.name), in("out"), runs)
		if err != nil {
			return err
		}
		for k, c := range all {
			fmt.Printf("| %s: %s | %s | %.2f | %.2f | %.1f | %.1f |\n",
				j.name, j.what, c.name, seconds[k], seconds[k]/seconds[1], seconds[2]/seconds[k], mib[k])
		}
		os.Remove(in(j.name))
	}
	for _, s := range []int64{10 << 20, large} {
		if err := write(in("raster"), s, raster); err != nil {
			return err
		}
		_, mib, err := race(all[len(all)-1:], in("raster"), in("out"), 3)
		if err != nil {
			return err
		}
		fmt.Printf("| raster of %d MB | sagitta, 2 processors | | | | %.1f |\n", s>>20, mib[0])
	}
	return nil
}

// race runs the contestants in turn, and gives their median seconds and
// greatest resident memory in MiB.
func race(all []contestant, in, out string, runs int) (seconds, mib []float64, err error) {
	times := make([][]float64, len(all))
	mib = make([]float64, len(all))
	for range runs {
		for k, c := range all {
			cmd := exec.Command("taskset", append([]string{"-c", c.cpus}, c.args(in, out)...)...)
			began := time.Now()
			if said, err := cmd.CombinedOutput(); err != nil {
				return nil, nil, fmt.Errorf("%s: %w\n%s", c.name, err, said)
			}
			times[k] = append(times[k], time.Since(began).Seconds())
			if u, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
				mib[k] = max(mib[k], float64(u.Maxrss)/1024)
			}
		}
	}
	for _, t := range times {
		slices.Sort(t)
		seconds = append(seconds, t[len(t)/2])
	}
	return seconds, mib, nil
}
