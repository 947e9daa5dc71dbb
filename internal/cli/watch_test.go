package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// many has tests that show something by their number do it so often:
// go test ./internal/cli -run 'Kill|Drop|ManyJobs' -many 1000 -timeout 0
var many = flag.Int("many", 0, "kill, drop and do so many times")

// often is so many, or what -many says.
func often(n int) int { return max(n, *many) }

// watching is a watch that runs.
type watching struct {
	*exec.Cmd
	t    *testing.T
	dir  string
	said *locked
}

// locked is a buffer that a process writes into while a test reads it.
type locked struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *locked) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(b)
}

func (l *locked) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func watchOf(t *testing.T, dir string, args ...string) *watching {
	t.Helper()
	w := &watching{tool(append([]string{"watch", "jobs"}, args...)...), t, dir, &locked{}}
	w.Dir, w.Stderr = filepath.Dir(dir), w.said
	if err := w.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = w.Process.Kill()
		_ = w.Wait()
	})
	return w
}

// until waits for something.
func (w *watching) until(what string, is func() bool) {
	w.t.Helper()
	for began := time.Now(); !is(); time.Sleep(10 * time.Millisecond) {
		if time.Since(began) > time.Minute {
			w.t.Fatalf("no %s: %s\n%v", what, w.said, logged(w.t, w.dir))
		}
	}
}

// says waits for a text on standard error.
func (w *watching) says(text string) {
	w.t.Helper()
	w.until(text, func() bool { return strings.Contains(w.said.String(), text) })
}

// ends has it end by a signal, and gives the status.
func (w *watching) ends(s os.Signal) int {
	w.t.Helper()
	if err := w.Process.Signal(s); err != nil {
		w.t.Fatal(err)
	}
	_ = w.Wait()
	return w.ProcessState.ExitCode()
}

// logged are the lines of the log, each as "job verdict", but for a last one that is being
// written.
func logged(t *testing.T, dir string) (lines []string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "watch.log"))
	if err != nil {
		return nil
	}
	for line := range strings.Lines(string(text)) {
		if !strings.HasSuffix(line, "\n") {
			break
		}
		var o struct{ Job, Verdict string }
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %q", err, line)
		}
		lines = append(lines, filepath.Base(o.Job)+" "+o.Verdict)
	}
	return lines
}

