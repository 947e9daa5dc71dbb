package desk_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"sagitta/internal/desk/choice"
	"sagitta/internal/record"
)

// badNames lead elsewhere, or are no names on some system.
var badNames = []string{"", ".", "..", "../..", `..\`, "/", "x/", "C:x", `\\host\CON`, ".hidden", "../.hidden", "-o", "a\x00b", "a\nb",
	"a\u202eb", "\xff", "CON", "nul.gcode", "com1.csv", "LPT9 .x", "a.", "a ", " a", "a?", "a*", `a"b`, strings.Repeat("n", 300), "desk.json"}

// Dropped files lie in the folder itself, under names that are names everywhere.
func TestDropNames(t *testing.T) {
	outer := t.TempDir()
	dir := filepath.Join(outer, "in")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	s := serve(t, dir)
	before := tree(t, outer)
	for _, name := range badNames {
		status, text := s.do("POST", "/file?replace=true&name="+url.QueryEscape(name), strings.NewReader("x"), nil)
		if status != 400 || !contains(text, `"error"`) {
			t.Errorf("%q: status %d: %s", name, status, text)
		}
	}
	same(t, tree(t, outer), before)
	// Of a name with the way to it the last part is taken.
	for name, base := range map[string]string{"../x.gcode": "x.gcode", `..\..\y.gcode`: "y.gcode", "/etc/passwd": "passwd", `C:\jobs\z.csv`: "z.csv", "a/b": "b"} {
		if text := s.post(200, "/file?name="+url.QueryEscape(name), "G21\n"); !contains(text, `"name":"`+base+`"`) {
			t.Errorf("%q: %s", name, text)
		}
		if _, err := os.Stat(filepath.Join(dir, base)); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
	if list, _ := os.ReadDir(outer); len(list) != 1 {
		t.Errorf("something lies beside the folder: %v", list)
	}
	s.post(200, "/file?name="+url.QueryEscape("Blätter, neu (2).gcode"), "G21\n")
	if b, err := os.ReadFile(filepath.Join(dir, "Blätter, neu (2).gcode")); err != nil || string(b) != "G21\n" {
		t.Errorf("%q, %v", b, err)
	}
}

// A file that is there stays until somebody says that it may go.
func TestAsksBeforeReplacing(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "heights.csv"), []byte("old"))
	s := serve(t, dir)
	s.choose(func(c *choice.Choices) {
		c.Heights.From = choice.FromTable
		c.Heights.Table = choice.Table{X: []string{"0", "10"}, Y: []string{"0", "10"}, Z: [][]string{{"1,5", "2"}, {"\u22120.5", ""}}, Units: "mm"}
		c.Drafts["lens"] = map[string]string{"depth_mm": "-1,2; 1.5", "name": "short"}
		c.Results["lens"] = "heights.toml"
		c.Drafts["boxes"] = map[string]string{"0": "0;0; 10,5;10;20", "2": ";;;;", "10": "50;0;60;10;−5"}
	})
	put(t, filepath.Join(dir, "clamps.csv"), []byte("old"))
	put(t, filepath.Join(dir, "heights.toml"), []byte("old"))
	for _, path := range []string{"/file?name=heights.csv", "/heights?", "/record?kind=lens", "/boxes?"} {
		text := s.post(409, path, "new")
		if !contains(text, `"ask":["`) {
			t.Errorf("%s: %s", path, text)
		}
	}
	for _, name := range []string{"heights.csv", "heights.toml", "clamps.csv"} {
		if b, _ := os.ReadFile(filepath.Join(dir, name)); string(b) != "old" {
			t.Errorf("%s was replaced by %q", name, b)
		}
	}
	s.post(200, "/heights?replace=true", "")
	if b, _ := os.ReadFile(filepath.Join(dir, "heights.csv")); string(b) != "# units: mm\n# heights: up\ny\\x,0,10\n0,1.5,2\n10,-0.5,\n" {
		t.Errorf("%q", b)
	}
	s.post(200, "/boxes?replace=true", "")
	if b, _ := os.ReadFile(filepath.Join(dir, "clamps.csv")); string(b) != "x0,y0,x1,y1,height\n0,0,10.5,10,20\n50,0,60,10,-5\n" {
		t.Errorf("%q", b)
	}
	s.post(200, "/record?kind=lens&replace=true", "")
	if b, _ := os.ReadFile(filepath.Join(dir, "heights.toml")); !contains(b, "depth_mm = [-1.2, 1.5]") {
		t.Errorf("%q", b)
	}
}

