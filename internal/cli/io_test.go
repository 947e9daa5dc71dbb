package cli

import (
	"bytes"
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// asCommand makes the test binary be the command itself.
const asCommand = "SAGITTA_TEST_AS_COMMAND"

// tool is a real process of the command.
func tool(args ...string) *exec.Cmd {
	c := exec.Command(os.Args[0], args...)
	c.Env = append(os.Environ(), asCommand+"=1")
	return c
}

// bench is a folder with a surface, and a program of n rows over it.
func bench(t *testing.T, rows int) (dir string) {
	dir = t.TempDir()
	var b strings.Builder
	b.WriteString("G21 G90\nM5\nG0 X0 Y0\nM4 S500\nG1 F3000\n")
	for i := 0; i < rows; i++ {
		fmt.Fprintf(&b, "G1 X%d\nY%d.%03d\n", 100*((i+1)%2), i/1000, i%1000)
	}
	b.WriteString("M5\nM2\n")
	for name, text := range map[string]string{
		"job.gcode": b.String(),
		"bow.csv":   "# error_mm: 0\n, 0, 50, 100\n0, 0, 3, 0\n100, 0, 3, 0\n",
		"old":       "the old file\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func exitStatus(t *testing.T, c *exec.Cmd) (status int, stderr string) {
	t.Helper()
	var b bytes.Buffer
	c.Stderr = &b
	err := c.Run()
	if _, ok := err.(*exec.ExitError); err != nil && !ok {
		t.Fatal(err)
	}
	return c.ProcessState.ExitCode(), b.String()
}

// onlyThese wants no file in the folder but those of bench and more.
func onlyThese(t *testing.T, dir string, more ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		known := false
		for _, n := range append(more, "job.gcode", "bow.csv", "old") {
			known = known || e.Name() == n
		}
		if !known {
			t.Errorf("%s is left in the folder", e.Name())
		}
	}
}

func TestFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no /dev/full here")
	}
	dir := bench(t, 200)
	c := tool("follow", "job.gcode", "-s", "bow.csv", "--depth", "1", "-o", "/dev/full")
	c.Dir = dir
	status, msg := exitStatus(t, c)
	if status != statusIO || !strings.Contains(msg, "sagitta: writing /dev/full: ") {
		t.Errorf("status %d: %s", status, msg)
	}
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	c = tool("follow", "job.gcode", "-s", "bow.csv", "--depth", "1")
	c.Dir, c.Stdout = dir, full
	status, msg = exitStatus(t, c)
	if status != statusIO || !strings.Contains(msg, "sagitta: writing standard output: ") {
		t.Errorf("status %d: %s", status, msg)
	}
	onlyThese(t, dir)
	for _, line := range []string{"help machine-profile", "help", "--help", "follow --help", "--version", "version", "completion bash", "__complete follow --"} {
		c := tool(strings.Fields(line)...)
		c.Stdout = full
		if status, msg := exitStatus(t, c); status != statusIO || !strings.Contains(msg, "sagitta: writ") {
			t.Errorf("%s: status %d: %s", line, status, msg)
		}
	}
}

// TestFileLimit: a file that may not grow is a disk that fills while the new
// file is written beside the old one.
func TestFileLimit(t *testing.T) {
	dir := bench(t, 20000)
	c := exec.Command("sh", "-c", `trap "" XFSZ; ulimit -f 64; exec "$0" follow job.gcode -s bow.csv --depth 1 -o old`, os.Args[0])
	c.Env = append(os.Environ(), asCommand+"=1")
	c.Dir = dir
	status, msg := exitStatus(t, c)
	if status != statusIO || !strings.Contains(msg, "sagitta: writing old: ") {
		t.Errorf("status %d: %s", status, msg)
	}
	onlyThese(t, dir)
	if b, _ := os.ReadFile(filepath.Join(dir, "old")); string(b) != "the old file\n" {
		t.Errorf("the old file was touched: %.40q", b)
	}
}

// TestReadError: a file whose reading fails in the middle.
func TestReadError(t *testing.T) {
	const broken = "/proc/self/mem" // opens, but its first page cannot be read
	if _, err := os.Stat(broken); err != nil {
		t.Skip("no " + broken + " here")
	}
	dir := bench(t, 1)
	c := tool("follow", broken, "-s", "bow.csv", "--depth", "1", "-o", "out")
	c.Dir = dir
	if status, msg := exitStatus(t, c); status != statusIO || !strings.Contains(msg, "sagitta: reading "+broken) {
		t.Errorf("status %d: %s", status, msg)
	}
	onlyThese(t, dir)
}