func has(t *testing.T, dir, line string) func() bool {
	return func() bool { return slices.Contains(logged(t, dir), line) }
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

func there(dir, name string) bool {
	_, err := os.Lstat(filepath.Join(dir, name))
	return err == nil
}

// dropFolder is an empty folder for jobs, in a folder of its own.
func dropFolder(t *testing.T) string {
	dir := filepath.Join(t.TempDir(), "jobs")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	return dir
}

const (
	bowed = "# error_mm: 0\n, 0, 50, 100\n0, 0, 3, 0\n100, 0, 3, 0\n"
	jobOf = "program = %q\nsurface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\n"
)

// partOf is a small program, another for each number.
func partOf(k int) string {
	return fmt.Sprintf("G21 G90\nG0 X1 Y%d.5\nM4 S500\nG1 X99 F3000\nY%d.9\nX1\nM5\nM2\n", k%90, k%90) + fmt.Sprintf("(%d)\n", k)
}

// A job is done once it and all that it names is there. One that fails is moved aside with the
// reason, and done once it is mended; what is there already is done once, whatever its name,
// and nothing is done with a program that no job names.
func TestWatch(t *testing.T) {
	dir := dropFolder(t)
	w := watchOf(t, dir, "--rest", "0.2")
	w.says("never leave a burning machine unattended")

	put(t, dir, "a.toml", fmt.Sprintf(jobOf, "a.gcode"))
	put(t, dir, "a.gcode", partOf(1))
	w.says("a.toml waits for jobs/bow.csv, which is not there")
	put(t, dir, "bow.csv", bowed)
	w.until("job done", has(t, dir, "a.toml followed"))
	if !there(dir, "made/a.gcode") || !there(dir, "made/a-sheet.txt") {
		t.Error("no results")
	}

	put(t, dir, "bad.toml", fmt.Sprintf(jobOf, "bad.gcode")+"use = 7\n")
	w.until("failed job moved", func() bool { return there(dir, "failed/bad.toml") && !there(dir, "bad.toml") })
	why, err := os.ReadFile(filepath.Join(dir, "failed", "bad.toml.txt"))
	if err != nil || !strings.Contains(string(why), "bad.toml:5:7: use: wants a part of the depth") || !strings.Contains(string(why), "status 2") {
		t.Errorf("%v: %s", err, why)
	}
	broken := partOf(2) + "G1 X\n"
	put(t, dir, "bad.gcode", broken)
	put(t, dir, "bad.toml", fmt.Sprintf(jobOf, "bad.gcode"))
	w.until("second failure", func() bool { return there(dir, "failed/bad-2.toml.txt") && !there(dir, "bad.toml") })
	if text, _ := os.ReadFile(filepath.Join(dir, "bad.gcode")); string(text) != broken {
		t.Error("the program of a job that failed is not as it was")
	}
	put(t, dir, "bad.gcode", partOf(2))
	if err := os.Rename(filepath.Join(dir, "failed", "bad.toml"), filepath.Join(dir, "bad.toml")); err != nil {
		t.Fatal(err)
	}
	w.until("third failure", func() bool { return !there(dir, "bad.toml") && there(dir, "failed/bad.toml") })
	if err := os.Remove(filepath.Join(dir, "failed", "bad.toml")); err != nil {
		t.Fatal(err)
	}
	put(t, dir, "bad.toml", fmt.Sprintf(jobOf, "bad.gcode"))
	w.until("mended job", has(t, dir, "bad.toml followed"))
	w.until("reason removed", func() bool { return !there(dir, "failed/bad.toml.txt") })
	if !there(dir, "failed/bad-2.toml.txt") {
		t.Error("the reason of a job that is still among the failed ones is gone")
	}

	// The same again, the same by another name, and another with the same results.
	put(t, dir, "a.toml", fmt.Sprintf(jobOf, "a.gcode"))
	w.until("job dropped again", has(t, dir, "a.toml unchanged"))
	put(t, dir, "copy.toml", fmt.Sprintf(jobOf, "a.gcode"))
	w.until("copy", has(t, dir, "copy.toml unchanged"))
	put(t, dir, "other.toml", fmt.Sprintf(jobOf, "a.gcode")+"use = 0.3\n")
	w.until("another job of the same results", func() bool { return there(dir, "failed/other.toml.txt") })
	w.says("the results would be those of jobs/a.toml")

	// What a job reads is changed: it is done again, as its results are no good any more.
	put(t, dir, "a.gcode", partOf(3))
	w.until("changed job", func() bool {
		n := 0
		for _, line := range logged(t, dir) {
			if line == "a.toml followed" {
				n++
			}
		}
		return n == 2
	})

	put(t, dir, "loose.gcode", partOf(4))
	put(t, dir, "last.gcode", partOf(5))
	put(t, dir, "last.toml", fmt.Sprintf(jobOf, "last.gcode"))
	w.until("last job", has(t, dir, "last.toml followed"))
	for _, line := range logged(t, dir) {
		if strings.Contains(line, "loose") {
			t.Errorf("a program without a job: %s", line)
		}
	}
	if status := w.ends(syscall.SIGTERM); status != 0 || !strings.Contains(w.said.String(), "11 jobs: 4 followed, 4 failed and 3 unchanged") {
		t.Errorf("status %d: %s", status, w.said)
	}

	// A restart has nothing to do, and does not touch what there is.
	before := timesOf(t, dir)
	w = watchOf(t, dir)
	w.until("jobs found done", func() bool { return len(logged(t, dir)) == 15 })
	w.says("done already: ")
	w.ends(os.Interrupt)
	for _, line := range logged(t, dir)[11:] {
		if !strings.HasSuffix(line, " unchanged") {
			t.Errorf("after a restart: %s", line)
		}
	}
	if after := timesOf(t, dir); fmt.Sprint(before) != fmt.Sprint(after) {
		t.Errorf("a restart has made %v of %v", after, before)
	}
}

// timesOf is when the results were made, without what is noted of them.
func timesOf(t *testing.T, dir string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(dir, "made"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, fmt.Sprint(e.Name(), info.ModTime().UnixNano()))
	}
	return list
}

