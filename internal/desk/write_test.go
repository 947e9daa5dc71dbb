package desk_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/internal/cli"
	"sagitta/internal/desk/choice"
)

// What the page writes is, byte for byte, what the commands write that it shows.
func TestWritesWhatTheCommandsWrite(t *testing.T) {
	for _, c := range []struct {
		step string
		edit func(*choice.Choices)
		outs []string
	}{
		{choice.StepFollow, func(c *choice.Choices) { c.Options["use"], c.Options["datum"] = "0.4", "25 25" }, []string{"chart-followed.gcode", "chart-followed-sheet.txt"}},
		{choice.StepSplit, func(c *choice.Choices) { c.Results["split"] = "in parts" }, []string{"in parts/set.json", "in parts/sheet.txt", "in parts/chart-1-short.gcode"}},
		{choice.SplitFollows, func(c *choice.Choices) { c.Options["z-rate"] = "40" }, []string{"chart-zones/set.json"}},
		{choice.StepFlat, func(c *choice.Choices) {
			c.Options["focus"], c.Depth, c.Sharp = "\u22120,67", choice.BySharp, "3"
		}, []string{"chart-flat-sheet.txt"}},
		{choice.StepSurface, func(c *choice.Choices) { c.Heights.Reading["method"] = "bicubic" }, []string{"panel-surface.csv"}},
		{choice.StepRungs, func(c *choice.Choices) {
			c.Drafts["rungs"] = map[string]string{"sharp": "-1,5; 1,5", "step": "0,5", "tested-on": "birch plywood"}
			c.Results["rungs"] = "short.toml"
		}, []string{"short.toml"}},
	} {
		t.Run(c.step, func(t *testing.T) {
			here, there := t.TempDir(), t.TempDir()
			bringDemo(t, here)
			bringDemo(t, there)
			s := serve(t, here)
			s.choose(func(x *choice.Choices) { demoChosen(x); c.edit(x) })
			tried := s.answer("GET", "/try?step="+c.step)
			if !tried.Holds() {
				t.Fatalf("%+v", tried)
			}
			if left := tree(t, here); len(left) != 5 {
				t.Errorf("a try leaves %d files", len(left))
			}
			wrote := s.answer("POST", "/write?step="+c.step)
			if !wrote.Holds() || len(wrote.Files) < len(c.outs) {
				t.Fatalf("%+v", wrote)
			}
			// A second time it asks, and then writes the same.
			if status, text := s.do("POST", "/write?step="+c.step, nil, nil); status != 409 {
				t.Errorf("status %d: %s", status, text)
			}
			got := tree(t, here)
			if again := s.answer("POST", "/write?replace=true&step="+c.step); !again.Holds() {
				t.Errorf("%+v", again)
			}
			same(t, tree(t, here), got)
			t.Chdir(there)
			for _, line := range wrote.Commands {
				var said bytes.Buffer
				if status := cli.Run(context.Background(), words(line)[1:], &said, &said); status != 0 {
					t.Fatalf("%s: status %d: %s", line, status, said.Bytes())
				}
			}
			want := tree(t, there)
			for _, out := range c.outs {
				if want[filepath.FromSlash(out)] == "" {
					t.Errorf("the commands wrote no %s", out)
				}
			}
			same(t, got, want, "desk.json")
		})
	}
}

