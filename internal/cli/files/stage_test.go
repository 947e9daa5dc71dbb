package files

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// staged is a stage, and a run on it.
func staged(t *testing.T) (dir string, s *Stage, run func() *Files) {
	dir = t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "in", "made"), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"out.txt": "outside", "in/a.txt": "inside", "in/made/old": "old"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	s, err := OpenStage(filepath.Join(dir, "in"), nil)
	if err != nil {
		t.Fatal(err)
	}
	return dir, s, func() *Files {
		f := New(context.Background(), strings.NewReader(""), io.Discard, io.Discard)
		f.On(s)
		return f
	}
}

func names(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range list {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

// Nothing is read out of a stage, nor what may never end.
func TestStageStaysInside(t *testing.T) {
	dir, s, run := staged(t)
	defer s.Close()
	for link, to := range map[string]string{"link": "../out.txt", "far": "..", "near": "a.txt", "abs": filepath.Join(dir, "out.txt"), "tty": "/dev/zero"} {
		if err := os.Symlink(to, filepath.Join(dir, "in", link)); err != nil {
			t.Skip(err)
		}
	}
	for _, name := range []string{"link", "far/out.txt", "../out.txt", "made/../../out.txt", "abs", "tty", filepath.Join(dir, "out.txt"), "/dev/zero"} {
		f := run()
		if in, err := f.Open(name); err == nil {
			t.Errorf("%s is read", in.name)
		}
		f.Close()
		if _, err := s.Look(name); err == nil {
			t.Errorf("%s is looked at", name)
		}
		if err := s.MakeDir(name + "/x"); err == nil {
			t.Errorf("a folder is made in %s", name)
		}
	}
	if _, err := s.Look("link"); !errors.Is(err, ErrOutside) {
		t.Error(err)
	}
	if _, err := s.Look("none"); !errors.Is(err, fs.ErrNotExist) || strings.Contains(err.Error(), "statat") {
		t.Error(err)
	}
	f := run()
	defer f.Close()
	in, err := f.Open("near")
	if err != nil {
		t.Fatal(err)
	}
	if text, _ := io.ReadAll(in); string(text) != "inside" {
		t.Errorf("%q", text)
	}
}

// What runs make is in its place only when all is; until then the next run reads it.
func TestStageHolds(t *testing.T) {
	for _, end := range []string{"commit", "close", "fail"} {
		dir, s, run := staged(t)
		made := filepath.Join(dir, "in", "made")
		f := run()
		if err := f.Write(Result{Name: "made/old", Text: []byte("new")}); err != nil {
			t.Fatal(err)
		}
		f.Close()
		f = run()
		folder, err := f.CreateFolder("made/set", false, Kind{})
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder.Build, "x"), []byte("x"), 0o666); err != nil {
			t.Fatal(err)
		}
		if in, err := f.Open(filepath.Join(folder.Build, "x")); err != nil {
			t.Error(err)
		} else if text, _ := io.ReadAll(in); string(text) != "x" {
			t.Errorf("%q", text)
		}
		if err := f.Commit(folder); err != nil {
			t.Fatal(err)
		}
		f.Close()
		f = run()
		in, err := f.Open("made/old")
		if err != nil {
			t.Fatal(err)
		}
		if text, _ := io.ReadAll(in); string(text) != "new" {
			t.Errorf("the next run reads %q", text)
		}
		f.Close()
		if text, _ := os.ReadFile(filepath.Join(made, "old")); string(text) != "old" {
			t.Errorf("%q is there before all is", text)
		}
		held, err := s.Held()
		if err != nil || len(held) != 2 || held[0].Name != filepath.FromSlash("made/old") || held[1].Name != filepath.FromSlash("made/set/x") {
			t.Errorf("%v, %v", held, err)
		} else if text, _ := os.ReadFile(held[0].At); held[0].Digest != DigestOf(text) || held[1].Digest != "" {
			t.Errorf("%v for %q", held, text)
		}
		want, text := "old", "old"
		switch end {
		case "commit":
			if err := s.Commit(context.Background(), Result{Name: "made/more", Text: []byte("more")}); err != nil {
				t.Fatal(err)
			}
			want, text = "more old set", "new"
		case "fail":
			ctx, stop := context.WithCancel(context.Background())
			stop()
			if err := s.Commit(ctx); !errors.Is(err, ErrInterrupted) {
				t.Error(err)
			}
		}
		s.Close()
		if got := names(t, made); got != want {
			t.Errorf("%s leaves %s", end, got)
		}
		if got, _ := os.ReadFile(filepath.Join(made, "old")); string(got) != text {
			t.Errorf("%s leaves %q", end, got)
		}
	}
}