// With rules, programs without a job are done by them: the same program once, what a job names
// by its job, and one that fails stays, with the reason aside.
func TestWatchRules(t *testing.T) {
	dir := dropFolder(t)
	w := watchOf(t, dir, "--rest", "0.2")
	put(t, dir, "bow.csv", bowed)
	put(t, dir, "a.gcode", partOf(1))
	put(t, dir, "watch.toml", "program = \"a.gcode\"\nsurface = \"bow.csv\"\ndepth = 1\n")
	w.says("jobs/watch.toml:1:11: program: is named")
	put(t, dir, "watch.toml", "surface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\nout = \"ready\"\n")
	w.until("program done", has(t, dir, "a.gcode followed"))
	if !there(dir, "ready/a.gcode") {
		t.Error("no result")
	}
	put(t, dir, "a (1).gcode", partOf(1))
	w.says("a (1).gcode: the same program as jobs/a.gcode")
	put(t, dir, "note.txt", "call the shop before noon\n")
	put(t, dir, "b.toml", fmt.Sprintf(jobOf, "b.gcode"))
	put(t, dir, "b.gcode", partOf(2))
	w.until("job", has(t, dir, "b.toml followed"))
	put(t, dir, "bad.gcode", partOf(3)+"G1 X\n")
	w.until("reason", func() bool { return there(dir, "failed/bad.gcode.txt") })
	if !there(dir, "bad.gcode") || there(dir, "failed/bad.gcode") {
		t.Error("a program was moved")
	}
	put(t, dir, "bad.gcode", partOf(3))
	w.until("mended program", has(t, dir, "bad.gcode followed"))
	w.until("reason removed", func() bool { return !there(dir, "failed/bad.gcode.txt") })
	w.ends(syscall.SIGTERM)

	w = watchOf(t, dir, "--rest", "0.2")
	w.until("programs found done", func() bool {
		lines := logged(t, dir)
		return strings.Count(strings.Join(lines[max(0, len(lines)-4):], "\n"), "unchanged") == 4
	})
	for _, name := range []string{"a (1).gcode", "b.gcode", "note.txt", "bow.csv"} {
		if there(dir, "ready/"+name) {
			t.Errorf("%s was done by the rules", name)
		}
	}
	// Another rule does all of them again.
	put(t, dir, "watch.toml", "surface = \"bow.csv\"\ndepth = 1\ndo = \"follow\"\nout = \"ready\"\nuse = 0.3\n")
	w.until("program done again", func() bool { return strings.Count(strings.Join(logged(t, dir), "\n"), "a.gcode followed") == 2 })
}

