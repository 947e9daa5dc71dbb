package cli

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Files may be called anything: jobs are done, or refused in words, and nothing else is left.
func TestJobsOfOddNames(t *testing.T) {
	dir := bench(t, 20)
	text, err := os.ReadFile(filepath.Join(dir, "job.gcode"))
	if err != nil {
		t.Fatal(err)
	}
	long := func(n int) string { return strings.Repeat("n", n) }
	for k, name := range []string{"a\nb", "-j", "\xff\xfe", "a b", "\"", "ü", "$(touch x)", long(250)} {
		put(t, dir, name+".toml", fmt.Sprintf("program = \"job.gcode\"\nsurface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\nout = \"out%d\"\n", k))
	}
	run := tool("run", ".", "--log", "log")
	run.Dir = dir
	if status, msg := exitStatus(t, run); status != 0 || strings.Contains(msg, "\nsagitta: b.toml") || !strings.Contains(msg, `a\nb.toml`) || !strings.Contains(msg, "8 jobs: 8 followed") {
		t.Errorf("status %d: %s", status, msg)
	}
	for k := range 8 {
		if !there(dir, fmt.Sprintf("out%d/job.gcode", k)) {
			t.Errorf("job %d has no result", k)
		}
	}

	for _, c := range []struct {
		name   string
		status int
	}{{"-p", 0}, {"a b", 0}, {"\"", 0}, {"ü", 0}, {"$(touch x)", 0}, {"--output=x", 0}, {"..a", 2}, {".a", 2}, {long(200), 0}, {long(235), -1}, {long(245), -1}, {long(250), 4}} {
		dir := bench(t, 1)
		name := c.name
		if len(name) < 250 {
			name += ".gcode"
			put(t, dir, name, string(text))
		}
		put(t, dir, "job.toml", fmt.Sprintf("program = %q\nsurface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\n", name))
		for range 2 {
			run := tool("run", "job.toml")
			run.Dir = dir
			status, msg := exitStatus(t, run)
			if status != c.status && (c.status >= 0 || status != 0 && status != statusIO && status != statusUsage) {
				t.Errorf("%q: status %d: %s", c.name, status, msg)
			}
			if made, hidden := madeBy(t, dir); hidden != nil || status != 0 && len(made) > 0 || status == 0 && len(made) != 2 {
				t.Errorf("%q: status %d, %d files and %q", c.name, status, len(made), hidden)
			}
		}
		if there(dir, "x") {
			t.Errorf("%q: something was run, or written elsewhere", c.name)
		}
	}
}

// What is no file, where a job or what it names ought to be, is refused at once, and links are
// followed as far as they stay in the folder.
func TestJobsOfNoFiles(t *testing.T) {
	dir := bench(t, 20)
	at := func(name string) string { return filepath.Join(dir, name) }
	if err := syscall.Mkfifo(at("pipe"), 0o666); err != nil {
		t.Skip(err)
	}
	if err := os.Mkdir(at("folder"), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, to := range map[string]string{"zero": "/dev/zero", "around": "around", "nowhere": "nothing", "in": "job.gcode", "loop": "."} {
		if err := os.Symlink(to, at(name)); err != nil {
			t.Fatal(err)
		}
	}
	run := func(job string) (int, string) {
		c := tool("run", job)
		c.Dir = dir
		ended := time.AfterFunc(time.Minute, func() { _ = c.Process.Kill() })
		defer ended.Stop()
		return exitStatus(t, c)
	}
	for _, name := range []string{"pipe", "folder", "zero", "around", "nowhere"} {
		for _, field := range []string{"program", "surface", "lenses", "machine", "keep-out"} {
			named := map[string]string{"program": `"job.gcode"`, "surface": `"bow.csv"`, "do": `"follow"`, field: fmt.Sprintf("%q", name)}
			if field == "lenses" {
				named[field] = fmt.Sprintf("[%q]", name)
			} else {
				named["depth"] = "1"
			}
			text := ""
			for field, value := range named {
				text += field + " = " + value + "\n"
			}
			put(t, dir, "job.toml", text)
			if status, msg := run("job.toml"); status != statusUsage && status != statusIO {
				t.Errorf("%s = %s: status %d: %s", field, name, status, msg)
			}
		}
		if name == "folder" {
			continue
		}
		if status, msg := run(name); status != statusUsage && status != statusIO {
			t.Errorf("job %s: status %d: %s", name, status, msg)
		}
	}
	if made, hidden := madeBy(t, dir); len(made) > 0 || hidden != nil {
		t.Errorf("%d files and %v are left", len(made), hidden)
	}
	for _, program := range []string{"in", "loop/loop/loop/job.gcode"} {
		put(t, dir, "job.toml", fmt.Sprintf("program = %q\nsurface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\n", program))
		if status, msg := run("job.toml"); status != 0 {
			t.Errorf("%s: status %d: %s", program, status, msg)
		}
		if info, err := os.Lstat(at("made/" + filepath.Base(program))); err != nil || !info.Mode().IsRegular() {
			t.Errorf("%s: %v %v", program, info, err)
		}
	}
	if info, err := os.Lstat(at("in")); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Error("the link of an input is none any more")
	}
}

