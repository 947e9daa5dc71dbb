package choice

import (
	"bytes"
	"errors"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/option"
	"sagitta/internal/surface/file"
)

// Numbers are read as people type them, and nothing else is.
func TestNumber(t *testing.T) {
	for text, want := range map[string]string{"1": "1", " 1,5 ": "1.5", "-0.25": "-0.25", "\u22123": "-3", "+2.": "+2.", ".5": ".5",
		"": "", "1.2.3": "", "1e3": "", "0x10": "", "1 000": "", "nan": "", "inf": "", "--1": "", "1-": "", "1;2": "", "-": "", ",": "", "99999999": ""} {
		got, err := Number(text)
		if got != want || (err != nil) != (want == "") {
			t.Errorf("%q is %q, %v", text, got, err)
		}
	}
	for text, want := range map[string]string{"10,20": "10,20", "10, 20": "10,20", "1,5 2,5": "1.5,2.5", "1,5; -2": "1.5,-2", "-1.2,1.8": "-1.2,1.8", "10": "", "1,2,3": "", "a,b": "", "": ""} {
		got, err := Pair(text)
		if got != want || (err != nil) != (want == "") {
			t.Errorf("%q is %q, %v", text, got, err)
		}
	}
}

// A table that is typed is read back as it was meant, in the commands' own way.
func TestTableIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes := func(n int, what string) (texts []string, at []float64) {
			v := rapid.Float64Range(-500, 500).Draw(t, what)
			down := rapid.Bool().Draw(t, what+" fall")
			for range n {
				text := strconv.FormatFloat(v, 'f', 3, 64)
				v, _ = strconv.ParseFloat(text, 64)
				at = append(at, v)
				if rapid.Bool().Draw(t, "comma") {
					text = strings.Replace(text, ".", ",", 1)
				}
				texts = append(texts, text)
				step := rapid.Float64Range(0.5, 100).Draw(t, "step")
				if down {
					step = -step
				}
				v += step
			}
			return texts, at
		}
		var tab Table
		var x, y []float64
		tab.X, x = nodes(rapid.IntRange(2, 5).Draw(t, "columns"), "x")
		tab.Y, y = nodes(rapid.IntRange(2, 5).Draw(t, "rows"), "y")
		tab.Down = rapid.Bool().Draw(t, "down")
		tab.Units = rapid.SampledFrom([]string{"mm", "in"}).Draw(t, "units")
		want := map[[2]float64]float64{}
		for j := range y {
			var row []string
			for i := range x {
				mm := rapid.IntRange(-3000, 3000).Draw(t, "height")
				if i+j > 0 && mm%7 == 0 {
					row = append(row, "")
					continue
				}
				row = append(row, strconv.FormatFloat(float64(mm)/1000, 'f', 3, 64))
				want[[2]float64{x[i], y[j]}] = float64(mm) / 1000
			}
			tab.Z = append(tab.Z, row)
		}
		text, wrong := tab.CSV()
		if wrong != nil {
			t.Fatalf("%v", wrong)
		}
		s, err := file.Read(bytes.NewReader(text), "heights.csv")
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		per := 1.0
		if tab.Units == "in" {
			per = 25.4
		}
		sign := per
		if tab.Down {
			sign = -per
		}
		near := func(a, b float64) bool { return a-b < 1e-9*per*500 && b-a < 1e-9*per*500 }
		found := 0
		for _, p := range s.Points() {
			for at, h := range want {
				if near(p.X, at[0]*per) && near(p.Y, at[1]*per) {
					found++
					if !near(p.Z, h*sign) {
						t.Fatalf("%v at %v, typed %v", p.Z, at, h)
					}
				}
			}
		}
		if missing, all, _ := tab.Missing(); found != len(want) || all-missing != len(want) {
			t.Fatalf("%d of %d heights are read; %d of %d are missing", found, len(want), missing, all)
		}
	})
}

// What is wrong in a table is said by its cell.
func TestTableSays(t *testing.T) {
	tab := Table{X: []string{"0", "0"}, Y: []string{"", "1"}, Z: [][]string{{"1", "x"}, {"", "2"}}, Units: "mm", Error: "-1"}
	text, wrong := tab.CSV()
	var fields []string
	for _, w := range wrong {
		fields = append(fields, w.Field)
	}
	if got := strings.Join(fields, " "); text != nil || got != "table-error x-1 y-0 z-0-1" {
		t.Errorf("%s, %q", got, text)
	}
}

