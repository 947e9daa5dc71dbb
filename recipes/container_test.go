//go:build linux

package recipes

import (
	"debug/elf"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// nobody is who runs the tool in the container.
const nobody = 65532

// TestContainer does what the container recipe says, as far as no engine is wanted for that:
// its binary is static, and does jobs in a root that has nothing but that, a folder for what is
// gathered and the jobs, as a user who is not root.
func TestContainer(t *testing.T) {
	text, err := os.ReadFile("Containerfile")
	if err != nil {
		t.Fatal(err)
	}
	mod, err := os.ReadFile("../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	build, from, user := "", "", ""
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if rest, is := strings.CutPrefix(line, "RUN CGO_ENABLED=0 go build "); is {
			build = "CGO_ENABLED=0 go build " + rest
		}
		if rest, is := strings.CutPrefix(line, "FROM "); is {
			if from == "" && !strings.Contains(string(mod), "\ngo "+strings.TrimSuffix(strings.TrimPrefix(rest, "golang:"), " AS build")+"\n") {
				t.Errorf("%s builds with another Go than go.mod", line)
			}
			from = rest
		}
		if rest, is := strings.CutPrefix(line, "USER "); is {
			user = rest
		}
	}
	if from != "scratch" || user != "65532:65532" || build == "" {
		t.Fatalf("from %q, as %q, built by %q", from, user, build)
	}
	root := t.TempDir()
	c := exec.Command("sh", "-c", strings.ReplaceAll(build, "/out/", root+"/"))
	c.Dir = ".."
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	tool := filepath.Join(root, "sagitta")
	binary, err := elf.Open(tool)
	if err != nil {
		t.Fatal(err)
	}
	defer binary.Close()
	for _, p := range binary.Progs {
		if p.Type == elf.PT_INTERP || p.Type == elf.PT_DYNAMIC {
			t.Errorf("the binary has a segment %v: it is not static", p.Type)
		}
	}

	jobs := jobFolder(t)
	if err := os.Rename(jobs, filepath.Join(root, "jobs")); err != nil {
		t.Skip(err)
	}
	jobs = filepath.Join(root, "jobs")
	if err := os.Mkdir(filepath.Join(root, "tmp"), 0o777); err != nil {
		t.Fatal(err)
	}
	within := []string{"unshare", "--map-root-user", "chroot", root}
	if os.Getuid() == 0 {
		within = []string{"chroot", "--userspec=" + user, root}
		err := filepath.WalkDir(root, func(name string, _ fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			return os.Chown(name, nobody, nobody)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if out, err := exec.Command(within[0], append(within[1:], "/sagitta", "version")...).CombinedOutput(); err != nil {
		t.Skipf("no root can be changed here: %v\n%s", err, out)
	}
	out, err := exec.Command(within[0], append(within[1:], "/sagitta", "run", "/jobs", "--log", "/jobs/jobs.jsonl")...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if made, _ := results(t, jobs); len(made) != jobCount() {
		t.Errorf("%d results: %s", len(made), out)
	}
}
