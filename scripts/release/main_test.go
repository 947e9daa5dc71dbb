package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"sagitta/internal/cli"
)

const root = "../.."

// unpacked reads an archive back.
func unpacked(t *testing.T, name string, archive []byte) (files []file, at []time.Time) {
	t.Helper()
	add := func(name string, mode int64, when time.Time, r io.Reader) {
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file{name, text, mode&0o111 != 0})
		at = append(at, when.UTC())
	}
	if strings.HasSuffix(name, ".zip") {
		z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			add(f.Name, int64(f.Mode()), f.Modified, r)
		}
		return files, at
	}
	z, err := gzip.NewReader(bytes.NewReader(archive))
	if err != nil {
		t.Fatal(err)
	}
	r := tar.NewReader(z)
	for {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return files, at
		}
		if err != nil {
			t.Fatal(err)
		}
		add(h.Name, h.Mode, h.ModTime, r)
	}
}

// Both kinds of archive give back what went in, and bear the one time they are told.
func TestArchives(t *testing.T) {
	in := []file{{"a/LICENSE", []byte("as is"), false}, {"a/empty", []byte{}, false}, {"a/tool", bytes.Repeat([]byte("run"), 5000), true}}
	when := time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC)
	for name, pack := range map[string]func([]file, time.Time) ([]byte, error){"a.tar.gz": tarred, "a.zip": zipped} {
		archive, err := pack(in, when)
		if err != nil {
			t.Fatal(err)
		}
		out, at := unpacked(t, name, archive)
		if len(out) != len(in) {
			t.Fatalf("%s: %d files", name, len(out))
		}
		for i := range in {
			if out[i].name != in[i].name || !bytes.Equal(out[i].text, in[i].text) || out[i].run != in[i].run || !at[i].Equal(when) {
				t.Errorf("%s: %s came back otherwise: %s, %d bytes, %v", name, in[i].name, out[i].name, len(out[i].text), at[i])
			}
		}
	}
}

func TestWhen(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "981173106")
	b := &built{}
	if at, err := b.when(); err != nil || at.Format(time.RFC3339) != "2001-02-03T04:05:06Z" {
		t.Errorf("%v %v", at, err)
	}
	t.Setenv("SOURCE_DATE_EPOCH", "today")
	if _, err := b.when(); err == nil {
		t.Error("any text is a time")
	}
}

// What is no system is told before anything is built, and nothing is written.
func TestNoSystem(t *testing.T) {
	for _, wrong := range []string{"", "linux", "/amd64", "linux/"} {
		out := filepath.Join(t.TempDir(), "out")
		if err := release(t.TempDir(), out, []string{runtime.GOOS + "/" + runtime.GOARCH, wrong}); err == nil || !strings.Contains(err.Error(), "wants an operating system") {
			t.Errorf("%q: %v", wrong, err)
		}
		if _, err := os.Stat(out); err == nil {
			t.Errorf("%q: there is %s", wrong, out)
		}
	}
}

// The same source gives the same bytes wherever it lies and whatever the environment says,
// and they are all that an operator needs: a tool that runs, with its papers.
func TestSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the tool")
	}
	t.Setenv("SOURCE_DATE_EPOCH", "")
	system := runtime.GOOS + "/" + runtime.GOARCH
	var outs []string
	for i, name := range []string{"a", "further/down/the/disk"} {
		source := filepath.Join(t.TempDir(), name)
		for _, part := range []string{"cmd", "internal", "heightmaps", "go.mod", "go.sum", "README.md", "docs", "CHANGELOG.md", "LICENSE"} {
			copyOf(t, filepath.Join(root, part), filepath.Join(source, part))
		}
		if i == 1 {
			later := time.Now().Add(100 * time.Hour)
			if err := os.Chtimes(filepath.Join(source, "LICENSE"), later, later); err != nil {
				t.Fatal(err)
			}
			t.Setenv("GOFLAGS", "-gcflags=-N")
			t.Setenv("GOAMD64", "v3")
			t.Setenv("GOARM64", "v9.0")
			t.Setenv("TZ", "Asia/Kathmandu")
		}
		outs = append(outs, filepath.Join(t.TempDir(), name))
		if err := release(source, outs[i], []string{system}); err != nil {
			t.Fatal(err)
		}
	}
	name := "sagitta-" + cli.Version + "-" + runtime.GOOS + "-" + runtime.GOARCH + ".tar.gz"
	if runtime.GOOS == "windows" {
		name = strings.TrimSuffix(name, ".tar.gz") + ".zip"
	}
	var archive []byte
	for _, part := range []string{"SHA256SUMS", name} {
		a, err := os.ReadFile(filepath.Join(outs[0], part))
		if err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(outs[1], part))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a, b) {
			t.Errorf("%s differs from one place to another", part)
		}
		if part == "SHA256SUMS" {
			defer func() {
				if want := fmt.Sprintf("%x  %s\n", sha256.Sum256(archive), name); string(a) != want {
					t.Errorf("SHA256SUMS has %q, not %q", a, want)
				}
			}()
		}
		archive = a
	}
	complete(t, name, archive)
}

// complete looks at what an archive of this system has.
func complete(t *testing.T, name string, archive []byte) {
	has := map[string]file{}
	files, at := unpacked(t, name, archive)
	folder, _, _ := strings.Cut(files[0].name, "/")
	for i, f := range files {
		if i > 0 && files[i-1].name >= f.name {
			t.Errorf("%s is out of order", f.name)
		}
		if !at[i].Equal(at[0]) {
			t.Errorf("%s bears another time", f.name)
		}
		has[strings.TrimPrefix(f.name, folder+"/")] = f
	}
	tool := "sagitta"
	if runtime.GOOS == "windows" {
		tool += ".exe"
	}
	wants := []string{tool, "README.md", "docs/manual.md", "CHANGELOG.md", "LICENSE", "LICENSES-OF-PARTS.txt", "examples/chart.gcode", "examples/panel.csv",
		"completions/sagitta.bash", "completions/_sagitta", "completions/sagitta.fish", "completions/sagitta.ps1"}
	for _, p := range cli.Manual() {
		wants = append(wants, path.Join("man", fmt.Sprintf("man%d", p.Section), p.File()))
	}
	for _, want := range wants {
		f, is := has[want]
		if !is || len(f.text) == 0 {
			t.Errorf("no %s, or nothing in it", want)
		}
		if f.run != (want == tool) {
			t.Errorf("%s can be run: %v", want, f.run)
		}
	}
	run := filepath.Join(t.TempDir(), tool)
	if err := os.WriteFile(run, has[tool].text, 0o700); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command(run, "version").CombinedOutput()
	if err != nil || !strings.HasPrefix(string(said), "sagitta "+cli.Version+"\n") || !strings.Contains(string(said), "system: "+runtime.GOOS+"/"+runtime.GOARCH+"\n") {
		t.Errorf("%v: %s", err, said)
	}
	for _, part := range []string{"The Go language", "github.com/spf13/cobra ", "LICENSE-SIL"} {
		if !bytes.Contains(has["LICENSES-OF-PARTS.txt"].text, []byte(part)) {
			t.Errorf("no licence of %s", part)
		}
	}
}

// copyOf copies a file or a folder.
func copyOf(t *testing.T, from, to string) {
	t.Helper()
	info, err := os.Stat(from)
	if err == nil && info.IsDir() {
		err = os.CopyFS(to, os.DirFS(from))
	} else if err == nil {
		var text []byte
		if text, err = os.ReadFile(from); err == nil {
			err = errors.Join(os.MkdirAll(filepath.Dir(to), 0o700), os.WriteFile(to, text, 0o600))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
}