// Where nothing can be written a job says so, and what is there stays.
func TestJobsReadOnly(t *testing.T) {
	dir := bench(t, 20)
	for _, name := range []string{"disk"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	if err := exec.Command("unshare", "-Urm", "mount", "-t", "tmpfs", "none", filepath.Join(dir, "disk")).Run(); err != nil {
		t.Skip("no file system can be mounted here: ", err)
	}
	for _, do := range []string{"follow", "split"} {
		put(t, dir, "job.toml", fmt.Sprintf("program = \"job.gcode\"\nsurface = \"bow.csv\"\ndepth = 1\ndo = %q\nout = \"disk/made\"\n", do))
		for _, there := range []string{"mkdir disk/made; echo old > disk/made/job.gcode", "true"} {
			within := fmt.Sprintf(`mount -t tmpfs none disk && { %s; } && mount -o remount,ro disk; "$0" run job.toml; s=$?; find disk -type f; exit $s`, there)
			x := exec.Command("unshare", "-Urm", "sh", "-c", within, os.Args[0])
			x.Env = append(os.Environ(), asCommand+"=1")
			x.Dir = dir
			out, _ := x.Output()
			want := ""
			if there != "true" {
				want = "disk/made/job.gcode\n"
			}
			if status := x.ProcessState.ExitCode(); status != statusIO || string(out) != want {
				t.Errorf("%s: status %d, and there is %q", do, status, out)
			}
		}
	}
}

// Many jobs, cut short in the midst: the next run does the rest, and nothing that was done,
// and a third finds nothing to do. With -many 10000 it tells what that takes.
func TestManyJobs(t *testing.T) {
	dir := t.TempDir()
	jobs := often(120)
	put(t, dir, "bow.csv", bowed)
	for k := range jobs {
		name := fmt.Sprintf("p%05d.gcode", k)
		put(t, dir, name, partOf(k))
		put(t, dir, fmt.Sprintf("j%05d.toml", k), fmt.Sprintf(jobOf, name))
	}
	run := func(log string) *exec.Cmd {
		c := tool("run", ".", "--log", log)
		c.Dir = dir
		return c
	}
	first := run("first")
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	for begun := time.Now(); ; time.Sleep(5 * time.Millisecond) {
		if made, _ := os.ReadDir(filepath.Join(dir, "made")); len(made) > jobs { // three a job
			break
		}
		if time.Since(begun) > 10*time.Minute {
			t.Fatal("nothing is done")
		}
	}
	_ = first.Process.Kill()
	_ = first.Wait()
	before := timesOf(t, dir)
	began := time.Now()
	if status, msg := exitStatus(t, run("second")); status != 0 {
		t.Fatal(msg)
	}
	t.Logf("about two thirds of %d jobs: %v", jobs, time.Since(began))
	made, hidden := madeBy(t, dir)
	if len(made) != 2*jobs || hidden != nil {
		t.Errorf("%d files of %d jobs, and %v", len(made), jobs, hidden)
	}
	again := 0
	after := map[string]bool{}
	for _, name := range timesOf(t, dir) {
		after[name] = true
	}
	for _, name := range before {
		if !after[name] {
			again++
		}
	}
	if again > 4*2 { // those at hand when it was killed, some of whose files were there
		t.Errorf("%d of %d files were made again", again, len(before))
	}
	began = time.Now()
	status, msg := exitStatus(t, run("third"))
	t.Logf("nothing to do in %d jobs: %v", jobs, time.Since(began))
	if status != 0 || !strings.Contains(msg, fmt.Sprintf("%d jobs: %d unchanged", jobs, jobs)) {
		t.Errorf("status %d: %s", status, msg)
	}
}

// A job file that is begun can be done: what none can say is refused.
func TestJobIsBegunWhole(t *testing.T) {
	dir := bench(t, 3)
	for _, name := range []string{"two\nlines.gcode", "esc\x1b[31m.gcode", "no utf8 \xff.gcode"} {
		if err := os.Link(filepath.Join(dir, "job.gcode"), filepath.Join(dir, name)); err != nil {
			t.Skip(err)
		}
		c := tool("run", "--init", name, "-s", "bow.csv", "--depth", "1", "-o", "job.toml")
		c.Dir = dir
		if status, msg := exitStatus(t, c); status != statusUsage || !strings.Contains(msg, "rename it") && !strings.Contains(msg, "wants printable text on one line") {
			t.Errorf("%q: status %d: %s", name, status, msg)
		}
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	for _, depth := range []string{"some", "1,2", "0", "1e3", "-1,nan"} {
		c := tool("run", "--init", "job.gcode", "-s", "bow.csv", "--depth="+depth, "-o", "job.toml")
		c.Dir = dir
		if status, msg := exitStatus(t, c); status != statusUsage || !strings.Contains(msg, "sagitta: --depth \"") {
			t.Errorf("--depth %s: status %d: %s", depth, status, msg)
		}
	}
	onlyThese(t, dir)
}