// A form that is filled in from a record writes that record again, whichever of its fields is
// set.
func TestFormOfARecord(t *testing.T) {
	dir := t.TempDir()
	s := serve(t, dir)
	bytesOf := func(r record.Record) []byte {
		var b bytes.Buffer
		if err := record.Write(&b, r); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	check := func(kind string, text []byte) {
		t.Helper()
		put(t, filepath.Join(dir, "was.toml"), text)
		status, said := s.do("GET", "/form?kind="+kind+"&name=was.toml", nil, nil)
		var form struct{ Fields map[string]string }
		if err := json.Unmarshal(said, &form); err != nil || status != 200 {
			t.Fatalf("%d %v: %s", status, err, said)
		}
		s.choose(func(c *choice.Choices) { c.Drafts[kind], c.Results[kind] = form.Fields, "made.toml" })
		s.post(200, "/record?kind="+kind+"&replace=true", "")
		if made, _ := os.ReadFile(filepath.Join(dir, "made.toml")); string(made) != string(text) {
			t.Errorf("%v makes\n%s\nof\n%s", form.Fields, made, text)
		}
	}
	checked := 0
	for _, f := range record.Fields(record.DefaultMachine()) {
		text := f.Name + " = " + f.Example + "\n"
		if f.Name == "power_follows_speed" || f.Name == "z_accel_mm_s2" {
			text += "accel_mm_s2 = 500\n"
		}
		m, err := record.ReadMachine(strings.NewReader(text), "was.toml")
		if err != nil {
			continue // it goes with others
		}
		check("machine", bytesOf(m))
		checked++
	}
	if checked < 40 {
		t.Errorf("%d fields are checked", checked)
	}
	lens, err := record.ReadLens(strings.NewReader("name = \"a \\\"short\\\" one\"\ndepth_mm = [-1.2, 1.5]\nspot_shift_mm = [0.2, 0]\n"), "was.toml")
	if err != nil {
		t.Fatal(err)
	}
	check("lens", bytesOf(lens))
	put(t, filepath.Join(dir, "job.gcode"), []byte("G21\n"))
	for path, want := range map[string]int{"kind=machine&name=none.toml": 404, "kind=none&name=was.toml": 400, "kind=machine&name=job.gcode": 422, "kind=machine&name=was.toml": 422} {
		if status, said := s.do("GET", "/form?"+path, nil, nil); status != want {
			t.Errorf("%s: status %d, not %d: %s", path, status, want, said)
		}
	}
}

// A link out of the folder, or what is no file, is neither read nor written, nor handed to
// a command.
func TestLinksLeadNowhere(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there are no such links here")
	}
	outer := t.TempDir()
	dir := filepath.Join(outer, "in")
	for _, d := range []string{dir, filepath.Join(outer, "other"), filepath.Join(dir, "zones")} {
		if err := os.Mkdir(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	secret := filepath.Join(outer, "other", "secret.gcode")
	put(t, secret, []byte("G21\nM3 S1\nG1 X1 F100\n"))
	put(t, filepath.Join(dir, "heights.csv"), []byte("y\\x,0,10\n0,0,0\n10,0,0\n"))
	for link, to := range map[string]string{"out.gcode": secret, "up.gcode": "../other/secret.gcode", "dir": "../other", "zones/sheet.txt": secret} {
		if err := os.Symlink(to, filepath.Join(dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	fifo(t, filepath.Join(dir, "pipe.gcode"))
	s := serve(t, dir)
	before := tree(t, outer)
	for _, name := range []string{"out.gcode", "up.gcode", "dir/secret.gcode", "zones/sheet.txt", "pipe.gcode", "../other/secret.gcode", secret, "dir", "."} {
		if status, text := s.do("GET", "/file?name="+url.QueryEscape(name), nil, nil); status != 403 || contains(text, "M3 S1") {
			t.Errorf("%s is read: %d %s", name, status, text)
		}
	}
	for _, path := range []string{"/../other/secret.gcode", "/x/../../other/secret.gcode", "//file?name=secret.gcode", "/file/.", "/%2e%2e/other/secret.gcode"} {
		if status, text := s.do("GET", path, nil, nil); status != 404 || contains(text, "M3 S1") {
			t.Errorf("%s: %d %s", path, status, text)
		}
	}
	for _, name := range []string{"out.gcode", "up.gcode", "dir", "pipe.gcode"} {
		for _, replace := range []string{"", "&replace=true"} {
			if status, _ := s.do("POST", "/file?name="+name+replace, strings.NewReader("x"), nil); status == 200 {
				t.Errorf("%s is written", name)
			}
		}
		s.choose(func(c *choice.Choices) { c.Program, c.Heights.File, c.Sharp = name, "heights.csv", "1" })
		for _, step := range []string{"follow", "split", "advise", "before"} {
			if a := s.answer("GET", "/try?step="+step); a.Missing == nil {
				t.Errorf("%s is handed to %s", name, step)
			}
		}
		if a := s.answer("POST", "/write?step=follow&replace=true"); a.Missing == nil {
			t.Errorf("%s is handed to a command", name)
		}
		s.choose(func(c *choice.Choices) {
			c.Results["table"], c.Heights.From = name, choice.FromTable
		})
		if status, _ := s.do("POST", "/heights?replace=true", nil, nil); status == 200 {
			t.Errorf("heights are written to %s", name)
		}
	}
	// A result that leads out is not written either.
	put(t, filepath.Join(dir, "good.gcode"), []byte("G21\nG0 X1 Y1\nM3 S1\nG1 X2 F100\nM5\n"))
	before["in/good.gcode"] = "G21\nG0 X1 Y1\nM3 S1\nG1 X2 F100\nM5\n"
	for _, name := range []string{"up.gcode", "pipe.gcode", "dir"} {
		s.choose(func(c *choice.Choices) {
			c.Program, c.Heights.File, c.Sharp = "good.gcode", "heights.csv", "1"
			c.Options["surface-error"] = "0"
			c.Results["follow"], c.Results["split"] = name, name
		})
		for _, step := range []string{"follow", "split"} {
			if status, text := s.do("POST", "/write?replace=true&step="+step, nil, nil); status == 200 {
				t.Errorf("%s writes to %s: %s", step, name, text)
			}
		}
	}
	same(t, tree(t, outer), before, "in/desk.json")
}

// What is too long is not taken, and what it says can be read.
func TestTooLong(t *testing.T) {
	dir := t.TempDir()
	s := serve(t, dir)
	status, text := s.do("POST", "/file?name=long.gcode", io.LimitReader(zeros{}, 64<<20+1), nil)
	if status != 413 || !contains(text, "more than 64 MB") {
		t.Errorf("status %d: %s", status, text)
	}
	status, text = s.do("POST", "/choices", strings.NewReader(strings.Repeat(" ", 2<<20)), nil)
	if status != 413 || !contains(text, "more than 1 MB") {
		t.Errorf("status %d: %s", status, text)
	}
	same(t, tree(t, dir), nil)
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// Of many that drop the same name at once one does, and what is chosen is whole at any time.
func TestAtOnce(t *testing.T) {
	dir := t.TempDir()
	s := serve(t, dir)
	var wait sync.WaitGroup
	var done atomic.Int32
	for k := range 16 {
		wait.Go(func() {
			status, text := s.do("POST", "/file?name=one.gcode", strings.NewReader(strings.Repeat(fmt.Sprintf("G0 X%d\n", k), 1000)), nil)
			switch status {
			case 200:
				done.Add(1)
			case 409:
			default:
				t.Errorf("status %d: %s", status, text)
			}
			c := choice.New()
			c.Sharp = fmt.Sprint(k)
			body, _ := c.Text()
			if status, text := s.do("POST", "/choices", strings.NewReader(string(body)), nil); status != 200 {
				t.Errorf("status %d: %s", status, text)
			}
			if b, err := os.ReadFile(filepath.Join(dir, "desk.json")); err == nil {
				if _, err := choice.Read(b); err != nil {
					t.Errorf("%v: %q", err, b)
				}
			}
		})
	}
	wait.Wait()
	if done.Load() != 1 {
		t.Errorf("%d of them took the name", done.Load())
	}
	files := tree(t, dir)
	if one := files["one.gcode"]; len(files) != 2 || strings.Count(one, one[:strings.Index(one, "\n")+1]) != 1000 {
		t.Errorf("%d files, one of %d bytes", len(files), len(one))
	}
}

// What was chosen and typed is there again. A file of it that is damaged lies aside as it
// was, and is named.
func TestKept(t *testing.T) {
	dir := t.TempDir()
	s := serve(t, dir)
	s.choose(func(c *choice.Choices) { c.Sharp = "-1,2; 1.8" })
	if err := s.end(); err != nil {
		t.Fatal(err)
	}
	s = serve(t, dir)
	if _, text := s.do("GET", "/all", nil, nil); !contains(text, `"sharp":"-1,2; 1.8"`) || !contains(text, `"note":""`) {
		t.Errorf("%s", text)
	}
	good, _ := os.ReadFile(filepath.Join(dir, "desk.json"))
	for k, bad := range []string{"", "{", "null", "[]", `{"schema":2}`, string(good) + "x", strings.Replace(string(good), `"sharp"`, `"shar"`, 1),
		strings.Replace(string(good), `"program": ""`, `"program": "../x"`, 1), strings.Replace(string(good), `"mm"`, `"ell"`, 1),
		strings.Repeat("[", 100000), strings.Repeat(" ", choice.MostBytes+1)} {
		in := t.TempDir()
		put(t, filepath.Join(in, "desk.json"), []byte(bad))
		s := serve(t, in)
		_, text := s.do("GET", "/all", nil, nil)
		if !contains(text, "desk-damaged-1.json") {
			t.Errorf("%d: %.300s", k, text)
		}
		if b, err := os.ReadFile(filepath.Join(in, "desk-damaged-1.json")); err != nil || string(b) != bad {
			t.Errorf("%d: what was damaged is lost: %v", k, err)
		}
		s.choose(func(c *choice.Choices) { c.Sharp = "1" })
	}
}