// A report of what was written is what the command makes of it, and is shown once for
// each time that it is asked for, in a frame that reaches nothing.
func TestReport(t *testing.T) {
	for _, way := range []string{choice.Follow, choice.Split, choice.Flat} {
		t.Run(way, func(t *testing.T) {
			dir := t.TempDir()
			bringDemo(t, dir)
			s := serve(t, dir)
			s.choose(func(c *choice.Choices) {
				demoChosen(c)
				c.Way, c.Options["focus"] = way, "-0.67"
				if way == choice.Flat {
					c.Depth, c.Sharp = choice.BySharp, "3"
				}
			})
			if way != choice.Flat {
				if a := s.answer("POST", "/write?step=report"); len(a.Missing) == 0 {
					t.Fatalf("there is nothing to report on: %+v", a)
				}
				if a := s.answer("POST", "/write?step="+way); !a.Holds() {
					t.Fatalf("%+v", a)
				}
			}
			a := s.answer("POST", "/write?step=report")
			if !a.Holds() || len(a.Files) != 1 {
				t.Fatalf("%+v", a)
			}
			name := a.Files[0].Name
			got, _ := os.ReadFile(filepath.Join(dir, name))
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
			proves(t, a.Commands[0][len("sagitta "):])
			if want, _ := os.ReadFile(filepath.Join(dir, name)); !bytes.Equal(got, want) || len(got) == 0 {
				t.Errorf("%s is another one", name)
			}
			_, text := s.do("GET", "/ticket?name="+name, nil, nil)
			var ticket struct{ Address string }
			if err := json.Unmarshal(text, &ticket); err != nil {
				t.Fatalf("%v: %s", err, text)
			}
			bare := func(r *http.Request) { r.Header.Del("Sagitta-Desk-Token") }
			for k, want := range []int{200, 403} {
				if status, text := s.do("GET", ticket.Address, nil, bare); status != want || (k == 0) != bytes.Equal(text, got) {
					t.Errorf("shown for time %d: status %d, %d bytes", k+1, status, len(text))
				}
			}
			for _, other := range []string{"chart.gcode", "../x.html", "none.html"} {
				if status, _ := s.do("GET", "/ticket?name="+other, nil, nil); status == 200 {
					t.Errorf("a ticket for %s", other)
				}
			}
		})
	}
}

// words takes a command line apart as a shell does, as far as the tool quotes.
func words(line string) (list []string) {
	for line != "" {
		word, rest, _ := strings.Cut(line, " ")
		if strings.HasPrefix(line, "'") {
			word, rest, _ = strings.Cut(line[1:], "'")
			rest = strings.TrimPrefix(rest, " ")
		}
		list, line = append(list, word), rest
	}
	return list
}