func TestClosedPipe(t *testing.T) {
	dir := bench(t, 20000)
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	_ = r.Close()
	c := tool("follow", "job.gcode", "-s", "bow.csv", "--depth", "1")
	c.Dir, c.Stdout = dir, w
	status, msg := exitStatus(t, c)
	_ = w.Close()
	if status != statusIO || !strings.Contains(msg, "broken pipe") {
		t.Errorf("status %d: %s", status, msg)
	}
}

// TestKill kills runs at many moments: the old file is whole, or the new one
// is; an interrupt also cleans up and says so.
func TestKill(t *testing.T) {
	dir := bench(t, 20000)
	follow := func() *exec.Cmd {
		c := tool("follow", "job.gcode", "-s", "bow.csv", "--depth", "1", "-o", "old")
		c.Dir = dir
		return c
	}
	c := tool("follow", "job.gcode", "-s", "bow.csv", "--depth", "1", "-o", "new")
	c.Dir = dir
	began := time.Now()
	if status, msg := exitStatus(t, c); status != 0 {
		t.Fatal(msg)
	}
	took := time.Since(began)
	whole, err := os.ReadFile(filepath.Join(dir, "new"))
	if err != nil {
		t.Fatal(err)
	}
	moments := often(12)
	killed := 0
	for i := 0; i < moments; i++ {
		for _, sig := range []syscall.Signal{syscall.SIGKILL, syscall.SIGINT, syscall.SIGTERM} {
			if err := os.WriteFile(filepath.Join(dir, "old"), []byte("the old file\n"), 0o666); err != nil {
				t.Fatal(err)
			}
			c := follow()
			var msg bytes.Buffer
			c.Stderr = &msg
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(took * time.Duration(i) / time.Duration(moments))
			_ = c.Process.Signal(sig)
			_ = c.Wait()
			got, err := os.ReadFile(filepath.Join(dir, "old"))
			if err != nil {
				t.Fatal(err)
			}
			code := c.ProcessState.ExitCode() // -1: the signal met no handler
			done := code == 0
			if string(got) != "the old file\n" && !bytes.Equal(got, whole) {
				t.Errorf("%v at moment %d: neither the old file nor the new one", sig, i)
			}
			if code >= 0 && done != bytes.Equal(got, whole) {
				t.Errorf("%v at moment %d: status %d, but the file says otherwise", sig, i, code)
			}
			if !done {
				killed++
			}
			// A very early or very late signal finds no handler, and ends the
			// process the system's way.
			if code > 0 {
				if code != statusInterrupted || !strings.Contains(msg.String(), "interrupted") {
					t.Errorf("%v at moment %d: status %d: %s", sig, i, code, msg.String())
				}
				onlyThese(t, dir, "new")
			}
			left, _ := filepath.Glob(filepath.Join(dir, ".old*"))
			for _, f := range left {
				_ = os.Remove(f)
			}
		}
	}
	// What is left of a run that was killed goes with the next.
	c = follow()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	for begun := time.Now(); time.Since(begun) < 5*time.Second; time.Sleep(time.Millisecond) {
		if left, _ := filepath.Glob(filepath.Join(dir, ".old*")); left != nil {
			break
		}
	}
	_ = c.Process.Kill()
	_ = c.Wait()
	if status, msg := exitStatus(t, follow()); status != 0 {
		t.Error(msg)
	}
	onlyThese(t, dir, "new")
	// How many runs are cut short is a matter of what else the machine does; the
	// signals of the first moment meet every run at work.
	if killed < 3 {
		t.Errorf("only %d of %d runs were cut short", killed, 3*moments)
	}
}

