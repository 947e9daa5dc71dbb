//go:build unix

package recipes

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

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
	want := alone(t, built)

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
		if made, _ := results(t, dir); len(made) >= jobCount()/3 {
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
	if len(before) == jobCount() {
		t.Fatal("all jobs were done before the kill")
	}
	if out, err := command(dir, script, ".", "2").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	allOnce(t, dir, want, before, filepath.Join(dir, "jobs.jsonl"))

	// What has changed since is done again, and a job that has come is done, wherever it stands
	// among the others.
	text, err := os.ReadFile(filepath.Join(dir, "part 003.gcode"))
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Replace(text, []byte("M5\n"), []byte("M5 (changed)\n"), 1)
	put := func(name string, text []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("part 003.gcode", changed)
	put("a part.gcode", changed)
	put("a job.toml", []byte("program = \"a part.gcode\"\nsurface = \"sheet.csv\"\ndepth = 0.5\ndo = \"follow\"\nout = \"made\"\n"))
	if out, err := command(dir, script, ".", "2").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, name := range []string{"part 003.gcode", "a part.gcode"} {
		if made, err := os.ReadFile(filepath.Join(dir, "made", name)); err != nil || !bytes.Contains(made, []byte("(changed)")) {
			t.Errorf("%s is of a time before: %v", name, err)
		}
	}
}