// What cannot be done writes nothing, and says why by the field that it is about.
func TestSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	bringDemo(t, dir)
	put(t, filepath.Join(dir, "bad.gcode"), []byte("G21\nG0 X1 Y1\nM3 S100\nG1 X2 F100\nG1 X#5\n"))
	s := serve(t, dir)
	for _, c := range []struct {
		what string
		edit func(*choice.Choices)
		// field lacks something, or the first message is about this option, file and line.
		field, option, file string
		line                int
	}{
		{"nothing chosen", func(c *choice.Choices) { *c = *choice.New() }, "program", "", "", 0},
		{"no depth", func(c *choice.Choices) { c.Depth = choice.BySharp }, "sharp", "", "", 0},
		{"no lens", func(c *choice.Choices) { c.Lenses = nil }, "lenses", "", "", 0},
		{"a file that is gone", func(c *choice.Choices) { c.Machine = "gone.toml" }, "machine", "", "", 0},
		{"too much of the depth", func(c *choice.Choices) { c.Options["use"] = "7" }, "option-use", "", "", 0},
		{"no place", func(c *choice.Choices) { c.Options["datum"] = "10,x" }, "option-datum", "", "", 0},
		{"no word", func(c *choice.Choices) { c.Options["outside"] = "holds" }, "option-outside", "", "", 0},
		{"an option in a value", func(c *choice.Choices) { c.Options["defocus"] = "0 -o x" }, "option-defocus", "", "", 0},
		{"a result elsewhere", func(c *choice.Choices) { c.Results["follow"] = "../x.gcode" }, "result-follow", "", "", 0},
		{"a result that is an option", func(c *choice.Choices) { c.Results["follow"] = "-x" }, "result-follow", "", "", 0},
		{"no number typed", func(c *choice.Choices) {
			c.Heights.From = choice.FromTable
			c.Heights.Table = choice.Table{X: []string{"0", "1"}, Y: []string{"0", "1"}, Z: [][]string{{"1", "2"}, {"1.2.3", "4"}}, Units: "mm"}
		}, "z-1-0", "", "", 0},
		{"typed and not kept", func(c *choice.Choices) {
			c.Heights.From = choice.FromTable
			c.Heights.Table = choice.Table{X: []string{"0", "300"}, Y: []string{"0", "200"}, Z: [][]string{{"1", "2"}, {"1", "4"}}, Units: "mm"}
		}, "result-table", "", "", 0},
		{"a program that cannot be read", func(c *choice.Choices) { c.Program = "bad.gcode" }, "", "", "bad.gcode", 5},
		{"a method that there is not", func(c *choice.Choices) { c.Options["method"] = "guess" }, "option-method", "", "", 0},
	} {
		t.Run(c.what, func(t *testing.T) {
			s.choose(func(x *choice.Choices) { demoChosen(x); c.edit(x) })
			before := tree(t, dir)
			status, text := s.do("POST", "/write?step=follow", nil, nil)
			if c.field == "result-table" {
				if status != 422 || !contains(text, `"field":"result-table"`) {
					t.Errorf("status %d: %s", status, text)
				}
				return
			}
			a := s.answer("POST", "/write?step=follow")
			same(t, tree(t, dir), before)
			if c.field != "" {
				if len(a.Missing) == 0 || a.Missing[0].Field != c.field || len(a.Runs) > 0 {
					t.Fatalf("%+v", a)
				}
				if gone := "gone.toml is not in the folder: put it back, or choose another"; c.field == "machine" && a.Missing[0].Text != gone {
					t.Errorf("said %q", a.Missing[0].Text)
				}
				return
			}
			if a.Holds() || len(a.Runs) != 1 || len(a.Files) > 0 {
				t.Fatalf("%+v", a)
			}
			m := a.Runs[0].Messages
			if len(m) == 0 || m[0].File != c.file || m[0].Line != c.line || m[0].Option != c.option {
				t.Errorf("%+v", m)
			}
		})
	}
}

// What is written when the desk is to close comes to its end; what is only tried ends at
// once, and where a newer one of its step begins.
func TestClosesBehindWhatIsWritten(t *testing.T) {
	dir := t.TempDir()
	bringDemo(t, dir)
	tool := cli.DeskTool()
	began, release := make(chan string, 9), make(chan struct{})
	tool.Run = func(ctx context.Context, args []string, _, _ io.Writer) int {
		began <- args[0]
		select {
		case <-release:
			return 0
		case <-ctx.Done():
			return 130
		}
	}
	s := serveWith(t, dir, tool)
	s.choose(func(c *choice.Choices) { demoChosen(c); c.Options["focus"] = "0" })
	ask := func(method, path string) <-chan int {
		status := make(chan int, 1)
		go func() {
			n, _ := s.do(method, path, nil, nil)
			status <- n
		}()
		<-began
		return status
	}
	older := ask("GET", "/try?step=advise")
	newer := ask("GET", "/try?step=advise")
	if n := <-older; n != 409 {
		t.Errorf("the older one ends with status %d", n)
	}
	// A write waits for no try.
	writes := ask("POST", "/write?step=flat")
	if n := <-newer; n != 409 {
		t.Errorf("what is tried ends with status %d", n)
	}
	ended := make(chan error, 1)
	go func() { ended <- s.end() }()
	select {
	case err := <-ended:
		t.Fatalf("it has closed before what is written is: %v", err)
	case n := <-writes:
		t.Fatalf("what is written ends with status %d", n)
	case <-time.After(50 * time.Millisecond):
	}
	close(release)
	if n := <-writes; n != 200 {
		t.Errorf("what is written ends with status %d", n)
	}
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
