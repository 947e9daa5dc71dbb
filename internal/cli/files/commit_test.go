package files

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// blocked is a result whose place cannot be taken.
type blocked struct{ settles, puts error }

func (b blocked) settle() error  { return b.settles }
func (b blocked) put(bool) error { return b.puts }
func (b blocked) back()          { panic("it was not put") }
func (b blocked) keep()          {}
func (b blocked) turn() int      { return 2 }

// What has taken its place goes again where another result cannot take its own, and
// what it has replaced is there as it was, whole at any moment.
func TestCommitPutsBack(t *testing.T) {
	no := errors.New("no")
	for _, fails := range []blocked{{no, nil}, {nil, no}, {nil, nil}} {
		t.Chdir(t.TempDir())
		put(t, "old", "old")
		if err := os.Chmod("old", 0o600); err != nil {
			t.Fatal(err)
		}
		f := New(context.Background(), nil, nil, nil)
		made, err := f.Make(Result{"old", []byte("new")}, Result{"new", []byte("new")})
		if err != nil {
			t.Fatal(err)
		}
		err = f.Commit(append(made, fails)...)
		f.Close()
		failed := fails != blocked{}
		if failed != errors.Is(err, no) {
			t.Errorf("%v: %v", fails, err)
		}
		want := map[string]string{"old": "old"}
		if !failed {
			want = map[string]string{"old": "new", "new": "new"}
		}
		list, _ := os.ReadDir(".")
		if len(list) != len(want) {
			t.Errorf("%v: left %v", fails, list)
		}
		for name, text := range want {
			if b, _ := os.ReadFile(name); string(b) != text {
				t.Errorf("%v: %s is %q, not %q", fails, name, b, text)
			}
		}
		if info, err := os.Stat("old"); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
			t.Errorf("%v: %v, %v", fails, info, err)
		}
	}
}

// Where there are no links, what is there is copied; it stays where it is either way.
func TestAside(t *testing.T) {
	t.Chdir(t.TempDir())
	if a, err := setAside("none", nil); a != nil || err != nil {
		t.Errorf("%v, %v", a, err)
	}
	put(t, "old", "old")
	a, err := setAside("old", nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := copyFile("old", "copy", 0o600); err != nil {
		t.Fatal(err)
	}
	if err := copyFile("old", "copy", 0o600); err == nil {
		t.Error("copied over a file")
	}
	for _, name := range []string{"old", "copy", a.name} {
		if b, _ := os.ReadFile(name); string(b) != "old" {
			t.Errorf("%s is %q", name, b)
		}
	}
	a.drop()
	if left, _ := filepath.Glob(".*"); left != nil {
		t.Errorf("left %v", left)
	}
}

// A folder that is made goes again, with those above it, where nothing is put there.
func TestMakeDir(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, used := range []bool{false, true} {
		f := New(context.Background(), nil, nil, nil)
		if err := f.MakeDir("a/b/c"); err != nil {
			t.Fatal(err)
		}
		made, err := f.Make(Result{"a/b/c/x", nil})
		if err == nil && used {
			err = f.Commit(made...)
		}
		if err != nil {
			t.Fatal(err)
		}
		f.Close()
		if _, err := os.Stat("a/b/c/x"); (err == nil) != used {
			t.Errorf("used is %v: %v", used, err)
		}
		if _, err := os.Stat("a"); (err == nil) != used {
			t.Errorf("used is %v: %v", used, err)
		}
	}
}

// asked is a result behind whose placing the run is asked to end.
type asked struct{ stop func() }

func (a asked) settle() error  { return nil }
func (a asked) put(bool) error { a.stop(); return nil }
func (a asked) back()          {}
func (a asked) keep()          {}
func (a asked) turn() int      { return 1 }

// A run that is asked to end while its results go to their places has done what it
// was asked for, and says so; before, it has done nothing.
func TestAskedToEndWhilePlacing(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, before := range []bool{false, true} {
		ctx, stop := context.WithCancel(context.Background())
		f := New(ctx, nil, nil, nil)
		made, err := f.Make(Result{"new", []byte("new")})
		if err != nil {
			t.Fatal(err)
		}
		if before {
			stop()
		}
		err = f.Commit(append([]Made{asked{stop}}, made...)...)
		if end := f.Err(nil); before != errors.Is(err, ErrInterrupted) || before != errors.Is(end, ErrInterrupted) || f.Placing() == before {
			t.Errorf("asked before: %v; commit %v, end %v, placing %v", before, err, end, f.Placing())
		}
		f.Close()
		if _, err := os.Stat("new"); before != errors.Is(err, os.ErrNotExist) {
			t.Errorf("asked before: %v; %v", before, err)
		}
		_ = os.Remove("new")
	}
}
