package files

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

func TestBeside(t *testing.T) {
	read := func(name string) string {
		b, err := os.ReadFile(name)
		if err != nil {
			return ""
		}
		return string(b)
	}
	for _, c := range []struct {
		name    string
		perm    os.FileMode // of the file that is there, 0: none
		replace bool
		want    string
	}{
		{"new", 0, true, "new"},
		{"over an old one", 0o664, true, "new"},
		{"over one that is not to be read by others", 0o600, true, "new"},
		{"over one that is not to be written", 0o444, true, "new"},
		{"dropped", 0, false, ""},
		{"dropped beside an old one", 0o664, false, "old"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if runtime.GOOS == "windows" && c.perm == 0o444 {
				t.Skip("such a file is not replaced here")
			}
			place := filepath.Join(t.TempDir(), "x")
			if c.perm != 0 {
				if err := os.WriteFile(place, []byte("old"), 0o666); err != nil {
					t.Fatal(err)
				}
				if err := os.Chmod(place, c.perm); err != nil {
					t.Fatal(err)
				}
			}
			b, err := createBeside(place, nil)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := b.WriteString("new"); err != nil {
				t.Fatal(err)
			}
			if got := read(place); got == "new" {
				t.Error("it is there before its time")
			}
			if c.replace {
				if err := b.settle(); err != nil {
					t.Fatal(err)
				}
				if err := b.replace(); err != nil {
					t.Fatal(err)
				}
			}
			b.discard()
			if got := read(place); got != c.want {
				t.Errorf("%q is there, not %q", got, c.want)
			}
			if info, err := os.Stat(place); err == nil && c.perm != 0 && runtime.GOOS != "windows" && info.Mode().Perm() != c.perm {
				t.Errorf("its permissions are %v, not %v", info.Mode().Perm(), c.perm)
			}
			list, err := os.ReadDir(filepath.Dir(place))
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range list {
				if e.Name() != "x" {
					t.Errorf("%s is left", e.Name())
				}
			}
		})
	}
}

// TestLinkStays: a result that goes to a link goes to what it leads to, there or yet to come.
func TestLinkStays(t *testing.T) {
	for _, old := range []string{"old", ""} {
		dir := t.TempDir()
		at, link := filepath.Join(dir, "a", "at"), filepath.Join(dir, "link")
		if err := os.Mkdir(filepath.Dir(at), 0o777); err != nil {
			t.Fatal(err)
		}
		if old != "" {
			if err := os.WriteFile(at, []byte(old), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Symlink(filepath.Join("a", "at"), link); err != nil {
			t.Skip(err)
		}
		f := &Files{ctx: context.Background()}
		o, err := f.Create(link)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := o.Write([]byte("new")); err != nil {
			t.Fatal(err)
		}
		if err := f.Commit(o); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
			t.Error("the link is no link any more")
		}
		if b, _ := os.ReadFile(at); string(b) != "new" {
			t.Errorf("%q is where it leads", b)
		}
	}
}
