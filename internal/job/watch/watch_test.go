package watch

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// read reads jobs as these tests write them: a file to a line, below one that says what the
// results are called.
func read(r io.Reader, name, program string) (Names, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return Names{}, err
	}
	lines := strings.Fields(string(text))
	switch {
	case len(lines) == 0:
		return Names{}, nil
	case lines[0] == "bad":
		return Names{}, fmt.Errorf("%s is bad", name)
	case program != "":
		return Names{Job: true, Results: program, Inputs: append(lines[1:], program)}, nil
	}
	return Names{Job: true, Results: lines[0], Inputs: lines[1:]}, nil
}

func opened(t interface{ Fatal(...any) }, dir string, rest time.Duration) *Folder {
	f, err := Open(Settings{Dir: dir, Rest: rest, Read: read, Note: func(string, ...any) {}})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// jobsWithin are the jobs that are ready within a time, each taken to be done at once.
func jobsWithin(f *Folder, d time.Duration) (names []string) {
	ctx, cancel := context.WithTimeout(context.Background(), d)
	defer cancel()
	for {
		j := f.Next(ctx)
		if j == nil {
			return names
		}
		name := j.Name
		if j.Twin != "" {
			name += " twin of " + j.Twin
		}
		if f.Done(j, false) {
			names = append(names, name)
		}
	}
}

// Whatever is written, renamed and removed in whatever order: in the end every job whose files
// are all there was done as they are, and none is done again.
func TestEveryJobAsItIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp("", "watch-*")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(dir)
		at := func(name string) string { return filepath.Join(dir, name) }
		f := opened(t, dir, 5*time.Millisecond)
		defer f.Close()
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		inputs := []string{"a", "b", "sub/c"}
		needs := map[string][]string{"1.toml": {"a"}, "2.toml": {"a", "b"}, "3.toml": {"sub/c", "b"}, "4.toml": {"b"}}
		all := append([]string{"1.toml", "2.toml", "3.toml", "4.toml"}, inputs...)
		content := func(job string) (text string, whole bool) {
			for _, name := range append([]string{job}, needs[job]...) {
				b, err := os.ReadFile(at(name))
				if err != nil {
					return "", false
				}
				text += string(b) + "|"
			}
			return text, true
		}
		done, times := map[string]string{}, 0
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			for j := f.Next(ctx); j != nil; j = f.Next(ctx) {
				text, _ := content(j.Name)
				if times++; f.Done(j, false) {
					done[j.Name] = text
				}
			}
		}()
		if err := os.Mkdir(at("sub"), 0o777); err != nil {
			t.Fatal(err)
		}
		steps := rapid.SliceOfN(rapid.IntRange(0, 5), 5, 40).Draw(t, "steps")
		for k, how := range steps {
			name := rapid.SampledFrom(all).Draw(t, "name")
			text := fmt.Sprintf("r%s\n%s\n", name, strings.Join(needs[name], "\n"))
			if needs[name] == nil {
				text = fmt.Sprint(k)
			}
			switch how {
			case 0, 1:
				err = os.WriteFile(at(name), []byte(text), 0o666)
			case 2:
				if err = os.WriteFile(at("new"), []byte(text), 0o666); err == nil {
					err = os.Rename(at("new"), at(name))
				}
			case 3:
				_ = os.Remove(at(name))
			case 4:
				now := time.Now()
				_ = os.Chtimes(at(name), now, now)
			default:
				time.Sleep(10 * time.Millisecond)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		f.mu.Lock()
		was := f.looks
		f.mu.Unlock()
		for began := time.Now(); ; time.Sleep(5 * time.Millisecond) {
			// Files of a folder below are seen without an event after a while only.
			if err := os.WriteFile(at("event"), nil, 0o666); err != nil {
				t.Fatal(err)
			}
			f.mu.Lock()
			looks := f.looks
			f.mu.Unlock()
			if looks > was+2 && time.Since(began) > 100*time.Millisecond && f.Idle() {
				break
			}
		}
		cancel()
		<-ended
		for job := range needs {
			if want, whole := content(job); whole && done[job] != want {
				t.Errorf("%s was done as %q, and is %q", job, done[job], want)
			}
		}
		if times > 4*(len(steps)+1) {
			t.Errorf("%d jobs for %d changes", times, len(steps))
		}
		if again := jobsWithin(f, 30*time.Millisecond); again != nil {
			t.Errorf("%v are done again", again)
		}
	})
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// Jobs are taken in the order of their names where they are ready at once; what has a record
// before the others, which wait until that is done; two with the same results one after the
// other, and the second knows of the first.
func TestTurns(t *testing.T) {
	dir := t.TempDir()
	f := opened(t, dir, time.Millisecond)
	defer f.Close()
	f.Read = func(r io.Reader, name, program string) (Names, error) {
		n, err := read(r, name, program)
		n.Record = "." + n.Results
		return n, err
	}
	for name, text := range map[string]string{"a.toml": "ra in", "b.toml": "ra in", "c.toml": "rc in", "d.toml": "rd in", ".rd": "", "in": "", "none.toml": "", "bad.toml": "bad"} {
		put(t, dir, name, text)
	}
	time.Sleep(20 * time.Millisecond)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	d := f.Next(ctx)
	if d == nil || d.Name != "d.toml" || !d.Before {
		t.Fatalf("%+v is first", d)
	}
	if j := f.pop(); j != nil {
		t.Errorf("%s begins before it is known what has been done", j.Name)
	}
	f.Done(d, false)
	a := f.Next(ctx)
	bad, c := f.Next(ctx), f.Next(ctx)
	if a.Name != "a.toml" || bad.Name != "bad.toml" || c.Name != "c.toml" {
		t.Fatal(a.Name, bad.Name, c.Name)
	}
	if j := f.pop(); j != nil {
		t.Errorf("%s begins beside one of the same results", j.Name)
	}
	f.Done(a, false)
	if b := f.Next(ctx); b.Name != "b.toml" || b.Twin != "a.toml" {
		t.Errorf("%+v", b)
	}
	f.Done(c, true)
	put(t, dir, "e.toml", "re in")
	got := f.Next(ctx)
	if got.Name != "c.toml" && got.Name != "e.toml" {
		t.Errorf("%s, not the job that is to be done again", got.Name)
	}
}

