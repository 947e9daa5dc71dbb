//go:build linux

package follow

import (
	"bufio"
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/256dpi/gcode"
)

var (
	jobMB   = flag.Int64("mb", 100, "size in MB of each job that BenchmarkTools measures")
	largeMB = flag.Int64("large", 1000, "size in MB of the job whose memory is held to that of 10 MB")
)

// contestant is a command that makes out of in.
type contestant struct {
	name string
	cpus string
	args func(in, out string) []string
}

// BenchmarkTools compares sagitta as a whole process with tools that copy: it
// follows each job on one processor and on two, interleaved with cat, with mawk
// '{print}' and with the reader and writer of a G-code library, and prints
// medians as a table: of the time that passes, and of what processors were busy,
// which a machine that others work on changes less. It wants Linux with cat, mawk
// and taskset; every part is measured as often as -benchtime says.
//
//	go test -run - -bench Tools -benchtime 7x -timeout 0 ./internal/follow [-mb 100] [-large 1000]
func BenchmarkTools(b *testing.B) {
	dir := b.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	if out, err := exec.Command("go", "build", "-o", in("sagitta"), "sagitta/cmd/sagitta").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	if err := create(in("sheet.csv"), writeSheet); err != nil {
		b.Fatal(err)
	}
	follow := func(from, to string) []string {
		return []string{in("sagitta"), "follow", from, "-s", in("sheet.csv"), "--depth", "1.5", "-o", to}
	}
	all := []contestant{
		{"cat", "0", func(from, to string) []string { return []string{"sh", "-c", `exec cat "$0" > "$1"`, from, to} }},
		{"mawk", "0", func(from, to string) []string {
			return []string{"sh", "-c", `exec mawk '{print}' "$0" > "$1"`, from, to}
		}},
		{"library", "0", func(from, to string) []string { return []string{"env", "LIBRARY_COPIES=" + from, self, to} }},
		{"sagitta, 1 processor", "0", follow},
		{"sagitta, 2 processors", "0,1", follow},
	}
	measure := func(j timedJob, size int64, all []contestant, say func(to io.Writer, seconds, busy, mib []float64)) {
		b.Run(fmt.Sprintf("%s of %d MB", j.name, size), func(b *testing.B) {
			if err := create(in("job"), func(w io.Writer) error { return j.write(w, size<<20) }); err != nil {
				b.Fatal(err)
			}
			seconds, busy, mib := race(b, all, in("job"), in("out"))
			say(b.Output(), seconds, busy, mib)
		})
	}
	for _, j := range timedJobs {
		measure(j, *jobMB, all, func(to io.Writer, seconds, busy, mib []float64) {
			fmt.Fprintf(to, "| %s | command | seconds | busy | of mawk | library's speed | MiB |\n|---|---|---|---|---|---|---|\n", j.what)
			for k, c := range all {
				fmt.Fprintf(to, "| %s | %s | %.2f | %.2f | %.2f | %.1f | %.1f |\n",
					j.name, c.name, seconds[k], busy[k], seconds[k]/seconds[1], seconds[2]/seconds[k], mib[k])
			}
		})
	}
	for _, size := range []int64{10, *largeMB} {
		measure(timedJobs[0], size, all[len(all)-1:], func(to io.Writer, _, _, mib []float64) {
			fmt.Fprintf(to, "| raster of %d MB | %s | | | | | %.1f |\n", size, all[len(all)-1].name, mib[0])
		})
	}
}

// race runs the contestants in turn, and gives their median seconds, those that
// processors were busy, and greatest resident memory in MiB.
func race(b *testing.B, all []contestant, in, out string) (seconds, busy, mib []float64) {
	times, works := make([][]float64, len(all)), make([][]float64, len(all))
	mib = make([]float64, len(all))
	for b.Loop() {
		for k, c := range all {
			syscall.Sync() // or it pays for what the one before has written
			cmd := exec.Command("taskset", append([]string{"-c", c.cpus}, c.args(in, out)...)...)
			began := time.Now()
			if said, err := cmd.CombinedOutput(); err != nil {
				b.Fatalf("%s: %v\n%s", c.name, err, said)
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
	return seconds, busy, mib
}

// create makes a file of what write writes.
func create(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	return cmp.Or(write(f), f.Close())
}

// TestMain is the library, reading and writing as a process of its own, where
// BenchmarkTools says of what.
func TestMain(m *testing.M) {
	from := os.Getenv("LIBRARY_COPIES")
	if from == "" {
		m.Run()
		return
	}
	if err := libraryCopies(from, os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "library:", err)
		os.Exit(1)
	}
}

// libraryCopies reads a program with the 256dpi/gcode reader and writes it with
// its writer, both through bufio.
func libraryCopies(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	program, err := gcode.ParseFile(bufio.NewReader(in))
	if err != nil {
		return err
	}
	return create(to, func(w io.Writer) error {
		out := bufio.NewWriter(w)
		return errors.Join(gcode.WriteFile(out, program), out.Flush())
	})
}
