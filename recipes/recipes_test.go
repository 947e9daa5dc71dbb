//go:build unix

package recipes

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// many has engines do a thousand jobs: go test ./recipes -many -timeout 0
var many = flag.Bool("many", false, "a thousand jobs")

// jobCount is how many jobs are done.
func jobCount() int {
	if *many {
		return 1000
	}
	return 40
}

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
	for k := range jobCount() {
		var b strings.Builder
		b.WriteString("G21 G90\nM4 S500\nG0 X1 Y1\n")
		for i := range 200 {
			fmt.Fprintf(&b, "G1 X%d Y%.2f F1500\n", 1+98*(1-i%2), 1+float64(k)/20+float64(i)*0.2)
		}
		b.WriteString("M5\n")
		put(fmt.Sprintf("part %03d.gcode", k), b.String())
		put(fmt.Sprintf("job %03d.toml", k), fmt.Sprintf("program = \"part %03d.gcode\"\nsurface = \"sheet.csv\"\nlenses = [\"short lens.toml\"]\ndo = \"follow\"\nout = \"made\"\n", k))
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

// alone is what the tool makes of the jobs by itself.
func alone(t *testing.T, built string) map[string]string {
	t.Helper()
	dir := jobFolder(t)
	c := exec.Command(filepath.Join(built, "sagitta"), "run", ".")
	c.Dir = dir
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want, _ := results(t, dir)
	if len(want) != jobCount() {
		t.Fatalf("%d of %d results", len(want), jobCount())
	}
	return want
}

// allOnce wants all results as the tool makes them by itself, those of before as they were, a
// line of each job in the logs, no job done twice, and nothing else left.
func allOnce(t *testing.T, dir string, want map[string]string, before map[string]time.Time, logs ...string) {
	t.Helper()
	got, after := results(t, dir)
	for name, digest := range want {
		if got[name] != digest {
			t.Errorf("%s is %q, not %q", name, got[name], digest)
		}
		if made, was := before[name]; was && !after[name].Equal(made) {
			t.Errorf("%s was done twice", name)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d results of %d jobs", len(got), len(want))
	}
	lines, done := map[string]int{}, map[string]int{}
	for _, name := range logs {
		log, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		scan := bufio.NewScanner(bytes.NewReader(log))
		for scan.Buffer(nil, 1<<20); scan.Scan(); {
			var line struct {
				Job, Verdict string
				Status       int
			}
			if err := json.Unmarshal(scan.Bytes(), &line); err != nil {
				t.Errorf("%v: %s", err, scan.Bytes())
				continue
			}
			if line.Status != 0 && line.Verdict != "interrupted" {
				t.Errorf("%s", scan.Bytes())
			}
			if lines[line.Job]++; line.Verdict == "followed" {
				done[line.Job]++
			}
		}
	}
	if len(lines) != len(want) {
		t.Errorf("the logs have %d of %d jobs", len(lines), len(want))
	}
	for job, n := range done {
		if n > 1 {
			t.Errorf("%s was done %d times", job, n)
		}
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
	if len(list) != 3*len(want) {
		t.Errorf("%d files of %d jobs, each with a program, a sheet and the run's record", len(list), len(want))
	}
}
