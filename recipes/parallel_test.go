//go:build unix

package recipes

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

const jobs = 40

// jobFolder is a folder of so many jobs, each with a program of its own over one sheet.
func jobFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	put := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("sheet.csv", "# error_mm: 0\ny\\x,0,50,100\n0,0,1.5,0\n100,0,1.5,0\n")
	put("short lens.toml", "name = \"short\"\ndepth_mm = [-0.5, 0.5]\n")
	for k := range jobs {
		var b strings.Builder
		b.WriteString("G21 G90\nM4 S500\nG0 X1 Y1\n")
		for i := range 200 {
			fmt.Fprintf(&b, "G1 X%d Y%.2f F1500\n", 1+98*(1-i%2), 1+float64(k)/10+float64(i)*0.2)
		}
		b.WriteString("M5\n")
		put(fmt.Sprintf("part %02d.gcode", k), b.String())
		put(fmt.Sprintf("job %02d.toml", k), fmt.Sprintf("program = \"part %02d.gcode\"\nsurface = \"sheet.csv\"\nlenses = [\"short lens.toml\"]\ndo = \"follow\"\nout = \"made\"\n", k))
	}
	return dir
}

// tool is a folder with the tool, built, for the path.
func tool(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("go", "build", "-o", filepath.Join(dir, "sagitta"), "sagitta/cmd/sagitta").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return dir
}

// results are the digests of what was made, by name, and when each was made.
func results(t *testing.T, dir string) (digests map[string]string, times map[string]time.Time) {
	t.Helper()
	digests, times = map[string]string{}, map[string]time.Time{}
	found, err := filepath.Glob(filepath.Join(dir, "made", "*.gcode"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range found {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		base := filepath.Base(name)
		digests[base], times[base] = fmt.Sprintf("%x", sha256.Sum256(text)), info.ModTime()
	}
	return digests, times
}

// TestParallelGoesOn has GNU parallel prepare jobs, kills it and all that it has started in the
// midst, and calls it again: every job is done, as the tool does it by itself, what was done
// stays as it was, and nothing else is left.
func TestParallelGoesOn(t *testing.T) {
	if _, err := exec.LookPath("parallel"); err != nil {
		t.Skip("there is no GNU parallel here, which the recipe starts")
	}
	built := tool(t)
	path := "PATH=" + built + string(os.PathListSeparator) + os.Getenv("PATH")
	command := func(dir, name string, args ...string) *exec.Cmd {
		c := exec.Command(name, args...)
		c.Dir, c.Env = dir, append(os.Environ(), path, "HOME="+t.TempDir())
		c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
		return c
	}
	alone := jobFolder(t)
	if out, err := command(alone, filepath.Join(built, "sagitta"), "run", ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want, _ := results(t, alone)
	if len(want) != jobs {
		t.Fatalf("%d of %d results", len(want), jobs)
	}

	script, err := filepath.Abs("parallel.sh")
	if err != nil {
		t.Fatal(err)
	}
	dir := jobFolder(t)
	first := command(dir, script, ".", "2")
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	for begun := time.Now(); ; time.Sleep(5 * time.Millisecond) {
		if made, _ := results(t, dir); len(made) >= jobs/3 {
			break
		}
		if time.Since(begun) > time.Minute {
			t.Fatal("nothing is done")
		}
	}
	if err := syscall.Kill(-first.Process.Pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	_ = first.Wait()
	time.Sleep(200 * time.Millisecond) // a killed process may still be writing
	_, before := results(t, dir)
	if len(before) == jobs {
		t.Fatal("all jobs were done before the kill")
	}
	if out, err := command(dir, script, ".", "2").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	got, after := results(t, dir)
	for name, digest := range want {
		if got[name] != digest {
			t.Errorf("%s is %q, not %q", name, got[name], digest)
		}
		if made, was := before[name]; was && !after[name].Equal(made) {
			t.Errorf("%s was done twice", name)
		}
	}
	if len(got) != jobs {
		t.Errorf("%d results of %d jobs", len(got), jobs)
	}
	done := map[string]bool{}
	log, err := os.ReadFile(filepath.Join(dir, "jobs.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(bytes.NewReader(log)); lines.Scan(); {
		var line struct {
			Job    string
			Status int
		}
		if err := json.Unmarshal(lines.Bytes(), &line); err != nil || line.Status != 0 {
			t.Errorf("%v: %s", err, lines.Bytes())
		}
		done[line.Job] = true
	}
	if len(done) != jobs {
		t.Errorf("the list has %d of %d jobs", len(done), jobs)
	}
	list, err := os.ReadDir(filepath.Join(dir, "made"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if n := e.Name(); !strings.HasSuffix(n, ".gcode") && !strings.HasSuffix(n, "-sheet.txt") && !strings.HasSuffix(n, ".gcode.sagitta-job") {
			t.Errorf("%s is left", n)
		}
	}
	if len(list) != 3*jobs {
		t.Errorf("%d files of %d jobs, each with a program, a sheet and the run's record", len(list), jobs)
	}
}
