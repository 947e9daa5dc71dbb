package files

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cheggaaa/pb/v3"

	"sagitta/internal/diag"
)

func put(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// What can be read only once is read twice all the same, and its digest is
// that of one whole pass, however much of another there was.
func TestReadTwice(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "file", "some text")
	for _, name := range []string{"file", "-"} {
		for _, first := range []int64{0, 4, 9, 100} {
			f := New(context.Background(), strings.NewReader("some text"), nil, nil)
			in, err := f.OpenTwice(name)
			if err != nil {
				t.Fatal(err)
			}
			in.KeepDigest()
			if _, err := io.CopyN(io.Discard, in, first); err != nil && err != io.EOF {
				t.Fatal(err)
			}
			for range 2 {
				if _, err := in.Seek(0, io.SeekStart); err != nil {
					t.Fatal(err)
				}
				if b, err := io.ReadAll(in); string(b) != "some text" {
					t.Errorf("%s after %d: %q, %v", name, first, b, err)
				}
			}
			if in.Sum() != DigestOf([]byte("some text")) {
				t.Errorf("%s after %d: the digest is another", name, first)
			}
			in.Close()
		}
	}
}

func TestInterrupted(t *testing.T) {
	t.Chdir(t.TempDir())
	ctx, stop := context.WithCancel(context.Background())
	f := New(ctx, strings.NewReader("text"), nil, nil)
	in, _ := f.Open("-")
	stop()
	if _, err := io.ReadAll(in); !errors.Is(err, ErrInterrupted) {
		t.Errorf("read: %v", err)
	}
	if err := f.Write(Result{"new", []byte("x")}); !errors.Is(err, ErrInterrupted) {
		t.Errorf("written: %v", err)
	}
	f.Close()
	if left, _ := filepath.Glob("*"); left != nil {
		t.Errorf("left %v", left)
	}
	if err := f.Err(io.ErrUnexpectedEOF); !errors.Is(err, ErrInterrupted) {
		t.Errorf("%v", err)
	}
}

// broken is a pipe that nobody reads.
type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, os.ErrClosed }

// Results appear all or none: where the stream among them fails, no file is
// there yet.
func TestWriteAllOrNone(t *testing.T) {
	t.Chdir(t.TempDir())
	out := Result{"", []byte("out")}
	with := []Result{{"a", []byte("A")}, {"", []byte("none")}, {"b", []byte("B")}}
	f := New(context.Background(), nil, broken{}, nil)
	if err := f.Write(out, with...); !diag.Is(err, diag.IO) || !strings.Contains(err.Error(), "writing standard output: ") {
		t.Errorf("%v", err)
	}
	f.Close()
	if left, _ := filepath.Glob("*"); left != nil {
		t.Errorf("left %v", left)
	}
	var stdout bytes.Buffer
	f = New(context.Background(), nil, &stdout, nil)
	if err := f.Write(out, with...); err != nil {
		t.Fatal(err)
	}
	a, _ := os.ReadFile("a")
	b, _ := os.ReadFile("b")
	if string(a) != "A" || string(b) != "B" || stdout.String() != "out" {
		t.Errorf("%q, %q and %q", a, b, stdout.String())
	}
}

func TestCheckOutputs(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "in", "x")
	if err := os.Link("in", "other"); err != nil {
		t.Skip(err)
	}
	if err := os.Mkdir("dir", 0o777); err != nil {
		t.Fatal(err)
	}
	put(t, "b", "x")
	for link, to := range map[string]string{"link": "dir", "to-b": "b"} {
		if err := os.Symlink(to, link); err != nil {
			t.Skip(err)
		}
	}
	f := New(context.Background(), nil, nil, nil)
	in, err := f.Open("in")
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	for _, c := range []struct {
		outputs []string
		what    string
	}{
		{[]string{"", "-", "", "a", "b"}, ""},
		{[]string{"-", "a", "-"}, "two results cannot both go to standard output"},
		{[]string{"/dev/null", "/dev/null"}, ""},
		{[]string{"dir/a", "link/a"}, "two results cannot both go to link/a"},
		{[]string{"b", "to-b"}, "two results cannot both go to to-b"},
		{[]string{"b", "dir/../b"}, "two results cannot both go to dir/../b"},
		{[]string{"dir/b", "b"}, ""},
		{[]string{"a", "in"}, "the output in is the input in"},
		{[]string{"other"}, "the output other is the input in"},
		{[]string{"a", "", "./a"}, "two results cannot both go to ./a"},
	} {
		err := f.CheckOutputs(c.outputs...)
		if (err == nil) != (c.what == "") || err != nil && (err.Error() != c.what || !diag.Is(err, diag.Setting)) {
			t.Errorf("%q: %v", c.outputs, err)
		}
	}
}

func TestFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	f := New(context.Background(), nil, nil, nil)
	make := func(replace bool) error {
		d, err := f.CreateFolder("made", replace, Kind{})
		if err != nil {
			return err
		}
		put(t, filepath.Join(d.Build, "new"), "x")
		return f.Commit(d)
	}
	if err := make(false); err != nil {
		t.Fatal(err)
	}
	put(t, "made/old", "x")
	if err := make(false); !diag.Is(err, diag.Setting) {
		t.Errorf("one that is not empty: %v", err)
	}
	if err := make(true); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat("made/old"); err == nil {
		t.Error("it was not replaced as a whole")
	}
	in, err := f.Open("made/new")
	if err != nil {
		t.Fatal(err)
	}
	in.Close()
	if err := make(true); err == nil || !strings.Contains(err.Error(), "the output folder made holds the input") {
		t.Errorf("over an input: %v", err)
	}
	if _, err := f.CreateFolder("dropped", false, Kind{}); err != nil {
		t.Fatal(err)
	}
	f.Close()
	if left, _ := filepath.Glob(".*"); left != nil {
		t.Errorf("left %v", left)
	}
}

// Before it is known how fast work goes, nothing is said of it.
func TestProgressOfUnknownSpeed(t *testing.T) {
	bar := pb.ProgressBarTemplate(progressLook).New(1000).Set(pb.Bytes, true).SetWidth(60).SetCurrent(250)
	if s := bar.String(); !strings.HasPrefix(s, "25% |") || strings.Contains(s, "?") {
		t.Errorf("%q", s)
	}
}

// What never ends, and has no lines, is not copied for ever.
func TestOpenTwiceEnds(t *testing.T) {
	if _, err := os.Stat("/dev/zero"); err != nil {
		t.Skip(err)
	}
	f := New(t.Context(), nil, io.Discard, io.Discard)
	defer f.Close()
	in, err := f.OpenTwice("/dev/zero")
	if err != nil {
		t.Fatal(err)
	}
	n, err := io.Copy(io.Discard, in)
	if err != nil || n < 1<<20 || n > mostLine {
		t.Errorf("%d bytes: %v", n, err)
	}
}