// A job that changes while it is done is done again, and does not stand.
func TestChangedMeanwhile(t *testing.T) {
	dir := t.TempDir()
	f := opened(t, dir, time.Millisecond)
	defer f.Close()
	put(t, dir, "in", "1")
	put(t, dir, "a.toml", "ra in")
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	j := f.Next(ctx)
	time.Sleep(20 * time.Millisecond)
	put(t, dir, "in", "2")
	if f.Done(j, false) {
		t.Error("it stands")
	}
	if j = f.Next(ctx); j == nil || !f.Done(j, false) {
		t.Error("it is not done again")
	}
	if again := jobsWithin(f, 200*time.Millisecond); again != nil {
		t.Errorf("%v once more", again)
	}
}

// A failed job goes aside under its own name, or another where there is one that says
// something else; names of 255 bytes too.
func TestAside(t *testing.T) {
	dir := t.TempDir()
	f := opened(t, dir, time.Millisecond)
	defer f.Close()
	if err := os.Mkdir(filepath.Join(dir, Failed), 0o777); err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("n", 250) + ".toml"
	for k, name := range []string{"a.toml", "a.toml", "a.toml", long, long} {
		put(t, dir, name, fmt.Sprint("bad ", k%2))
		j := &Job{Name: name, of: &entry{}}
		reason, to := f.Reason(j)
		put(t, dir, reason, "why")
		if err := f.Aside(j, to); err != nil {
			t.Fatal(err)
		}
	}
	list, err := os.ReadDir(filepath.Join(dir, Failed))
	if err != nil || len(list) != 8 {
		t.Errorf("%v: %v", err, list)
	}
	for _, name := range []string{"a.toml", "a.toml.txt", "a-2.toml", "a-2.toml.txt", long} {
		if !f.Has(filepath.Join(Failed, name)) {
			t.Errorf("%s is not there", name)
		}
	}
}

// What a file that a job names asks for is waited for, too.
func TestInputsOfInputs(t *testing.T) {
	dir := t.TempDir()
	f := opened(t, dir, time.Millisecond)
	defer f.Close()
	f.Read = func(r io.Reader, name, program string) (Names, error) {
		n, err := read(r, name, program)
		more, _ := os.ReadFile(filepath.Join(dir, "list"))
		n.More, n.Inputs = true, append(n.Inputs, strings.Fields(string(more))...)
		return n, err
	}
	put(t, dir, "a.toml", "ra list")
	put(t, dir, "b", "")
	if early := jobsWithin(f, 100*time.Millisecond); early != nil {
		t.Error(early)
	}
	put(t, dir, "list", "b c")
	if early := jobsWithin(f, 300*time.Millisecond); early != nil {
		t.Errorf("%v without c", early)
	}
	put(t, dir, "c", "")
	if got := jobsWithin(f, 500*time.Millisecond); len(got) != 1 {
		t.Errorf("%v with all", got)
	}
	put(t, dir, "list", "c")
	if got := jobsWithin(f, 500*time.Millisecond); len(got) != 1 {
		t.Errorf("%v when the list has changed", got)
	}
}
