//go:build linux

// Command speed compares sagitta as a whole process with tools that copy: it
// makes jobs, follows each on one processor and on two, interleaved with cat,
// with mawk '{print}' and with the reader and writer of a G-code library, and
// prints medians as a table: of the time that passes, and of what processors
// were busy, which a machine that others work on changes less. It wants Linux with cat, mawk and taskset.
//
//	go run ./scripts/speed [-size MB] [-runs N]
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"time"

	"sagitta/scripts/speed/jobs"
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
	if err := create(in("sheet.csv"), func(w io.Writer) error { return jobs.Sheet(w) }); err != nil {
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
	fmt.Printf("| job of %d MB | command | seconds | busy | of mawk | library's speed | MiB |\n|---|---|---|---|---|---|---|\n", size>>20)
	for _, j := range jobs.All {
		if err := create(in(j.Name), func(w io.Writer) error { return j.Write(w, size) }); err != nil {
			return err
		}
		seconds, busy, mib, err := race(all, in(j.Name), in("out"), runs)
		if err != nil {
			return err
		}
		for k, c := range all {
			fmt.Printf("| %s: %s | %s | %.2f | %.2f | %.2f | %.1f | %.1f |\n",
				j.Name, j.What, c.name, seconds[k], busy[k], seconds[k]/seconds[1], seconds[2]/seconds[k], mib[k])
		}
		os.Remove(in(j.Name))
	}
	for _, s := range []int64{10 << 20, large} {
		if err := create(in("raster"), func(w io.Writer) error { return jobs.All[0].Write(w, s) }); err != nil {
			return err
		}
		_, _, mib, err := race(all[len(all)-1:], in("raster"), in("out"), 3)
		if err != nil {
			return err
		}
		fmt.Printf("| raster of %d MB | sagitta, 2 processors | | | | | %.1f |\n", s>>20, mib[0])
	}
	return nil
}

// race runs the contestants in turn, and gives their median seconds, those that
// processors were busy, and greatest resident memory in MiB.
func race(all []contestant, in, out string, runs int) (seconds, busy, mib []float64, err error) {
	times, works := make([][]float64, len(all)), make([][]float64, len(all))
	mib = make([]float64, len(all))
	for range runs {
		for k, c := range all {
			syscall.Sync() // or it pays for what the one before has written
			cmd := exec.Command("taskset", append([]string{"-c", c.cpus}, c.args(in, out)...)...)
			began := time.Now()
			if said, err := cmd.CombinedOutput(); err != nil {
				return nil, nil, nil, fmt.Errorf("%s: %w\n%s", c.name, err, said)
			}
			times[k] = append(times[k], time.Since(began).Seconds())
			works[k] = append(works[k], (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds())
			if u, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
				mib[k] = max(mib[k], float64(u.Maxrss)/1024)
			}
		}
	}
	for k, t := range times {
		slices.Sort(t)
		slices.Sort(works[k])
		seconds, busy = append(seconds, t[len(t)/2]), append(busy, works[k][len(t)/2])
	}
	return seconds, busy, mib, nil
}

// create makes a file of what write writes.
func create(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}
