package batch

import (
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// dir is a folder that counts what is read.
type dir struct {
	at   string
	read *int
}

func (d dir) Look(name string) (fs.FileInfo, error) { return os.Stat(filepath.Join(d.at, name)) }
func (d dir) Read(name string) (io.ReadCloser, error) {
	*d.read++
	return os.Open(filepath.Join(d.at, name))
}

func write(t *testing.T, name, text string, ago time.Duration) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	when := time.Now().Add(-ago)
	if err := os.Chtimes(name, when, when); err != nil {
		t.Fatal(err)
	}
}

// A record holds while nothing has changed, without reading what was written long
// before; what may have been written since is read, and known from then on.
func TestHolds(t *testing.T) {
	read := 0
	d := dir{t.TempDir(), &read}
	at := func(name string) string { return filepath.Join(d.at, name) }
	write(t, at("in"), "input", time.Hour)
	write(t, at("out"), "output", 0)
	record := func() *Record {
		r := &Record{Version: "1", Job: "j", At: time.Now().UnixNano()}
		for name, to := range map[string]*[]Seen{"in": &r.Inputs, "out": &r.Outputs} {
			s, err := Take(d, name)
			if err != nil {
				t.Fatal(err)
			}
			*to = append(*to, s)
		}
		read = 0
		return r
	}
	holds := func(r *Record, want, wantFresh bool, wantRead int, why string) {
		t.Helper()
		text := r.Text() // as it is read again
		again := &Record{}
		if err := json.Unmarshal(text, again); err != nil {
			t.Fatal(err)
		}
		got, fresh := again.Holds(d, "1", "j", []string{"in"}, time.Now())
		if got != want || fresh != wantFresh || read != wantRead {
			t.Errorf("%s: holds %v, fresh %v, %d files read", why, got, fresh, read)
		}
		if got {
			if again, fresh := again.Holds(d, "1", "j", []string{"in"}, time.Now()); !again || fresh && why != "just written" {
				t.Errorf("%s: the second time it holds %v, fresh %v", why, again, fresh)
			}
		}
		read = 0
	}
	r := record()
	holds(r, true, false, 0, "nothing changed")
	for _, other := range [][3]string{{"2", "j", "in"}, {"1", "k", "in"}, {"1", "j", "other"}} {
		if got, _ := r.Holds(d, other[0], other[1], []string{other[2]}, time.Now()); got {
			t.Errorf("holds for %v", other)
		}
	}
	write(t, at("in"), "input", time.Minute)
	holds(r, true, true, 1, "written again")
	write(t, at("in"), "INPUT", time.Minute)
	holds(r, false, false, 1, "changed")
	if runtime.GOOS == "linux" { // the system tells of what was written, whatever its time is set to
		write(t, at("in"), "input", time.Hour)
		r = record()
		was, err := os.Stat(at("in"))
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(20 * time.Millisecond) // longer than a tick
		write(t, at("in"), "INPUT", 0)
		if err := os.Chtimes(at("in"), was.ModTime(), was.ModTime()); err != nil {
			t.Fatal(err)
		}
		holds(r, false, false, 1, "changed, and the time set back")
		s := r.Inputs[0]
		if s.Still(d) {
			t.Error("it is not as it was")
		}
		write(t, at("in"), "input", time.Minute)
		if !s.Still(d) {
			t.Error("the same once more is another")
		}
	}
	write(t, at("in"), "input", 0)
	holds(record(), true, true, 1, "just written")
	write(t, at("in"), "input", time.Hour)
	r = record()
	write(t, at("out"), "outpot", time.Minute)
	holds(r, false, false, 1, "result changed")
	write(t, at("out"), "longer than before", 0)
	holds(r, false, false, 0, "result longer")
	if err := os.Remove(at("out")); err != nil {
		t.Fatal(err)
	}
	holds(r, false, false, 0, "result gone")
}

// What is no record is none.
func TestReadRecord(t *testing.T) {
	read := 0
	d := dir{t.TempDir(), &read}
	for _, text := range []string{"", "{", `{"schema":2}`, `[]`, "\x00"} {
		write(t, filepath.Join(d.at, "r"), text, 0)
		if r, err := ReadRecord(d, "r"); err == nil {
			t.Errorf("%q is read as %+v", text, r)
		}
	}
	if _, err := ReadRecord(d, "none"); err == nil {
		t.Error("there is none")
	}
}

func TestReplaced(t *testing.T) {
	r := &Record{Outputs: []Seen{{Name: "a"}, {Name: "b"}}, Gone: []Seen{{Name: "c"}, {Name: "d"}}}
	var names []string
	for _, s := range r.Replaced([]Seen{{Name: "B"}, {Name: "d"}}) {
		names = append(names, s.Name)
	}
	if got := strings.Join(names, " "); got != "a c" {
		t.Error(got)
	}
}

// The worst status counts, by an order of its own.
func TestWorst(t *testing.T) {
	order := []int{130, 4, 2, 3, 1, 0}
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(rapid.SampledFrom(order)).Draw(t, "statuses")
		best := len(order) - 1
		var jobs []Outcome
		for _, s := range list {
			best = min(best, slices.Index(order, s))
			jobs = append(jobs, Outcome{Status: s})
		}
		if got := Worst(jobs); got != order[best] {
			t.Fatalf("%v: %d", list, got)
		}
	})
}