// What killed runs have left goes, what is under way stays, and a folder whose replacement
// was cut short comes back.
func TestSweep(t *testing.T) {
	dir, s, run := staged(t)
	made := filepath.Join(dir, "in", "made")
	f := run()
	out, err := f.Create("made/under-way")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{".dead.gcode.sagitta-1x", ".dead.gcode.sagitta-1x.lock", ".set.sagitta-swap.lock", ".mine.lock", ".a.sagitta-job",
		".sagitta-2y.lock", ".many.gcode.sagitta-2y-3z", "..many.gcode.sagitta-job.sagitta-2y-4z", ".other.sagitta-2yy-3z"} {
		if err := os.WriteFile(filepath.Join(made, name), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(made, "set.old"), 0o777); err != nil {
		t.Fatal(err)
	}
	s.Sweep("made")
	under := filepath.Base(out.file.Name())
	lock := strings.TrimPrefix(under[:strings.LastIndex(under, "-")], ".under-way")
	if got := names(t, made); got != ".a.sagitta-job .mine.lock .other.sagitta-2yy-3z "+lock+".lock "+under+" old set" {
		t.Error(got)
	}
	f.Close()
	s.Close()
	if got := names(t, made); got != ".a.sagitta-job .mine.lock .other.sagitta-2yy-3z old set" {
		t.Error(got)
	}
}

// What the disk does not take is put nowhere, nor is anything that is held with it.
func TestStageSettles(t *testing.T) {
	dir, s, run := staged(t)
	defer s.Close()
	wrong := errors.New("no room")
	for _, made := range []Made{blocked{}, blocked{settles: wrong}, blocked{}} {
		f := run()
		out, err := f.Make(Result{Name: "made/old", Text: []byte("new")})
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Commit(append(out, made)...); err != nil {
			t.Fatal(err)
		}
		f.Close()
	}
	for range 2 {
		if _, err := s.Held(); !errors.Is(err, wrong) {
			t.Error(err)
		}
		if err := s.Commit(context.Background(), Result{Name: "made/more", Text: []byte("more")}); !errors.Is(err, wrong) {
			t.Error(err)
		}
	}
	if text, _ := os.ReadFile(filepath.Join(dir, "in", "made", "old")); string(text) != "old" {
		t.Errorf("%q", text)
	}
}

// A lock is one for all that is built in a folder, by however many stages, and stays until
// nothing needs it and it is dropped; where it was removed there is another.
func TestLocksOfMany(t *testing.T) {
	dir, locks := t.TempDir(), new(Locks)
	defer locks.Drop()
	listed := func() []string {
		found, err := filepath.Glob(filepath.Join(dir, ".sagitta-*.lock"))
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	var stages []*Stage
	for k := range 3 {
		s, err := OpenStage(dir, locks)
		if err != nil {
			t.Fatal(err)
		}
		f := New(context.Background(), strings.NewReader(""), io.Discard, io.Discard)
		f.On(s)
		if err := f.Write(Result{Name: string(rune('a' + k)), Text: []byte("x")}); err != nil {
			t.Fatal(err)
		}
		stages = append(stages, s)
	}
	locks.Drop()
	one := listed()
	if len(one) != 1 {
		t.Fatal(one)
	}
	if err := stages[0].Commit(context.Background()); err != nil {
		t.Fatal(err)
	}
	for _, s := range stages {
		s.Close()
	}
	if left := listed(); len(left) != 1 || left[0] != one[0] || names(t, dir) != filepath.Base(one[0])+" a" {
		t.Error(names(t, dir))
	}
	if err := os.Remove(one[0]); err != nil {
		t.Skip(err)
	}
	name, done := beside(filepath.Join(dir, "b"), locks)
	if now := listed(); len(now) != 1 || now[0] == one[0] || !strings.Contains(name, strings.TrimSuffix(filepath.Base(now[0]), locked)+"-") {
		t.Error(now, name)
	}
	done()
	locks.Drop()
	for k := range 3 * mostIdle { // each in a folder of its own
		_, done := beside(filepath.Join(t.TempDir(), string(rune('a'+k))), locks)
		done()
	}
	if names(t, dir) != "a" || len(locks.of) > mostIdle {
		t.Error(names(t, dir), len(locks.of))
	}
}
