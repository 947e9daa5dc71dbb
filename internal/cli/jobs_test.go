package cli

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// jobsBench is a folder with jobs that follow and one that splits.
func jobsBench(t *testing.T, rows int) (dir string) {
	dir = bench(t, rows)
	for k := range 3 {
		text, err := os.ReadFile(filepath.Join(dir, "job.gcode"))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("p%d.gcode", k)), text, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	jobsSay(t, dir, "0.5")
	return dir
}

// jobsSay writes the job files of a bench, which spend so much of the depth.
func jobsSay(t *testing.T, dir, use string) {
	for k, do := range []string{"follow", "split", "follow"} {
		text := fmt.Sprintf("program = \"p%d.gcode\"\nsurface = \"bow.csv\"\ndepth = 1\ndo = %q\nuse = %s\n", k, do, use)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("j%d.toml", k)), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// madeBy is what is in the folder of the results, by its names; hidden tells of what is
// hidden and no record.
func madeBy(t *testing.T, dir string) (made map[string]string, hidden []string) {
	made = map[string]string{}
	err := filepath.Walk(filepath.Join(dir, "made"), func(name string, info os.FileInfo, err error) error {
		if os.IsNotExist(err) || err == nil && info.IsDir() && !strings.HasPrefix(info.Name(), ".") {
			return nil
		}
		if err != nil {
			return err
		}
		short, _ := filepath.Rel(filepath.Join(dir, "made"), name)
		switch {
		case strings.HasSuffix(name, ".sagitta-job"):
		case strings.HasPrefix(info.Name(), "."):
			hidden = append(hidden, short)
			if info.IsDir() {
				return filepath.SkipDir
			}
		default:
			text, err := os.ReadFile(name)
			if err != nil {
				return err
			}
			made[short] = string(text)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return made, hidden
}

// A run that is killed at any moment leaves of each result the one of before or the new
// one, whole, and nothing else once another run has been there. One that is interrupted
// says so, and leaves nothing else itself.
func TestKillJobs(t *testing.T) {
	dir := jobsBench(t, 60)
	run := func() *exec.Cmd {
		c := tool("run", ".", "-j", "2")
		c.Dir = dir
		return c
	}
	var states [2]map[string]string
	uses := [2]string{"0.5", "0.25"}
	var took time.Duration
	for k, use := range uses {
		jobsSay(t, dir, use)
		began := time.Now()
		if status, msg := exitStatus(t, run()); status != 0 {
			t.Fatal(msg)
		}
		took = time.Since(began)
		var hidden []string
		if states[k], hidden = madeBy(t, dir); len(states[k]) < 8 || hidden != nil {
			t.Fatal(states[k], hidden)
		}
	}
	if states[0]["p0.gcode"] == states[1]["p0.gcode"] {
		t.Fatal("both ways make the same")
	}
	cut := 0
	for i := range often(30) {
		now := i % 2
		jobsSay(t, dir, uses[now])
		c := run()
		var msg bytes.Buffer
		c.Stderr = &msg
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		sig := syscall.SIGKILL
		if i%3 == 2 {
			sig = syscall.SIGINT
		}
		time.Sleep(time.Duration(rand.Float64() * float64(took)))
		_ = c.Process.Signal(sig)
		_ = c.Wait()
		code := c.ProcessState.ExitCode()
		made, hidden := madeBy(t, dir)
		if code > 0 {
			if code != statusInterrupted || !strings.Contains(msg.String(), "interrupted") {
				t.Errorf("status %d: %s", code, msg.String())
			}
			if hidden != nil {
				t.Errorf("an interrupt left %v", hidden)
			}
		}
		if code != 0 {
			cut++
		}
		for name, text := range made {
			// What stands in ".old" while a folder is replaced is the folder itself.
			name = strings.Replace(name, "p1.old", "p1", 1)
			if text != states[0][name] && text != states[1][name] {
				t.Fatalf("moment %d: %s is neither the old nor the new one", i, name)
			}
		}
		for name := range states[now] {
			if _, is := made[name]; !is && made[strings.Replace(name, "p1/", "p1.old/", 1)] == "" {
				t.Fatalf("moment %d: %s is gone", i, name)
			}
		}
		if status, msg := exitStatus(t, run()); status != 0 {
			t.Fatal(msg)
		}
		made, hidden = madeBy(t, dir)
		if hidden != nil {
			t.Fatalf("moment %d: the next run leaves %v", i, hidden)
		}
		for name, text := range states[now] {
			if made[name] != text {
				t.Fatalf("moment %d: the next run does not make %s", i, name)
			}
		}
		if len(made) != len(states[now]) {
			t.Fatalf("moment %d: the next run leaves %d files, not %d", i, len(made), len(states[now]))
		}
	}
	if cut < 5 {
		t.Errorf("only %d of 30 runs were cut short", cut)
	}
}

// A run that waits or searches ends within a moment where it is asked to.
func TestInterruptJobs(t *testing.T) {
	dir := jobsBench(t, 600000) // so many lines that no job is done before
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		c := tool("run", "j0.toml", "j1.toml", "j2.toml", "-j", "1", "--log", "log")
		c.Dir = dir
		var msg bytes.Buffer
		c.Stderr = &msg
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(300 * time.Millisecond)
		_ = c.Process.Signal(sig)
		_ = c.Wait()
		if code := c.ProcessState.ExitCode(); code != statusInterrupted || !strings.Contains(msg.String(), "j2.toml  interrupted     130") {
			t.Errorf("%v: status %d: %s", sig, code, msg.String())
		}
		if made, hidden := madeBy(t, dir); len(made) > 0 || hidden != nil {
			t.Errorf("%v left %d files and %v", sig, len(made), hidden)
		}
		if _, err := os.Stat(filepath.Join(dir, "made")); err == nil {
			t.Errorf("%v left a folder with nothing in it", sig)
		}
	}
}

// On a disk that is full a job leaves nothing, and what was there stays.
func TestJobsOnSmallDisk(t *testing.T) {
	dir := bench(t, 40)
	disk := filepath.Join(dir, "disk")
	if err := os.Mkdir(disk, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := exec.Command("unshare", "-Urm", "mount", "-t", "tmpfs", "none", disk).Run(); err != nil {
		t.Skip("no file system can be mounted here: ", err)
	}
	for _, do := range []string{"follow", "split", "flat"} {
		depth := map[string]string{"follow": "1", "split": "1", "flat": "4"}[do]
		text := fmt.Sprintf("program = \"job.gcode\"\nsurface = \"bow.csv\"\ndepth = %s\ndo = %q\nout = \"disk\"\n", depth, do)
		if err := os.WriteFile(filepath.Join(dir, "job.toml"), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		failed := false
		for pages := 2; ; pages += 1 + pages/8 {
			within := fmt.Sprintf(`mount -t tmpfs -o size=%d none disk && echo old > disk/job.gcode; "$0" run job.toml --log log; s=$?; echo "[$(ls -A disk | tr '\n' ' ')]"; cat disk/job.gcode; exit $s`, 4096*pages)
			x := exec.Command("unshare", "-Urm", "sh", "-c", within, os.Args[0])
			x.Env = append(os.Environ(), asCommand+"=1")
			x.Dir = dir
			out, _ := x.Output()
			status, msg := x.ProcessState.ExitCode(), string(out)
			if status == 0 {
				break
			}
			if failed = true; status != statusIO || !strings.HasSuffix(msg, "[job.gcode ]\nold\n") || pages > 1000 {
				t.Fatalf("%s on %d pages: status %d: %s", do, pages, status, msg)
			}
		}
		if !failed {
			t.Errorf("%s fits on two pages", do)
		}
	}
}

// However many jobs are done side by side, they make the same.
func TestJobsSideBySide(t *testing.T) {
	var first map[string]string
	for _, side := range []string{"1", "4"} {
		dir := jobsBench(t, 100)
		c := tool("run", ".", "-j", side)
		c.Dir = dir
		if status, msg := exitStatus(t, c); status != 0 {
			t.Fatal(msg)
		}
		made, _ := madeBy(t, dir)
		if first == nil {
			first = made
		}
		var names []string
		for name := range made {
			if names = append(names, name); made[name] != first[name] {
				t.Errorf("-j %s makes another %s", side, name)
			}
		}
		if slices.Sort(names); len(made) != len(first) {
			t.Errorf("-j %s makes %v", side, names)
		}
	}
}