// Every job is done once, no more than so many at a time, and none begins after the end.
func TestDo(t *testing.T) {
	for _, side := range []int{1, 3, 200} {
		var at, most, done atomic.Int64
		times := make([]atomic.Int64, 100)
		Do(context.Background(), 100, side, func(k int) {
			most.Store(max(most.Load(), at.Add(1)))
			times[k].Add(1)
			done.Add(1)
			at.Add(-1)
		})
		if done.Load() != 100 || most.Load() > int64(side) {
			t.Errorf("%d jobs done, %d at a time", done.Load(), most.Load())
		}
		for k := range times {
			if times[k].Load() != 1 {
				t.Errorf("job %d is done %d times", k, times[k].Load())
			}
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	var done atomic.Int64
	Do(ctx, 1000, 2, func(k int) {
		done.Add(1)
		stop()
	})
	if n := done.Load(); n < 1 || n > 4 {
		t.Errorf("%d jobs are done after the end", n)
	}
}

// Lines of many writers stay whole.
func TestLog(t *testing.T) {
	name := filepath.Join(t.TempDir(), "log")
	var all sync.WaitGroup
	for w := range 4 {
		l, err := OpenLog(name)
		if err != nil {
			t.Fatal(err)
		}
		all.Go(func() {
			for range 50 {
				if err := l.Add(&Outcome{Schema: 1, Job: strings.Repeat("j", 1000*w), Messages: []string{"two\nlines"}}); err != nil {
					t.Error(err)
				}
			}
			if err := l.Close(); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for line := range strings.Lines(string(text)) {
		var o Outcome
		if err := json.Unmarshal([]byte(line), &o); err != nil || o.Messages[0] != "two\nlines" {
			t.Fatalf("%.40q: %v", line, err)
		}
		n++
	}
	if n != 200 {
		t.Errorf("%d lines", n)
	}
	if _, err := os.Stat("/dev/full"); err == nil {
		full, err := OpenLog("/dev/full")
		if err != nil {
			t.Fatal(err)
		}
		if err := full.Add(&Outcome{}); err == nil {
			t.Error("a full disk is not told")
		}
	}
}

// A line that a kill has cut short stays by itself.
func TestLogGoesOn(t *testing.T) {
	name := filepath.Join(t.TempDir(), "log")
	for _, c := range []struct{ was, want string }{
		{"", ""}, {"{\"schema\":1}\n", "{\"schema\":1}\n"}, {"{\"schema\":1}\n{\"sch", "{\"schema\":1}\n{\"sch\n"}, {"{\"sch", "{\"sch\n"}, {"{\"sch\n", "{\"sch\n"},
	} {
		if err := os.WriteFile(name, []byte(c.was), 0o666); err != nil {
			t.Fatal(err)
		}
		l, err := OpenLog(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := l.Add(&Outcome{Schema: 1}); err != nil {
			t.Fatal(err)
		}
		l.Close()
		text, _ := os.ReadFile(name)
		if rest, ok := strings.CutPrefix(string(text), c.want); !ok || !json.Valid([]byte(rest)) {
			t.Errorf("%q goes on as %q", c.was, text)
		}
	}
}

// What is no log stays as it is, as a job file or a program by mistake.
func TestNoLog(t *testing.T) {
	name := filepath.Join(t.TempDir(), "log")
	for _, text := range []string{"program = \"plate.gcode\"\n", "G21", "{}\n", "\n", "{\"sch:"} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		f, err := os.OpenFile(name, os.O_RDWR|os.O_APPEND, 0)
		if err != nil {
			t.Fatal(err)
		}
		_, alone := LogOf(f, name)
		f.Close()
		_, among := OpenLog(name)
		for _, err := range []error{alone, among} {
			if !diag.Is(err, diag.Setting) || !strings.Contains(err.Error(), name+" is no log of jobs") {
				t.Errorf("%q: %v", text, err)
			}
		}
		if now, _ := os.ReadFile(name); string(now) != text {
			t.Errorf("%q has become %q", text, now)
		}
	}
}

func TestFind(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.MkdirAll("jobs/more.toml", 0o777); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"jobs/a.toml": "job", "jobs/b.TOML": "job", "jobs/lens.toml": "none", "jobs/.c.toml": "job", "jobs/d.txt": "job", "x[1].toml": "none"} {
		write(t, name, text, 0)
	}
	is := func(r io.Reader) bool { text, _ := io.ReadAll(r); return string(text) == "job" }
	for _, c := range []struct{ operands, want string }{
		{"jobs", "jobs/a.toml jobs/b.TOML"},
		{"jobs/*.toml jobs", "jobs/a.toml jobs/b.TOML"},
		{"jobs/lens.toml", "jobs/lens.toml"}, // by its name, whatever it is
		{"jobs/d.txt ./jobs/d.txt", "jobs/d.txt"},
		{"x[1].toml", "x[1].toml"},
		{"jobs/x*", ""}, {"jobs/[", ""}, {"jobs/more.toml", ""}, {"nothing", ""},
	} {
		got, err := Find(strings.Fields(c.operands), is)
		if strings.Join(got, " ") != c.want || (err == nil) == (c.want == "") {
			t.Errorf("%s: %v, %v", c.operands, got, err)
		}
	}
}