// What is wrong in a list of boxes is said by its cell.
func TestBoxesSay(t *testing.T) {
	for row, want := range map[string]string{"1;2;3;4;5": "", "1;2;3;x;": "box-0-3 box-0-4", "": "box-0-0", "1,5": "box-0-1 box-0-2 box-0-3 box-0-4", "1;2;3;4;5;6": ""} {
		text, wrong := Boxes(map[string]string{"0": row, "x": "1"})
		var fields []string
		for _, w := range wrong {
			fields = append(fields, w.Field)
		}
		if got := strings.Join(fields, " "); got != want || (text == nil) != (want != "") {
			t.Errorf("%q: %s, %q", row, got, text)
		}
	}
}

// No value that is typed makes a word that a command could take for another option, and
// no operand or result leads out.
func TestCommandsSayNoMore(t *testing.T) {
	type options struct {
		Use, Defocus, Rotate float64     `opt:"use"`
		At                   *[2]float64 `opt:"datum"`
		Method               string      `opt:"method"`
		Outside              string      `opt:"outside" in:"refuse|hold"`
	}
	known := func(string) []option.Option { return option.Of(&options{}) }
	has := func(name string) error {
		if strings.Contains(name, "gone") {
			return errors.New("gone")
		}
		return nil
	}
	text := rapid.SampledFrom([]string{"", "1", "-1", "-1,2", "--output", "-o", "x", "--use=1", "1 -o y", "refuse", "a b", "'", "../x", "-"})
	rapid.Check(t, func(t *rapid.T) {
		c := New()
		name := rapid.SampledFrom([]string{"", "a.gcode", "b.csv", "gone.csv"})
		c.Program, c.Heights.File, c.Machine, c.KeepOut = name.Draw(t, "program"), name.Draw(t, "heights"), name.Draw(t, "machine"), name.Draw(t, "boxes")
		c.Sharp = text.Draw(t, "sharp")
		for _, o := range []string{"use", "datum", "method", "outside", "focus", "output"} {
			c.Options[o] = text.Draw(t, o)
		}
		c.Results["follow"], c.Results["split"] = text.Draw(t, "follow"), text.Draw(t, "split")
		if err := c.check(); err != nil {
			t.Fatal(err)
		}
		for _, step := range []string{StepSurface, StepAdvise, StepBefore, StepFlat, StepFollow, StepSplit, SplitFollows, "none"} {
			s := c.Step(step, known, has)
			if (s.Missing == nil) == (s.Commands == nil) {
				t.Fatalf("%s: %+v", step, s)
			}
			for _, cmd := range s.Commands {
				for k, w := range cmd {
					option := strings.HasPrefix(w.Text, "-") && w.As == Plain
					after := k > 0 && cmd[k-1].As == Plain && strings.HasPrefix(cmd[k-1].Text, "--")
					if option && !after && strings.ContainsAny(w.Text, "= ") {
						t.Fatalf("%s: the word %q of %v", step, w.Text, cmd)
					}
					if (w.As == Writes || w.As == Folder || w.As == Reads) && (strings.HasPrefix(w.Text, "-") || strings.ContainsAny(w.Text, `/\`)) {
						t.Fatalf("%s: the file %q of %v", step, w.Text, cmd)
					}
					if strings.HasPrefix(w.Text, "--output") || w.Text == "-o" && cmd[k+1].As != Writes && cmd[k+1].As != Folder {
						t.Fatalf("%s: %v", step, cmd)
					}
				}
			}
		}
	})
}

// Whatever is read as choices is written so that it reads back the same.
func FuzzRead(f *testing.F) {
	good, err := New().Text()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	f.Add([]byte(`{"schema":1,"heights":{"from":"file"},"depth":"sharp","way":"flat"}`))
	f.Add([]byte(`{"schema":1,"heights":{"from":"table","table":{"x":["1"],"y":["1","2","3"],"z":[["a","b"]],"units":"in"}},"depth":"record","way":"split","lenses":["a"]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := Read(text)
		if err != nil {
			return
		}
		first, err := c.Text()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Read(first)
		if err != nil {
			t.Fatalf("%v: %s", err, first)
		}
		if second, _ := again.Text(); !bytes.Equal(first, second) {
			t.Fatalf("%s is %s", first, second)
		}
		c.Heights.Table.CSV()
		c.Heights.Table.Missing()
	})
}