// What is still being copied is not done, however slowly that goes; what is renamed into its
// place is done at once, however long a file is to be left alone.
func TestWatchSlowCopy(t *testing.T) {
	dir := dropFolder(t)
	put(t, dir, "bow.csv", bowed)
	w := watchOf(t, dir, "--rest", "0.2")
	out, err := os.Create(filepath.Join(dir, "a.gcode"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "a.toml", fmt.Sprintf(jobOf, "a.gcode"))
	want := partOf(1)
	for k := range len(want) {
		if k%20 == 0 {
			time.Sleep(300 * time.Millisecond) // longer than it is to be left alone
		}
		if _, err := out.WriteString(want[k : k+1]); err != nil {
			t.Fatal(err)
		}
	}
	w.says("a.toml waits for jobs/a.gcode, which somebody has open for writing")
	if lines := logged(t, dir); lines != nil {
		t.Errorf("%v before the program was whole", lines)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	w.until("job", has(t, dir, "a.toml followed"))
	w.ends(syscall.SIGTERM)

	// A copy that is taken up again and again.
	w = watchOf(t, dir, "--rest", "2")
	put(t, dir, "b.toml", fmt.Sprintf(jobOf, "b.gcode"))
	want = strings.TrimSuffix(partOf(2), "(2)\n") // valid at several places
	for at := 0; at < len(want); at += 12 {
		put(t, dir, "b.gcode", want[:min(at+12, len(want))])
		time.Sleep(200 * time.Millisecond)
	}
	w.until("job", has(t, dir, "b.toml followed"))
	for _, line := range logged(t, dir) {
		if line == "b.toml refused" || line == "b.toml failed" {
			t.Error(line)
		}
	}
	w.ends(syscall.SIGTERM)

	w = watchOf(t, dir, "--rest", "3600")
	for name, text := range map[string]string{"c.toml": fmt.Sprintf(jobOf, "c.gcode"), "c.gcode": partOf(3), "bow.csv": bowed} {
		put(t, filepath.Dir(dir), name, text)
		time.Sleep(20 * time.Millisecond) // a tick of the file system's clock
		if err := os.Rename(filepath.Join(filepath.Dir(dir), name), filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	w.until("renamed job", has(t, dir, "c.toml followed"))
}

// Asked to end, a watch finishes what is at hand, and asked again it drops that: what there is
// is whole, and the next watch does the rest.
func TestWatchEnds(t *testing.T) {
	dir := dropFolder(t)
	long := jobsBench(t, 60000)
	for _, name := range []string{"p0.gcode", "bow.csv", "j0.toml"} {
		text, err := os.ReadFile(filepath.Join(long, name))
		if err != nil {
			t.Fatal(err)
		}
		put(t, dir, name, string(text))
	}
	begun := func(w *watching) {
		w.until("job at hand", func() bool {
			list, _ := filepath.Glob(filepath.Join(dir, "made", ".*"))
			return len(list) > 0
		})
	}
	w := watchOf(t, dir)
	begun(w)
	_ = w.Process.Signal(syscall.SIGTERM)
	w.says("finishing 1 job at hand")
	if status := w.ends(syscall.SIGTERM); status != statusInterrupted {
		t.Errorf("status %d: %s", status, w.said)
	}
	if made, hidden := madeBy(t, dir); len(made) > 0 || hidden != nil {
		t.Errorf("%d files and %v are left", len(made), hidden)
	}
	w = watchOf(t, dir)
	begun(w)
	if status := w.ends(os.Interrupt); status != 0 {
		t.Errorf("status %d: %s", status, w.said)
	}
	if made, hidden := madeBy(t, dir); len(made) != 2 || hidden != nil || !has(t, dir, "j0.toml followed")() {
		t.Errorf("%d files, %v: %v", len(made), hidden, logged(t, dir))
	}

	// One works in a folder at a time.
	w = watchOf(t, dir)
	w.says("done already: 1 job")
	second := tool("watch", "jobs")
	second.Dir = filepath.Dir(dir)
	if status, msg := exitStatus(t, second); status != statusUsage || !strings.Contains(msg, "jobs is watched already") {
		t.Errorf("status %d: %s", status, msg)
	}
	// A folder that goes ends it.
	if err := os.Rename(dir, dir+"2"); err != nil {
		t.Fatal(err)
	}
	_ = w.Wait()
	if status := w.ProcessState.ExitCode(); status != statusIO {
		t.Errorf("status %d: %s", status, w.said)
	}
}

// A watch that is killed again and again, whenever that is, has done every job in the end:
// nothing is lost, each result is what run makes, and no other file is left.
func TestKillWatch(t *testing.T) {
	const jobs = 40
	dir, alone := dropFolder(t), dropFolder(t)
	for _, at := range []string{dir, alone} {
		put(t, at, "bow.csv", bowed)
		for k := range jobs {
			put(t, at, fmt.Sprintf("p%d.gcode", k), partOf(k))
			put(t, at, fmt.Sprintf("j%d.toml", k), fmt.Sprintf(jobOf, fmt.Sprintf("p%d.gcode", k)))
		}
		put(t, at, "j5.toml", "program = \"p5.gcode\"\nsurface = \"bow.csv\"\ndepth = 1\ndo = \"split\"\n")
		put(t, at, "bad.toml", fmt.Sprintf(jobOf, "p1.gcode")+"use = 7\n")
	}
	run := tool("run", "jobs")
	run.Dir = filepath.Dir(alone)
	if status, msg := exitStatus(t, run); status != statusUsage {
		t.Fatal(msg)
	}
	want, _ := madeBy(t, alone)
	begin := func() *watching { return watchOf(t, dir, "-j", "2", "--rest", "0.1") }
	for range often(10) {
		w := begin()
		time.Sleep(time.Duration(rand.Float64() * float64(1500*time.Millisecond)))
		_ = w.Process.Kill()
		_ = w.Wait()
		made, _ := madeBy(t, dir)
		for name, text := range made {
			if text != want[name] {
				t.Fatalf("%s is not whole", name)
			}
		}
		_ = logged(t, dir)
		if len(made) == len(want) && !there(dir, "bad.toml") { // begin anew
			if err := os.RemoveAll(filepath.Join(dir, "made")); err != nil {
				t.Fatal(err)
			}
			put(t, dir, "bad.toml", fmt.Sprintf(jobOf, "p1.gcode")+"use = 7\n")
		}
	}
	w := begin()
	w.until("all results", func() bool {
		made, _ := madeBy(t, dir)
		return len(made) == len(want) && !there(dir, "bad.toml")
	})
	if status := w.ends(syscall.SIGTERM); status != 0 {
		t.Errorf("status %d: %s", status, w.said)
	}
	made, hidden := madeBy(t, dir)
	if hidden != nil {
		t.Errorf("%v are left", hidden)
	}
	for name, text := range want {
		if made[name] != text {
			t.Errorf("%s is not what run makes", name)
		}
	}
	last := map[string]string{}
	for _, line := range logged(t, dir) {
		name, verdict, _ := strings.Cut(line, " ")
		last[name] = verdict
	}
	if len(last) != jobs+1 {
		t.Errorf("the log has %d of %d jobs", len(last), jobs+1)
	}
	list, _ := os.ReadDir(filepath.Join(dir, "failed"))
	if len(list) != 2 {
		t.Errorf("%v among the failed", list)
	}
}

// Jobs that are dropped all at once, while a watch runs, are all done, and each once.
func TestDropMany(t *testing.T) {
	dir := dropFolder(t)
	jobs := often(100)
	w := watchOf(t, dir)
	w.says("caution")
	digests := map[string][32]byte{}
	for k := range jobs { // job files first, and what all name last
		name := fmt.Sprintf("p%04d.gcode", k)
		put(t, dir, fmt.Sprintf("j%04d.toml", k), fmt.Sprintf(jobOf, name))
		put(t, dir, name, partOf(k))
		digests[name] = sha256.Sum256([]byte(partOf(k)))
	}
	w.says(fmt.Sprintf("j0000.toml and %d more wait for jobs/bow.csv", jobs-1))
	put(t, dir, "bow.csv", bowed)
	began := time.Now()
	w.until("jobs", func() bool { return len(logged(t, dir)) >= jobs })
	t.Logf("%d jobs in %v", jobs, time.Since(began))
	if status := w.ends(syscall.SIGTERM); status != 0 {
		t.Errorf("status %d: %s", status, w.said)
	}
	lines := logged(t, dir)
	if slices.Sort(lines); len(slices.Compact(lines)) != jobs || strings.Count(strings.Join(lines, "\n"), "followed") != jobs {
		t.Error(lines)
	}
	for name, digest := range digests {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil || sha256.Sum256(text) != digest {
			t.Errorf("%s is not as it was: %v", name, err)
		}
	}
	made, hidden := madeBy(t, dir)
	if len(made) != 2*jobs || hidden != nil {
		t.Errorf("%d files, and %v", len(made), hidden)
	}
}

// Nothing leads a watch out of its folder, and nothing that is no file keeps it waiting.
func TestWatchStays(t *testing.T) {
	dir := dropFolder(t)
	out := filepath.Dir(dir)
	put(t, out, "job.toml", fmt.Sprintf(jobOf, "a.gcode"))
	put(t, out, "a.gcode", partOf(1))
	put(t, dir, "bow.csv", bowed)
	put(t, dir, "in.gcode", partOf(1))
	for name, to := range map[string]string{"link.toml": "../job.toml", "link.gcode": "../a.gcode", "cycle.toml": "cycle.toml", "made": "..", "around.gcode": "around.gcode"} {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skip(err)
		}
	}
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe.toml"), 0o666); err != nil {
		t.Skip(err)
	}
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe.gcode"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder.gcode"), 0o777); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"link", "pipe", "folder", "around", "in"} {
		put(t, dir, name+"-job.toml", fmt.Sprintf(jobOf, name+".gcode"))
	}
	put(t, dir, "good.toml", fmt.Sprintf(jobOf, "in.gcode")+"out = \"good\"\n")
	w := watchOf(t, dir, "--rest", "0.1")
	w.until("job", has(t, dir, "good.toml followed"))
	for _, name := range []string{"link-job.toml", "pipe-job.toml", "folder-job.toml", "in-job.toml", "around-job.toml", "link.toml", "cycle.toml", "pipe.toml"} {
		w.until(name+" aside", func() bool { return there(dir, "failed/"+name+".txt") && !there(dir, name) })
	}
	if there(out, "in.gcode") || !there(out, "job.toml") || there(out, "failed") {
		t.Error("something was written or moved outside")
	}
	if status := w.ends(syscall.SIGTERM); status != 0 {
		t.Errorf("status %d: %s", status, w.said)
	}
}