// TestWaitsEnd asks runs to end that wait for what never comes.
func TestWaitsEnd(t *testing.T) {
	dir := bench(t, 1)
	fifo := filepath.Join(dir, "fifo")
	if err := syscall.Mkfifo(fifo, 0o600); err != nil {
		t.Skip(err)
	}
	for _, args := range [][]string{
		{"follow", "-", "-s", "bow.csv", "--depth", "1", "-o", "new"},
		{"follow", "fifo", "-s", "bow.csv", "--depth", "1", "-o", "new"},
		{"surface", "fifo", "-o", "new"},
		{"verify", "job.gcode", "-s", "fifo", "--depth", "1"},
		{"split", "-", "-s", "bow.csv", "--depth", "1", "-o", "new"},
	} {
		for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
			c := tool(args...)
			c.Dir = dir
			var msg bytes.Buffer
			c.Stderr = &msg
			stdin, err := c.StdinPipe() // into which nothing goes
			if err != nil {
				t.Fatal(err)
			}
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan error, 1)
			go func() { ended <- c.Wait() }()
			for asked := false; ; {
				select {
				case <-ended:
				case <-time.After(300 * time.Millisecond): // until it waits, and takes signals
					_ = c.Process.Signal(sig)
					if !asked {
						asked = true
						time.AfterFunc(20*time.Second, func() { _ = c.Process.Kill() })
					}
					continue
				}
				break
			}
			_ = stdin.Close()
			if code := c.ProcessState.ExitCode(); code != statusInterrupted && code >= 0 || strings.Contains(c.ProcessState.String(), "killed") {
				t.Errorf("%v, %v: %v: %s", args, sig, c.ProcessState, msg.String())
			}
			onlyThese(t, dir, "fifo")
		}
	}
}

// What a file's name has for a terminal is shown, not obeyed.
func TestNamesDoNotSteerTheTerminal(t *testing.T) {
	c := tool("follow", "a\x1b[2Jb.gcode", "-s", "bow.csv", "--depth", "1")
	c.Dir = bench(t, 1)
	if status, msg := exitStatus(t, c); status != statusIO || !strings.Contains(msg, `a\x1b[2Jb.gcode`) {
		t.Errorf("status %d: %q", status, msg)
	}
}

// TestReplaceAfterKill cuts short runs that replace a folder: the old one is whole, at
// its place or beside, or the new one is; what is left goes with the next run.
func TestReplaceAfterKill(t *testing.T) {
	dir := bench(t, 300)
	split := func(depth string) *exec.Cmd {
		c := tool("split", "job.gcode", "-s", "bow.csv", "--depth", depth, "-o", "zones", "--replace")
		c.Dir = dir
		return c
	}
	verify := func(depth string) int {
		c := tool("verify", "zones", "-s", "bow.csv", "--depth", depth, "--against", "job.gcode")
		c.Dir = dir
		status, _ := exitStatus(t, c)
		return status
	}
	began := time.Now()
	if status, msg := exitStatus(t, split("2")); status != 0 {
		t.Fatal(msg)
	}
	took := time.Since(began)
	kills := often(15)
	for i := range kills {
		c := split("2")
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(took * time.Duration(i) / time.Duration(kills-1))
		_ = c.Process.Kill()
		_ = c.Wait()
		if status := verify("2"); status != 0 {
			t.Fatalf("moment %d: status %d of the folder", i, status)
		}
	}
	// As a kill between the two renames leaves it, and one behind them.
	at := func(name string) string { return filepath.Join(dir, name) }
	lock := at(".zones.sagitta-swap.lock")
	moments := []func() error{
		func() error { return os.Rename(at("zones"), at("zones.old")) },
		func() error { return os.CopyFS(at("zones.old"), os.DirFS(at("zones"))) },
	}
	for k, moment := range append(moments, moments...) {
		if err := cmp.Or(moment(), os.WriteFile(lock, nil, 0o666)); err != nil {
			t.Fatal(err)
		}
		if k < 2 && verify("2") != 0 {
			t.Error("a folder whose replacement was cut short is not put right")
		}
		if status, msg := exitStatus(t, split("1")); status != 0 || verify("1") != 0 {
			t.Errorf("status %d: %s", status, msg)
		}
		if status, msg := exitStatus(t, split("2")); status != 0 {
			t.Fatal(msg)
		}
		onlyThese(t, dir, "zones")
	}
	// A folder of that name that is nobody's is left alone.
	if err := os.Mkdir(at("zones.old"), 0o755); err != nil {
		t.Fatal(err)
	}
	if status, msg := exitStatus(t, split("2")); status != statusUsage || !strings.Contains(msg, "zones.old is in the way") {
		t.Errorf("status %d: %s", status, msg)
	}
}
